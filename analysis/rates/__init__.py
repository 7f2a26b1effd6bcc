"""Rates with their counts and intervals, and how long chicks live. Frames in, frames out."""

from analysis.rates.clutches import clutch_counts
from analysis.rates.compare import chance_of_as_few
from analysis.rates.intervals import interval
from analysis.rates.path import egg_path
from analysis.rates.stages import stage_rates
from analysis.rates.survival import kaplan_meier, losses_by_age, losses_by_cause

__all__ = [
    "chance_of_as_few",
    "clutch_counts",
    "egg_path",
    "interval",
    "kaplan_meier",
    "losses_by_age",
    "losses_by_cause",
    "stage_rates",
]
