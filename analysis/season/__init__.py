"""Clean rows → one season of linked tables."""

from analysis.season.heard import WEAN_PAST_D, chick_called, unheard
from analysis.season.joined import Joined, joined, seasons_by_name
from analysis.season.model import Season
from analysis.season.opening import changed_since, open_season
from analysis.season.rearing import reared_at
from analysis.season.signs import LOOKS, OPEN_D, SOON, Sign, asked_by, signs_of, signs_seen
from analysis.season.spans import ages_lost, chick_spans
from analysis.season.species import species_facts
from analysis.season.vocabulary import is_brooder, is_formula, is_hand, is_kept_warm

__all__ = [
    "LOOKS",
    "OPEN_D",
    "SOON",
    "WEAN_PAST_D",
    "Joined",
    "Season",
    "Sign",
    "ages_lost",
    "asked_by",
    "changed_since",
    "chick_called",
    "chick_spans",
    "is_brooder",
    "is_formula",
    "is_hand",
    "is_kept_warm",
    "joined",
    "open_season",
    "reared_at",
    "seasons_by_name",
    "signs_of",
    "signs_seen",
    "species_facts",
    "unheard",
]
