"""What is due on a day: the round a keeper makes, told from the logs alone."""

from analysis.due.due import due_on
from analysis.due.own import usual_days, window
from analysis.due.things import KINDS

__all__ = ["KINDS", "due_on", "usual_days", "window"]
