"""The reference curve: how chicks that did well grew, for others to be looked at beside it.

A badly fed season must not look normal to itself, so chicks that were lost or flagged are not in it.
"""

from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from analysis.finding import Words, found
from analysis.growth.as_arrays import ASKS, kinds_in, kinds_told_by
from analysis.growth.as_arrays import COLUMNS as NEEDED
from analysis.growth.choice import Choice, choose_curve
from analysis.growth.curves import OF_THREE, Array, named_curve
from analysis.growth.mixed.result import MixedFit
from analysis.growth.trade_rule import up_to_peak
from analysis.needed import need_columns, numbers_of, truths_of
from analysis.say import in_words
from analysis.words import listed

# Stands in for L = 0: the formulas below give ln (mass / M) / S there to the last digit, without a branch of their own.
NO_POWER = 1e-90
# So many chicks with so many weighings up to their peak make a curve (practice, ours).
LEAST_CHICKS, LEAST_WEIGHINGS = 6, 5
# What pairs differ in counts among the differences of chicks: of two or three pairs nobody can tell how pairs differ.
RANDOM = {"chick": ("A", "K", "ti")}
COLUMNS = ("age_d", "share", "mass_g", "mass_low_g", "mass_high_g")


@dataclass(frozen=True, eq=False)
class Reference:
    """How chicks that did well grew, or why that cannot be said yet."""

    why: Words  # why there is no curve; blank where there is one
    choice: Choice | None = field(repr=False)  # None where no curve was sought
    chicks: int  # how many it stands on
    weighings: int  # how many of theirs, up to their peaks
    left_out: tuple[object, ...]  # names of the chicks that did well and were left out all the same

    @property
    def fit(self) -> MixedFit | None:
        """The fit of the chosen curve; None where there is no curve."""
        return None if self.why or self.choice is None else self.choice.fit

    def centiles(self, ages: ArrayLike) -> pd.DataFrame:
        """Weights that a twentieth, a quarter, half, three quarters and nineteen twentieths of such chicks stay below.

        They are of chicks of these pairs, those not yet seen included, at these ages (days): a frame as from
        `MixedFit.centiles`, without rows where there is no curve.
        """
        return pd.DataFrame(columns=list(COLUMNS), dtype=float) if self.fit is None else self.fit.centiles(ages)

    @property
    def sentence(self) -> str:
        """What the curve stands on, or why there is none, in words."""
        return in_words(self.found)

    @property
    def found(self) -> Words:
        """The same as a finding."""
        if self.why or self.choice is None:
            return self.why
        without = found("growth.left-out", chicks=len(self.left_out)) if self.left_out else None
        counts: dict[str, Any] = {"chicks": self.chicks, "weighings": self.weighings}
        return found("growth.stands-on", **counts, left_out=without, choice=self.choice.found)


def reference_curve(frame: pd.DataFrame, left_out: Collection[object] = (), curve: str = "") -> Reference:
    """The curve of chicks that did well, for one species and one way of rearing.

    Weighings after a chick's peak are left out (`up_to_peak`). The curve is chosen by `choose_curve`; chicks differ
    in size, rate and age at the fastest growth, which may be correlated. With fewer than six chicks of five
    weighings there is none.

    Parameters
    ----------
    frame : chick (any name), age_d (days), mass_g (gram), one row a weighing, in any order; may carry did_well
        (whether the chick was weaned; a missing value means no; without the column all did well). Rows without a
        chick that did well count for nothing, nor do rows of several chicks on the scale (together above 1). Where it
        carries kind, or else species, it must be of one: of the conures in `season.weights`, say
    left_out : names of chicks to leave out though they did well, such as those flagged against a first curve
    curve : its name, where it is known already

    Returns
    -------
    Reference : why, choice, fit, chicks, weighings, left_out, centiles(ages), found, sentence

    Raises
    ------
    ValueError : a column is missing; an age that is no finite number, a weight not above 0; unknown curve; several
        kinds: `{kind: reference_curve(rows) for kind, rows in frame.groupby("kind")}` gives a curve for each

    Examples
    --------
    >>> from analysis.growth.curves import CURVES
    >>> age_d = np.arange(1, 31)
    >>> mass_g = CURVES["logistic"].mass(age_d, 90 * np.exp(0.1 * np.sin(np.arange(8)))[:, None], 0.3, 10)
    >>> mass_g = mass_g * np.exp(0.03 * np.random.default_rng(1).standard_normal(mass_g.shape))
    >>> chick = np.repeat([f"K{i}" for i in range(8)], 30)
    >>> frame = pd.DataFrame({"chick": chick, "age_d": np.tile(age_d, 8), "mass_g": mass_g.ravel()})
    >>> reference = reference_curve(frame)
    >>> reference.chicks, reference.choice.curve
    (8, 'logistic')
    >>> reference_curve(frame, left_out=["K1", "K2", "K3", "K4"]).sentence
    'No curve yet: 4 chicks that did well have five weighings, and 6 are needed.'
    """
    need_columns(ASKS, frame, NEEDED)
    if not isinstance(left_out, Collection):
        raise ValueError(f"left_out takes the names of chicks, not {left_out!r}.")
    if curve:
        named_curve(curve)
    frame = _of_one_kind(frame.assign(**{column: numbers_of(ASKS, frame[column]) for column in ("age_d", "mass_g")}))
    did_well = truths_of(ASKS, frame["did_well"]) if "did_well" in frame else True
    well = frame[did_well & frame["chick"].notna()].reset_index(drop=True)
    out = well["chick"].isin([left_out] if isinstance(left_out, str) else list(left_out))
    names = tuple(well["chick"][out].drop_duplicates())
    whole = well[~out]
    rising = up_to_peak(whole)[0]
    chicks, weighings = rising["chick"].nunique(), len(rising)
    in_all, up_to = (int(np.count_nonzero(rows.groupby("chick").size() >= LEAST_WEIGHINGS)) for rows in (whole, rising))
    if up_to < LEAST_CHICKS:
        facts: dict[str, Any] = {"to_peak": up_to < in_all, "needed": LEAST_CHICKS}
        why = found("growth.few-well", chicks=up_to, **facts) if up_to else found("growth.none-well", **facts)
        return Reference(why, None, chicks, weighings, names)
    choice = choose_curve(rising, RANDOM, correlated=True, curves=(curve,) if curve else OF_THREE)
    return Reference(choice.why, choice, chicks, weighings, names)


def z_score(mass: ArrayLike, L: ArrayLike, M: ArrayLike, S: ArrayLike) -> Array:
    """How many standard deviations a weight lies above the middle of a table; below it, negative.

        z = ((mass / M)^L - 1) / (L S);   ln(mass / M) / S where L = 0

    mass, in the unit of M, and L, M, S, power, middle weight and spread at its age, broadcast; NaN where mass is not
    above zero. Source: Cole & Green 1992, *Stat. Med.* 11:1305 (from memory); CDC growth charts, data file page, whose
    worked values it is tested by.
    """
    mass, L, M, S = (np.asarray(values, float) for values in (mass, L, M, S))
    L = np.where(L == 0, NO_POWER, L)
    log_ratio = np.log(np.where(mass > 0, mass, np.nan) / M)
    return np.asarray(np.expm1(L * log_ratio) / (L * S))


def centile(z: ArrayLike, L: ArrayLike, M: ArrayLike, S: ArrayLike) -> Array:
    """The weight, in the unit of M, that lies z standard deviations above the middle of a table; source as `z_score`.

        mass = M (1 + L S z)^(1/L);   M e^(S z) where L = 0

    Where no weight lies so far out, it is 0 (L above zero) or infinite (below); z = -1.645 is the 5th centile.
    """
    z, L, M, S = (np.asarray(values, float) for values in (z, L, M, S))
    L = np.where(L == 0, NO_POWER, L)
    with np.errstate(divide="ignore"):
        return np.asarray(M * np.exp(np.log1p(np.maximum(L * S * z, -1.0)) / L))


def _of_one_kind(frame: pd.DataFrame) -> pd.DataFrame:
    kinds = kinds_in(frame[frame["chick"].notna()])
    if len(kinds) == 1:
        return next(iter(kinds.values()))
    by, named = kinds_told_by(frame), listed((f'"{kind}"' for kind in kinds), most=4)
    raise ValueError(
        f"A reference curve is of one kind, and the column {by} has {len(kinds)}: {named}. For a curve "
        f'of each: {{kind: reference_curve(rows) for kind, rows in frame.groupby("{by}")}}'
    )
