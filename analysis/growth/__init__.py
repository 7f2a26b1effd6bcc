"""Growth of chicks: curves, and how they are fitted to weighings. Arrays and frames in, frames out."""

from analysis.growth.curves import CURVES, Curve
from analysis.growth.fit import fit_each, predict, presentable
from analysis.growth.mixed import MixedFit, fit_mixed
from analysis.growth.peak import up_to_peak

__all__ = ["CURVES", "Curve", "MixedFit", "fit_each", "fit_mixed", "predict", "presentable", "up_to_peak"]
