"""Incubators that ran too warm or too cold, and the eggs that were in them then. Frames in, frames out."""

import pandas as pd

SPELLS = ["place", "from_on", "to_on", "readings", "worst_c", "warm"]


def spells(readings: pd.DataFrame, *, low_c: float, high_c: float) -> pd.DataFrame:
    """Readings out of range that follow one another in a place, as one spell each.

    Parameters
    ----------
    readings : frame
        A row a reading: place, read_at, temperature (°C; missing where only the humidity was read).
    low_c, high_c : °C
        The range; a reading on either end is in it.

    Returns
    -------
    frame, a row a spell, by place and day
        place, from_on, to_on (days), readings (how many), worst_c (the farthest out), warm (above the range, else
        below it).

    Examples
    --------
    >>> days = pd.to_datetime(["2026-06-09", "2026-06-10", "2026-06-11", "2026-06-12"])
    >>> seen = pd.DataFrame({"place": "drawer", "read_at": days, "temperature": [37.4, 38.2, 38.4, 37.5]})
    >>> spells(seen, low_c=36.9, high_c=37.8)[["from_on", "to_on", "readings", "worst_c"]].astype(str).values.tolist()
    [['2026-06-10', '2026-06-11', '2', '38.4']]
    """
    found = []
    known = readings[readings["temperature"].notna()].sort_values("read_at", kind="stable")
    for place, seen in known.groupby("place", sort=True):
        side = (seen["temperature"] > high_c).astype(int) - (seen["temperature"] < low_c).astype(int)
        for _, run in seen.groupby((side != side.shift()).cumsum()):
            warm = bool(side[run.index[0]] > 0)
            if side[run.index[0]]:
                worst = run["temperature"].max() if warm else run["temperature"].min()
                days = run["read_at"].dt.normalize()
                found.append((place, days.min(), days.max(), len(run), float(worst), warm))
    return pd.DataFrame(found, columns=SPELLS)


def inside(eggs: pd.DataFrame, spell: pd.Series, *, longest_d: float | pd.Series) -> pd.Series:
    """Tell which eggs were in a place during a spell.

    Parameters
    ----------
    eggs : frame
        A row an egg: incubated_by, set_on, laid_on, hatched_at (days, or missing).
    spell : a row of `spells`
    longest_d : days after setting by which an egg that did not hatch has been taken out; one, or one for each egg

    Returns
    -------
    Series of bool, by the index of `eggs`; an egg without any day, or hatched on the first day, is in none

    Examples
    --------
    >>> eggs = pd.DataFrame({"incubated_by": ["drawer", "P01"], "set_on": pd.Timestamp("2026-06-01"),
    ...                      "laid_on": pd.NaT, "hatched_at": pd.NaT})
    >>> days = {"from_on": pd.Timestamp("2026-06-10"), "to_on": pd.Timestamp("2026-06-11")}
    >>> spell = pd.Series({"place": "drawer", **days})
    >>> inside(eggs, spell, longest_d=21).tolist()
    [True, False]
    """
    begun = pd.to_datetime(eggs["set_on"]).fillna(pd.to_datetime(eggs["laid_on"]))
    hatched = pd.to_datetime(eggs["hatched_at"]).dt.normalize()
    out = hatched.fillna(begun + pd.to_timedelta(longest_d, unit="D"))
    there = eggs["incubated_by"] == spell["place"]
    return there & (begun <= spell["to_on"]) & (out > spell["from_on"])
