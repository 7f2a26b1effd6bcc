"""Rates of pairs, cages and other groups together, with shrinkage."""

from analysis.rates.pooling.apart import not_told_apart
from analysis.rates.pooling.pooled_rates import Pooled, pooled

__all__ = ["Pooled", "not_told_apart", "pooled"]
