"""How long an incubator was too warm or too cold, and when it was worst. Frames in, frames out."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import LOOK, NOTE, Finding, found

STANDS_FOR_H = 12.0  # a reading stands for the time half-way to its neighbours, so many hours at most (practice)
COLUMNS = [
    *("place", "readings", "watched_h", "out_h", "share", "warm_h", "cold_h"),
    *("worst_c", "worst_from", "worst_to", "finding"),
]


def time_out(readings: pd.DataFrame, *, low_c: float, high_c: float) -> pd.DataFrame:
    """Time out of range of each place, and its worst stretch.

    A reading stands for the time half-way to its neighbours, at most twelve hours on either side, so that a reading a
    day speaks of that day and a gap speaks of nothing. Readings of one moment share its time; a day without a reading
    ends a stretch.

    Parameters
    ----------
    readings : frame
        A row a reading: place, read_at, temperature (°C; missing where only the humidity was read).
    low_c, high_c : °C
        The range; a reading on either end is in it.

    Returns
    -------
    frame, a row a place, by name
        place, readings; watched_h: hours that the readings stand for, out_h of them out of range, share (out_h by
        watched_h), warm_h and cold_h; the worst stretch, of most degrees times hours: worst_c (farthest out),
        worst_from, worst_to (readings); finding: the same, about its place

    Examples
    --------
    >>> days = pd.to_datetime(["2026-06-09", "2026-06-10", "2026-06-11", "2026-06-12"])
    >>> seen = pd.DataFrame({"place": "drawer", "read_at": days, "temperature": [37.4, 38.2, 38.4, 37.5]})
    >>> time_out(seen, low_c=36.9, high_c=37.8)[["watched_h", "out_h", "worst_c"]].values.tolist()
    [[96.0, 48.0, 38.4]]
    """
    known = readings.dropna(subset=["read_at", "temperature"]).sort_values("read_at", kind="stable")
    rows = [_of_place(str(place), seen, low_c, high_c) for place, seen in known.groupby("place", sort=True)]
    return pd.DataFrame(rows, columns=COLUMNS)


def humidity_range(readings: pd.DataFrame) -> pd.DataFrame:
    """Median and range of the humidity that was read in each place.

    Parameters
    ----------
    readings : frame
        A row a reading: place, humidity_pct (relative humidity in %; missing where only the temperature was read).

    Returns
    -------
    frame, a row a place where it was read, by name
        place, readings, median_pct, low_pct, high_pct

    Examples
    --------
    >>> humidity_range(pd.DataFrame({"place": "drawer", "humidity_pct": [48.0, 55.0, 51.0, None]})).values.tolist()
    [['drawer', 3, 51.0, 48.0, 55.0]]
    """
    known = readings.dropna(subset="humidity_pct").astype({"humidity_pct": "float64"})
    read = known.groupby("place", sort=True)["humidity_pct"]
    return read.agg(readings="count", median_pct="median", low_pct="min", high_pct="max").reset_index()


def _of_place(place: str, seen: pd.DataFrame, low_c: float, high_c: float) -> tuple[Any, ...]:
    stands_h, celsius = _stands_for_h(seen["read_at"]), seen["temperature"].to_numpy(dtype=float)
    over = np.maximum(celsius - high_c, 0) - np.maximum(low_c - celsius, 0)  # degrees, signed
    warm_h, cold_h = float(stands_h[over > 0].sum()), float(stands_h[over < 0].sum())
    worst = _worst(over, stands_h, seen["read_at"].dt.normalize().to_numpy())
    told: tuple[Any, ...] = (np.nan, pd.NaT, pd.NaT)
    if worst is not None:
        moments = seen["read_at"].to_numpy()
        farthest = worst.start + int(np.abs(over[worst]).argmax())
        told = (float(celsius[farthest]), moments[worst.start], moments[worst.stop - 1])
    watched_h, out_h = float(stands_h.sum()), warm_h + cold_h
    said = _finding(place, len(seen), watched_h, out_h, *told)
    return (place, len(seen), watched_h, out_h, out_h / watched_h, warm_h, cold_h, *told, said)


def _stands_for_h(read_at: pd.Series) -> np.ndarray:
    """Hours for which each reading stands, half-way to its neighbours."""
    moments, at, times = np.unique(read_at.to_numpy(), return_inverse=True, return_counts=True)
    half = np.minimum(np.diff(moments) / np.timedelta64(1, "h") / 2, STANDS_FOR_H)
    hours: np.ndarray = ((np.append(STANDS_FOR_H, half) + np.append(half, STANDS_FOR_H)) / times)[at]
    return hours


def _worst(over: np.ndarray, stands_h: np.ndarray, days: np.ndarray) -> slice | None:
    """The run of readings on one side, day after day, that is out by most degrees times hours."""
    missed = np.diff(days) > np.timedelta64(1, "D")
    starts = np.flatnonzero(np.append(True, (np.diff(np.sign(over)) != 0) | missed))
    runs = [slice(a, b) for a, b in zip(starts, [*starts[1:], len(over)], strict=True) if over[a]]
    return max(runs, key=lambda run: float(np.abs(over[run] * stands_h[run]).sum()), default=None)


def _finding(
    place: str,
    readings: int,
    watched_h: float,
    out_h: float,
    worst_c: float,
    worst_from: pd.Timestamp,
    worst_to: pd.Timestamp,
) -> Finding:
    if not out_h:
        return found("eggs.in-range", about=place, level=NOTE, readings=readings)
    first, last = pd.Timestamp(worst_from), pd.Timestamp(worst_to)
    days = first if first.date() == last.date() else found("eggs.from-to", first=first, last=last)
    hours = {"out": _long(out_h), "watched": _long(watched_h)}
    return found("eggs.out-of-range", about=place, level=LOOK, **hours, worst_c=worst_c, days=days)


def _long(hours: float) -> Finding:
    return found("eggs.hours", hours=hours) if hours < 48 else found("eggs.days", days=hours / 24)
