"""What was found of pairs, cages and incubators, in plain sentences, nobody blamed for what others did."""

from analysis.findings.judging import Judging
from analysis.findings.overview import Item
from analysis.outlook import Outlook, most_in_hand
from analysis.pedigree import young
from analysis.review.aside import set_aside
from analysis.review.verdict import ADVICE
from analysis.say import in_words
from analysis.season import RATES, Season, hatching_known, numbers_hold
from analysis.words import begun, listed, percent

ASKED = ("stop breeding", "re-pair", "check first")
REST, NOT_ENOUGH, WATCH = "rest", "not enough to judge", "watch"


def asked_of_pairs(judged: Judging) -> list[Item]:
    """Pairs to ask something about, each with its advice and the first reason, then those that rest or are too new."""
    review = judged.review
    asked = review[review["advice"].isin(ASKED)]
    found = [(row.pair, f"{begun(in_words(ADVICE[row.advice]))}: {in_words(row.first)}") for row in asked.itertuples()]
    quiet = [(advice, review.loc[review["advice"] == advice, "pair"]) for advice in (REST, NOT_ENOUGH)]
    told = [f"{in_words(ADVICE[advice])}: {listed(pairs)}" for advice, pairs in quiet if len(pairs)]
    return [*found, ("Other pairs", f"{begun('; '.join(told))}. The page on pairs says why.")] if told else found


def places_said(judged: Judging) -> list[Item]:
    """Places where eggs or chicks did worse than the same pairs' did elsewhere, and incubators out of range."""
    heat = [
        (str(spell["place"]), in_words(spell["found"]))
        for aside in judged.record.aside.values()
        for spell in aside.heat.to_dict("records")
    ]
    said = judged.places[judged.places["worse"].astype(bool)]
    return heat + [(str(row.place), in_words(row.found)) for row in said.itertuples()]


def heat_said(season: Season) -> list[Item]:
    """Incubators out of range this season, the eggs that were in them then, and whether those did worse.

    Nothing where the logs cannot tell how eggs did (`numbers_hold`, `hatching_known`).
    """
    if not numbers_hold(season, logs=RATES) or not hatching_known(season):
        return []
    return [(str(spell["place"]), in_words(spell["found"])) for spell in set_aside(season).heat.to_dict("records")]


def advice_said(judged: Judging) -> list[Item]:
    """Every pair's advice with its reasons."""
    found = []
    for row in judged.review.itertuples():
        advice, fit, reasons = (in_words(part) for part in (ADVICE[row.advice], row.fit_said, row.findings))
        found.append((row.pair, f"{begun(advice)}; fit to breed: {fit}. {reasons}".strip()))
    return found


def cannot_tell(judged: Judging) -> list[str]:
    """What the data cannot tell apart, a sentence each."""
    return [in_words(one) for one in judged.record.inseparable()]


def related_said(judged: Judging) -> list[Item]:
    """Pairs whose birds are related, as far as the logs tell."""
    table = young(judged.season)
    return [(row.pair, in_words(row.found)) for row in table.itertuples() if row.inbreeding > 0]


def ahead_said(ahead: Outlook) -> list[str]:
    """Next season in sentences."""
    total = ahead.total
    between = f"{total['low']:.0f} to {total['high']:.0f} chicks weaned in four seasons of five"
    first = f"With {listed(ahead.keep, most=20)} kept: {between}, {total['mean']:.1f} on average."
    most = most_in_hand(ahead)
    return [first, in_words(most)] if most else [first]


def prior_said(judged: Judging) -> list[str]:
    """How much what is thought beforehand weighs: by stage, the pair that another spread of pairs would move most."""
    found = []
    for stage, fit in judged.record.rates.items():
        usual, moved = fit.under(1.0), {words: fit.under(scale) for words, scale in (("half", 0.5), ("twice", 2.0))}
        tried = [(words, pair) for words in moved for pair in usual.index]
        if tried:
            words, pair = max(tried, key=lambda at: abs(moved[at[0]][at[1]] - usual[at[1]]))
            if percent(usual[pair]) == percent(moved[words][pair]):
                found.append(f"{begun(stage)}: no pair's rate would move by a whole point.")
                continue
            found.append(
                f"{begun(stage)}: had pairs and cages been thought to differ {words} as much beforehand, {pair} would "
                f"move most, from {percent(usual[pair])} to {percent(moved[words][pair])}."
            )
    return found
