"""The outlook as a terminal prints it."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.outlook.outlook import Outlook
from analysis.words import count_words, listed

CAUTION = (
    "Ranges hold four seasons in five, from these logs alone: illness, new birds or another way of keeping are in none "
    "of them. You decide which pairs to keep."
)


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
        yield "Next season with no pair: no chicks."
        return
    pairs = listed(ahead.keep, most=12)
    total = ahead.total
    between = f"{total['low']:.0f} to {total['high']:.0f} chicks weaned, {total['mean']:.1f} on average"
    yield f"Next season with {pairs}: {between}."
    yield ""
    yield "One pair more or less"
    width = max(len(str(pair)) for pair in ahead.pairs["pair"])
    for row in ahead.pairs.itertuples():
        gives = f"{row.low:.0f} to {row.high:.0f} of its own, {row.weaned:.1f} on average"
        change = f"without it {row.total_without:.1f}" if row.kept else f"with it {row.total_with:.1f}"
        yield f"  {row.pair:<{width}}  {gives}; {change} (advice: {row.advice})"
    yield ""
    yield "Chicks in hand by week (hatched, not yet weaned)"
    for row in ahead.weeks.itertuples():
        between = f"{row.low:.0f} to {row.high:.0f}, {row.middle:.0f} in the middle"
        yield f"  week of {week_of(row.week):<6}  {between}"
    yield ""
    yield CAUTION


def week_of(week: Any) -> str:
    """The first day of a week of the year, in words.

    Examples
    --------
    >>> week_of(1), week_of(15)
    ('1 Jan', '9 Apr')
    """
    day = pd.Timestamp(2001, 1, 1) + pd.Timedelta(days=7 * (int(week) - 1))
    return f"{day.day} {day:%b}"


def in_hand_words(ahead: Outlook) -> str:
    """Say when most chicks would be in hand; blank where none would."""
    if not len(ahead.weeks) or not ahead.weeks["high"].max():
        return ""
    most = ahead.weeks.loc[ahead.weeks["middle"].idxmax()]
    chicks = count_words(round(most["high"]), "chick")
    return f"Most chicks would be in hand in the week of {week_of(most['week'])}: {most['low']:.0f} to {chicks}."
