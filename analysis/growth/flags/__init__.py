"""Chicks off the curve, stalls, and weighings and mornings that look mistaken.

From below: settle, population, slips, falls, kinds, facts, judge, ahead, find.
"""

from analysis.growth.flags.ahead import expected_next
from analysis.growth.flags.find import Watch, find_flags, watch

__all__ = ["Watch", "expected_next", "find_flags", "watch"]
