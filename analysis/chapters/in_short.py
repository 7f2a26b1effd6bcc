"""The answer of a chapter in a sentence or two; its tables and charts stand below."""

from typing import Any

from analysis import show
from analysis.chapters.logs import in_its_place
from analysis.chicks.of_season import Chicks
from analysis.chicks.warnings import RECENT_D, warnings
from analysis.eggs.findings import pressing_findings
from analysis.eggs.of_season import Eggs
from analysis.finding import Words, found
from analysis.logs.ledger import LOOK
from analysis.names import by_name
from analysis.pairs.of_season import Pairs
from analysis.pairs.verdict import ADVICE, CHECK, KEEP, NOT_ENOUGH, NOTHING_AGAINST, RE_PAIR, REST, STOP, WATCH
from analysis.say import in_words
from analysis.season import Season

# In the order in which they are said; the least that is asked of a pair first.
_IN_ORDER = (KEEP, NOTHING_AGAINST, WATCH, REST, CHECK, RE_PAIR, STOP, NOT_ENOUGH)


def logs(season: Season) -> list[Any]:
    """Say how many rows were read and used, and how many are worth a look."""
    read, used, not_used = (int(season.accounting[column].sum()) for column in ("read", "used", "not_used"))
    look = int(((season.problems["severity"] == LOOK) & (season.problems["code"] != "no-rows")).sum())
    calm = not look and not not_used and not season.unread
    worth = found("overview.worth-a-look", n=look) if look else found("overview.nothing-questionable") if calm else None
    rows: dict[str, Any] = {"read": read, "used": used, "not_used": not_used, "unread": list(season.unread)}
    return [show.prose(found("overview.logs-in-short", **rows, worth=worth))]


@in_its_place
def pairs(judged: Pairs) -> list[Any]:
    """Say which advice stands for which pairs."""
    review = judged.review
    if review.empty:
        return [show.prose(found("advice.no-pair"))]
    named = [(word, by_name(review.loc[review["advice"] == word, "pair"])) for word in _IN_ORDER]
    told = [found("advice.of-many-pairs", advice=ADVICE[word], pairs=pairs) for word, pairs in named if pairs]
    return [show.prose(found("advice.in-short", n=len(review), advice=found("advice.by-advice", parts=told)))]


@in_its_place
def growth(growth: Chicks) -> list[Any]:
    """Say how many chicks were weighed, and which of those still here were flagged in the last days."""
    weights = growth.weights
    if weights.empty:
        return [show.prose(found("overview.none-weighed"))]
    chicks = growth.season.chicks
    here = chicks.loc[(chicks["fate"] == "being reared") & chicks["chick"].isin(weights["chick"]), "chick"]
    weighed: dict[str, Any] = {"chicks": weights["chick"].nunique(), "times": len(weights)}
    if here.empty:
        return [show.prose(found("overview.weighed-none-here", **weighed))]
    flagged: list[Words] = [*by_name(warnings(growth)["chick"].unique())] or [found("overview.no-chick")]
    recent: dict[str, Any] = {"days": RECENT_D, "day": growth.season.as_of}
    return [show.prose(found("overview.weighed", **weighed, here=len(here), flagged=flagged, **recent))]


def asks_most(growth: Chicks) -> str:
    """The chick to look at first: flagged last of those still here, else weighed last; "" where none was weighed."""
    weights = growth.weights.sort_values("weighed_at", kind="stable")
    flagged = warnings(growth).sort_values("day", kind="stable")["chick"]
    chicks = growth.season.chicks
    here = weights.loc[weights["chick"].isin(chicks.loc[chicks["fate"] == "being reared", "chick"]), "chick"]
    return next((str(names.iloc[-1]) for names in (flagged, here, weights["chick"]) if len(names)), "")


@in_its_place
def eggs(eggs: Eggs) -> list[Any]:
    """Say how many eggs are in the shell, how many were weighed, and what they ask for."""
    weighed, sitting = len(eggs.loss), len(eggs.incubating)
    counts = [
        found("chapters.in-shell", n=sitting) if sitting else found("chapters.none-in-shell"),
        found("chapters.weighed-on-the-way", n=weighed) if weighed else found("chapters.none-weighed-on-the-way"),
    ]
    asks = pressing_findings(eggs)
    if weighed and not asks:
        counts.append(found("chapters.humidity-calm"))
    return [show.prose(in_words(counts)), *show.if_any(*asks)]
