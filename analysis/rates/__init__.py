"""Rates with their counts and intervals, and how long chicks live. Frames in, frames out."""

from analysis.rates.alive_at_age import kaplan_meier, losses_by_age, losses_by_cause
from analysis.rates.clutches import clutch_counts, egg_path
from analysis.rates.exposed import chance_of_exposed
from analysis.rates.in_brood import InBrood, weaning_in_brood
from analysis.rates.intervals import clutch_intervals, interval
from analysis.rates.pooling import Pooled, not_told_apart, pooled
from analysis.rates.slopes import slopes
from analysis.rates.stages import stage_rates, weaned_a_clutch
from analysis.rates.survival_by import come_through, daily_survival, exposure, log_rank, survival_to
from analysis.rates.together import losses_together, without_events

__all__ = [
    "InBrood",
    "Pooled",
    "chance_of_exposed",
    "clutch_counts",
    "clutch_intervals",
    "come_through",
    "daily_survival",
    "egg_path",
    "exposure",
    "interval",
    "kaplan_meier",
    "log_rank",
    "losses_by_age",
    "losses_by_cause",
    "losses_together",
    "not_told_apart",
    "pooled",
    "slopes",
    "stage_rates",
    "survival_to",
    "weaned_a_clutch",
    "weaning_in_brood",
    "without_events",
]
