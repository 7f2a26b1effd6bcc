"""Clean rows → one season of linked tables."""

from analysis.season.joined import Joined, joined, seasons_by_name
from analysis.season.model import Season
from analysis.season.opening import open_season
from analysis.season.rearing import reared_at
from analysis.season.spans import chick_spans
from analysis.season.vocabulary import is_brooder, is_formula, is_hand, is_kept_warm

__all__ = [
    "Joined",
    "Season",
    "chick_spans",
    "is_brooder",
    "is_formula",
    "is_hand",
    "is_kept_warm",
    "joined",
    "open_season",
    "reared_at",
    "seasons_by_name",
]
