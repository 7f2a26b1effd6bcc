"""What the logs leave open: every row accounted for, what was not used, what was assumed."""

from collections.abc import Callable
from functools import wraps
from typing import Any

import pandas as pd

from analysis import show
from analysis.chicks.of_season import Chicks
from analysis.eggs.of_season import Eggs
from analysis.finding import ACT, Finding, Words, found
from analysis.logs.ledger import LOOK, RULES, alike_problems
from analysis.say import heads, in_words
from analysis.season import Season, numbers_hold, unreliable_logs
from analysis.words import listed, row_words

Shown = Callable[..., list[Any]]

WITHHELD = found("overview.withheld")
NO_HATCHING = found("overview.no-hatching")
_NAMED = 3  # so many values of problems with the same advice are shown


def untrusted(season: Season, *, joined: bool = False) -> list[Finding]:
    """Each log that no number should be made from, of the joined seasons too where asked; then where to look."""
    doubts = unreliable_logs(season, joined=joined)
    if not doubts:
        return []
    told = []
    for doubt in doubts:
        log: Words = doubt.file or doubt.log
        about = log if doubt.season == season.name else found("overview.log-of-season", log=log, season=doubt.season)
        code = f"overview.doubt-{doubt.code.replace(' ', '-')}"
        told.append(found(code, about=about, level=ACT, columns=doubt.columns))
    told = list(dict.fromkeys(told))
    if numbers_hold(season, joined=joined):
        return told
    name = season.folder.resolve().name
    return [*told, found("overview.doubt-told-where", about=found("overview.where-to-look"), level=ACT, name=name)]


def rows(season: Season) -> list[Any]:
    """Show the account of all rows."""
    unread = [found("chapters.rows-unread")] if season.unread else []
    caption = in_words([found("chapters.rows-caption"), *unread])
    shown = heads("log", "rows-read", "used", "not-used")
    return [show.table(season.accounting, caption=caption, heads=shown, name="rows")]


def not_used(season: Season) -> list[Any]:
    """Show what cost a row or a cell, with what was written."""
    caption, none = found("chapters.not-used-caption"), found("chapters.all-used")
    return _problems(season, caption, none, look=False, name="not_used_and_why")


def look_at(season: Season) -> list[Any]:
    """Show what was used, but is questionable."""
    caption, none = found("chapters.look-caption"), found("chapters.nothing-questionable")
    return _problems(season, caption, none, look=True, name="worth_a_look")


def _problems(season: Season, caption: Finding, none: Finding, *, look: bool, name: str) -> list[Any]:
    """Where, as written, what to do; more than three rows of a file for which one advice holds stand in one line."""
    chosen = season.problems[(season.problems["severity"] == LOOK) == look]
    lines = []
    for group in alike_problems(chosen, season.to_do):
        first = group.iloc[0]
        written = listed(filter(None, group["value"]), most=_NAMED)
        where = (first["file"], row_words(group["row"]), listed(filter(None, group["column"].unique())))
        lines.append((*where, written, RULES[first["code"]].title, in_words(season.to_do[group.index[0]])))
    table = pd.DataFrame(lines, columns=heads("file", "rows", "column", "as-written", "what", "what-to-do"))
    return [show.table(table, caption=caption, name=name) if lines else show.prose(none)]


def assumed(season: Season) -> list[Any]:
    """Show how the files were read, those that were read alike in one line; then what words were read as."""
    return [show.prose("\n\n".join(map(in_words, (*season.assumed, *season.understood))))]


def settings(season: Season) -> list[Any]:
    """Show the settings that hold, and the reason of each."""
    table, shown = pd.DataFrame(season.settings.table()), heads("setting", "value", "from", "what-for")
    return [show.table(table, caption=found("chapters.settings-caption"), heads=shown, name="settings")]


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
    """The season that something is of, and whether it rests on the joined seasons too, as all on pairs does."""
    return (of, False) if isinstance(of, Season) else (of.season, not isinstance(of, Chicks | Eggs))
