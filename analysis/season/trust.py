"""Whether a season's logs can be trusted for numbers; decided here, once, and asked before any headline is shown."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import PurePath

from analysis.logs import LOGS
from analysis.logs.headings import column_meant, log_named
from analysis.logs.ledger import NOT_USED
from analysis.season.model import Season

NOT_READ, NO_HEADINGS, EMPTY, COLUMNS, FEW_USED, ONLY_HATCHED = (
    *("not read", "no headings", "empty", "columns", "few used"),
    "only hatched",
)
RATES = ("hatches", "clutches", "losses", "pairs", "moves", "cages", "settings")  # logs that the rates rest on
# Columns on which a number rests, beside those that a log cannot do without.
_TOLD_BY = {
    "hatches": (
        "pair",
        "clutch",
        "outcome",
        "hatched_at",
        "weaned_on",
        "left_on",
        "arrived_on",
        "laid_on",
        "reared_by",
    ),
    "clutches": ("hatched", "weaned", "clear", "died_in_egg", "broken_or_gone"),
    "pairs": ("kind", "cock", "hen"),
}
_FILLED = ("clutch", "reared_by", "kind")  # never blank in the frames, so a blank one tells nothing
_OPEN = {"hatched", "unknown", "still incubating"}  # outcomes that stand where nobody wrote one


@dataclass(frozen=True)
class Doubt:
    """A log that no number should be made from.

    Attributes
    ----------
    code : `NOT_READ` (the file), `NO_HEADINGS` (a needed column is not known by its heading), `EMPTY` (a file),
        `COLUMNS` (a column on which numbers rest is not known by its heading), `FEW_USED` (of most rows nothing could
        be used), `ONLY_HATCHED` (no egg that did not hatch is written: only of hatching nothing is known)
    log : blank where nobody can tell which it is
    file : where it was written; blank: see `log`
    columns : the headings as written
    season : its name
    """

    code: str
    log: str
    file: str
    columns: tuple[str, ...]
    season: str


def doubtful_logs(season: Season, *, joined: bool = False) -> list[Doubt]:
    """Return the logs of a season that no number should be made from; none where all is well.

    Told by the account of the rows and by the problems, each by its code. A keeper who logs chicks and no eggs is not
    doubted: such logs say nothing of hatching, and nothing is said of it. What else may be one-sided is asked only
    where no log is damaged.

    Parameters
    ----------
    season : Season
    joined : also of the seasons that are joined to it

    Examples
    --------
    >>> from analysis import open_season
    >>> doubtful_logs(open_season("data_demo/season_2026"), joined=True)
    []
    """
    found = [*_by_problems(season), *_columns_missed(season)]
    found = found or list(_few_used(season)) or list(_only_hatched(season))
    return [*found, *(doubt for one in season.earlier if joined for doubt in doubtful_logs(one))]


def numbers_hold(season: Season, *, joined: bool = False, logs: tuple[str, ...] = ()) -> bool:
    """Tell whether numbers may be shown at all: those that rest on `logs`, or any.

    Examples
    --------
    >>> from analysis import open_season
    >>> numbers_hold(open_season("data_demo/season_2026"))
    True
    """
    damaged = [doubt for doubt in doubtful_logs(season, joined=joined) if doubt.code != ONLY_HATCHED]
    return not any(not logs or not doubt.log or doubt.log in logs for doubt in damaged)


def hatching_known(season: Season) -> bool:
    """Tell whether a rate of hatching may be shown: whether eggs are written that did not hatch.

    Examples
    --------
    >>> from analysis import open_season
    >>> hatching_known(open_season("data_demo/season_2026"))
    True
    """
    return not any(_only_hatched(season))


def _by_problems(season: Season) -> Iterator[Doubt]:
    """Files that could not be read, logs without a needed column, and empty files that bear a log's name."""
    problems = season.problems
    whole = problems[problems["row"].isna() & (problems["code"] != "later-than-asked")]
    for problem in whole.itertuples():
        log = _log(str(problem.file), str(problem.sheet))
        code = {"no-headings": NO_HEADINGS, "empty-file": EMPTY}.get(str(problem.code), NOT_READ)
        if problem.severity == NOT_USED or (code == EMPTY and log):
            yield Doubt(code, log, str(problem.file), (), season.name)


def _log(file: str, sheet: str) -> str:
    return (log_named(sheet) if sheet else log_named(PurePath(file).stem)) or ""


def _columns_missed(season: Season) -> Iterator[Doubt]:
    """Logs with a heading that is a slip of a column on which numbers rest, and nothing in that column."""
    unknown = season.problems[season.problems["code"] == "unknown-column"]
    for (file, sheet), rows in unknown.groupby(["file", "sheet"], sort=True):
        log = _log(str(file), str(sheet))
        missed = [str(heading) for heading in rows["column"] if log and _rests_on(season, log, str(heading))]
        if missed:
            yield Doubt(COLUMNS, log, str(file), tuple(missed), season.name)


def _rests_on(season: Season, log: str, heading: str) -> bool:
    column = column_meant(heading, LOGS[log])
    if column not in _TOLD_BY.get(log, ()):
        return False
    if column == "outcome":
        return set(season.eggs["outcome"]) <= _OPEN
    frames = {"hatches": (season.eggs, season.chicks), "clutches": (season.clutches,), "pairs": (season.pairs,)}[log]
    written = [frame[column] for frame in frames if column in frame]
    return column in _FILLED or all((cells.isna() | cells.astype(str).eq("")).all() for cells in written)


def _few_used(season: Season) -> Iterator[Doubt]:
    """Logs of whose rows most could not be used (the half is ours); rows later than the day asked for are no doubt."""
    if "later-than-asked" in set(season.problems["code"]):
        return
    for row in season.accounting.itertuples():
        if row.log in LOGS and row.read > 0 and 2 * row.used < row.read:
            yield Doubt(FEW_USED, str(row.log), "", (), season.name)


def _only_hatched(season: Season) -> Iterator[Doubt]:
    """Eggs of which none is written that did not hatch."""
    eggs, counts = season.eggs, season.clutches
    outcomes = set(eggs["outcome"])
    hatched = "hatched" in outcomes or bool(counts["hatched"].gt(0).any())
    others = bool(outcomes - {"hatched", "unknown"}) or bool(counts["eggs"].gt(counts["hatched"]).any())
    if hatched and (not others or "only-hatched-written" in set(season.problems["code"])):
        file = str(eggs["file"].iloc[0]) if len(eggs) else ""
        yield Doubt(ONLY_HATCHED, "hatches" if len(eggs) else "clutches", file, (), season.name)
