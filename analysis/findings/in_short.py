"""Each chapter's answer in a sentence or two, before its tables and charts."""

from analysis.findings.growing import Growth
from analysis.findings.growth_said import RECENT_D, warnings
from analysis.findings.judging import Judging
from analysis.logs.rules import LOOK
from analysis.names import by_name
from analysis.season import Season
from analysis.words import begun, count_words, day_words, listed

# In the order in which they are said; the least that is asked of a pair first.
ADVICE = ("keep", "watch", "rest", "check first", "re-pair", "stop breeding", "not enough to judge")
_MOST = 12


def logs_in_short(season: Season) -> str:
    """Say how many rows were read and used, and how many are worth a look.

    Examples
    --------
    >>> from analysis import open_season
    >>> logs_in_short(open_season("data_demo/season_2026")).split(":")[0]
    '2376 rows were read'
    """
    read, used, not_used = (int(season.accounting[column].sum()) for column in ("read", "used", "not_used"))
    look = int(((season.problems["severity"] == LOOK) & (season.problems["code"] != "no-rows")).sum())
    said = [f"{count_words(read, 'row was', 'rows were')} read: {used} used, {not_used} not used."]
    if season.unread:
        said.append(f"{listed(season.unread)} could not be read.")
    if look:
        said.append(f"{count_words(look, 'thing that was used is', 'things that were used are')} worth a look.")
    elif not not_used and not season.unread:
        said.append("Nothing looks questionable.")
    return " ".join(said)


def pairs_in_short(judged: Judging) -> str:
    """Say which advice stands for which pairs."""
    review = judged.review
    if review.empty:
        return "No pair is written in these logs, so there is none to advise on."
    named = [(word, by_name(review.loc[review["advice"] == word, "pair"])) for word in ADVICE]
    said = [f"{word}: {listed(pairs, most=_MOST)}" for word, pairs in named if pairs]
    return f"{count_words(len(review), 'pair')}. {begun('; '.join(said))}."


def growth_in_short(growth: Growth) -> str:
    """Say how many chicks were weighed, and which of those still here were flagged in the last days."""
    weights = growth.weights
    if weights.empty:
        return "No chick of known age was weighed alone, so nothing can be said of growth."
    chicks = growth.season.chicks
    here = chicks.loc[(chicks["fate"] == "being reared") & chicks["chick"].isin(weights["chick"]), "chick"]
    weighed = f"{count_words(weights['chick'].nunique(), 'chick was', 'chicks were')} weighed, {len(weights)} times."
    if here.empty:
        return f"{weighed} None of them is still being reared."
    flagged = by_name(warnings(growth)["chick"].unique())
    seen = listed(flagged, most=_MOST) if flagged else "none"
    up_to = day_words(growth.season.as_of)
    return f"{weighed} Still being reared: {len(here)}; flagged in the {RECENT_D} days up to {up_to}: {seen}."


def asks_most(growth: Growth) -> str:
    """The chick to look at first: flagged last of those still here, else weighed last; "" where none was weighed."""
    weights = growth.weights.sort_values("weighed_at", kind="stable")
    flagged = warnings(growth).sort_values("day", kind="stable")["chick"]
    chicks = growth.season.chicks
    here = weights.loc[weights["chick"].isin(chicks.loc[chicks["fate"] == "being reared", "chick"]), "chick"]
    return next((str(names.iloc[-1]) for names in (flagged, here, weights["chick"]) if len(names)), "")
