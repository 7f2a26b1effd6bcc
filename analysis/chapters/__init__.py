"""What each chapter shows: season in, displays out. A notebook's cell calls one of these and shows it.

Each function returns a list of displays (charts, tables, sentences) and, where the logs hold nothing for it, one
sentence that says so. Nothing is computed here that the rooms of the subjects could compute.
"""

from analysis.chapters import (
    advice,
    eggs,
    first_page,
    growth,
    in_short,
    logs,
    losses,
    nursery,
    one_chick,
    pair_sheet,
    pairs,
)
from analysis.chapters.first_cells import LookUp, begin, days, each_day
from analysis.chapters.pair_page import PairPages
from analysis.season.dates import today

__all__ = [
    "LookUp",
    "PairPages",
    "advice",
    "begin",
    "days",
    "each_day",
    "eggs",
    "first_page",
    "growth",
    "in_short",
    "logs",
    "losses",
    "nursery",
    "one_chick",
    "pair_sheet",
    "pairs",
    "today",
]
