"""Clean rows → one season of linked tables."""

from analysis.season.across_seasons import join_seasons, seasons_by_name
from analysis.season.arrivals import in_quarantine, kept_apart, new_birds
from analysis.season.chicks import NOT_WRITTEN, chick_called, kind_words, last_records, unaccounted_chicks
from analysis.season.data_quality import RATES, UnreliableLog, hatching_known, left_alone, numbers_hold, unreliable_logs
from analysis.season.losses import ages_lost, cause_words, chick_spans
from analysis.season.model import Season
from analysis.season.opening import changed_since, open_season
from analysis.season.pairs import GROUPS
from analysis.season.signs import LOOKS, OPEN_D, SOON, Sign, asked_by, is_good, sign_words, signs_of, signs_seen
from analysis.season.species import species_facts
from analysis.season.weighings import crop_words

__all__ = [
    "GROUPS",
    "LOOKS",
    "NOT_WRITTEN",
    "OPEN_D",
    "RATES",
    "SOON",
    "Season",
    "Sign",
    "UnreliableLog",
    "ages_lost",
    "asked_by",
    "cause_words",
    "changed_since",
    "chick_called",
    "chick_spans",
    "crop_words",
    "hatching_known",
    "in_quarantine",
    "is_good",
    "join_seasons",
    "kept_apart",
    "kind_words",
    "last_records",
    "left_alone",
    "new_birds",
    "numbers_hold",
    "open_season",
    "seasons_by_name",
    "sign_words",
    "signs_of",
    "signs_seen",
    "species_facts",
    "unaccounted_chicks",
    "unreliable_logs",
]
