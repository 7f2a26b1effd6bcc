"""What is known of every weighing and chick that is watched, as arrays in one order."""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from analysis.growth.curves import Array
from analysis.growth.weighings import ASKS, Weighings, weighings_of
from analysis.needed import days_of, numbers_of, truths_of

# An age known to more than a day and a half is guessed: such a chick is judged on what it gains (practice, ours).
SURE_D = 1.5


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
    def of(self) -> np.ndarray:
        """To which chick each weighing belongs, (weighings,)."""
        return self.rows.of

    @property
    def guessed(self) -> np.ndarray:
        """Whether a chick's age is guessed, (chicks,)."""
        return self.unsure_d > SURE_D

    def only(self, which: np.ndarray) -> "Log":
        """Those chicks alone (`which`: a truth value for each)."""
        return self._part(self.rows.only(which), self.rows.each(which), which)

    def keep(self, which: np.ndarray) -> "Log":
        """Those weighings alone (`which`: a truth value for each); chicks left without any are gone."""
        sizes = np.add.reduceat(which.astype(int), self.rows.first) if len(which) else self.rows.sizes
        here = sizes > 0
        rows = Weighings(self.rows.chicks[here], sizes[here], self.rows.age_d[which], self.rows.mass_g[which])
        return self._part(rows, which, here)

    def _part(self, rows: Weighings, weighings: np.ndarray, chicks: np.ndarray) -> "Log":
        by_weighing = (values[weighings] for values in (self.log_mass, self.crop, self.morning))
        return Log(rows, *by_weighing, *(values[chicks] for values in (self.brood, self.did_well, self.unsure_d)))

    def beside(self, step: int, within_d: float = np.inf) -> tuple[np.ndarray, np.ndarray]:
        """Which weighing is so many after (below 0: before) each, and whether it is the chick's and no further away."""
        at = np.arange(len(self.log_mass))
        other = np.clip(at + step, 0, len(at) - 1)
        near = (at + step == other) & (self.of[other] == self.of)
        return other, near & (np.abs(self.rows.age_d[other] - self.rows.age_d) <= within_d)

    def once_a_day(self) -> np.ndarray:
        """The first weighing of each chick and day with an empty crop, else the first, (weighings,)."""
        day = np.where(self.morning >= 0, self.morning, np.floor(self.rows.age_d).astype(int))
        order = np.lexsort((np.arange(len(day)), self.crop != "", day, self.of))
        new = np.append(True, (np.diff(day[order]) != 0) | (np.diff(self.of[order]) != 0))[: len(order)]
        kept = np.zeros(len(day), bool)
        kept[order[new]] = True
        return kept

    def frame(self) -> pd.DataFrame:
        """Chick, age_d and mass_g (as read: crop and scale taken off), for a fit."""
        chick = self.rows.chicks.repeat(self.rows.sizes)
        return pd.DataFrame({"chick": chick, "age_d": self.rows.age_d, "mass_g": np.exp(self.log_mass)})

    def less(self, shift: Array) -> "Log":
        """The same with so much taken off each weighing's ln mass, (weighings,)."""
        return replace(self, log_mass=self.log_mass - shift)


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
