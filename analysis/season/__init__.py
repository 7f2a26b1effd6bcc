"""Clean rows → one season of linked tables."""

from analysis.season.egg_weighings import DOUBTS
from analysis.season.eggs import outcome_said
from analysis.season.joined import Joined, joined, seasons_by_name
from analysis.season.losses import cause_said
from analysis.season.model import Season
from analysis.season.opening import changed_since, open_season
from analysis.season.pairs import GROUPS
from analysis.season.rearing import BY_HAND, BY_PARENTS, NOT_WRITTEN, kind_of, kinds_said, reared_at
from analysis.season.signs import (
    LOOKS,
    OPEN_D,
    SOON,
    WEAN_PAST_D,
    Sign,
    asked_by,
    chick_called,
    sign_said,
    signs_of,
    signs_seen,
    unheard,
)
from analysis.season.spans import ages_lost, chick_spans
from analysis.season.species import species_facts
from analysis.season.trust import RATES, Doubt, doubtful_logs, hatching_known, numbers_hold
from analysis.season.vocabulary import is_brooder, is_formula, is_hand, is_kept_warm
from analysis.season.weighings import crop_said

__all__ = [
    "BY_HAND",
    "BY_PARENTS",
    "DOUBTS",
    "GROUPS",
    "LOOKS",
    "NOT_WRITTEN",
    "OPEN_D",
    "RATES",
    "SOON",
    "WEAN_PAST_D",
    "Doubt",
    "Joined",
    "Season",
    "Sign",
    "ages_lost",
    "asked_by",
    "cause_said",
    "changed_since",
    "chick_called",
    "chick_spans",
    "crop_said",
    "doubtful_logs",
    "hatching_known",
    "is_brooder",
    "is_formula",
    "is_hand",
    "is_kept_warm",
    "joined",
    "kind_of",
    "kinds_said",
    "numbers_hold",
    "open_season",
    "outcome_said",
    "reared_at",
    "seasons_by_name",
    "sign_said",
    "signs_of",
    "signs_seen",
    "species_facts",
    "unheard",
]
