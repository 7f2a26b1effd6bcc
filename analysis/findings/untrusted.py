"""What cannot be trusted for numbers, and where to look: said above everything else."""

from analysis.findings.overview import Item
from analysis.season import Doubt, Season, doubtful_logs, numbers_hold
from analysis.season.trust import COLUMNS, EMPTY, FEW_USED, NO_HEADINGS, NOT_READ, ONLY_HATCHED
from analysis.words import listed

WITHHELD = "Not told: the logs that it rests on could not all be read. The warning at the beginning says which."
NO_HATCHING = "Only eggs that hatched are written in these logs, so no rate of hatching is known."
_SAID = {
    NOT_READ: "It could not be read, and what stands in it is missing below. Mend or replace it; if it is no log, take "
    "it out of the folder.",
    NO_HEADINGS: "Nothing of it could be used: a column that it cannot do without has no heading that is known.",
    EMPTY: "It is empty, without even headings. Was it lost in saving? Put back a copy, or take it out of the folder.",
    COLUMNS: "Numbers would rest on columns whose headings are not known: {columns}.",
    FEW_USED: "More of its rows could not be used than could.",
    ONLY_HATCHED: "Only eggs that hatched are written, so no rate of hatching is known: it would be 100 % whatever "
    "happened. Chicks and weights are told as always. A row for each egg laid, with its outcome, would tell.",
}


def untrusted(season: Season, *, joined: bool = False) -> list[Item]:
    """Return (what, sentence) for each log that no number should be made from, then where to look; else nothing.

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
    said = [(_what(doubt, season), _SAID[doubt.code].format(columns=listed(doubt.columns))) for doubt in doubts]
    if numbers_hold(season, joined=joined):
        return list(dict.fromkeys(said))
    where = f"season check {season.folder.resolve().name} and the chapter Check the logs say what is wrong, and where."
    until = "Until it is mended no number that may rest on it is given here."
    return [*dict.fromkeys(said), ("Where to look", f"{where} {until}")]


def _what(doubt: Doubt, season: Season) -> str:
    what = doubt.file or doubt.log
    return what if doubt.season == season.name else f"{what} of {doubt.season}"
