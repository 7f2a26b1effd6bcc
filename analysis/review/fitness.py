"""Fit to breed? Rules of the keeper's own, never statistics."""

from dataclasses import dataclass
from typing import NamedTuple

import pandas as pd

from analysis.logs.names import same
from analysis.names import DIED_IN_EGG
from analysis.pedigree import young
from analysis.season import Season
from analysis.season.species import written_for
from analysis.words import count_words, day_words, listed

ASK_SIGNS = ("egg binding", "prolapse", "aggression", "chick killing")
_DAYS_A_YEAR = 365.25
_TOO_FAST = "eggs-too-fast"


class Rule(NamedTuple):
    """One rule that a pair met: "no" or "ask", what the advice would be for it alone, and the sentence."""

    fit: str
    advice: str
    sentence: str


Answer = tuple[list[Rule], str]  # the rules met, and what was checked, blank where what that needs is not written

# What would tell where nothing is written, in the words of the logs.
WOULD_TELL = (
    "hatched_on in birds (her age)",
    "father and mother in birds (whether they are related)",
    "signs (what was seen of them)",
)
_NOBODY_KNOWS = "which of its birds laid cannot be told, so no rule speaks of one"

# each answer in a word or two, for a table
IN_SHORT = {"yes": "within your own rules", "no": "no", "ask": "ask", "unknown": "not known"}


@dataclass(frozen=True)
class Fitness:
    """The answer for one pair: the rules it met, and the rules that had what they need ("her age")."""

    kind: str
    rules: tuple[Rule, ...]
    checked: tuple[str, ...]

    @property
    def fit(self) -> str:
        """The strictest answer of the rules; where none is met "yes", or "unknown" where none could be checked."""
        answers = {rule.fit for rule in self.rules}
        return "no" if "no" in answers else "ask" if "ask" in answers else "yes" if self.checked else "unknown"

    @property
    def said(self) -> str:
        """The answer in words. It is of rules alone, and never says that a bird is well."""
        if self.fit == "yes":
            return f"{IN_SHORT['yes']} (checked: {listed(self.checked)})"
        if self.fit == "unknown":
            why = f"write {listed(WOULD_TELL)}" if self.kind == "pair" else f"a {self.kind}; {_NOBODY_KNOWS}"
            return f"{IN_SHORT['unknown']}: {why}"
        return IN_SHORT[self.fit]


def fitness(season: Season, clutches: pd.DataFrame) -> dict[str, Fitness]:
    """Hold every pair of a season against the rules.

    A rule counts as checked where what it needs is written: her day of hatch; a limit of the keeper's own and a clutch;
    a sign, of whatever kind, of the pair or its birds; the parents of both, or that they are related. Of a colony or
    trio nothing is, since nobody knows which bird laid.

    Parameters
    ----------
    season : Season
    clutches : a row a clutch of this season: pair, clutch

    Returns
    -------
    dict of Fitness by pair
    """
    related = young(season).set_index("pair")
    found = {}
    for pair in season.pairs.to_dict("records"):
        answers = [
            _age(season, pair),
            _clutches(season, pair, clutches),
            _signs(season, pair),
            _sexes(season, pair),
            _relatedness(season, pair, related),
        ]
        rules = tuple(rule for met, _ in answers for rule in met)
        checked = tuple(what for _, what in answers if what and pair["kind"] == "pair")
        found[str(pair["pair"])] = Fitness(str(pair["kind"]), rules, checked)
    return found


def _age(season: Season, pair: dict[str, object]) -> Answer:
    birds = season.logs["birds"]
    hatched = birds.loc[birds["bird"].map(same) == same(str(pair["hen"] or "")), "hatched_on"].dropna()
    if hatched.empty or season.as_of is None or not pair["hen"]:
        return [], ""
    log, species = season.logs["species"], str(pair["species"])
    oldest, own = (written_for(log, species, f"hen_{end}_y") for end in ("oldest", "youngest"))
    youngest = season.settings.number("hen_youngest_y") if own is None else own
    born = pd.Timestamp(hatched.iloc[0])
    age_y = (season.as_of - born).days / _DAYS_A_YEAR
    she_is = f"{pair['hen']} hatched on {day_words(born)} and is {age_y:.1f} years old; "
    if oldest is not None and age_y > oldest:
        return [Rule("no", "stop breeding", f"{she_is}your own limit for a {species} hen is {oldest:g}.")], "her age"
    if age_y >= youngest:
        return [], "her age"
    least = f"{youngest:g} {'year' if youngest == 1 else 'years'}"
    whose = f"your own limit for a {species} hen is {least}" if own is not None else f"{least} is set as the youngest"
    young_hen = "A very young hen is more easily egg-bound: ask an avian veterinarian, and let her grow up first."
    return [Rule("ask", "check first", f"{she_is}{whose}. {young_hen}")], "her age"


def _clutches(season: Season, pair: dict[str, object], clutches: pd.DataFrame) -> Answer:
    if pair["kind"] != "pair":
        return [], ""
    laid = int((clutches["pair"] == pair["pair"]).sum())
    limit = written_for(season.logs["species"], str(pair["species"]), "clutches_a_season")
    most = season.settings.number("clutches_then_rest") - 1 if limit is None else limit
    own = limit is not None or "clutches_then_rest" in season.settings.values
    if laid <= most:
        return [], "clutches laid" if own and laid else ""
    said = f"your own limit is {limit:g}" if limit is not None else "two a season, three at most, is the custom"
    sentence = (
        f"{count_words(laid, 'clutch', 'clutches')} laid this season, pulled ones counted; {said}. Rest the pair now."
    )
    return [Rule("no", "rest", sentence)], "clutches laid"


def _signs(season: Season, pair: dict[str, object]) -> Answer:
    signs = season.logs["signs"]
    who = {same(str(pair[name])) for name in ("pair", "cock", "hen") if pair[name]}
    mine = signs[signs["who"].map(same).isin(who)]
    seen = mine[mine["sign"].isin(ASK_SIGNS)]
    return [
        Rule(
            "ask",
            "check first",
            f"{name}: {listed(rows['sign'].unique())}, seen {day_words(rows['seen_at'].max())}. "
            "That is for an avian veterinarian, whatever the rates.",
        )
        for name, rows in seen.groupby("who")
    ], "signs" if len(mine) else ""


def _sexes(season: Season, pair: dict[str, object]) -> Answer:
    """More eggs than one hen lays, written of a pair; that they come slowly enough shows nothing of the sexes."""
    problems = season.problems[season.problems["code"] == _TOO_FAST]
    if pair["pair"] not in set(problems["about"]):
        return [], ""
    sentence = "Eggs came faster than one hen can lay them: first ask whether these are a cock and a hen, or two hens."
    return [Rule("ask", "check first", sentence)], ""


def _relatedness(season: Season, pair: dict[str, object], related: pd.DataFrame) -> Answer:
    if pair["pair"] not in related.index:
        return [], ""
    mine = related.loc[pair["pair"]]
    if pd.isna(mine["inbreeding"]) or mine["inbreeding"] < season.settings.number("related_ask"):
        return [], "whether they are related" if mine["known"] or mine["inbreeding"] > 0 else ""
    eggs = season.eggs[(season.eggs["pair"] == pair["pair"]) & (season.eggs["fertile"] == "yes")]
    died = int(eggs["outcome"].isin(DIED_IN_EGG).sum())
    of_eggs = f" {died} of its {len(eggs)} fertile eggs died; whether that is why is not proved." if died else ""
    return [Rule("ask", "check first", f"{mine['sentence']}{of_eggs}")], "whether they are related"
