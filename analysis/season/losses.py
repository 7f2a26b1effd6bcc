"""Causes of loss as keepers write them, in a short list of groups."""

import pandas as pd

from analysis.finding import Words, found
from analysis.say import in_words
from analysis.season.eggs import Hatch

# Words that lead to a group; the first group that fits is taken. The groups are practice, no diagnosis.
_GROUPS = {
    "cold, heat or power": ("power", "cold", "chill", "heat", "overheat", "draught", "draft", "lamp"),
    "attacked or injured": ("attack", "injur", "bitten", "trampl", "crush", "fell ", "fall from", "predator"),
    "crop or feeding": ("crop", "feed", "aspirat", "choke", "burn", "regurgit", "starv", "hungry"),
    "breathing": ("breath", "lung", "air sac", "gasp"),
    "weak or small": ("weak", "small", "runt", "fail", "did not grow", "light", "last hatched"),
    "illness": ("ill", "infect", "bacteria", "yeast", "virus", "diarrh", "droppings"),
    "deformed": ("deform", "splay", "beak", "leg"),
    "disturbed or abandoned": ("abandon", "desert", "fright", "disturb", "left the nest"),
}
NOT_KNOWN = "not known"
OTHER = "other, as written"
_SAID = {
    "cold, heat or power": found("season.cause-cold"),
    "attacked or injured": found("season.cause-attacked"),
    "crop or feeding": found("season.cause-crop"),
    "breathing": found("season.cause-breathing"),
    "weak or small": found("season.cause-weak"),
    "illness": found("season.cause-illness"),
    "deformed": found("season.cause-deformed"),
    "disturbed or abandoned": found("season.cause-disturbed"),
    NOT_KNOWN: found("season.cause-not-known"),
    OTHER: found("season.cause-other"),
}
_UNSURE = ("unknown", "not known", "no idea", "found dead", "dead")


def cause_group(cause: str) -> str:
    """Return the group of a cause as written.

    Examples
    --------
    >>> cause_group("Power cut in the night"), cause_group("found dead"), cause_group("flew off")
    ('cold, heat or power', 'not known', 'other, as written')
    """
    words = cause.casefold().strip(" .")
    if not words.strip("?- "):
        return NOT_KNOWN
    for group, stems in _GROUPS.items():
        if any(_begins_a_word(stem, words) for stem in stems):
            return group
    return NOT_KNOWN if words.startswith(_UNSURE) else OTHER


def cause_said(group: str) -> Words:
    """Say a group; one that is not ours as it stands.

    Examples
    --------
    >>> cause_said("weak or small")
    Finding(code='season.cause-weak', about='', level='note', facts={})
    """
    return _SAID.get(group, group)


def _begins_a_word(stem: str, words: str) -> bool:
    return f" {stem}" in f" {words}"


_CHICKS = 3
_PAIRS = 2


def with_events(losses: pd.DataFrame, hatches: list[Hatch]) -> pd.DataFrame:
    """Fill in `event_found`, a Finding, and `event`, the same in words, for losses that came together: found on one
    day, three chicks or more of two pairs or more.

    This describes what came together and says nothing of chance.
    """
    pair = {h.chick: h.pair for h in hatches if h.chick}
    chicks = losses[losses["chick"] != ""].assign(pair=lambda f: f["chick"].map(pair))
    losses = losses.copy()
    for day, group in chicks.groupby("found_on"):
        pairs = group["pair"].nunique()
        if len(group) >= _CHICKS and pairs >= _PAIRS:
            event = found("season.lost-together", chicks=len(group), pairs=pairs, day=pd.Timestamp(str(day)))
            losses.loc[group.index, "event_found"] = event
            losses.loc[group.index, "event"] = in_words(event)
    return losses
