"""What is due on a day: the round a keeper makes, told from the logs alone."""

from analysis.due.due import due_on
from analysis.due.eggs import expected_eggs
from analysis.due.own import usual_days, water_lines, window
from analysis.due.things import KINDS

__all__ = ["KINDS", "due_on", "expected_eggs", "usual_days", "water_lines", "window"]
