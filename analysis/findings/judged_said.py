"""What was found of pairs, cages and incubators, nobody blamed for what others did."""

from dataclasses import replace
from typing import Any

from analysis.finding import LOOK, Finding, Words, found
from analysis.findings.judging import Judging
from analysis.next_season import Outlook, most_in_hand
from analysis.pedigree import young
from analysis.review.aside import set_aside
from analysis.review.record import FERTILE, HATCH, WEAN
from analysis.review.verdict import ADVICE, CHECK, NOT_ENOUGH, RE_PAIR, REST, STOP
from analysis.season import RATES, Season, hatching_known, numbers_hold

STAGES_SAID = {
    FERTILE: found("heads.stage-showed-fertile"),
    HATCH: found("heads.stage-hatch-of-fertile"),
    WEAN: found("heads.stage-weaned"),
}
_ASKED, _QUIET = (STOP, RE_PAIR, CHECK), (REST, NOT_ENOUGH)
_MOVES = {"advice.rate-moves-half": 0.5, "advice.rate-moves-twice": 2.0}  # spreads of pairs to hold against the usual


def asked_of_pairs(judged: Judging) -> list[Finding]:
    """Pairs to ask something about, each with its advice and the first reason, then those that rest or are too new."""
    review = judged.review
    asked = [
        found("advice.asked", about=row.pair, level=LOOK, advice=ADVICE[row.advice], first=row.first)
        for row in review[review["advice"].isin(_ASKED)].itertuples()
    ]
    quiet = [(advice, list(review.loc[review["advice"] == advice, "pair"])) for advice in _QUIET]
    told = [found("advice.of-pairs", advice=ADVICE[advice], pairs=pairs) for advice, pairs in quiet if pairs]
    if not told:
        return asked
    by_advice = found("advice.by-advice", parts=told)
    return [*asked, found("advice.others", about=found("advice.other-pairs"), pairs=by_advice)]


def places_said(judged: Judging) -> list[Finding]:
    """Places where eggs or chicks did worse than the same pairs' did elsewhere, and incubators out of range."""
    heat = [spell for aside in judged.record.aside.values() for spell in aside.heat["found"]]
    return [*heat, *judged.places.loc[judged.places["worse"].astype(bool), "found"]]


def heat_said(season: Season) -> list[Finding]:
    """Incubators out of range this season, the eggs that were in them then, and whether those did worse.

    Nothing where the logs cannot tell how eggs did (`numbers_hold`, `hatching_known`).
    """
    if not numbers_hold(season, logs=RATES) or not hatching_known(season):
        return []
    return list(set_aside(season).heat["found"])


def advice_said(judged: Judging) -> list[Finding]:
    """Every pair's advice with its reasons."""
    return [
        found(
            "advice.with-reasons",
            about=row.pair,
            advice=ADVICE[row.advice],
            fit=row.fit_said,
            reasons=found("overview.sentences", parts=row.findings) if row.findings else None,
        )
        for row in judged.review.itertuples()
    ]


def cannot_tell(judged: Judging) -> list[Finding]:
    """What the data cannot tell apart."""
    return judged.record.inseparable()


def related_said(judged: Judging) -> list[Finding]:
    """Pairs whose birds are related, as far as the logs tell."""
    table = young(judged.season)
    return [replace(row.found, about=row.pair) for row in table.itertuples() if row.inbreeding > 0]


def ahead_said(ahead: Outlook) -> list[Words]:
    """Next season in sentences."""
    total = ahead.total
    weaned: dict[str, Any] = {name: float(total[name]) for name in ("low", "high", "mean")}
    most = most_in_hand(ahead)
    return [found("advice.ahead", pairs=ahead.keep, **weaned), *([most] if most else [])]


def prior_said(judged: Judging) -> list[Finding]:
    """How much what is thought beforehand weighs: by stage, the pair that another spread of pairs would move most."""
    told = []
    for stage, fit in judged.record.rates.items():
        usual, moved = fit.under(1.0), {code: fit.under(scale) for code, scale in _MOVES.items()}
        tried = [(code, pair) for code in moved for pair in usual.index]
        if not tried:
            continue
        code, pair = max(tried, key=lambda at: abs(moved[at[0]][at[1]] - usual[at[1]]))
        rates = float(usual[pair]), float(moved[code][pair])
        same = len({round(100 * rate) for rate in rates}) == 1
        stage_said = STAGES_SAID[stage]
        told.append(
            found("advice.rate-stays", stage=stage_said)
            if same
            else found(code, stage=stage_said, pair=pair, usual=rates[0], moved=rates[1])
        )
    return told
