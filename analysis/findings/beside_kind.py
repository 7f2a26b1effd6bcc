"""Where each chick stands beside its kind: decided once, as a code and its numbers, and what is said of it."""

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.growth.flags.find import ODD
from analysis.growth.flags.judge import LIGHT as A_FIFTH
from analysis.growth.flags.log import SURE_D
from analysis.words import grams

if TYPE_CHECKING:
    from analysis.findings.growing import Growth

GUESSED, NO_CURVE, TOO_LITTLE = "guessed", "no-curve", "too-little"
LIGHT, SMALL, LIGHTER, EVEN, HEAVIER = "light", "small", "lighter", "even", "heavier"
# Lighter by this and more, and not off the curve: small, and said to be growing (ours); its shape is as the others'
# where a healthy chick departs as far more often than this (ours), by so many weighings.
SMALL_BY, LIKE_THEM, ENOUGH = 0.10, 0.05, 5
EVEN_BY = 0.02  # nobody sees two in a hundred on a kitchen scale (ours)
LOWER = 0.05  # the lower line of a kind: a twentieth of the chicks that did well stay below it


def beside_kind(growth: "Growth") -> pd.DataFrame:
    """Return where each weighed chick of this season stands.

    Returns
    -------
    frame, a row a chick
        chick; code, one of those above: guessed (its age), no-curve (too few of its kind did well) and too-little
        (weighed), where nothing can be said; light (by a fifth and more) and small (and growing as they do) of chicks
        that are not flagged for it; else lighter, even (within 2 %) or heavier, by all its weights up to its peak;
        share: by how much; n: weighings; age_d and mass_g of its last weighing up to its peak, as written, and low_g,
        the lower line of its kind there (NaN where none is drawn); below: whether it lies below that line; past_peak:
        whether it has begun to fall before weaning
    """
    table = _last_weighings(growth).join(growth.standing.set_index("chick")[["share", "shape_p"]])
    table["low_g"] = _lower_line(growth, table)
    table["code"] = _codes(growth, table)
    known = ~table["code"].isin((GUESSED, NO_CURVE, TOO_LITTLE))
    return table.assign(below=known & (table["mass_g"] < table["low_g"])).reset_index()


def _last_weighings(growth: "Growth") -> pd.DataFrame:
    """The last weighing of each chick up to its peak, by chick; none of a morning on which the scale was off."""
    weights = growth.weights.sort_values("weighed_at", kind="stable")
    about = weights.groupby("chick").agg(kind=("kind", "first"), sure=("sure_to_days", "first"), n=("mass_g", "size"))
    off = [pd.Timestamp(one.day, unit="D") for one in growth.watch.mornings if one.sure]
    peak = weights["chick"].map(growth.watch.peaks.to_dict()).astype(float)
    told = weights[~weights["weighed_at"].dt.normalize().isin(off) & ~(weights["age_d"] > peak)]
    past = about.index.isin(growth.watch.peaks.index)
    return about.join(told.groupby("chick")[["age_d", "mass_g"]].last()).assign(past_peak=past)


def _lower_line(growth: "Growth", table: pd.DataFrame) -> pd.Series:
    """The lower line of each chick's kind at its age."""
    line = pd.Series(np.nan, index=table.index)
    for kind, own in table.dropna(subset="age_d").groupby("kind"):
        if growth.watch.kinds[str(kind)].enough:
            drawn = growth.references[str(kind)].centiles(sorted(own["age_d"].unique()))
            low = drawn[drawn["share"] == LOWER].set_index("age_d")["mass_g"]
            line[own.index] = own["age_d"].map(low).astype(float)
    return line


def _codes(growth: "Growth", table: pd.DataFrame) -> np.ndarray:
    enough = table["kind"].map({kind: known.enough for kind, known in growth.watch.kinds.items()}).astype(bool)
    flagged = table.index.isin(growth.flags.loc[growth.flags["flag"].isin(ODD), "chick"])
    share, as_they_do = table["share"], (table["n"] >= ENOUGH) & (table["shape_p"] > LIKE_THEM)
    cases = (
        (table["sure"] > SURE_D, GUESSED),
        (~enough, NO_CURVE),
        (share.isna(), TOO_LITTLE),
        ((share <= A_FIFTH - 1) & ~flagged, LIGHT),
        (share.between(A_FIFTH - 1, -SMALL_BY, inclusive="right") & as_they_do & ~flagged, SMALL),
        (share.abs() < EVEN_BY, EVEN),
        (share < 0, LIGHTER),
    )
    holds, codes = zip(*cases, strict=True)
    return np.select([one.to_numpy(bool) for one in map(pd.Series, holds)], codes, HEAVIER)


def beside_said(one: Any) -> Finding:
    """Say where a chick stands; `one`: its row of `beside_kind`. Below the lower line nothing else is said of it."""
    if one.code == GUESSED:
        return found("chicks.beside-guessed")
    if one.code == NO_CURVE:
        return found("chicks.beside-no-curve")
    if one.code == TOO_LITTLE:
        return found("chicks.beside-weighed-once" if one.n == 1 else "chicks.beside-little-used")
    if one.below and one.code in (LIGHT, SMALL, LIGHTER):
        return found("chicks.beside-lighter-below", share=-one.share, below=below_said(one))
    if one.below:
        return found("chicks.beside-below", below=below_said(one))
    if one.code != EVEN:
        return found("chicks.beside-heavier" if one.share > 0 else "chicks.beside-lighter", share=abs(one.share))
    return found("chicks.beside-even-to-peak", share=EVEN_BY) if one.past_peak else found("chicks.beside-even")


def below_said(one: Any) -> Finding:
    """Say, to stand inside a sentence, that its last weight or that at its peak lies below the lower line of its kind.

    `one`: the chick's row of `beside_kind`.
    """
    code = "chicks.mass-tenths" if grams(one.mass_g) == grams(one.low_g) else "chicks.mass"
    mass, low = (found(code, mass=float(mass_g)) for mass_g in (one.mass_g, one.low_g))
    return found("chicks.below-at-peak" if one.past_peak else "chicks.below-last", mass=mass, low=low, age_d=one.age_d)
