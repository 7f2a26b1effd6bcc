"""Rates of pairs, cages and other groups together, with shrinkage."""

from analysis.rates.pooling.fit import Pooled, pooled
from analysis.rates.pooling.levels import not_told_apart

__all__ = ["Pooled", "not_told_apart", "pooled"]
