"""How long an incubator was too warm or too cold, and when it was worst. Frames in, frames out."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import LOOK, NOTE, Finding, Words, found
from analysis.logs.headings import same

OPEN_OVER_C = 39.0  # practice: above it the heat is let out before anything is checked
HATCHER_FROM_C = 36.9  # a hatcher stands at 36.9 to 37.2 °C: a husbandry manual, read
HEATER_OUT_C = 35.0  # practice: below it a heater is more likely out than a setting too low
# Let the heat out, back to its setting, note the peak and the hours, candle after some days; no cold water, no
# overshoot into cold, no egg thrown away that day: a poultry page on temperature spikes (onestopincubators.com).
# Cooled to 37.2-37.5 °C: Duerr & Gage, Hand-Rearing Birds, 2nd ed., 2020, p. 552.
_TOO_HOT = found("day.let-the-heat-out", from_c=37.2, to_c=37.5)
_WARM, _COOL = found("day.turn-it-down"), found("day.turn-it-up")
# Stop a fan that blows cold air, close and cover, mend or move, note the hours; heat nothing fast, throw no egg away:
# H. Voren, Power Failures and Incubators (voren.com).
_COLD = found("day.keep-it-covered")
# Eggs are kept between 37.2 and 37.5 °C (Duerr & Gage, p. 552): thermometers as far apart as that decide about them.
APART_C = 0.3
STANDS_FOR_H = 12.0  # a reading stands for the time half-way to its neighbours, so many hours at most (practice)
COLUMNS = [
    *("place", "readings", "watched_h", "out_h", "share", "warm_h", "cold_h"),
    *("worst_c", "worst_from", "worst_to", "finding"),
]


def time_out(readings: pd.DataFrame, *, low_c: float, high_c: float) -> pd.DataFrame:
    """Time out of range of each place, and its worst stretch.

    A reading stands for the time half-way to its neighbours, at most twelve hours on either side, so that a reading a
    day speaks of that day and a gap speaks of nothing. Readings of one moment share its time; a day without a reading
    ends a stretch. A reading on either end of the range is in it.

    `readings`: place, read_at, temperature (°C; missing where only the humidity was read). Returns a row a place, by
    name: place, readings; watched_h: hours that the readings stand for, out_h of them out of range, share (out_h by
    watched_h), warm_h and cold_h; the worst stretch, of most degrees times hours: worst_c (farthest out), worst_from,
    worst_to (readings); finding: the same, about its place.
    """
    known = readings.dropna(subset=["read_at", "temperature"]).sort_values("read_at", kind="stable")
    rows = [_of_place(str(place), seen, low_c, high_c) for place, seen in known.groupby("place", sort=True)]
    return pd.DataFrame(rows, columns=COLUMNS)


def humidity_range(readings: pd.DataFrame) -> pd.DataFrame:
    """Median and range of the humidity that was read in each place, %: place, readings, median_pct, low_pct, high_pct.

    `readings`: place, humidity_pct (relative; missing where only the temperature was read).
    """
    known = readings.dropna(subset="humidity_pct").astype({"humidity_pct": "float64"})
    read = known.groupby("place", sort=True)["humidity_pct"]
    return read.agg(readings="count", median_pct="median", low_pct="min", high_pct="max").reset_index()


def _of_place(place: str, seen: pd.DataFrame, low_c: float, high_c: float) -> tuple[Any, ...]:
    moments, at, times = np.unique(seen["read_at"].to_numpy(), return_inverse=True, return_counts=True)
    half = np.minimum(np.diff(moments) / np.timedelta64(1, "h") / 2, STANDS_FOR_H)
    stands_h = ((np.append(STANDS_FOR_H, half) + np.append(half, STANDS_FOR_H)) / times)[at]
    celsius = seen["temperature"].to_numpy(dtype=float)
    over = np.maximum(celsius - high_c, 0) - np.maximum(low_c - celsius, 0)  # degrees, signed
    warm_h, cold_h = float(stands_h[over > 0].sum()), float(stands_h[over < 0].sum())
    # the run of readings on one side, day after day, that is out by most degrees times hours
    missed = np.diff(seen["read_at"].dt.normalize().to_numpy()) > np.timedelta64(1, "D")
    starts = np.flatnonzero(np.append(True, (np.diff(np.sign(over)) != 0) | missed))
    runs = [slice(a, b) for a, b in zip(starts, [*starts[1:], len(over)], strict=True) if over[a]]
    worst = max(runs, key=lambda run: float(np.abs(over[run] * stands_h[run]).sum()), default=None)
    stretch: tuple[Any, ...] = (np.nan, pd.NaT, pd.NaT)
    watched_h, out_h = float(stands_h.sum()), warm_h + cold_h
    finding = found("eggs.in-range", about=place, level=NOTE, readings=len(seen))
    if worst is not None:
        read_at = seen["read_at"].to_numpy()
        farthest = worst.start + int(np.abs(over[worst]).argmax())
        stretch = (float(celsius[farthest]), read_at[worst.start], read_at[worst.stop - 1])
        first, last = pd.Timestamp(stretch[1]), pd.Timestamp(stretch[2])
        days = first if first.date() == last.date() else found("eggs.from-to", first=first, last=last)
        facts = {"out": _long(out_h), "watched": _long(watched_h), "worst_c": stretch[0], "days": days}
        finding = found("eggs.out-of-range", about=place, level=LOOK, **facts)
    return (place, len(seen), watched_h, out_h, out_h / watched_h, warm_h, cold_h, *stretch, finding)


def _long(hours: float) -> Finding:
    return found("eggs.hours", hours=hours) if hours < 48 else found("eggs.days", days=hours / 24)


def thermometers_apart(readings: pd.DataFrame) -> pd.DataFrame:
    """Places in which two thermometers that were read at one time do not agree.

    Temperatures of one place at one moment are of two thermometers that stand in it. A day without a time tells
    nothing: one may be of the morning, and one of the evening.

    `readings` as in `time_out`. A row a place in which they were `APART_C` or more apart in the middle of all times,
    by name: place, times (how often they were read together), apart_c (°C, the median), most_c, last_at (when for the
    last time); finding: the same, about its place.
    """
    known = readings.dropna(subset=["read_at", "temperature"])
    at = pd.to_datetime(known["read_at"])
    known = known.assign(read_at=at, name=known["place"].map(same))[at != at.dt.normalize()]
    together = known.groupby(["name", "read_at"])
    read = together.agg(
        place=("place", "first"), n=("place", "size"), most=("temperature", "max"), least=("temperature", "min")
    )
    read = read[read["n"] > 1].reset_index()
    of_place = read.assign(apart=(read["most"] - read["least"]).round(2)).groupby("name", sort=True)
    rows = of_place.agg(
        place=("place", "first"),
        times=("apart", "size"),
        apart_c=("apart", "median"),
        most_c=("apart", "max"),
        last_at=("read_at", "max"),
    )
    rows = rows[rows["apart_c"] >= APART_C].reset_index(drop=True)
    said = []
    for row in rows.itertuples():
        facts = {"times": row.times, "apart_c": row.apart_c, "most_c": row.most_c if row.most_c > row.apart_c else None}
        said.append(found("eggs.thermometers-apart", about=str(row.place), level=LOOK, **facts))
    return rows.assign(finding=pd.Series(said, index=rows.index, dtype=object))


def spells(readings: pd.DataFrame, *, low_c: float, high_c: float) -> pd.DataFrame:
    """Readings out of range that follow one another in a place, as one spell each; both ends are in the range.

    `readings` as in `time_out`. A row a spell, by place and day: place, from_on, to_on (days), readings (how many),
    worst_c (the farthest out), warm (above the range, else below it).
    """
    runs = []
    known = readings[readings["temperature"].notna()].sort_values("read_at", kind="stable")
    for place, seen in known.groupby("place", sort=True):
        side = (seen["temperature"] > high_c).astype(int) - (seen["temperature"] < low_c).astype(int)
        for _, run in seen.groupby((side != side.shift()).cumsum()):
            warm = bool(side[run.index[0]] > 0)
            if side[run.index[0]]:
                worst = run["temperature"].max() if warm else run["temperature"].min()
                days = run["read_at"].dt.normalize()
                runs.append((place, days.min(), days.max(), len(run), float(worst), warm))
    return pd.DataFrame(runs, columns=["place", "from_on", "to_on", "readings", "worst_c", "warm"])


def inside(eggs: pd.DataFrame, spell: pd.Series, *, longest_d: float | pd.Series) -> pd.Series:
    """Tell which eggs (incubated_by, set_on, laid_on, hatched_at) were in a place during a spell, a row of `spells`.

    An egg that did not hatch has been taken out `longest_d` after setting. One without any day, or hatched on the first
    day, was in none.
    """
    begun = pd.to_datetime(eggs["set_on"]).fillna(pd.to_datetime(eggs["laid_on"]))
    hatched = pd.to_datetime(eggs["hatched_at"]).dt.normalize()
    out = hatched.fillna(begun + pd.to_timedelta(longest_d, unit="D"))
    there = eggs["incubated_by"] == spell["place"]
    return there & (begun <= spell["to_on"]) & (out > spell["from_on"])


def incubator_reading(
    place: str, celsius: float, read_at: pd.Timestamp, on: pd.Timestamp, low_c: float, high_c: float, note: Words = ""
) -> Finding | None:
    """What to do about an incubator whose last reading is out of range; None where it is in range.

    Both ends are in the range, and over 39 °C nothing is; `note` is said of the reading at the end.
    """
    hot = celsius > OPEN_OVER_C
    if low_c <= celsius <= high_c and not hot:
        return None
    limits = "" if hot else found("day.range", low_c=low_c, high_c=high_c)
    todo = _TOO_HOT if hot else _WARM if celsius > high_c else _COOL if celsius >= HEATER_OUT_C else _COLD
    read = {"celsius": celsius, "on": read_at, "old": bool(read_at.normalize() < on.normalize())}
    return found("day.incubator-read", about=place, **read, range=limits, asks=[todo, note])
