"""A chick that is light for its age: on what course, what to look at, and that nobody need be alarmed by that alone."""

import pandas as pd

from analysis.findings.growing import Growth
from analysis.growth.flags.judge import FROM_D, LIGHT, POORLY
from analysis.words import count_words, percent

# Weighings that a course is told from at either end, and a change of so much that is one (ours).
ENDS, CHANGED = 3, 0.05
EYES_D = 21  # up to this age the eyes are looked at (practice; each species has its own days)
# Thin toes and wings, a large head, late eyes: "stunted" in WSAVA 2018 proceedings, p. 595 (read); the shape of the
# curve before the size: Crosta (read). Crop not overfilled to catch up: the same page.
_OVERFILL = "Never overfill its crop to make it catch up."
_STUNTED = "If so, an avian veterinarian today, while it can still catch up."
_CALM = "If not, and it begs and gains: no alarm, some healthy chicks are as small."


def light_said(growth: Growth, chick: str, share: float) -> str:
    """Say on what course a light chick is and what to look at, fitted to its age, its brood and who feeds it.

    From a quarter on, no sign is waited for.
    """
    poorly = share <= POORLY - 1
    ask = "So light a chick is for an avian veterinarian to judge." if poorly else f"{_STUNTED} {_CALM}"
    parts = [course_said(growth, chick), _last_of_its_brood(growth, chick), _look(growth, chick), ask, _OVERFILL]
    return " ".join(part for part in parts if part)


def no_longer(growth: Growth, chick: str) -> bool:
    """Whether a chick's last weighings are within a fifth of its kind's again."""
    own = _of(growth, chick)
    return bool(len(own) and own["share"].tail(ENDS).median() > LIGHT - 1)


def course_said(growth: Growth, chick: str) -> str:
    """Say whether a light chick was so from hatch on, falls further behind or catches up; "" where that is not told.

    Its first weighings, of the days in which no gain is normal where there are any, beside its last.
    """
    own = _of(growth, chick)
    if len(own) < 2 * ENDS:
        return ""
    young = own[own["age_d"] <= FROM_D]
    first = young if len(young) else own.head(ENDS)
    before, now = (float(part["share"].median()) for part in (first, own.tail(ENDS)))
    then = "in its first days" if len(young) else f"around day {first['age_d'].median():.0f}"
    since = "from hatch" if len(young) else "from its first weights"
    here = _here(growth, chick)
    if now < before - CHANGED:
        falls = "falls" if here else "fell"
        return f"It {falls} further behind: {_lighter(before)} {then}, {_lighter(now)} by its last weights."
    if now > before + CHANGED:
        return f"It {_is(here)} catching up: {_lighter(before)} {then}, {_lighter(now)} by its last weights."
    ends = "now, and grows as the others do" if here else "by its last weights, and grew as the others did"
    return f"It {_is(here)} small {since}, {_lighter(before)} {then} and {_lighter(now)} {ends}."


def _is(here: bool) -> str:
    return "is" if here else "was"


def _here(growth: Growth, chick: str) -> bool:
    """Whether it is still being reared: of one that is gone nothing is said as of now."""
    chicks = growth.season.chicks
    return bool((chicks.loc[chicks["chick"] == chick, "fate"] == "being reared").all())


def _of(growth: Growth, chick: str) -> pd.DataFrame:
    beside = growth.beside
    return beside[beside["chick"] == chick]


def _lighter(share: float) -> str:
    return f"{percent(abs(share))} {'lighter' if share < 0 else 'heavier'}"


def _last_of_its_brood(growth: Growth, chick: str) -> str:
    """Hatch order makes some chicks small (Krebs 1999, crimson rosella: the first up to 7 times the last, abstract)."""
    chicks = growth.season.chicks
    own = chicks[chicks["chick"] == chick].iloc[0]
    brood = chicks[(chicks["pair"] == own["pair"]) & (chicks["clutch"] == own["clutch"]) & (own["pair"] != "")]
    days = brood["hatched_at"].dropna()
    if len(days) < 2 or (days < own["hatched_at"]).sum() != len(days) - 1:
        return ""
    return f"It hatched last of {count_words(len(days), 'chick')}, which makes many small."


def _look(growth: Growth, chick: str) -> str:
    chicks = growth.season.chicks
    at = chicks["chick"] == chick
    own = growth.weights[growth.weights["chick"] == chick]
    young = own["age_d"].max() <= EYES_D
    eyes = ", are its eyes late to open" if young else ", do the feathers of its head stand oddly"
    fed = (
        "Go over its feeds, the mix and the brooder's warmth too."
        if bool(chicks.loc[at, "by_hand"].iloc[0])
        else "See in the evening whether its crop is filled as its nest mates' are."
    )
    return f"Look at it: are its toes and wings thin, is its head large for its body{eyes}? {fed}"
