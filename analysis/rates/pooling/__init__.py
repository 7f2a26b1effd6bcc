"""Rates of pairs, cages and other groups together, with shrinkage."""

from analysis.rates.pooling.fit import pooled
from analysis.rates.pooling.levels import not_told_apart
from analysis.rates.pooling.result import Pooled

__all__ = ["Pooled", "not_told_apart", "pooled"]
