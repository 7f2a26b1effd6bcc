"""Seasons with known truth: for calibration, for planning, and for the demo."""

from analysis.simulate.assumptions import Assumptions, assumptions_table
from analysis.simulate.checks import assume
from analysis.simulate.plan import ClutchPlan, PairPlan
from analysis.simulate.season import Truth, simulate_season
from analysis.simulate.species import ORIGINS, SPECIES, Species
from analysis.simulate.write import write_logs

__all__ = [
    "ORIGINS",
    "SPECIES",
    "Assumptions",
    "ClutchPlan",
    "PairPlan",
    "Species",
    "Truth",
    "assume",
    "assumptions_table",
    "simulate_season",
    "write_logs",
]
