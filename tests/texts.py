"""Everything a keeper reads of a season, as text. `python tests/texts.py` writes it anew into tests/unchanged."""

import json
import re
import tempfile
from collections.abc import Callable, Iterable, Iterator
from contextlib import ExitStack, contextmanager
from datetime import datetime
from difflib import unified_diff
from functools import cache, partial
from itertools import islice
from pathlib import Path
from shutil import copytree
from typing import Any
from unittest.mock import patch

import pandas as pd
from click.testing import CliRunner

from analysis import SeasonError, chapters, open_season
from analysis.check.summary import check_json, check_text
from analysis.cli import main
from analysis.day.round import Round, round_of
from analysis.finding import Finding
from analysis.pairs.next_season import outlook, outlook_lines
from analysis.pairs.of_season import Pairs
from analysis.report.round_page import round_document
from analysis.report.sheets_and_papers import pair_pages, paper_pages, who_leaves
from analysis.say import in_words
from support import DEMO, ROOT, demo, demo_judged

FILES = ROOT / "tests" / "unchanged"
ODD = ROOT / "tests" / "odd"
SHOWN = 40  # lines of what changed
CLOCK = datetime(2026, 8, 20, 6, 50)
DEMO_DAYS = ("03-01", "03-20", "04-08", "04-20", "05-12", "06-05")
ALONE = "demo_alone"
SEASONS = {
    "demo": tuple(f"2026-{day}" for day in DEMO_DAYS),
    ALONE: (),
    "first_clutch": ("2026-05-04", "2026-05-12"),
    "german": ("2026-05-02", "2026-05-14"),
    "hard_year": ("2026-05-11", "2026-05-20"),
    "messy": ("2026-04-20", "2026-05-10"),
    "only_hatches": ("2026-05-05",),
}
NOT_READ = ("rows", "align", "fingerprint")  # the rows stand in the text; the fingerprint changes with every version
CHAPTERS = ("00", "01", "02", "03", "04", "05", "06")
_BY_MACHINE = re.compile(r"(data-[0-9a-f]{32}|(view|param|concat|layer|selector)_?(\d+|[0-9a-f]{16})(_\w+)?)$")
_DAY = re.compile(r"\d{4}-\d\d-\d\d([T ][\d:.]+)?$")


@contextmanager
def at_the_clock() -> Iterator[None]:
    """Set this machine's clock, so that the text is the same on any day."""
    with patch("analysis.season.days.read_clock", lambda: CLOCK):
        yield


@cache
def folder_of(season: str) -> Path:
    """The folder of a season; the demo without its earlier seasons is made for it."""
    if season != ALONE:
        return DEMO if season == "demo" else ODD / season
    folder = Path(tempfile.mkdtemp()) / "season_2026"
    copytree(DEMO, folder)
    settings = folder / "settings.csv"
    kept = [line for line in settings.read_text("utf-8").splitlines() if not line.startswith("earlier")]
    settings.write_text("\n".join(kept) + "\n", "utf-8")
    return folder


@cache
def opened(season: str, day: str | None = None) -> Round:
    """The round of a day (the last day, where none is given), with the season and its growth; worked out once."""
    on = pd.Timestamp(day) if day else None
    if season == "demo":
        return round_of(demo(day), on)
    known = open_season(folder_of(season), up_to=day)
    return round_of(known, on)


@cache
def judged(season: str) -> Any:
    """What is judged of a season, worked out once."""
    return demo_judged() if season == "demo" else Pairs.of(opened(season).season)


def without_place(text: str, folder: Path | None = None) -> str:
    """Text without the paths of this machine."""
    for path in filter(None, (folder, folder and folder.resolve(), folder and folder.parent, ROOT)):
        text = text.replace(str(path), "FOLDER")
    return text


def _words(value: Any) -> Iterator[str]:
    """All strings in nested data, in order."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, part in value.items():
            yield from _words(part) if name not in ("$schema", "config") else ()
    elif isinstance(value, list | tuple):
        for part in value:
            yield from _words(part)
    elif isinstance(value, int | float) and not isinstance(value, bool):
        yield f"{value:.4g}"


def of_chart(spec: dict[str, Any]) -> str:
    """The words of a chart, each once, sorted; its data among them."""
    words = {word for word in _words(spec) if re.search(r"[^\W\d_]", word)}
    return "\n".join(sorted(word for word in words if not _BY_MACHINE.match(word) and not _DAY.match(word)))


def of_display(one: Any) -> str:
    """What stands in a display: words of a table, a list, a paragraph, a chart."""
    if isinstance(one, dict):
        return "\n".join(_words(one))
    if hasattr(one, "to_dict"):
        return of_chart(one.to_dict(validate=False))
    shown = {name: part for name, part in one.data.items() if name not in NOT_READ}
    return "\n".join([one.text, *(f"{name}: {word}" for name, part in shown.items() for word in _words(part))])


def of_displays(shown: Iterable[Any]) -> str:
    """What stands in displays, one below the other."""
    return "\n".join(map(of_display, shown))


class Chosen:
    """Stands in for a control of a chapter: its page is shown for what it begins with."""

    def __init__(self, value: Any, show: Callable[[Iterable[Any]], None]) -> None:
        self.value, self._show = value, show

    def show(self, page: Callable[[Any], Iterable[Any]], **_: Any) -> None:
        """Show the page."""
        if self.value is not None:
            self._show(page(self.value))


@contextmanager
def _no_kernel(season: str, keep: Callable[[Iterable[Any]], None]) -> Iterator[None]:
    """Let the cells of a chapter show into a list, and work nothing out a second time."""
    today = opened(season)
    stand_in = {
        "analysis.chapters.begin": lambda *_: today.season,
        "analysis.chapters.each_day": lambda *_: lambda _: today,
        "analysis.show.each": keep,
        "analysis.day.round_of": lambda *_, **__: today,
        "analysis.show.controls.choose_day": lambda _, days, first=None: Chosen(first, keep),
        "analysis.show.controls.search": lambda _, names, page: [keep(page(name)) for name in names],
    }
    with ExitStack() as stack:
        for name, made in stand_in.items():
            stack.enter_context(patch(name, made))
        yield


def chapter(season: str, number: str) -> str:
    """The text of a chapter: its own words and what its cells show."""
    (path,) = (ROOT / "notebooks").glob(f"{number}_*.ipynb")
    lines: list[str] = []
    names: dict[str, Any] = {}
    with _no_kernel(season, lambda shown: lines.append(of_displays(shown))):
        for cell in json.loads(path.read_text("utf-8"))["cells"]:
            if cell["cell_type"] == "code":
                lines.append(f"> {cell['source'][-1]}")
                exec("".join(cell["source"]), names)
    return "\n".join(lines)


def report(season: str) -> str:
    """The season report."""
    return chapter(season, "07")


def all_chapters(season: str) -> str:
    """The other chapters, on the last day."""
    return "\n".join(chapter(season, number) for number in CHAPTERS)


def _pages(pages: Iterable[tuple[str, Callable[[], Any]]]) -> str:
    return "\n".join(f"# {heading}\n{of_displays(displays())}" for heading, displays in pages)


def sheets(season: str) -> str:
    """A sheet for each pair, and the leaving paper of every second chick."""
    today = opened(season)
    pairs = _pages(pair_pages(today))
    leaving, said = who_leaves(today.season, list(today.season.chicks["chick"])[::2])
    return "\n".join([pairs, *map(in_words, said), _pages(paper_pages(today, leaving))])


def chicks(season: str) -> str:
    """The chapter on one chick, for each of them."""
    one, today = chapters.one_chick, opened(season)
    lines = []
    with patch("analysis.charts.brood_charts", lambda *_, **__: []):  # it is read on the papers
        for name in today.season.chicks["chick"]:
            parts = [one.about(today.season, name), one.stands(today, name), one.fed(today.season, name)]
            parts += [one.weights(today.growth, name), one.unknown(today.season, name)]
            lines += [f"# {name}", *map(of_displays, parts)]
    return "\n".join(lines)


def rounds(season: str) -> str:
    """The round, as it is printed and as its chapter shows it, of each of a few days."""
    nursery, lines = chapters.nursery, []
    for day in SEASONS[season]:
        today = opened(season, day)
        document = {name: part for name, part in round_document(today).items() if name not in ("foot", "cautions")}
        lines += [f"# {day}", *(" | ".join(_words(row)) for part in document.values() for row in _rows(part))]
        shown = (nursery.day, nursery.read, nursery.chicks, nursery.before, nursery.due, nursery.eggs)
        lines += [of_displays(page(today)) for page in shown]
    return "\n".join(lines)


def _rows(part: Any) -> list[Any]:
    return part if isinstance(part, list) else [part]


def checked(season: str) -> str:
    """What `season check` prints, and the outlook."""
    known, said = opened(season).season, judged(season)
    try:
        ahead = list(outlook_lines(outlook(known, record=said.record, review=said.review)))
    except SeasonError as refused:
        ahead = [str(refused)]
    return "\n".join([check_text(known), check_json(known), *ahead])


def frames(season: str) -> str:
    """The frames that others work with."""
    today, said = opened(season), judged(season)
    known, found = today.season, {}
    found = {"review": said.review, "places": said.places, "hens": pd.DataFrame(said.hens)}
    found |= {"problems": known.problems, "not used": known.not_used, "accounting": known.accounting}
    losses = known.losses.drop(columns="event_found")  # event says it
    found |= {"flags": today.growth.flags, "due": today.due, "losses": losses}
    return "\n".join(f"# {name}\n{_csv(frame)}" for name, frame in found.items())


def _csv(frame: pd.DataFrame) -> str:
    """The frame as CSV; a finding, or several, in words."""
    told = {name: frame[name].map(_said) for name, kind in frame.dtypes.items() if kind == "object"}
    return frame.assign(**told).to_csv(index=False, float_format="%.4g", lineterminator="\n")


def _said(cell: Any) -> Any:
    several = isinstance(cell, tuple) and any(isinstance(one, Finding) for one in cell)
    return in_words(cell) if several or isinstance(cell, Finding) else cell


PARTS = {
    "report": report,
    "chapters": all_chapters,
    "sheets": sheets,
    "chicks": chicks,
    "round": rounds,
    "check": checked,
    "frames": frames,
}
OF_ALONE = ("report", "check", "frames")  # what stands alone reads differently there; the rest is slow, and alike


@cache
def of_season(season: str) -> str:
    """All that is read of a season, part by part."""
    folder = folder_of(season)
    with at_the_clock():
        names = OF_ALONE if season == ALONE else PARTS
        parts = [f"==== {name}\n{PARTS[name](season)}" for name in names]
    return each_line_once(without_place("\n".join(parts), folder))


def each_line_once(text: str) -> str:
    """Text without blank lines, and without those that stood above already."""
    lines = (line.rstrip() for line in text.replace("\r", "").split("\n"))
    return "\n".join(line for line in dict.fromkeys(lines) if line) + "\n"


def _ran(*typed: str) -> str:
    done = CliRunner().invoke(main, typed, terminal_width=100, prog_name="season")
    return f"$ season {' '.join(typed)}\n{done.output}\nended with {done.exit_code}"


def _refused(folder: Path) -> Iterator[str]:
    """What the command says to what it cannot do."""
    (folder / "empty").mkdir()
    missing, empty, demo = str(folder / "missing"), str(folder / "empty"), str(DEMO)
    out = ("--out", str(folder / "out"))
    for command in ("check", "report", "round", "sheets", "outlook", "lab"):
        yield _ran(command, missing)
        yield _ran(command, empty) if command != "lab" else ""
    yield _ran("report", demo, "--up-to", "soon", *out)
    yield _ran("report", demo, "--up-to", "1999-01-01", *out)
    yield _ran("round", demo, "--on", "20/5/2026", *out)
    yield _ran("sheets", demo, "--chick", "K99", *out)
    yield _ran("sheets", demo, "--chick", "K", *out)
    yield _ran("outlook", demo, "--keep", "P99")
    yield _ran("outlook", demo, "--keep", "")
    yield _ran("check", demo, "--with", missing)
    yield _ran("check", demo, "--jsn")
    yield _ran("rounds", demo)
    yield _ran("new")
    yield _ran("new", str(DEMO / "pairs.csv"))


def _new(folder: Path, *options: str) -> Iterator[str]:
    """What `season new` says and writes."""
    from openpyxl import load_workbook

    yield _ran("new", str(folder), *options)
    yield _ran("new", str(folder), *options)
    for path in sorted(folder.iterdir()):
        yield f"# {path.name}"
        if path.suffix != ".xlsx":
            yield path.read_text("utf-8-sig")
            continue
        for sheet in load_workbook(path):
            yield f"## {sheet.title}"
            cells = [cell for row in sheet.iter_rows() for cell in row]
            yield from (str(cell.value) for cell in cells if cell.value is not None)
            yield from (cell.comment.text for cell in cells if cell.comment)
            for check in sheet.data_validations.dataValidation:
                yield " | ".join(map(str, (check.promptTitle, check.prompt, check.errorTitle, check.error)))
    for command in ("check", "report", "round", "sheets", "outlook"):
        yield _ran(
            command, str(folder), *(("--out", str(folder / "out")) if command not in ("check", "outlook") else ())
        )


@cache
def of_command() -> str:
    """What the command line says: its help, its refusals, and what it writes to be filled in."""
    with at_the_clock(), tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        lines = [_ran("--help"), *(_ran(command, "--help") for command in sorted(main.commands))]
        lines += _refused(folder)
        for options in ((), ("--all",), ("--workbook",), ("--all", "--workbook")):
            lines += _new(folder / f"new{'_'.join(options)}", *options)
    return each_line_once(without_place("\n".join(lines), folder / "in"))


def changes(name: str) -> str:
    """The first lines in which a text is not as it is held."""
    held = (FILES / f"{name}.txt").read_text("utf-8").split("\n")
    lines = unified_diff(held, TEXTS[name]().split("\n"), "held", "now", n=0, lineterm="")
    return "\n".join(islice(lines, SHOWN))


TEXTS: dict[str, Callable[[], str]] = {season: partial(of_season, season) for season in SEASONS}
TEXTS["command"] = of_command


def write_all() -> None:
    """Write every text anew."""
    FILES.mkdir(exist_ok=True)
    for name, make in TEXTS.items():
        (FILES / f"{name}.txt").write_text(make(), "utf-8", newline="\n")


if __name__ == "__main__":
    write_all()
