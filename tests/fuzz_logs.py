"""Mangle the demo's logs by chance and see that nothing crashes, vanishes, or changes from one run to the next.

python tests/fuzz_logs.py 5000 1        5000 folders, from seed 1
python tests/fuzz_logs.py --only 1234   one folder again, its problem in full
"""

import random
import shutil
import sys
import tempfile
import traceback
from collections import Counter
from pathlib import Path

from analysis import Season, SeasonError, open_season
from analysis.check.summary import check_json, check_text

DEMO = Path(__file__).parent.parent / "data_demo" / "season_2026"
JUNK = [
    "",
    "?",
    "-",
    "n/a",
    "~12",
    "12,5",
    "1.234",
    "1,234",
    "<1",
    "3/4/26",
    "3.4.26",
    "3-Apr",
    "46115",
    "#DIV/0!",
    "=1+1",
]
JUNK += [
    "x" * 5000,
    "Total",
    "K1+K2",
    "2062-01-01",
    "-1",
    "0",
    "Ä\u202e",
    '"',
    "a\nb",
    "\t",
    "@x",
    "1e99",
    "31.2.2026",
    " ",
]


def _lines(path: Path, change) -> None:
    lines = path.read_text(encoding="utf-8-sig").split("\n")
    path.write_text("\n".join(change(lines)), encoding="utf-8")


def _cells(path: Path, dice: random.Random, change) -> None:
    def on_lines(lines: list[str]) -> list[str]:
        at = dice.randrange(max(len(lines) - 1, 1))  # the last line is blank
        cells = lines[at].split(",")
        cells[dice.randrange(len(cells))] = change(cells)
        return [*lines[:at], ",".join(cells), *lines[at + 1 :]]

    _lines(path, on_lines)


def bytes_flipped(path: Path, dice: random.Random) -> None:
    data = bytearray(path.read_bytes())
    for _ in range(dice.randrange(1, 20)):
        data[dice.randrange(len(data))] = dice.randrange(256)
    path.write_bytes(bytes(data))


def cells_changed(path: Path, dice: random.Random) -> None:
    for _ in range(dice.randrange(1, 10)):
        _cells(path, dice, lambda cells: dice.choice(JUNK))


def heading_changed(path: Path, dice: random.Random) -> None:
    def change(lines: list[str]) -> list[str]:
        heads = lines[0].split(",")
        heads[dice.randrange(len(heads))] = dice.choice(
            ["", "date", "weight", "pair", "xyz", heads[0], "Gewicht", "day 3"]
        )
        return [",".join(heads), *lines[1:]]

    _lines(path, change)


def rows_moved(path: Path, dice: random.Random) -> None:
    def change(lines: list[str]) -> list[str]:
        at = dice.randrange(len(lines))
        ways = (
            lambda: lines[:at] + lines[at + 1 :],
            lambda: [*lines[:at], lines[at], *lines[at:]],
            lambda: [lines[0], *dice.sample(lines[1:], len(lines) - 1)],
            lambda: ["Our logs,,", "", *lines],
            lambda: [*lines, "Total,,99"],
            lambda: [*lines[:at], ",,,,", "", *lines[at:]],
            lambda: [*lines[:at], lines[0], *lines[at:]],
            lambda: ["# a comment", *lines],
            lambda: lines[1:],
        )
        return dice.choice(ways)()

    _lines(path, change)


def saved_otherwise(path: Path, dice: random.Random) -> None:
    text = path.read_text(encoding="utf-8-sig")
    encoding = dice.choice(["utf-16", "utf-16-le", "cp1252", "mac_roman", "utf-8-sig"])
    end = dice.choice(["\n", "\r\n", "\r"])
    path.write_bytes(text.replace("\n", end).encode(encoding, errors="replace"))


def other_delimiter(path: Path, dice: random.Random) -> None:
    path.write_text(path.read_text(encoding="utf-8-sig").replace(",", dice.choice([";", "\t", "|"])), encoding="utf-8")


def quote_left_open(path: Path, dice: random.Random) -> None:
    _cells(path, dice, lambda cells: '"' + cells[0])


def file_gone(path: Path, dice: random.Random) -> None:
    path.unlink()


def file_emptied(path: Path, dice: random.Random) -> None:
    path.write_bytes(b"" if dice.random() < 0.5 else path.read_bytes()[: dice.randrange(200)])


def file_copied(path: Path, dice: random.Random) -> None:
    shutil.copy(path, path.with_name(dice.choice([f"{path.stem} copy.csv", f"{path.stem}.txt", "notes.csv"])))


def file_renamed(path: Path, dice: random.Random) -> None:
    path.rename(path.with_name(dice.choice(["hatches.tsv", "weights.txt", "losses.tsv", "things.csv"])))


def as_workbook(path: Path, dice: random.Random) -> None:
    import csv

    from openpyxl import Workbook

    book = Workbook()
    book.active.title = path.stem
    for row in csv.reader(path.read_text(encoding="utf-8-sig").split("\n")):
        book.active.append([float(c) if c.replace(".", "", 1).isdigit() else c for c in row])
    book.save(path.with_suffix(".xlsx"))
    path.unlink()


KINDS = (bytes_flipped, cells_changed, heading_changed, rows_moved, saved_otherwise, other_delimiter, quote_left_open)
KINDS += (file_gone, file_emptied, file_copied, file_renamed, as_workbook)
ONE_LOG = (cells_changed, heading_changed, rows_moved, saved_otherwise, other_delimiter, quote_left_open)


def make_folder(folder: Path) -> None:
    """Write the demo without its earlier seasons."""
    shutil.copytree(DEMO, folder)
    settings = folder / "settings.csv"
    lines = settings.read_text(encoding="utf-8-sig").split("\n")
    settings.write_text("\n".join(line for line in lines if not line.startswith("earlier")), encoding="utf-8")


def rows_read(season: Season) -> dict[str, int]:
    """Return how many rows of each log were read."""
    return dict(zip(season.accounting["log"], season.accounting["read"], strict=True))


def one(seed: int, untouched: Season) -> tuple[str, str]:
    """Mangle one folder; return the kind of mutation and what is wrong, blank where nothing is."""
    dice = random.Random(seed)
    with tempfile.TemporaryDirectory() as space:
        folder = Path(space) / "season"
        make_folder(folder)
        path = dice.choice(sorted(folder.glob("*.csv")))
        kind = dice.choice(KINDS)
        shape = _shape(path)
        kind(path, dice)
        same_shape = kind is cells_changed and _shape(path) == shape
        try:
            season, again = open_season(folder), open_season(folder)
            check_text(season), check_json(season)
        except SeasonError:
            return kind.__name__, ""
        except Exception:
            return kind.__name__, f"{path.name}: {traceback.format_exc()}"
    counts = season.accounting
    if (counts["read"] != counts["used"] + counts["not_used"]).any() or (counts[["used", "not_used"]] < 0).any(
        axis=None
    ):
        return kind.__name__, f"{path.name}: the rows do not add up\n{counts}"
    if not season.problems.equals(again.problems):
        return kind.__name__, f"{path.name}: two runs, two lists of problems"
    if kind in ONE_LOG:
        before, after = rows_read(untouched), rows_read(season)
        other = [log for log in before if log != path.stem and before[log] != after.get(log)]
        if other:
            return kind.__name__, f"{path.name}: rows read of {', '.join(other)} changed"
        if same_shape and before[path.stem] != after.get(path.stem):
            return kind.__name__, f"{path.name}: a row of it is neither used nor in the account"
        if not _is_said(untouched, season, path.stem):
            return kind.__name__, f"{path.name}: rows of another log are no longer used, and nothing says so"
    return kind.__name__, ""


def _shape(path: Path) -> tuple[str, int, int]:
    """Return what no change within cells may touch: headings, the number of lines that hold anything, quotes."""
    text = path.read_text(encoding="utf-8-sig")
    return text.split("\n", 1)[0], sum(bool(line.strip(", ")) for line in text.split("\n")), text.count('"')


def _is_said(before: Season, after: Season, changed: str) -> bool:
    """Tell whether each log that lost used rows has more problems or rows not used than before."""
    used = [dict(zip(s.accounting["log"], s.accounting["used"], strict=True)) for s in (before, after)]
    fewer = [log for log, number in used[0].items() if log != changed and used[1].get(log, 0) < number]
    counts = [s.problems["file"].value_counts() for s in (before, after)]
    return all(counts[1].get(f"{log}.csv", 0) > counts[0].get(f"{log}.csv", 0) for log in fewer)


def untouched_season() -> Season:
    """Open the demo without its earlier seasons."""
    with tempfile.TemporaryDirectory() as space:
        folder = Path(space) / "season"
        make_folder(folder)
        return open_season(folder)


def run(folders: int, seed: int) -> tuple[Counter[str], list[str]]:
    """Mangle many folders; return how often each kind came, and what went wrong."""
    untouched = untouched_season()
    kinds: Counter[str] = Counter()
    wrong = []
    for number in range(seed, seed + folders):
        kind, said = one(number, untouched)
        kinds[kind] += 1
        if said:
            wrong.append(f"seed {number}, {kind}, {said}")
    return kinds, wrong


if __name__ == "__main__":
    if "--only" in sys.argv:
        print(*one(int(sys.argv[-1]), untouched_season()))
    else:
        kinds, wrong = run(*(int(argument) for argument in sys.argv[1:3]))
        print("\n".join(f"{number:6} {kind}" for kind, number in sorted(kinds.items())))
        print("\n\n".join(wrong) or "nothing went wrong")
        sys.exit(bool(wrong))
