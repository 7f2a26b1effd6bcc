"""Seasons with known truth: for calibration, for planning, and for the demo."""

from analysis.simulate.assumptions import ORIGINS, SPECIES, ClutchPlan, PairPlan, Species, assumptions_table
from analysis.simulate.season import simulate_season
from analysis.simulate.write import write_logs

__all__ = [
    "ORIGINS",
    "SPECIES",
    "ClutchPlan",
    "PairPlan",
    "Species",
    "assumptions_table",
    "simulate_season",
    "write_logs",
]
