"""Rates of pairs, cages and other groups together, with shrinkage."""

from analysis.rates.pooled.fit import pooled
from analysis.rates.pooled.notes import not_told_apart
from analysis.rates.pooled.result import Pooled

__all__ = ["Pooled", "not_told_apart", "pooled"]
