"""Ways to spoil a season folder, each a small function: cells, headings, rows, bytes, encodings, whole files.

A kind changes the files in place and says what may change in what is read of them.
"""

import csv
import io
import random
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial
from pathlib import PurePath

import openpyxl

from support import DEMO

Files = dict[str, bytes]
Table = list[list[str]]


@dataclass(frozen=True)
class Change:
    """What a mutation may change: the rows of some logs, by how many (None: any number), or nothing at all."""

    logs: frozenset[str]
    rows: int | None = None
    alike: bool = False


Kind = Callable[[random.Random, Files], Change]


def demo() -> Files:
    """Return the demo's files, joined to no earlier season, with letters that need an encoding."""
    files = {path.name: path.read_bytes() for path in sorted(DEMO.glob("*.csv"))}
    files["settings.csv"] = files["settings.csv"].replace(b"../season_2024; ../season_2025", b"")
    return {name: data.replace(b"Bramble", "Brämble".encode()) for name, data in files.items()}


def rows_of(data: bytes) -> Table:
    return list(csv.reader(io.StringIO(data.decode(errors="replace"), newline="")))


def text_of(table: Iterable[Iterable[str]], **how: object) -> str:
    out = io.StringIO()
    csv.writer(out, **{"lineterminator": "\n"} | how).writerows(table)  # type: ignore[call-overload]
    return out.getvalue()


def stem(name: str) -> str:
    return PurePath(name).stem


def pick(rng: random.Random, files: Files) -> str:
    """Choose a file; the logs that matter most are chosen more often."""
    names = [name for name in files if name.endswith(".csv") and files[name]]
    return rng.choice([*names, *(n for n in names if stem(n) in ("hatches", "weights", "losses") for _ in range(3))])


def on_table(change: Callable[[random.Random, Table], int | None], *, alike: bool = False, **how: object) -> Kind:
    """Make a kind of a function that changes a table in place and returns by how many rows it grew."""

    def kind(rng: random.Random, files: Files) -> Change:
        name = pick(rng, files)
        table = rows_of(files[name])
        grown = change(rng, table)
        files[name] = text_of(table, **how).encode()
        return Change(frozenset([stem(name)]), grown, alike)

    return kind


def on_bytes(change: Callable[[random.Random, bytes], bytes], *, alike: bool = False, rows: int | None = None) -> Kind:
    def kind(rng: random.Random, files: Files) -> Change:
        name = pick(rng, files)
        files[name] = change(rng, files[name])
        return Change(frozenset([stem(name)]), rows, alike)

    return kind


# -- cells

JUNK = [
    "?",
    "n/a",
    "-",
    "😀",
    "xyz",
    "0",
    "-5",
    "1e999",
    "nan",
    "inf",
    "1/2",
    "٣٤",
    "²",
    "½",
    "99999999999999999999",
    "12:30",
    "26:99",
    "0000-00-00",
    "9999-12-31",
    "1900-01-00",
    "2026-02-30",
    "Total",
    "#",
    "'",
    "\\",
    ";",
    "|",
    "\u202e",
    "\ufeff",
    "12.5.3",
    "..",
    ",",
    ",,",
    "+",
    "K1+K2",
    "K1/K2",
    "TRUE",
    "4611",
    "46115.5",
    "{}",
    "{0}",
    "%s",
    "~",
    "~23g",
    "<5",
    "32.13.26",
    "-0",
    "+4",
    "0x10",
    "1_000",
    "−",
    "5°C",
    "110F",
    "day",
    "3",
    "P01/1/1",
    "../../x",
    "null",
    "None",
]


def other_date(rng: random.Random, old: str) -> str:
    try:
        day = date.fromisoformat(old[:10])
    except ValueError:
        return rng.choice(["3/4/26", "04/03/2026", "13/13/2026", "3 avril 2026", "3. April", "1 Apr"])
    return (
        f"{day:{rng.choice(['%d.%m.%Y', '%m/%d/%Y', '%d/%m/%y', '%d %B %Y', '%Y%m%d', '%d-%b', '%d.%m.', '%y-%m-%d'])}}"
    )


CELLS: dict[str, Callable[[random.Random, str], str]] = {
    "blank": lambda rng, old: "",
    "junk": lambda rng, old: rng.choice(JUNK),
    "long": lambda rng, old: rng.choice(["x", "9", "é", "ab "]) * rng.choice([300, 40_000]),
    "decimal comma": lambda rng, old: (
        old.replace(".", ",") if "." in old else f"{rng.randrange(2000)},{rng.randrange(1000):03}"
    ),
    "date in another order": other_date,
    "formula": lambda rng, old: rng.choice(["=1+1", "=SUM(A1:A9)", "=A1", "=", "@x", "+1+1"]),
    "error": lambda rng, old: rng.choice(["#DIV/0!", "#REF!", "#N/A", "#NAME?", "Err:502", "#WERT!"]),
    "with a line break": lambda rng, old: f"{old}\n{old or 'x'}",
    "with a quote": lambda rng, old: f'{old}"{old}',
    "of another place": lambda rng, old: "2026-04-03 06:30" if old.isdigit() else "12",
}


def change_cell(new: Callable[[random.Random, str], str], rng: random.Random, table: Table) -> int | None:
    row = rng.choice(table[1:])
    at = rng.randrange(len(row))
    row[at] = new(rng, row[at])
    return 0 if any(cell.strip() for cell in row) else None


def change_column(rng: random.Random, table: Table) -> int | None:
    """Change each cell of a column."""
    at, new = rng.randrange(len(table[0])), rng.choice(list(CELLS.values()))
    for row in table[1:]:
        row[at] = new(rng, row[at])
    return None


# -- headings


def rename(rng: random.Random, table: Table) -> int | None:
    at = rng.randrange(len(table[0]))
    words = [
        "Gewicht",
        "day 3",
        "2026-04-03",
        "x",
        "weight (oz)",
        "poids",
        "K1",
        "12",
        "Total",
        "#",
        "date",
        "chick",
        "notes",
    ]
    table[0][at] = rng.choice([*words, table[0][at][:-1], table[0][at] + "s"])
    return None


def drop_column(rng: random.Random, table: Table) -> int | None:
    at = rng.randrange(len(table[0]))
    for row in table:
        del row[at]
    return None


def repeat_column(rng: random.Random, table: Table) -> int | None:
    at, to = rng.randrange(len(table[0])), rng.randrange(len(table[0]) + 1)
    for row in table:
        row.insert(to, row[at])
    return 0


def blank_heading(rng: random.Random, table: Table) -> int | None:
    table[0][rng.randrange(len(table[0]))] = ""
    return None


def move_columns(rng: random.Random, table: Table) -> int | None:
    order = rng.sample(range(len(table[0])), len(table[0]))
    table[:] = [[row[at] for at in order] for row in table]
    return 0


def plain_headings(rng: random.Random, table: Table) -> int | None:
    table[0] = [rng.choice([str.upper, str.title, str.capitalize])(cell.replace("_", " ")) + " " for cell in table[0]]
    return 0


# -- rows


def repeat_row(rng: random.Random, table: Table) -> int | None:
    table.insert(rng.randrange(1, len(table) + 1), list(rng.choice(table[1:])))
    return 1


def drop_rows(rng: random.Random, table: Table) -> int | None:
    count = min(rng.choice([1, 1, 5, 50]), len(table) - 2)
    for at in sorted(rng.sample(range(1, len(table)), count), reverse=True):
        del table[at]
    return -count


def shuffle(rng: random.Random, table: Table) -> int | None:
    table[1:] = rng.sample(table[1:], len(table) - 1)
    return 0


def blank_row(rng: random.Random, table: Table) -> int | None:
    table.insert(rng.randrange(len(table) + 1), rng.choice([[], [""] * 3, [" "] * 40]))
    return 0


def title_above(rng: random.Random, table: Table) -> int | None:
    table.insert(0, [rng.choice(["Spring 2026", "My birds", "2026", "Weights in g"]), *[""] * rng.choice([0, 3])])
    return 0


def total_below(rng: random.Random, table: Table) -> int | None:
    table.append([rng.choice(["Total", "Summe:", "Mean"]), *["12"] * (len(table[0]) - 1)])
    return 1


def headings_again(rng: random.Random, table: Table) -> int | None:
    table.insert(rng.randrange(1, len(table)), list(table[0]))
    return 0


def ragged(rng: random.Random, table: Table) -> int | None:
    row = rng.choice(table[1:])
    row[1:] = rng.choice([row[1:2], [*row[1:], "x"], [*row[1:], *[""] * 9], ["", *row[1:]]])
    return 0 if any(row) else None


# -- bytes


def flip(rng: random.Random, data: bytes) -> bytes:
    spoilt = bytearray(data)
    for _ in range(rng.choice([1, 1, 3, 30])):
        spoilt[rng.randrange(len(spoilt))] ^= 1 << rng.randrange(8)
    return bytes(spoilt)


def splice(rng: random.Random, data: bytes) -> bytes:
    at = rng.randrange(len(data) + 1)
    put = rng.choice([b"", b'"', b"\x00", b"\xff\xfe", b"\r", b"\n\n", b"\xe9", b"\xf0\x9f", b"\x1a", rng.randbytes(9)])
    return data[:at] + put + data[min(len(data), at + rng.choice([0, 0, 1, 200])) :]


def open_quote(rng: random.Random, data: bytes) -> bytes:
    """Put a quote where a cell begins, below the headings."""
    starts = [
        at + 1 for at, byte in enumerate(data) if byte in b",\n" and at > data.index(b"\n") - 1 and at + 1 < len(data)
    ]
    at = rng.choice(starts)
    return data[:at] + b'"' + data[at:]


def recode(encoding: str, rng: random.Random, data: bytes) -> bytes:
    return data.decode().encode(encoding, errors="replace")


ENCODINGS = ("utf-8-sig", "utf-16", "cp1252", "mac_roman")
WAYS: dict[str, dict[str, object]] = {
    "semicolons": {"delimiter": ";"},
    "tabs": {"delimiter": "\t"},
    "bars": {"delimiter": "|"},
    "CR line ends": {"lineterminator": "\r"},
    "CRLF line ends": {"lineterminator": "\r\n"},
    "all quoted": {"quoting": csv.QUOTE_ALL},
    "blank cells at the end of each row": {"lineterminator": ",,,\n"},
}


def as_is(rng: random.Random, table: Table) -> int | None:
    return 0


def lines_below(rng: random.Random, data: bytes) -> bytes:
    return data + rng.choice([b"\n\n\n", b",,,\n,,,\n", b"\r\n", b" \n"])


def sep_line(rng: random.Random, data: bytes) -> bytes:
    return b"sep=,\n" + data


# -- files


def remove(rng: random.Random, files: Files) -> Change:
    name = pick(rng, files)
    del files[name]
    return Change(frozenset([stem(name)]))


def empty(rng: random.Random, files: Files) -> Change:
    name = pick(rng, files)
    files[name] = rng.choice([b"", b"\n", b"\xef\xbb\xbf", b"\xff\xfe", b" ", files[name].split(b"\n")[0], b",,,\n"])
    return Change(frozenset([stem(name)]))


def copy(rng: random.Random, files: Files) -> Change:
    name = pick(rng, files)
    under = rng.choice(
        ["{} copy.csv", "{} (2).csv", "old_{}.csv", "{}2.txt", "{}.TSV", "notes.csv", "{}.xlsx", "{}.ods"]
    )
    files[under.format(stem(name))] = files[name]
    return Change(frozenset([stem(name)]))


def swap(rng: random.Random, files: Files) -> Change:
    one, other = rng.sample([name for name in files if name.endswith(".csv")], 2)
    files[one], files[other] = files[other], files[one]
    return Change(frozenset([stem(one), stem(other)]))


def stranger(rng: random.Random, files: Files) -> Change:
    name = rng.choice(["photo.csv", "letter.txt", "book.xlsx", "book.ods", "~$weights.xlsx", ".hidden.csv", "plan.xls"])
    files[name] = rng.choice([rng.randbytes(300), b"Dear diary,\n\nK1 ate.\n", b"PK\x03\x04" + rng.randbytes(200), b""])
    return Change(frozenset(), 0)


def workbook(rng: random.Random, files: Files, *, typed: bool) -> Change:
    """Turn a log into a workbook, as text or with the numbers and dates that a spreadsheet makes of it."""
    name = pick(rng, files)
    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = rng.choice(["Sheet1", stem(name)])
    for row in rows_of(files[name]):
        sheet.append([_typed(cell) if typed else cell or None for cell in row])
    out = io.BytesIO()
    book.save(out)
    del files[name]
    files[f"{stem(name)}.xlsx"] = out.getvalue()
    return Change(frozenset([stem(name)]), 0, alike=True)


def _typed(cell: str) -> object:
    for read in (int, float, datetime.fromisoformat):
        try:
            return read(cell)
        except ValueError:
            continue
    return cell or None


KINDS: dict[str, Kind] = {
    **{f"cell: {name}": on_table(partial(change_cell, new)) for name, new in CELLS.items()},
    "cells: a whole column": on_table(change_column),
    "headings: one renamed": on_table(rename),
    "headings: a column dropped": on_table(drop_column),
    "headings: a column repeated": on_table(repeat_column),
    "headings: one blank": on_table(blank_heading),
    "headings: columns moved": on_table(move_columns, alike=True),
    "headings: in plain letters": on_table(plain_headings, alike=True),
    "rows: one repeated": on_table(repeat_row),
    "rows: some dropped": on_table(drop_rows),
    "rows: shuffled": on_table(shuffle),
    "rows: a blank one": on_table(blank_row),
    "rows: a title above": on_table(title_above),
    "rows: a total below": on_table(total_below),
    "rows: headings again": on_table(headings_again),
    "rows: one of another length": on_table(ragged),
    "bytes: flipped": on_bytes(flip),
    "bytes: cut and put": on_bytes(splice),
    "bytes: a quote never closed": on_bytes(open_quote, rows=0),
    **{f"encoding: {name}": on_bytes(partial(recode, name), alike=True, rows=0) for name in ENCODINGS},
    "encoding: utf-16 without its mark": on_bytes(partial(recode, "utf-16-le"), alike=True, rows=0),
    **{f"written with {name}": on_table(as_is, alike=True, **how) for name, how in WAYS.items()},
    "written with blank lines below": on_bytes(lines_below, alike=True, rows=0),
    "written with a line sep=": on_bytes(sep_line, alike=True, rows=0),
    "file: removed": remove,
    "file: emptied": empty,
    "file: copied": copy,
    "file: names swapped": swap,
    "file: a stranger": stranger,
    "file: a workbook of text": partial(workbook, typed=False),
    "file: a workbook of numbers and dates": partial(workbook, typed=True),
}
_LAST = ("bytes", "encoding", "written", "file")  # after these a table can no longer be read to be changed


def spoil(files: Files, seed: int) -> tuple[list[str], Change]:
    """Spoil the files in place; return the kinds of mutation and what they may change."""
    rng = random.Random(seed)
    names = rng.choices(list(KINDS), k=rng.choice([1, 1, 1, 1, 2, 3]))
    names.sort(key=lambda name: name.startswith(_LAST))
    changes = [KINDS[name](rng, files) for name in names]
    if len(changes) == 1:
        return names, changes[0]
    return names, Change(frozenset().union(*(change.logs for change in changes)))
