"""What the record says of pairs, cages and hens, worked out once and read by the first page and the chapter."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any, cast

import pandas as pd

from analysis.finding import LOOK, Finding, Words, found
from analysis.pairs.by_hen import hens
from analysis.pairs.by_place import places
from analysis.pairs.decision import decision
from analysis.pairs.inbreeding import young
from analysis.pairs.next_season import NO_PAIR, Outlook, not_kept, outlook
from analysis.pairs.out_of_range import Excluded
from analysis.pairs.record import FERTILE, HATCH, INTACT, WEAN, Record, read_record
from analysis.pairs.review import review_pairs
from analysis.pairs.verdict import ADVICE, CHECK, NOT_ENOUGH, NOTHING_AGAINST, RE_PAIR, REST, STOP
from analysis.say.voice import say
from analysis.season import RATES, Season, hatching_known, numbers_hold
from analysis.season.model import OfSeason

STAGE_NAMES = {
    INTACT: found("heads.stage-not-broken"),
    FERTILE: found("heads.stage-showed-fertile"),
    HATCH: found("heads.stage-hatch-of-fertile"),
    WEAN: found("heads.stage-weaned"),
}
_ASKED, _QUIET = (STOP, RE_PAIR, CHECK), (REST, NOTHING_AGAINST, NOT_ENOUGH)
_MOVES = {"advice.rate-moves-half": 0.5, "advice.rate-moves-twice": 2.0}  # spreads of pairs to hold against the usual


def handed_over(season: Season) -> dict[str, Any] | None:
    """What another process has worked out of a season by now; whoever starts one puts its own here."""
    return None


@dataclass(frozen=True, repr=False)
class Pairs(OfSeason):
    """A season's pairs judged on all joined seasons; each part is worked out when it is asked for, once."""

    def _in_short(self) -> tuple[str, str]:
        counts = {"pairs": len(self.season.pairs), "seasons": 1 + len(self.season.earlier)}
        return self.season.title, say("season.pairs-hold", **counts)

    @cached_property
    def _ahead(self) -> dict[str, Any]:
        return handed_over(self.season) or {}

    @cached_property
    def record(self) -> Record:
        """Every stage, a row a clutch and who did it, without what is set aside."""
        return self._ahead.get("record") or read_record(self.season)

    @cached_property
    def review(self) -> pd.DataFrame:
        """The advice for each pair: see `review_pairs`."""
        ahead = self._ahead.get("review")
        return review_pairs(self.season, self.record) if ahead is None else ahead

    @property
    def has_ended(self) -> bool:
        """Whether any egg or chick of any stage has come to its end, so that there is a rate at all."""
        return any((rows["tried"] > 0).any() for stage, rows in self.record.rows.items() if stage != INTACT)

    @cached_property
    def places(self) -> pd.DataFrame:
        """Cages and other places: see `places`."""
        return places(self.season, self.record)

    @cached_property
    def hens(self) -> pd.DataFrame:
        """How each hen's eggs hatched from season to season: see `hens`."""
        return hens(self.season, self.record)

    @cached_property
    def outlook(self) -> Outlook | None:
        """Next season with the pairs that `outlook` keeps; None where nothing was laid, or logs are damaged."""
        if self.record.clutches.empty or not numbers_hold(self.season, joined=True):
            return None
        if "outlook" in self._ahead:
            return cast("Outlook | None", self._ahead["outlook"])
        return outlook(self.season, record=self.record, review=self.review)

    @cached_property
    def decision(self) -> pd.DataFrame:
        """What keeping or parting each pair is worth: see `decision`."""
        return decision(self.record, self.review, self.outlook)


def heaviest(season: Season) -> dict[str, Any]:
    """The parts that take longest, by name, worked out now."""
    return {name: getattr(Pairs.of(season), name) for name in ("record", "review", "outlook")}


def asked_of_pairs(pairs: Pairs) -> list[Finding]:
    """Pairs to ask something about, each with its advice and the first reason, then those that rest or are too new."""
    review = pairs.review
    asked = [
        found("advice.asked", about=row.pair, level=LOOK, advice=ADVICE[row.advice], first=row.first)
        for row in review[review["advice"].isin(_ASKED)].itertuples()
    ]
    quiet = [(advice, list(review.loc[review["advice"] == advice, "pair"])) for advice in _QUIET]
    parts = [found("advice.of-pairs", advice=ADVICE[advice], pairs=names) for advice, names in quiet if names]
    if not parts:
        return asked
    by_advice = found("advice.by-advice", parts=parts)
    return [*asked, found("advice.others", about=found("advice.other-pairs"), pairs=by_advice)]


def worse_places(pairs: Pairs) -> list[Finding]:
    """Places where eggs or chicks did worse than the same pairs' did elsewhere, and incubators out of range."""
    heat = [spell for excluded in pairs.record.excluded.values() for spell in excluded.heat["found"]]
    return [*heat, *pairs.places.loc[pairs.places["worse"].astype(bool), "found"]]


def incubators_out_of_range(season: Season) -> list[Finding]:
    """Incubators out of range this season, and whether their eggs did worse, where the logs can tell how eggs did."""
    told = numbers_hold(season, logs=RATES) and hatching_known(season)
    return list(Excluded.of(season).heat["found"]) if told else []


def advice_with_reasons(pairs: Pairs) -> list[Finding]:
    """Every pair's advice with its reasons."""
    return [
        found(
            "advice.with-reasons",
            about=row.pair,
            advice=ADVICE[row.advice],
            fit=row.fit_said,
            reasons=found("overview.sentences", parts=row.findings) if row.findings else None,
        )
        for row in pairs.review.itertuples()
    ]


def related_pairs(pairs: Pairs) -> list[Finding]:
    """Pairs whose birds are related, as far as the logs tell."""
    return [replace(row.found, about=row.pair) for row in young(pairs.season).itertuples() if row.inbreeding > 0]


def outlook_findings(ahead: Outlook) -> list[Words]:
    """Next season in sentences."""
    weaned: dict[str, Any] = {name: float(ahead.total[name]) for name in ("low", "high", "mean")}
    left = not_kept(ahead)
    total = found("advice.ahead", pairs=ahead.keep, **weaned) if ahead.keep else NO_PAIR
    return [total, *([left] if left else [])]


def weight_of_prior(pairs: Pairs) -> list[Finding]:
    """How much what is thought beforehand weighs: by stage, the pair that another spread of pairs would move most."""
    findings = []
    for stage in pairs.record.told:
        fit = pairs.record.rates[stage]
        usual, moved = fit.under(1.0), {code: fit.under(scale) for code, scale in _MOVES.items()}
        ways = [(code, pair) for code in moved for pair in usual.index]
        if not ways:
            continue
        code, pair = max(ways, key=lambda at: abs(moved[at[0]][at[1]] - usual[at[1]]))
        rates: dict[str, Any] = {"usual": float(usual[pair]), "moved": float(moved[code][pair])}
        if len({round(100 * rate) for rate in rates.values()}) == 1:
            findings.append(found("advice.rate-stays", stage=STAGE_NAMES[stage]))
        else:
            findings.append(found(code, stage=STAGE_NAMES[stage], pair=pair, **rates))
    return findings
