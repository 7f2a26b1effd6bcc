"""What the logs leave open: every row accounted for, what was not used, what was assumed."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from analysis import show
from analysis.chapters.overview import reading_lines
from analysis.chapters.pair_page import PairPages
from analysis.chapters.tables import problems_table, settings_table
from analysis.finding import ACT, Finding, Words, found
from analysis.pairs.of_season import Pairs
from analysis.say import heads, in_words
from analysis.season import Season, UnreliableLog, numbers_hold, unreliable_logs
from analysis.season.data_quality import COLUMNS, EMPTY, FEW_USED, NO_HEADINGS, NOT_READ, ONLY_HATCHED

WITHHELD = found("overview.withheld")
NO_HATCHING = found("overview.no-hatching")
_DOUBTS = {
    NOT_READ: "overview.doubt-not-read",
    NO_HEADINGS: "overview.doubt-no-headings",
    EMPTY: "overview.doubt-empty",
    COLUMNS: "overview.doubt-columns",
    FEW_USED: "overview.doubt-few-used",
    ONLY_HATCHED: "overview.doubt-only-hatched",
}


def untrusted(season: Season, *, joined: bool = False) -> list[Finding]:
    """Return each log that no number should be made from, then where to look; else nothing.

    Parameters
    ----------
    season : Season
    joined : also of the seasons that are joined to it, for what rests on those too

    Examples
    --------
    >>> from analysis import open_season
    >>> untrusted(open_season("data_demo/season_2026"))
    []
    """
    doubts = unreliable_logs(season, joined=joined)
    if not doubts:
        return []
    told = list(dict.fromkeys(_doubted(doubt, season) for doubt in doubts))
    if numbers_hold(season, joined=joined):
        return told
    name = season.folder.resolve().name
    return [*told, found("overview.doubt-told-where", about=found("overview.where-to-look"), level=ACT, name=name)]


def _doubted(doubt: UnreliableLog, season: Season) -> Finding:
    what: Words = doubt.file or doubt.log
    if doubt.season != season.name:
        what = found("overview.log-of-season", log=what, season=doubt.season)
    return found(_DOUBTS[doubt.code], about=what, level=ACT, columns=doubt.columns)


def rows(season: Season) -> list[Any]:
    """Show the account of all rows."""
    unread = [found("chapters.rows-unread")] if season.unread else []
    caption = in_words([found("chapters.rows-caption"), *unread])
    shown = heads("log", "rows-read", "used", "not-used")
    return [show.table(season.accounting, caption=caption, heads=shown, name="rows")]


def not_used(season: Season) -> list[Any]:
    """Show what cost a row or a cell, with what was written."""
    problems = problems_table(season, look=False)
    if problems.empty:
        return [show.prose(found("chapters.all-used"))]
    caption = found("chapters.not-used-caption")
    return [show.table(problems, caption=caption, name="not_used_and_why")]


def look_at(season: Season) -> list[Any]:
    """Show what was used, but is questionable."""
    problems = problems_table(season, look=True)
    if problems.empty:
        return [show.prose(found("chapters.nothing-questionable"))]
    return [show.table(problems, caption=found("chapters.look-caption"), name="worth_a_look")]


def as_written(season: Season) -> list[Any]:
    """Show the rows and cells that were not used, as they were written."""
    if season.not_used.empty:
        return []
    shown = heads("file", "sheet", "row", "column", "as-written")
    kept = season.not_used.assign(row=season.not_used["row"].astype("string").fillna(""))
    caption = found("chapters.as-written-caption")
    return [show.table(kept, caption=caption, heads=shown, name="not_used_as_written")]


def assumed(season: Season) -> list[Any]:
    """Show how the files were read."""
    return [show.prose("\n\n".join(map(in_words, reading_lines(season))))]


def settings(season: Season) -> list[Any]:
    """Show the settings that hold, and the reason of each."""
    caption, shown = found("chapters.settings-caption"), heads("setting", "value", "from", "what-for")
    return [show.table(settings_table(season), caption=caption, heads=shown, name="settings")]


Shown = Callable[..., list[Any]]


def warned(season: Season, *, joined: bool = False) -> list[Any]:
    """Show which logs no number should be made from, and where to look; nothing where all is well."""
    items = untrusted(season, joined=joined)
    return [show.warning(*items)] if items else []


def damaged(season: Season) -> list[Any]:
    """Show the warning where logs are damaged; what is known of hatching is no matter here."""
    return [] if numbers_hold(season) else warned(season)


def in_its_place(shown: Shown) -> Shown:
    """Show the warning above a headline, and in its place where the logs are damaged."""

    @wraps(shown)
    def headline(of: Any, *more: Any) -> list[Any]:
        season, joined = _season(of)
        first = warned(season, joined=joined) if joined or of is season else damaged(season)
        return [*first, *(shown(of, *more) if numbers_hold(season, joined=joined) else [])]

    return headline


def withheld(*logs: str) -> Callable[[Shown], Shown]:
    """Show one sentence in the place of numbers where the logs that they rest on (none named: any) are damaged."""

    def holding(shown: Shown) -> Shown:
        @wraps(shown)
        def numbers(of: Any, *more: Any) -> list[Any]:
            season, joined = _season(of)
            whole = numbers_hold(season, joined=joined, logs=logs)
            return shown(of, *more) if whole else [show.nothing(WITHHELD)]

        return numbers

    return holding


def _season(of: Any) -> tuple[Season, bool]:
    """The season that something is of, and whether it rests on the joined seasons too."""
    return (of, False) if isinstance(of, Season) else (of.season, isinstance(of, Pairs | PairPages))
