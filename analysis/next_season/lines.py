"""The outlook as a terminal prints it."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.finding import Finding, found
from analysis.next_season.season_ahead import Outlook
from analysis.review.verdict import ADVICE
from analysis.say import in_words, say

CAUTION = found("pairs.ahead-caution")


def outlook_lines(ahead: Outlook) -> Iterator[str]:
    """Write the outlook in lines: chicks weaned in all, one pair more or less, chicks in hand by week.

    Examples
    --------
    >>> pair = {"pair": "P01", "kept": True, "advice": "keep", "weaned": 2.6, "low": 1, "high": 4}
    >>> pairs = pd.DataFrame([pair | {"total_with": 2.6, "total_without": 0.0}])
    >>> weeks = pd.DataFrame({"week": [14], "low": [0], "middle": [2], "high": [4]})
    >>> total = pd.Series({"mean": 2.6, "low": 1, "middle": 3, "high": 4})
    >>> print(list(outlook_lines(Outlook(("P01",), total, pairs, weeks)))[0])
    Next season with P01: 1 to 4 chicks weaned, 2.6 on average.
    """
    if not ahead.keep:
        yield say("pairs.ahead-no-pair")
        return
    yield say("pairs.ahead", pairs=ahead.keep, **ahead.total.to_dict())
    yield ""
    yield say("pairs.ahead-one-pair")
    width = max(len(str(pair)) for pair in ahead.pairs["pair"])
    for row in ahead.pairs.to_dict("records"):
        code = "pairs.ahead-without-it" if row["kept"] else "pairs.ahead-with-it"
        yield f"  {row['pair']:<{width}}  {say(code, **row | {'advice': ADVICE[row['advice']]})}"
    yield ""
    yield say("pairs.ahead-in-hand")
    for week in ahead.weeks.to_dict("records"):
        day = first_day(week["week"])
        of = say("pairs.ahead-week", at=day.day, day=day)
        yield f"  {of:<14}  {say('pairs.ahead-chicks', **week)}"
    yield ""
    yield in_words(CAUTION)


def first_day(week: Any) -> pd.Timestamp:
    """The first day of a week of the year, of a year that is no leap year.

    Examples
    --------
    >>> f"{first_day(15):%d.%m.}"
    '09.04.'
    """
    return pd.Timestamp(2001, 1, 1) + pd.Timedelta(days=7 * (int(week) - 1))


def most_in_hand(ahead: Outlook) -> Finding | None:
    """When most chicks would be in hand; None where none would."""
    if not len(ahead.weeks) or not ahead.weeks["high"].max():
        return None
    most = ahead.weeks.loc[ahead.weeks["middle"].idxmax()]
    day = first_day(most["week"])
    return found("pairs.ahead-most-in-hand", at=day.day, day=day, low=most["low"], high=round(most["high"]))
