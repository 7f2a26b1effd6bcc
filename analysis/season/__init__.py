"""Clean rows → one season of linked tables."""

from analysis.season.joined import Joined, joined, seasons_by_name
from analysis.season.model import Season
from analysis.season.opening import changed_since, open_season
from analysis.season.rearing import reared_by_hand
from analysis.season.spans import chick_spans

__all__ = [
    "Joined",
    "Season",
    "changed_since",
    "chick_spans",
    "joined",
    "open_season",
    "reared_by_hand",
    "seasons_by_name",
]
