"""A chick that is light for its age: on what course, what to look at, and that nobody need be alarmed by that alone."""

import pandas as pd

from analysis.finding import Finding, found
from analysis.findings.growing import Growth
from analysis.growth.flags.judge import FROM_D, LIGHT, POORLY

# Weighings that a course is told from at either end, and a change of so much that is one (ours).
ENDS, CHANGED = 3, 0.05
EYES_D = 21  # up to this age the eyes are looked at (practice; each species has its own days)


def light_said(growth: Growth, chick: str, share: float) -> Finding:
    """Say on what course a light chick is and what to look at, fitted to its age, its brood and who feeds it.

    From a quarter on, no sign is waited for. Thin toes and wings, a large head, late eyes: "stunted" in WSAVA 2018
    proceedings, p. 595 (read), and there: a crop is not overfilled to catch up. The shape of the curve before the
    size: Crosta (read).
    """
    poorly = share <= POORLY - 1
    parts = [
        course_said(growth, chick),
        _last_of_its_brood(growth, chick),
        _look(growth, chick),
        found("chicks.light-to-vet" if poorly else "chicks.light-if-stunted"),
        found("chicks.never-overfill"),
    ]
    return found("chicks.all", parts=[part for part in parts if part])


def no_longer(growth: Growth, chick: str) -> bool:
    """Whether a chick's last weighings are within a fifth of its kind's again."""
    own = _of(growth, chick)
    return bool(len(own) and own["share"].tail(ENDS).median() > LIGHT - 1)


def course_said(growth: Growth, chick: str) -> Finding | None:
    """Say whether a light chick was so from hatch on, falls further behind or catches up; None where that is not told.

    Its first weighings, of the days in which no gain is normal where there are any, beside its last.
    """
    own = _of(growth, chick)
    if len(own) < 2 * ENDS:
        return None
    young = own[own["age_d"] <= FROM_D]
    first = young if len(young) else own.head(ENDS)
    before, now = (float(part["share"].median()) for part in (first, own.tail(ENDS)))
    around = found("chicks.then-around", age_d=first["age_d"].median())
    then, here = found("chicks.then-first-days") if len(young) else around, _here(growth, chick)
    was, now_is = _lighter(before), _lighter(now)
    if now < before - CHANGED:
        return found("chicks.course-falls", here=here, before=was, then=then, now=now_is)
    if now > before + CHANGED:
        return found("chicks.course-catches-up", here=here, before=was, then=then, now=now_is)
    return found("chicks.course-small", here=here, young=len(young) > 0, before=was, then=then, now=now_is)


def _here(growth: Growth, chick: str) -> bool:
    """Whether it is still being reared: of one that is gone nothing is said as of now."""
    chicks = growth.season.chicks
    return bool((chicks.loc[chicks["chick"] == chick, "fate"] == "being reared").all())


def _of(growth: Growth, chick: str) -> pd.DataFrame:
    beside = growth.beside
    return beside[beside["chick"] == chick]


def _lighter(share: float) -> Finding:
    return found("chicks.share-lighter" if share < 0 else "chicks.share-heavier", share=abs(share))


def _last_of_its_brood(growth: Growth, chick: str) -> Finding | None:
    """Hatch order makes some chicks small (Krebs 1999, crimson rosella: the first up to 7 times the last, abstract)."""
    chicks = growth.season.chicks
    own = chicks[chicks["chick"] == chick].iloc[0]
    brood = chicks[(chicks["pair"] == own["pair"]) & (chicks["clutch"] == own["clutch"]) & (own["pair"] != "")]
    days = brood["hatched_at"].dropna()
    if len(days) < 2 or (days < own["hatched_at"]).sum() != len(days) - 1:
        return None
    return found("chicks.last-of-brood", chicks=len(days))


def _look(growth: Growth, chick: str) -> Finding:
    chicks = growth.season.chicks
    own = growth.weights[growth.weights["chick"] == chick]
    by_hand = bool(chicks.loc[chicks["chick"] == chick, "by_hand"].iloc[0])
    return found("chicks.look", young=own["age_d"].max() <= EYES_D, by_hand=by_hand)
