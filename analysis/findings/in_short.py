"""Each chapter's answer in a sentence or two, before its tables and charts."""

from typing import Any

from analysis.finding import Finding, Words, found
from analysis.findings.growing import Growth
from analysis.findings.growth_said import RECENT_D, warnings
from analysis.findings.judging import Judging
from analysis.logs.rules import LOOK
from analysis.names import by_name
from analysis.review.verdict import ADVICE, CHECK, KEEP, NOT_ENOUGH, RE_PAIR, REST, STOP, WATCH
from analysis.season import Season

# In the order in which they are said; the least that is asked of a pair first.
_IN_ORDER = (KEEP, WATCH, REST, CHECK, RE_PAIR, STOP, NOT_ENOUGH)


def logs_in_short(season: Season) -> Finding:
    """Say how many rows were read and used, and how many are worth a look.

    Examples
    --------
    >>> from analysis import open_season
    >>> logs_in_short(open_season("data_demo/season_2026")).facts["read"]
    2376
    """
    read, used, not_used = (int(season.accounting[column].sum()) for column in ("read", "used", "not_used"))
    look = int(((season.problems["severity"] == LOOK) & (season.problems["code"] != "no-rows")).sum())
    calm = not look and not not_used and not season.unread
    worth = found("overview.worth-a-look", n=look) if look else found("overview.nothing-questionable") if calm else None
    return found(
        "overview.logs-in-short", read=read, used=used, not_used=not_used, unread=list(season.unread), worth=worth
    )


def pairs_in_short(judged: Judging) -> Finding:
    """Say which advice stands for which pairs."""
    review = judged.review
    if review.empty:
        return found("advice.no-pair")
    named = [(word, by_name(review.loc[review["advice"] == word, "pair"])) for word in _IN_ORDER]
    told = [found("advice.of-many-pairs", advice=ADVICE[word], pairs=pairs) for word, pairs in named if pairs]
    return found("advice.in-short", n=len(review), advice=found("advice.by-advice", parts=told))


def growth_in_short(growth: Growth) -> Finding:
    """Say how many chicks were weighed, and which of those still here were flagged in the last days."""
    weights = growth.weights
    if weights.empty:
        return found("overview.none-weighed")
    chicks = growth.season.chicks
    here = chicks.loc[(chicks["fate"] == "being reared") & chicks["chick"].isin(weights["chick"]), "chick"]
    weighed: dict[str, Any] = {"chicks": weights["chick"].nunique(), "times": len(weights)}
    if here.empty:
        return found("overview.weighed-none-here", **weighed)
    flagged: list[Words] = [*by_name(warnings(growth)["chick"].unique())] or [found("overview.no-chick")]
    recent: dict[str, Any] = {"days": RECENT_D, "day": growth.season.as_of}
    return found("overview.weighed", **weighed, here=len(here), flagged=flagged, **recent)


def asks_most(growth: Growth) -> str:
    """The chick to look at first: flagged last of those still here, else weighed last; "" where none was weighed."""
    weights = growth.weights.sort_values("weighed_at", kind="stable")
    flagged = warnings(growth).sort_values("day", kind="stable")["chick"]
    chicks = growth.season.chicks
    here = weights.loc[weights["chick"].isin(chicks.loc[chicks["fate"] == "being reared", "chick"]), "chick"]
    return next((str(names.iloc[-1]) for names in (flagged, here, weights["chick"]) if len(names)), "")
