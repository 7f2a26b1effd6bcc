"""Weighings: what each chick truly weighed on each morning, and what the keeper wrote."""

from datetime import date

import numpy as np
import pandas as pd

from analysis.simulate.assumptions import HAND, Array, Assumptions, falling, rise

_NUMBERS = ("A_g", "K_per_d", "ti_d", "shape", "fall", "lag_d", "wean_d", "stall_d", "stall_days", "stall_drop")
_CROPS = {0.0: "", 0.5: "part", 1.0: "full"}
_WEIGHINGS = (
    *("chick", "pair", "clutch", "species", "reared_by", "weighed_at", "age_d"),
    *("true_g", "mass_g", "crop_filled", "crop", "mistake"),
)


def true_mass(chicks: pd.DataFrame, age_d: Array) -> Array:
    """The true mass, a row a chick and a column an age: growth waits out the lag, and stands still through a stall."""
    c = {name: chicks[name].to_numpy(dtype=float)[:, None] for name in _NUMBERS}
    ages = np.broadcast_to(age_d, (len(chicks), len(age_d)))
    stalled = np.where(c["stall_d"] >= 0, np.clip(ages - c["stall_d"] + 1, 0, c["stall_days"]), 0)
    grown = np.maximum(ages - c["lag_d"], 0) - stalled
    risen = rise(grown, c["A_g"], c["K_per_d"], c["ti_d"], c["shape"])
    return np.asarray(risen * falling(ages, c["wean_d"], c["fall"]) * np.exp(c["stall_drop"] * stalled))


def draw_weights(chicks: pd.DataFrame, a: Assumptions, rng: np.random.Generator) -> pd.DataFrame:
    """A row a weighing, by morning: what was true, what was written, and what went wrong with it."""
    if chicks.empty:
        return pd.DataFrame({name: [] for name in _WEIGHINGS})
    ages = np.arange(int(chicks["ends_d"].max()) + 1, dtype=float)
    mass = true_mass(chicks, ages)
    scattered = mass * np.exp(_scatter(mass.shape, a, rng))
    hatched = np.array([day.toordinal() for day in chicks["hatched_on"]])
    morning = hatched[:, None] + ages.astype(int)[None, :]
    filled = np.where(rng.random(mass.shape) < a.part_full, np.where(rng.random(mass.shape) < 0.5, 0.5, 1.0), 0.0)
    first, days = morning.min(), morning.max() - morning.min() + 1
    off = np.where(rng.random(days) < a.scale_off, a.scale_off_g * rng.choice([-1.0, 1.0], days), 0.0)[morning - first]
    weighed = _weighed(chicks, ages, morning, a, rng)
    grams = scattered * (1 + a.crop_fill * filled) + off
    step = np.where(grams < a.fine_to_g, a.fine_g, a.coarse_g)  # of the small and the kitchen scale
    written = (np.maximum(np.round(grams / step), 1) * step).round(6)
    at, day = np.nonzero(weighed)
    order = np.lexsort((at, morning[at, day]))
    at, day = at[order], day[order]
    noted = rng.random(len(at)) < a.crop_noted
    crops = (_CROPS[float(fill)] if is_noted else "" for fill, is_noted in zip(filled[at, day], noted, strict=True))
    frame = chicks.loc[at, ["chick", "pair", "clutch", "species", "reared_by"]].reset_index(drop=True)
    frame = frame.assign(
        weighed_at=[date.fromordinal(int(o)) for o in morning[at, day]],
        age_d=ages[day],
        true_g=mass[at, day],
        mass_g=written[at, day],
        crop_filled=filled[at, day],
        crop=list(crops),
        mistake=np.where(off[at, day] != 0, "scale", ""),
    )
    return _with_mistakes(frame, a, rng)[list(_WEIGHINGS)]


def _scatter(shape: tuple[int, int], a: Assumptions, rng: np.random.Generator) -> Array:
    """Heavy-tailed scatter of spread sigma, each day leaning on the day before."""
    shocks = rng.standard_t(a.tails, shape) / np.sqrt(a.tails / (a.tails - 2))
    scatter = np.empty(shape)
    scatter[:, 0] = shocks[:, 0]
    fresh = np.sqrt(1 - a.day_to_day**2)
    for day in range(1, shape[1]):
        scatter[:, day] = a.day_to_day * scatter[:, day - 1] + fresh * shocks[:, day]
    return a.sigma * scatter


def _weighed(
    chicks: pd.DataFrame, ages: Array, morning: np.ndarray, a: Assumptions, rng: np.random.Generator
) -> np.ndarray:
    """Which mornings a chick was weighed on: up to weaning, or the day before it was found lost."""
    lost = (chicks["fate"] == "lost").to_numpy()[:, None]
    here = ages[None, :] <= chicks["ends_d"].to_numpy()[:, None] - lost
    taken_d = np.where(chicks["incubated_by"] != chicks["pair"], 0, a.hand_from_d)  # some from the egg
    by_hand = (chicks["reared_by"] == HAND).to_numpy()[:, None] & (ages >= taken_d[:, None])
    share = np.where(by_hand, a.weighed_hand, a.weighed_nest)
    nobody = rng.random(morning.max() - morning.min() + 1) < a.nobody
    return np.asarray(here & (rng.random(morning.shape) < share) & ~nobody[morning - morning.min()])


def _with_mistakes(frame: pd.DataFrame, a: Assumptions, rng: np.random.Generator) -> pd.DataFrame:
    """Write two chicks of one brood for each other, on a few mornings, and some weights wrong."""
    mass, mistake = frame["mass_g"].to_numpy().copy(), frame["mistake"].to_numpy(dtype=object).copy()
    broods: dict[tuple[date, str, str], list[int]] = {}
    for row, brood in enumerate(zip(frame["weighed_at"], frame["pair"], frame["clutch"], strict=True)):
        broods.setdefault(brood, []).append(row)
    swapped = rng.random(len(broods)) < a.swaps
    for (first, *others), swap in zip(broods.values(), swapped, strict=True):
        if swap and others:
            mass[[first, others[0]]] = mass[[others[0], first]]
            mistake[[first, others[0]]] = "swap"
    slips = np.flatnonzero(rng.random(len(frame)) < a.slips)
    for at, kind in zip(slips, rng.integers(0, 3, len(slips)), strict=True):
        mass[at], mistake[at] = slip(float(mass[at]), int(kind)), "slip"
    return frame.assign(mass_g=mass, mistake=mistake)


def slip(mass_g: float, kind: int) -> float:
    """A weight as a slip of the pen writes it: digits exchanged, a point astray, or a ten too many."""
    whole = int(mass_g)
    exchanged = int(str(whole)[::-1])
    if kind == 0 and exchanged != whole and 10 <= whole < 100:
        return float(exchanged)
    if kind == 1:
        return round(mass_g * 10, 6)
    return round(mass_g + 10 if mass_g >= 10 else mass_g + 1, 6)
