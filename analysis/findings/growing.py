"""What the weights say: one row a weighing for the charts, one row a chick for the table."""

from dataclasses import dataclass

import pandas as pd

from analysis.growth import fit_each, predict, presentable, up_to_peak
from analysis.season import Season

CURVE = "logistic"
NOT_WRITTEN = "species not written"


@dataclass(frozen=True)
class Growth:
    """Weighings, fits and drawn curves of one season.

    Attributes
    ----------
    weights
        One row a weighing that can be fitted: chick, kind, age_d, mass_g, weighed_at, crop.
    chicks
        One row a chick: chick, kind, n, last_age_d, last_g, peak_g (where it fell since), fall, then the fit: A_g,
        ti_d, t10_90_d, max_gain_g_per_d, why (blank where the fit can be shown).
    curves
        The fitted curves to draw: chick, age_d, mass_g.
    """

    weights: pd.DataFrame
    chicks: pd.DataFrame
    curves: pd.DataFrame


def weighings(season: Season) -> pd.DataFrame:
    """Return the weighings of chicks of known age, each on the scale alone, with the chick's kind."""
    kind = season.chicks.set_index("chick")["species"].replace("", NOT_WRITTEN)
    alone = season.weights[(season.weights["together"] == 1) & season.weights["age_d"].notna()]
    columns = ["chick", "kind", "age_d", "mass_g", "weighed_at", "crop"]
    return alone.assign(kind=alone["chick"].map(kind))[columns].reset_index(drop=True)


def growing(season: Season) -> Growth:
    """Fit every chick of the season, up to its peak, and say of each what can be shown."""
    weights = weighings(season)
    rising, peaks = up_to_peak(weights)
    fits = presentable(fit_each(rising, curve=CURVE))
    shown = fits[fits["why"] == ""]
    ages = range(int(weights["age_d"].max()) + 1) if len(weights) else range(0)
    curves = predict(shown, ages, curve=CURVE)
    ends = rising.groupby("chick")["age_d"].agg(["min", "max"])
    curves = curves[curves["age_d"].between(curves["chick"].map(ends["min"]), curves["chick"].map(ends["max"]))]
    last = weights.sort_values("age_d", kind="stable").groupby("chick").last()
    columns = ["A_g", "ti_d", "t10_90_d", "max_gain_g_per_d", "n", "why"]
    chicks = (
        peaks.set_index("chick")[["peak_g", "peak_age_d", "fall"]]
        .join(last[["kind", "age_d", "mass_g"]].set_axis(["kind", "last_age_d", "last_g"], axis=1))
        .join(fits[columns])
        .assign(peak_g=lambda table: table["peak_g"].where(table["fall"] > 0))
        .reset_index()
    )
    chicks["n"] = chicks["chick"].map(weights.groupby("chick").size())
    return Growth(weights, chicks, curves.reset_index(drop=True))
