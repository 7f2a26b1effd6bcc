"""Weighings of many chicks as arrays: read from a frame, checked, put in order."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.needed import need_columns, numbers_of
from analysis.words import listed

ASKS = "Growth"  # who needs what is missing
COLUMNS = ("chick", "age_d", "mass_g")
KINDS = ("kind", "species")  # columns that tell kinds apart; the first that is there counts


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

    Where they are in order already the arrays are the frame's own, and not to be written to. ValueError: a column is
    missing; an age or weight is missing or not finite; a weight is not above zero. The season's logs sort such rows out
    beforehand, so here they mean a mistake in the call.
    """
    need_columns(ASKS, frame, COLUMNS)
    age_d, mass_g = (numbers_of(ASKS, frame[column]) for column in ("age_d", "mass_g"))
    blank = frame["chick"].isna().to_numpy(bool)
    counts = [np.count_nonzero(rows) for rows in (blank, ~np.isfinite(age_d), ~np.isfinite(mass_g), mass_g <= 0)]
    if any(counts):
        faults = ("without a chick", "without a finite age", "without a finite weight")
        raise ValueError(
            "Growth cannot use these rows: "
            + ", ".join(
                f"{count} {fault}"
                for count, fault in zip(counts, (*faults, "with a weight of zero or less"), strict=True)
                if count
            )
            + "."
        )
    chicks, number, begins = _runs(frame["chick"])
    lengths = np.diff(begins, append=len(age_d))
    rising = np.diff(age_d) > 0
    rising[begins[1:] - 1] = True
    if rising.all() and np.all(np.diff(number) > 0):
        return Weighings(chicks, lengths, age_d, mass_g)
    code = np.repeat(number, lengths)
    order = _order(code, age_d, mass_g)
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
    order = _by_name(chicks)
    rank = np.empty(len(order), int)
    rank[order] = np.arange(len(order))
    return chicks[order], rank[code], begins


def _by_name(chicks: pd.Index) -> np.ndarray:
    """Order of names; names of mixed kinds go by kind, then by their text."""
    try:
        return np.asarray(chicks.argsort())
    except TypeError:
        kinds = [(type(name).__name__, str(name)) for name in chicks]
        return np.array(sorted(range(len(kinds)), key=kinds.__getitem__), int)


def _order(code: np.ndarray, age_d: Array, mass_g: Array) -> np.ndarray:
    """Order of the rows by chick and age."""
    order = np.lexsort((age_d, code))
    if np.any((np.diff(age_d[order]) == 0) & (np.diff(code[order]) == 0)):
        # Two weighings on one age: by mass, so that sums do not depend on the order of rows in the last digit.
        order = np.lexsort((mass_g, age_d, code))
    return order
