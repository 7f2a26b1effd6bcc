"""What cannot be trusted for numbers, and where to look: said above everything else."""

from analysis.finding import ACT, Finding, Words, found
from analysis.season import Doubt, Season, doubtful_logs, numbers_hold
from analysis.season.trust import COLUMNS, EMPTY, FEW_USED, NO_HEADINGS, NOT_READ, ONLY_HATCHED

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
    doubts = doubtful_logs(season, joined=joined)
    if not doubts:
        return []
    told = list(dict.fromkeys(_doubted(doubt, season) for doubt in doubts))
    if numbers_hold(season, joined=joined):
        return told
    name = season.folder.resolve().name
    return [*told, found("overview.doubt-told-where", about=found("overview.where-to-look"), level=ACT, name=name)]


def _doubted(doubt: Doubt, season: Season) -> Finding:
    what: Words = doubt.file or doubt.log
    if doubt.season != season.name:
        what = found("overview.log-of-season", log=what, season=doubt.season)
    return found(_DOUBTS[doubt.code], about=what, level=ACT, columns=doubt.columns)
