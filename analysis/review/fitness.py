"""Fit to breed? Rules of the keeper's own, never statistics."""

from dataclasses import dataclass
from typing import NamedTuple

import pandas as pd

from analysis.logs.names import same
from analysis.pedigree import young
from analysis.season import Season
from analysis.season.species import written_for
from analysis.words import count_words, day_words, listed

ASK_SIGNS = ("egg binding", "prolapse", "aggression", "chick killing")
_DAYS_A_YEAR = 365.25
_TOO_FAST = "eggs-too-fast"
_DIED = ("early death", "late death", "dead in shell", "pipped and died")


class Rule(NamedTuple):
    """One rule that a pair met: "no" or "ask", what the advice would be for it alone, and the sentence."""

    fit: str
    advice: str
    sentence: str


@dataclass(frozen=True)
class Fitness:
    """The answer for one pair, "yes", "no" or "ask", and the rules behind it."""

    rules: tuple[Rule, ...]

    @property
    def fit(self) -> str:
        """The strictest answer of the rules; "yes" where none is met."""
        answers = {rule.fit for rule in self.rules}
        return "no" if "no" in answers else "ask" if "ask" in answers else "yes"


def fitness(season: Season, clutches: pd.DataFrame) -> dict[str, Fitness]:
    """Hold every pair of a season against the rules.

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
        rules = [
            *_age(season, pair),
            *_clutches(season, pair, clutches),
            *_signs(season, pair),
            *_sexes(season, pair),
            *_relatedness(season, pair, related),
        ]
        found[str(pair["pair"])] = Fitness(tuple(rules))
    return found


def _age(season: Season, pair: dict[str, object]) -> list[Rule]:
    limit = written_for(season.logs["species"], str(pair["species"]), "hen_oldest_y")
    birds = season.logs["birds"]
    hatched = birds.loc[birds["bird"].map(same) == same(str(pair["hen"] or "")), "hatched_on"].dropna()
    if limit is None or hatched.empty or season.as_of is None:
        return []
    born = pd.Timestamp(hatched.iloc[0])
    age_y = (season.as_of - born).days / _DAYS_A_YEAR
    if age_y <= limit:
        return []
    sentence = (
        f"{pair['hen']} hatched on {day_words(born)} and is {age_y:.1f} years old; your own limit for a "
        f"{pair['species']} hen is {limit:g}."
    )
    return [Rule("no", "stop breeding", sentence)]


def _clutches(season: Season, pair: dict[str, object], clutches: pd.DataFrame) -> list[Rule]:
    if pair["kind"] != "pair":
        return []
    laid = int((clutches["pair"] == pair["pair"]).sum())
    limit = written_for(season.logs["species"], str(pair["species"]), "clutches_a_season")
    most = season.settings.number("clutches_then_rest") - 1 if limit is None else limit
    if laid <= most:
        return []
    said = f"your own limit is {limit:g}" if limit is not None else "two a season, three at most, is the custom"
    sentence = (
        f"{count_words(laid, 'clutch', 'clutches')} laid this season, pulled ones counted; {said}. Rest the pair now."
    )
    return [Rule("no", "rest", sentence)]


def _signs(season: Season, pair: dict[str, object]) -> list[Rule]:
    signs = season.logs["signs"]
    who = {same(str(pair[name])) for name in ("pair", "cock", "hen") if pair[name]}
    seen = signs[signs["who"].map(same).isin(who) & signs["sign"].isin(ASK_SIGNS)]
    return [
        Rule(
            "ask",
            "check first",
            f"{name}: {listed(rows['sign'].unique())}, seen {day_words(rows['seen_at'].max())}. "
            "That is for an avian veterinarian before anything else, whatever the rates.",
        )
        for name, rows in seen.groupby("who")
    ]


def _sexes(season: Season, pair: dict[str, object]) -> list[Rule]:
    """More eggs than one hen lays, written of a pair."""
    problems = season.problems[season.problems["code"] == _TOO_FAST]
    mine = [value for value in problems["value"].astype(str) if value.rsplit(" ", 1)[0] == pair["pair"]]
    if not mine:
        return []
    sentence = "Eggs came faster than one hen can lay them: first ask whether these are a cock and a hen, or two hens."
    return [Rule("ask", "check first", sentence)]


def _relatedness(season: Season, pair: dict[str, object], related: pd.DataFrame) -> list[Rule]:
    if pair["pair"] not in related.index:
        return []
    mine = related.loc[pair["pair"]]
    if pd.isna(mine["inbreeding"]) or mine["inbreeding"] < season.settings.number("related_ask"):
        return []
    eggs = season.eggs[(season.eggs["pair"] == pair["pair"]) & (season.eggs["fertile"] == "yes")]
    died = int(eggs["outcome"].isin(_DIED).sum())
    of_eggs = f" {died} of its {len(eggs)} fertile eggs died; whether that is why is not proved." if died else ""
    return [Rule("ask", "check first", f"{mine['sentence']}{of_eggs}")]
