"""A season folder → a sheet a pair, and a paper for each chick that leaves. No kernel: the pages are set at once."""

import re
import threading
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import analysis
from analysis import show
from analysis.chapters.logs import untrusted
from analysis.chicks.fed import NOT_WEANED, chick_named, not_weaned
from analysis.day.round import Round, round_of
from analysis.errors import SeasonError
from analysis.finding import Finding, Words, found
from analysis.names import by_name
from analysis.report.drawing import Draw, drawing
from analysis.report.kernel import load_jsonschema
from analysis.report.writing import claim, put_all, reports_folder, said_of, scratch_folder
from analysis.say import in_words, say
from analysis.season import Season, left_alone, numbers_hold, open_season
from analysis.show.still import warm_charts
from analysis.theme import altair_theme
from analysis.words import day_words

if TYPE_CHECKING:
    from analysis.report.run import Progress

_PAIRS_PDF, _CHICKS_PDF = "pair_sheets.pdf", "leaving_papers.pdf"
_SVG = "image/svg+xml"
_MARKS = re.compile(r"([!-/:-@\[-`{-~])")
_Page = tuple[str, Callable[[], list[Any]]]  # its heading, and what makes its displays


@dataclass(frozen=True)
class Sheets:
    """Finished sheets, or papers where these were asked for: the file, how many, and what is said of a chick."""

    pairs: Path | None
    papers: Path | None
    counts: tuple[int, int]
    said: tuple[Words, ...]

    def lines(self) -> list[str]:
        """Return what the command prints: where the files are, and which chick has no paper."""
        pairs, chicks = self.counts
        lines = [say("report.made-sheets", path=self.pairs, pairs=pairs)] if self.pairs is not None else []
        if self.papers is not None:
            lines.append(say("report.made-papers", path=self.papers, chicks=chicks))
        return [*lines, *said_of((self.pairs, self.papers)), *map(in_words, self.said)]


def season_sheets(
    folder: Path,
    out: Path | None = None,
    *,
    earlier: Sequence[Path] = (),
    chicks: Sequence[str] = (),
    progress: "Progress | None" = None,
) -> Sheets:
    """Make a sheet for each pair of a season, or, where chicks are named (or their rings), a leaving paper for each.

    They are put into `out` (by default `reports/` and the folder's name); `earlier` are folders of seasons to join;
    `progress` is called with (pages done, pages in all, name). A chick that was lost gets no paper, and a line says so.
    SeasonError: the folder cannot be used or holds nothing, a name is no chick's, the pages could not be written.
    """
    season = open_season(folder, earlier)
    if season.is_blank and season.pairs.empty:
        raise SeasonError(say("report.nothing-written", folder=folder, left=left_alone(season)))
    leaving, said = who_leaves(season, chicks)
    _dress_charts()
    today = round_of(season)
    if not numbers_hold(season, joined=True):
        logs = [show.item_words(item) for item in untrusted(season, joined=True)]
        said = [*(found("report.item", what=what, said=sentence) for what, sentence in logs), *said]
    pairs, papers = [] if chicks else pair_pages(today), paper_pages(today, leaving)
    pages = len(pairs) + len(papers)
    done = iter(range(pages))

    def tell(heading: str) -> None:
        if progress is not None:
            progress(next(done, 0), pages, heading)

    target = reports_folder(folder, out)
    with scratch_folder(target) as scratch, drawing(pages) as draw:
        title = say("report.pair-sheets")
        none: list[_Page] = [(title, lambda: [show.prose(found("report.no-pair"))])]
        files = {} if chicks else {_PAIRS_PDF: _pdf(season, title, pairs or none, tell, draw)}
        if papers:
            files[_CHICKS_PDF] = _pdf(season, say("report.leaving-papers"), papers, tell, draw)
        written = put_all({target / name: content for name, content in files.items()}, target, scratch)
        claim(target, folder)
    if progress is not None:
        progress(pages, pages, "")
    where = dict(zip(files, written, strict=True))
    return Sheets(where.get(_PAIRS_PDF), where.get(_CHICKS_PDF), (len(pairs), len(papers)), tuple(said))


def _dress_charts() -> None:
    """Give the charts the season's dress, and start what draws them; there is no kernel here that does."""
    load_jsonschema()
    import altair as alt

    alt.theme.register("season", enable=True)(altair_theme)  # type: ignore[arg-type]
    threading.Thread(target=warm_charts, daemon=True).start()


def who_leaves(season: Season, names: Iterable[str]) -> tuple[list[str], list[Finding]]:
    """Return the chicks that get a paper, by name, and what is said of those lost; SeasonError: no chick's name."""
    asked = dict.fromkeys(chick_named(season, name) for name in names)
    fates = dict(zip(season.chicks["chick"], season.chicks["fate"], strict=True))
    lost = set(season.chicks.loc[season.chicks["lost_on"].notna(), "chick"])
    gone = by_name(chick for chick in asked if chick in lost or fates[chick] == "lost")
    return by_name(set(asked) - set(gone)), [found("report.no-paper", chicks=gone)] if gone else []


def pair_pages(today: Round) -> list[_Page]:
    """Return a sheet for each pair of a round's season, by name."""
    from analysis.chapters import pair_sheet
    from analysis.chapters.pair_page import PairPages

    season, pages = today.season, PairPages.of(today.season)
    kinds = dict(zip(season.pairs["pair"], season.pairs["kind"], strict=True))
    headings = {pair: say(f"report.sheet-of-{kinds[pair]}", pair=pair) for pair in by_name(kinds)}
    return [(heading, partial(pair_sheet.sheet, pages, pair, today)) for pair, heading in headings.items()]


def paper_pages(today: Round, chicks: Iterable[str]) -> list[_Page]:
    """Return a leaving paper for each of some chicks; its heading says first what speaks against leaving."""
    from analysis.chapters import one_chick

    pages: list[_Page] = []
    for chick in chicks:
        heads = [one_chick.NOT_TO_LEAVE] if one_chick.not_to_leave(today, chick) else []
        heads += [NOT_WEANED] if not_weaned(today.season, chick) else []
        heading = " · ".join(in_words(one) for one in (*heads, found("report.leaving-paper", chick=chick)))
        pages.append((heading, partial(one_chick.paper, today, chick)))
    return pages


def _pdf(season: Season, title: str, pages: Sequence[_Page], tell: Callable[[str], None], draw: Draw) -> bytes:
    """The pages as a notebook with its outputs, set as the report is."""
    from nbformat.notebooknode import from_dict

    from analysis.report.typeset import typeset

    cells = [_shown([_foot(season, title)], draw)]
    for heading, displays in pages:
        tell(heading)
        plain = _MARKS.sub(r"\\\1", " ".join(heading.split()))  # as Markdown that reads as itself
        cells += [{"cell_type": "markdown", "metadata": {}, "source": f"# {plain}"}, _shown(displays(), draw)]
    for data in (output["data"] for cell in cells for output in cell.get("outputs", ())):
        data |= {_SVG: data[_SVG]()} if _SVG in data else {}
    return typeset(from_dict({"cells": cells, "metadata": {}, "nbformat": 4, "nbformat_minor": 5}))


def _shown(displays: Iterable[Any], draw: Draw) -> dict[str, Any]:
    """A cell that has been run, with these displays for its outputs."""
    outputs = [{"output_type": "display_data", "metadata": {}, "data": _bundle(one, draw)} for one in displays]
    return {"cell_type": "code", "metadata": {}, "source": "", "execution_count": None, "outputs": outputs}


def _bundle(display: Any, draw: Draw) -> dict[str, Any]:
    """What the page needs of a display; of a chart what gives its still, without what only a screen can show."""
    if isinstance(display, show.Display):
        return {show.MIME: dict(display.data)}
    spec = display.to_dict(validate=False)
    caption = spec.pop("usermeta", {}).get("caption", "")
    for layer in spec.get("spec", spec).get("layer", ()):
        layer["encoding"].pop("tooltip", None)
    return {_SVG: draw(spec), show.MIME: {"kind": "chart", "alt": spec["description"], "caption": caption}}


def _foot(season: Season, title: str) -> Any:
    """What stands on the foot of every page; the sheets have no cover, each of them begins on its own."""
    last = season.as_of
    return show.cover(
        name=say("report.title-of-season", title=title, season=season.name),
        aviary=season.aviary,
        season=say("report.season", season=season.name),
        as_of=day_words(last) if last is not None else None,
        last_day=f"{last:%Y-%m-%d}" if last is not None else None,
        fingerprint=season.fingerprint,
        version=analysis.__version__,
        paper=season.settings["paper"],
        language=season.settings["language"],
    )
