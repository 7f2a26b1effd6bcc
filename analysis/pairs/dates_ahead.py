"""What comes when in the season ahead: who rests until when, who is put up when, which hen passes an age limit."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.pairs.fitness import hen_limits
from analysis.pairs.habits import ALIKE, ALL, CUSTOM, OWN, days_ahead, pair_seasons, usual
from analysis.pairs.record import Record
from analysis.pairs.verdict import REST

RESTS, PUT_UP, TOO_OLD, OLD_ENOUGH = "rests until", "put up", "too old", "old enough"
DATES_CAUTION = found("pairs.dates-caution")
_WHOSE = {  # from the surest
    OWN: found("pairs.dates-by-own"),
    ALIKE: found("pairs.dates-by-species"),
    ALL: found("pairs.dates-by-all"),
    CUSTOM: found("pairs.dates-by-custom"),
}
_COLUMNS = ["on", "pair", "what", "bird", "found"]
_Row = tuple[pd.Timestamp, str, str, str, Finding]


def dates_ahead(record: Record, review: pd.DataFrame) -> pd.DataFrame:
    """What comes when to the pairs of this season, up to the end of the season ahead: habits and rules, no advice.

    Parameters
    ----------
    record, review : from `read_record` and `review_pairs`

    Returns
    -------
    frame, a row a date, by day
        on; pair; what: "rests until" (the last day of the rest that its clutches of this season call for), "put up"
        (its usual first laying day less the days that it is usually put up before, in the season ahead, and never
        within its rest), "too old", "old enough" (the first day on which the hen is past, or has reached, an age
        limit); bird: the hen, of the last two, else blank; found: the same, a Finding.

    Examples
    --------
    >>> from analysis import open_season, review_pairs
    >>> from analysis.pairs.record import read_record
    >>> season = open_season("data_demo/season_2026")
    >>> dates = dates_ahead(read_record(season), review_pairs(season))
    >>> dates.loc[dates["pair"] == "P01", ["what", "on"]].astype(str).values.tolist()
    [['rests until', '2026-12-31'], ['put up', '2027-01-01']]
    """
    seasons = pair_seasons(record)
    rests = set(review.loc[review["advice"] == REST, "pair"])
    rows: list[_Row] = []
    for pair in record.season.pairs.to_dict("records"):
        rows += _habit(record, seasons, str(pair["pair"]), rests=pair["pair"] in rests)
        rows += _ages(record, pair)
    dates = pd.DataFrame(rows, columns=_COLUMNS).astype({"on": "datetime64[us]"})
    return dates.sort_values("on", kind="stable", ignore_index=True)


def _habit(record: Record, seasons: pd.DataFrame, pair: str, *, rests: bool) -> Iterator[_Row]:
    begins, _ = days_ahead(record.season)
    first_d, whose = usual(seasons, pair, "first_d")
    lead_d, by = usual(seasons, pair, "lead_d")
    first = begins + pd.Timedelta(days=round(first_d))
    on = first - pd.Timedelta(days=round(lead_d))
    if rests:
        last = begins - pd.Timedelta(days=1)
        now = (seasons["pair"] == pair) & (seasons["season"] == record.this_season)
        clutches = int(seasons.loc[now, "clutches"].sum())
        yield last, pair, RESTS, "", found("pairs.dates-rests", about=pair, pair=pair, clutches=clutches)
        on, first = max(on, begins), max(first, begins)
    habit = {"laying": _WHOSE[whose], "lead": _WHOSE[by], "first": first, "lead_d": (first - on).days}
    yield on, pair, PUT_UP, "", found("pairs.dates-put-up", about=pair, pair=pair, **habit)


def _ages(record: Record, pair: dict[str, Any]) -> Iterator[_Row]:
    limits = hen_limits(record.season, pair)
    if limits is None:
        return
    since, until = record.season.day, days_ahead(record.season)[1]
    facts = {"hen": pair["hen"], "pair": pair["pair"], "species": pair["species"]}
    too_old = "pairs.dates-too-old"
    enough = "pairs.dates-old-enough-for-you" if limits.own_youngest else "pairs.dates-old-enough"
    for what, code, age_y in ((TOO_OLD, too_old, limits.oldest_y), (OLD_ENOUGH, enough, limits.youngest_y)):
        on = None if age_y is None else limits.first_day(age_y, past=what == TOO_OLD)
        if on is not None and since < on <= until:
            yield on, pair["pair"], what, pair["hen"], found(code, about=pair["pair"], **facts, age_y=age_y)
