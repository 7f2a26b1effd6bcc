"""Where each chick stands beside its kind: decided once, as a code and its numbers, and the words for it."""

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from analysis.growth.flags.find import ODD
from analysis.growth.flags.judge import LIGHT as A_FIFTH
from analysis.growth.flags.log import SURE_D
from analysis.words import grams, percent

if TYPE_CHECKING:
    from analysis.findings.growing import Growth

GUESSED, NO_CURVE, TOO_LITTLE = "age guessed", "no curve", "too little weighed"
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
        chick; code, one of those above: age guessed, no curve (too few of its kind did well) and too little weighed,
        where nothing can be said; light (by a fifth and more) and small (and growing as they do) of chicks that are
        not flagged for it; else lighter, even (within 2 %) or heavier, by all its weights up to its peak; share: by
        how much; n: weighings; age_d and mass_g of its last weighing up to its peak, as written, and low_g, the lower
        line of its kind there (NaN where none is drawn); below: whether it lies below that line; past_peak: whether
        it has begun to fall before weaning
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


def beside_said(one: Any) -> str:
    """Say where a chick stands; `one`: its row of `beside_kind`. Below the lower line nothing else is said of it."""
    if one.code == GUESSED:
        return "Its age is a guess: it is judged on what it gains, never as light or heavy for its age."
    if one.code == NO_CURVE:
        return "Too few chicks of its kind did well so far to say."
    if one.code == TOO_LITTLE:
        few = "Weighed once so far" if one.n == 1 else "Few of its weights can be used"
        return f"{few}: too little to set it beside its kind."
    lighter = share_said(one.share)
    if one.below:
        return f"{lighter} {below_said(one)}" if one.code in (LIGHT, SMALL, LIGHTER) else below_said(one)
    if one.code != EVEN:
        return lighter
    if one.past_peak:
        return f"Up to its peak within {percent(EVEN_BY)} of the others of its kind that did well."
    return "As heavy as the others of its kind that did well."


def share_said(share: float) -> str:
    """Say by how much a chick is lighter or heavier than the others."""
    return f"About {percent(abs(share))} {'heavier' if share > 0 else 'lighter'} than the others of its kind."


def below_said(one: Any) -> str:
    """Say that a chick's last weight, or that at its peak, lies below the lower line of its kind."""
    alike = grams(one.mass_g) == grams(one.low_g)
    mass, low = (f"{value:.1f}" if alike else grams(value) for value in (one.mass_g, one.low_g))
    return (
        f"{'At its peak' if one.past_peak else 'Last weighed'} {mass} g on day {one.age_d:.0f}, below the lower line "
        f"of its kind there, {low} g: of 20 chicks that did well 19 stay above it."
    )
