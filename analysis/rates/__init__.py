"""Rates with their counts and intervals, and how long chicks live. Frames in, frames out."""

from analysis.rates.alive_at_age import kaplan_meier, losses_by_age, losses_by_cause
from analysis.rates.clutches import clutch_counts, egg_path
from analysis.rates.intervals import interval, trend
from analysis.rates.pooling import Pooled, not_told_apart, pooled
from analysis.rates.stages import chance_of_as_few, stage_rates
from analysis.rates.survival_by import come_through, daily_survival, exposure, log_rank, survival_to
from analysis.rates.together import losses_together, without_events

__all__ = [
    "Pooled",
    "chance_of_as_few",
    "clutch_counts",
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
    "stage_rates",
    "survival_to",
    "trend",
    "without_events",
]
