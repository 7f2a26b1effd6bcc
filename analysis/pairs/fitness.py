"""Fit to breed? Rules of the keeper's own, never statistics."""

import math
from dataclasses import dataclass
from typing import Any, NamedTuple

import pandas as pd

from analysis.finding import LOOK, Finding, found
from analysis.logs.headings import same
from analysis.names import DIED_IN_EGG
from analysis.pairs.inbreeding import young
from analysis.season import GROUPS, Season, sign_words
from analysis.season.species import written_for

_ASK_SIGNS = ("egg binding", "prolapse", "aggression", "chick killing")
_YEAR_D = 365.25
_HER_AGE, _CLUTCHES_LAID = found("pairs.her-age"), found("pairs.clutches-laid")
_SIGNS, _RELATED = found("pairs.signs"), found("pairs.whether-related")
# each answer in a word or two, for a table
IN_SHORT = {
    "yes": found("pairs.fit"),
    "no": found("pairs.not-fit"),
    "ask": found("pairs.ask-if-fit"),
    "unknown": found("pairs.fit-not-known"),
}


class Rule(NamedTuple):
    """One rule that a pair met: "no" or "ask", what the advice would be for it alone, and what was found."""

    fit: str
    advice: str
    why: Finding


Answer = tuple[list[Rule], Finding | None]  # the rules met, and what was checked, None where what it needs is missing


@dataclass(frozen=True)
class Fitness:
    """The answer for one pair: the rules it met, and the rules that had what they need (such as `_HER_AGE`)."""

    kind: str
    rules: tuple[Rule, ...]
    checked: tuple[Finding, ...]

    @property
    def fit(self) -> str:
        """The strictest answer of the rules; where none is met "yes", or "unknown" where none could be checked."""
        answers = {rule.fit for rule in self.rules}
        return "no" if "no" in answers else "ask" if "ask" in answers else "yes" if self.checked else "unknown"

    @property
    def answer(self) -> Finding:
        """The answer. It is of rules alone, and never says that a bird is well."""
        if self.fit == "yes":
            return found("pairs.fit-checked", fit=IN_SHORT["yes"], checked=self.checked)
        if self.fit == "unknown" and self.kind == "pair":
            return found("pairs.would-tell-fit", fit=IN_SHORT["unknown"])
        if self.fit == "unknown":
            return found("pairs.fit-of-group", fit=IN_SHORT["unknown"], group=GROUPS[self.kind])
        return IN_SHORT[self.fit]


def fitness(season: Season, clutches: pd.DataFrame) -> dict[str, Fitness]:
    """Hold every pair of a season against the rules, with this season's `clutches`; the answers are by pair.

    A rule counts as checked where what it needs is written: her day of hatch; a limit of the keeper's own and a clutch;
    a sign, of whatever kind, of the pair or its birds; the parents of both, or that they are related. Of a colony or
    trio nothing is, since nobody knows which bird laid.
    """
    related = young(season).set_index("pair")
    # eggs that come slowly enough for one hen show nothing of the sexes, so nothing counts as checked here
    two_hens = set(season.problems.loc[season.problems["code"] == "eggs-too-fast", "about"])
    answered = {}
    for pair in season.pairs.to_dict("records"):
        answers = [
            _age(season, pair),
            _clutches(season, pair, int((clutches["pair"] == pair["pair"]).sum())),
            _signs(season, pair),
            ([_rule("ask", "check first", "pairs.two-hens", pair)] if pair["pair"] in two_hens else [], None),
            _relatedness(season, pair, related),
        ]
        rules = tuple(rule for met, _ in answers for rule in met)
        checked = tuple(what for _, what in answers if what and pair["kind"] == "pair")
        answered[str(pair["pair"])] = Fitness(str(pair["kind"]), rules, checked)
    return answered


def _rule(fit: str, advice: str, code: str, pair: dict[str, Any], **facts: Any) -> Rule:
    return Rule(fit, advice, found(code, about=pair["pair"], level=LOOK, **facts))


@dataclass(frozen=True)
class HenLimits:
    """When a hen hatched, and the ages in years between which she may breed; `oldest_y` is None where none is set.

    `own_youngest`: whether the keeper set the youngest age for her species; else it is that of the settings.
    """

    born: pd.Timestamp
    youngest_y: float
    oldest_y: float | None
    own_youngest: bool

    def age_y(self, day: pd.Timestamp) -> float:
        """Her age on a day."""
        return float((day - self.born).days / _YEAR_D)

    def first_day(self, age_y: float, *, past: bool) -> pd.Timestamp:
        """The first day on which she is that old, or older than that."""
        days = math.floor(age_y * _YEAR_D) + 1 if past else math.ceil(age_y * _YEAR_D)
        return self.born + pd.Timedelta(days=days)


def hen_limits(season: Season, pair: dict[str, Any]) -> HenLimits | None:
    """The age limits of a pair's hen; None where it is not written when she hatched."""
    birds = season.logs["birds"]
    hatched = birds.loc[birds["bird"].map(same) == same(pair["hen"] or ""), "hatched_on"].dropna()
    if hatched.empty or not pair["hen"]:
        return None
    oldest, own = (
        written_for(season.logs["species"], pair["species"], f"hen_{end}_y") for end in ("oldest", "youngest")
    )
    youngest = season.settings.number("hen_youngest_y") if own is None else own
    return HenLimits(pd.Timestamp(hatched.iloc[0]), youngest, oldest, own is not None)


def _age(season: Season, pair: dict[str, Any]) -> Answer:
    limits = hen_limits(season, pair)
    if limits is None or season.as_of is None:
        return [], None
    age_y, oldest_y, youngest_y = limits.age_y(season.as_of), limits.oldest_y, limits.youngest_y
    she = {"hen": pair["hen"], "born": limits.born, "age_y": age_y, "species": pair["species"]}
    if oldest_y is not None and age_y > oldest_y:
        return [_rule("no", "stop breeding", "pairs.hen-too-old", pair, **she, oldest_y=oldest_y)], _HER_AGE
    if age_y >= youngest_y:
        return [], _HER_AGE
    code = "pairs.hen-too-young-for-you" if limits.own_youngest else "pairs.hen-too-young"
    return [_rule("ask", "check first", code, pair, **she, youngest_y=youngest_y)], _HER_AGE


def _clutches(season: Season, pair: dict[str, Any], laid: int) -> Answer:
    if pair["kind"] != "pair":
        return [], None
    limit = written_for(season.logs["species"], pair["species"], "clutches_a_season")
    most = season.settings.number("clutches_then_rest") - 1 if limit is None else limit
    own = limit is not None or "clutches_then_rest" in season.settings.values
    if laid <= most:
        return [], _CLUTCHES_LAID if own and laid else None
    code = "pairs.more-clutches-than-your-own" if limit is not None else "pairs.more-clutches-than-the-custom"
    return [_rule("no", "rest", code, pair, clutches=laid, limit=limit)], _CLUTCHES_LAID


def _signs(season: Season, pair: dict[str, Any]) -> Answer:
    signs = season.logs["signs"]
    who = {same(pair[name]) for name in ("pair", "cock", "hen") if pair[name]}
    mine = signs[signs["who"].map(same).isin(who)]
    rules = []
    for name, rows in mine[mine["sign"].isin(_ASK_SIGNS)].groupby("who"):
        seen = {"signs": [sign_words(sign) for sign in rows["sign"].unique()], "last": rows["seen_at"].max()}
        rules.append(_rule("ask", "check first", "pairs.signs-seen", pair, who=str(name), **seen))
    return rules, _SIGNS if len(mine) else None


def _relatedness(season: Season, pair: dict[str, Any], related: pd.DataFrame) -> Answer:
    if pair["pair"] not in related.index:
        return [], None
    mine = related.loc[pair["pair"]]
    if pd.isna(mine["inbreeding"]) or mine["inbreeding"] < season.settings.number("related_ask"):
        return [], _RELATED if mine["known"] or mine["inbreeding"] > 0 else None
    eggs = season.eggs[(season.eggs["pair"] == pair["pair"]) & (season.eggs["fertile"] == "yes")]
    died = int(eggs["outcome"].isin(DIED_IN_EGG).sum())
    code = "pairs.related-and-died" if died else "pairs.related"
    return [_rule("ask", "check first", code, pair, kin=mine["found"], died=died, eggs=len(eggs))], _RELATED
