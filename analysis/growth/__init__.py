"""Growth of chicks: curves, and how they are fitted to weighings. Arrays and frames in, frames out."""

from analysis.growth.by_pair import PairGrowth, pair_growth, pairs_of
from analysis.growth.choice import choose_curve
from analysis.growth.curves import CURVES
from analysis.growth.each_chick import fit_each, predict, presentable
from analysis.growth.flags import Watch, expected_next, find_flags, watch
from analysis.growth.mixed import MixedFit, fit_mixed
from analysis.growth.reference import Reference, reference_curve
from analysis.growth.trade_rule import rule_today, trade_alarms, trade_rule, up_to_peak

__all__ = [
    "CURVES",
    "MixedFit",
    "PairGrowth",
    "Reference",
    "Watch",
    "choose_curve",
    "expected_next",
    "find_flags",
    "fit_each",
    "fit_mixed",
    "pair_growth",
    "pairs_of",
    "predict",
    "presentable",
    "reference_curve",
    "rule_today",
    "trade_alarms",
    "trade_rule",
    "up_to_peak",
    "watch",
]
