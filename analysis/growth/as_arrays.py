"""Weighings of many chicks as arrays: read from a frame, checked, put in order.

`Weighings` are what a curve is fitted to; a `Log` is them and all that is known beside of chicks that are watched.
"""

from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.needed import days_of, need_columns, numbers_of, truths_of
from analysis.words import listed

ASKS = "Growth"  # who needs what is missing
COLUMNS = ("chick", "age_d", "mass_g")
KINDS = ("kind", "species")  # columns that tell kinds apart; the first that is there counts
# An age known to more than a day and a half is guessed: such a chick is judged on what it gains (practice, ours).
SURE_D = 1.5


@dataclass(frozen=True)
class Weighings:
    """Weighings end to end, chick after chick, each chick's by age."""

    chicks: pd.Index  # their names
    sizes: np.ndarray  # (chicks,), weighings of each
    age_d: Array
    mass_g: Array

    @property
    def first(self) -> np.ndarray:
        """Row at which each chick begins."""
        return np.asarray(np.cumsum(self.sizes) - self.sizes)

    @property
    def last(self) -> np.ndarray:
        """Row at which each chick ends: its last weighing."""
        return np.cumsum(self.sizes) - 1

    @property
    def of(self) -> np.ndarray:
        """The number of the chick of each row."""
        return np.repeat(np.arange(len(self.sizes)), self.sizes)

    def each(self, values: np.ndarray) -> np.ndarray:
        """A value of each chick, (chicks,) or (..., chicks), repeated on its rows."""
        return np.repeat(values, self.sizes, axis=-1)

    def total(self, values: Array) -> Array:
        """Sum over the rows of each chick."""
        return np.add.reduceat(values, self.first) if len(self.sizes) else np.zeros(0)

    def heaviest(self) -> Array:
        """Largest mass of each chick, gram."""
        return np.maximum.reduceat(self.mass_g, self.first) if len(self.sizes) else np.zeros(0)

    def only(self, which: np.ndarray) -> "Weighings":
        """Those chicks alone (`which`: a truth value for each)."""
        if which.all():
            return self
        rows = np.repeat(which, self.sizes)
        return Weighings(self.chicks[which], self.sizes[which], self.age_d[rows], self.mass_g[rows])


def weighings_of(frame: pd.DataFrame) -> Weighings:
    """Read chick, age_d (days) and mass_g (gram) from a frame; the order of its rows does not matter.

    Where they are in order already the arrays are the frame's own, and not to be written to. ValueError: a column, age
    or weight is missing or not finite; a weight is not above zero (the season's logs sort such rows out beforehand).
    """
    need_columns(ASKS, frame, COLUMNS)
    age_d, mass_g = (numbers_of(ASKS, frame[column]) for column in ("age_d", "mass_g"))
    faults = {"without a chick": frame["chick"].isna().to_numpy(bool), "without a finite age": ~np.isfinite(age_d)}
    faults["without a finite weight"] = ~np.isfinite(mass_g)
    counted = [f"{np.count_nonzero(rows)} {fault}" for fault, rows in faults.items() if rows.any()]
    if (n := np.count_nonzero(mass_g <= 0)) or counted:
        raise ValueError(
            f"Growth cannot use these rows: {', '.join(counted + [f'{n} with a weight of zero or less'] * bool(n))}."
        )
    chicks, number, begins = _runs(frame["chick"])
    lengths = np.diff(begins, append=len(age_d))
    rising = np.diff(age_d) > 0
    rising[begins[1:] - 1] = True
    if rising.all() and np.all(np.diff(number) > 0):
        return Weighings(chicks, lengths, age_d, mass_g)
    code = np.repeat(number, lengths)
    # Two weighings on one age: by mass, so that sums do not depend on the order of rows in the last digit.
    order = np.lexsort((mass_g, age_d, code))
    return Weighings(chicks, np.bincount(code, minlength=len(chicks)), age_d[order], mass_g[order])


def kinds_in(frame: pd.DataFrame) -> dict[str, pd.DataFrame]:
    """Part weighings by the kind of bird; a weighing of several chicks together is no chick's, and left out.

    Kinds are told by the column kind, or by species where there is none; a frame with neither is of one kind, "".
    ValueError: one chick's rows are of two kinds; `together` holds no numbers.
    """
    alone = frame[~(numbers_of(ASKS, frame["together"]) > 1)] if "together" in frame else frame
    by = kinds_told_by(alone)
    if not by:
        return {"": alone}
    kind = alone[by].astype(object).where(alone[by].notna(), "").astype(str)
    several = kind.groupby(alone["chick"]).nunique() if "chick" in alone else pd.Series(dtype=int)
    if len(torn := several.index[several > 1]):
        raise ValueError(
            f"The rows of {listed(map(str, torn))} are of two kinds (column {by}); a chick is of one. "
            "Where two birds bear one name, give each its own, such as K1 (2025)."
        )
    return {str(name): rows for name, rows in alone.groupby(kind, sort=True)}


def kinds_told_by(frame: pd.DataFrame) -> str:
    """The column by which the kinds of a frame are told; blank where it has none, or no rows."""
    return next((column for column in KINDS if column in frame and len(frame)), "")


def pair_of_each(frame: pd.DataFrame) -> pd.Series:
    """The pair that laid it, by chick, of those whose pair is known; ValueError: a chick has two."""
    of = frame[["chick", "pair"]].dropna().drop_duplicates()
    if len(twice := of["chick"][of["chick"].duplicated()]):
        raise ValueError(f"A chick has one pair that laid it; {twice.iloc[0]} has several.")
    return of.set_index("chick")["pair"]


def evenly(which: np.ndarray, most: int) -> np.ndarray:
    """So many of those (`which`: a truth value for each) at most, spread evenly over all of them."""
    some, kept = np.flatnonzero(which), np.zeros(len(which), bool)
    kept[some[np.linspace(0, len(some) - 1, min(most, len(some))).astype(int)]] = True
    return kept


def _runs(chick: pd.Series) -> tuple[pd.Index, np.ndarray, np.ndarray]:
    """Chicks in the order of their names, and of each run of rows of one chick its number and where it begins.

    A chick's rows mostly follow each other, and comparing two names is quicker than looking one up.
    """
    names = chick.to_numpy()
    begins = np.flatnonzero(np.append(True, names[1:] != names[:-1])[: len(names)])
    code, chicks = pd.factorize(chick.iloc[begins])
    chicks = pd.Index(chicks, name="chick")
    try:
        order = np.asarray(chicks.argsort())
    except TypeError:  # names of mixed kinds go by kind, then by their text
        kinds = [(type(name).__name__, str(name)) for name in chicks]
        order = np.array(sorted(range(len(kinds)), key=kinds.__getitem__), int)
    rank = np.empty(len(order), int)
    rank[order] = np.arange(len(order))
    return chicks[order], rank[code], begins


@dataclass(frozen=True)
class Log:
    """Weighings chick after chick, each chick's by age, and what goes with them."""

    rows: Weighings
    log_mass: Array  # (weighings,), ln mass less what is known to sit on it (a full crop, a scale that was off)
    crop: np.ndarray  # (weighings,), "part", "full" or ""
    morning: np.ndarray  # (weighings,), day number on which it was weighed; -1 where that is not written
    brood: np.ndarray  # (chicks,), which chicks are of one clutch; -1 where that is not written
    did_well: np.ndarray  # (chicks,)
    unsure_d: Array  # (chicks,), days by which the age may be wrong; 0 where it is sure

    @property
    def guessed(self) -> np.ndarray:
        """Whether a chick's age is guessed, (chicks,)."""
        return self.unsure_d > SURE_D

    def only(self, which: np.ndarray) -> "Log":
        """Those chicks alone (`which`: a truth value for each)."""
        return self.keep(self.rows.each(which))

    def keep(self, which: np.ndarray) -> "Log":
        """Those weighings alone (`which`: a truth value for each); chicks left without any are gone."""
        sizes = np.add.reduceat(which.astype(int), self.rows.first) if len(which) else self.rows.sizes
        here = sizes > 0
        rows = Weighings(self.rows.chicks[here], sizes[here], self.rows.age_d[which], self.rows.mass_g[which])
        by_weighing = (values[which] for values in (self.log_mass, self.crop, self.morning))
        return Log(rows, *by_weighing, *(values[here] for values in (self.brood, self.did_well, self.unsure_d)))

    def beside(self, step: int, within_d: float = np.inf) -> tuple[np.ndarray, np.ndarray]:
        """Which weighing is so many after (below 0: before) each, and whether it is the chick's and no further away."""
        at = np.arange(len(self.log_mass))
        other = np.clip(at + step, 0, len(at) - 1)
        near = (at + step == other) & (self.rows.of[other] == self.rows.of)
        return other, near & (np.abs(self.rows.age_d[other] - self.rows.age_d) <= within_d)

    def once_a_day(self) -> np.ndarray:
        """The first weighing of each chick and day with an empty crop, else the first, (weighings,)."""
        day = np.where(self.morning >= 0, self.morning, np.floor(self.rows.age_d).astype(int))
        order = np.lexsort((np.arange(len(day)), self.crop != "", day, self.rows.of))
        new = np.append(True, (np.diff(day[order]) != 0) | (np.diff(self.rows.of[order]) != 0))[: len(order)]
        kept = np.zeros(len(day), bool)
        kept[order[new]] = True
        return kept

    def frame(self, filled: Array | float = 0.0) -> pd.DataFrame:
        """Chick, age_d and mass_g for a fit, less what a crop adds to ln mass (`filled`)."""
        chick, mass_g = self.rows.chicks.repeat(self.rows.sizes), np.exp(self.log_mass - filled)
        return pd.DataFrame({"chick": chick, "age_d": self.rows.age_d, "mass_g": mass_g})


def log_of(frame: pd.DataFrame) -> Log:
    """Read the frame of `find_flags`; ValueError as from `weighings_of`."""
    rows = weighings_of(frame)
    code = rows.chicks.get_indexer(frame["chick"])
    order = np.lexsort((frame["mass_g"].to_numpy(float), frame["age_d"].to_numpy(float), code))

    def column(name: str, missing: Any) -> pd.Series:
        values = frame[name] if name in frame else pd.Series(missing, index=frame.index)
        return values.iloc[order].reset_index(drop=True)

    first = rows.first
    when = days_of(ASKS, column("weighed_at", pd.NaT))
    when = when.dt.tz_localize(None) if when.dt.tz is not None else when
    morning = ((when.dt.normalize() - pd.Timestamp(0)) // pd.Timedelta(days=1)).fillna(-1).to_numpy(int)
    broods = [
        None if (pd.isna(pair) or pair == "") and (pd.isna(clutch) or clutch == "") else (str(pair), str(clutch))
        for pair, clutch in zip(column("pair", None).iloc[first], column("clutch", None).iloc[first], strict=True)
    ]
    brood: np.ndarray = pd.factorize(pd.Series(broods, dtype=object))[0]
    did_well = truths_of(ASKS, column("did_well", True).iloc[first])
    unsure_d = np.nan_to_num(numbers_of(ASKS, column("sure_to_days", 0.0).iloc[first]))
    crop = column("crop", "").astype(object).where(lambda words: words.notna(), "").to_numpy(object)
    crop = np.where(np.isin(crop, ("part", "full")), crop, "")
    return Log(rows, np.log(rows.mass_g), crop, morning, brood, did_well, unsure_d)
