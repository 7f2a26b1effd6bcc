"""What a chapter shows where logs are damaged: a warning for its headline, and nothing that rests on them."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from analysis import findings, show
from analysis.findings import Judging, PairPages
from analysis.season import Season, numbers_hold

Shown = Callable[..., list[Any]]


def warned(season: Season, *, joined: bool = False) -> list[Any]:
    """Show which logs no number should be made from, and where to look; nothing where all is well."""
    items = findings.untrusted(season, joined=joined)
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
            return shown(of, *more) if whole else [show.nothing(findings.WITHHELD)]

        return numbers

    return holding


def _season(of: Any) -> tuple[Season, bool]:
    """The season that something is of, and whether it rests on the joined seasons too."""
    return (of, False) if isinstance(of, Season) else (of.season, isinstance(of, Judging | PairPages))
