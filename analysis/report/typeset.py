"""Executed notebook → the season's pages (PDF).

Text travels as data: `season.typ` is fixed and walks `doc.json`, so nothing a keeper types is ever read as markup.
"""

from datetime import UTC, date, datetime
from typing import Any

from analysis.errors import SeasonError
from analysis.report.blocks import Block, headings, page_blocks, season_displays
from analysis.report.markdown import words
from analysis.report.press import Pictures, press
from analysis.say import say
from analysis.show.letters import every_text, printable
from analysis.theme import FAMILY

_LEAVE = frozenset({"url", "file", "csv"})
_FOOT_LETTERS, _LAST = 36, ("fingerprint", "version")


def typeset(notebook: Any, *, timestamp: int | date | None = None, leave_out_empty: bool = False) -> bytes:
    """The executed notebook as an accessible PDF (PDF/UA-1) in the season's dress; SeasonError where it cannot be set.

    One `cover` display in it gives title, paper and foot; where that has no title (but perhaps a name, for the reader's
    window), the notebook is a pile of sheets and every heading of the first level begins a page. `timestamp` is the
    PDF's own date (seconds since 1970 or a day): by default the cover's `last_day`, or else 1 January 2000; the same
    notebook and timestamp give the same bytes. `leave_out_empty`, as `page_blocks` takes it, is for a notebook of ours,
    never for one in which a keeper may have written.
    """
    cover: Block = next((dict(b) for b in season_displays(notebook) if b.get("kind") == "cover"), {})
    cover["paper"] = "Letter" if str(cover.get("paper", "")).lower().endswith("letter") else "A4"
    pictures = Pictures(cover["paper"])
    document = _document(cover, page_blocks(notebook, pictures, leave_out_empty=leave_out_empty))
    try:
        return press("season.typ", document, pictures.files, seconds=_seconds(timestamp, cover))
    except SeasonError as trouble:
        raise SeasonError(say("report.pages-not-set-notebook-whole", why=trouble)) from trouble


def warm_page() -> None:
    """Load what the pages need; called in the background while the chapters run."""
    import mistune  # noqa: F401
    import typst  # noqa: F401


def _document(cover: Block, blocks: list[Block]) -> Block:
    first_heading = next((words([node]).strip() for block in blocks for node in headings(block)), "")
    title = cover.get("title") or cover.get("name") or first_heading or say("report.notebook")
    language, _, region = cover.get("language", "").replace("_", "-").partition("-")
    document = {
        "family": FAMILY,
        "title": title,
        "foot": _foot(cover),
        "last": " · ".join(say(f"report.foot-{name}", it=_short(cover[name])) for name in _LAST if cover.get(name)),
        "sheets": bool(cover.get("kind")) and not cover.get("title"),
        "cover": {"aviary": "", "line": "", "title": "", **cover},
        "blocks": blocks,
    }
    document = dict(every_text(document, printable, leave=_LEAVE))
    document["title"] = printable(title).replace("\n", " ")
    document["lang"] = language.lower() if language.isalpha() and 2 <= len(language) <= 3 else "en"
    document["region"] = region.upper() if region.isalpha() and len(region) == 2 else ""
    return document


def _foot(cover: Block) -> str:
    aviary, season = (cover.get(name, "") for name in ("aviary", "season"))
    season = say("report.season", season=season) if season.isdigit() else season
    as_of = say("report.as-of", day=cover["as_of"]) if cover.get("as_of") else ""
    return " · ".join(_short(part) for part in (aviary, season, as_of) if part)


def _short(text: str) -> str:
    text = " ".join(text.split())
    return text if len(text) <= _FOOT_LETTERS else text[: _FOOT_LETTERS - 1] + "…"


def _seconds(timestamp: int | date | None, cover: Block) -> int:
    if isinstance(timestamp, int):
        return timestamp
    try:
        day = timestamp or date.fromisoformat(cover.get("last_day", "")[:10])
    except ValueError:
        day = date(2000, 1, 1)
    return int(datetime(day.year, day.month, day.day, tzinfo=UTC).timestamp())
