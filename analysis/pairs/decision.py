"""What each decision is worth: is a pair worse than a new one, how many chicks hang on it, what to check, what if."""

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.pairs.beside_new import BesideNew, other_priors, p_worse_than_new
from analysis.pairs.evidence import evidence_otherwise, stage_evidence
from analysis.pairs.fitness import Fitness, fitness
from analysis.pairs.habits import clutch_chances, pair_seasons
from analysis.pairs.limits import Limits
from analysis.pairs.record import FERTILE, HATCH, INTACT, STAGES, WEAN, Record
from analysis.pairs.review import word_by_record
from analysis.pairs.verdict import ADVICE, STOP, stands

if TYPE_CHECKING:
    from analysis.pairs.next_season import Outlook

LEAST = 0.5  # chicks a season below which nothing is made of a difference (practice)
_COLUMNS = ["pair", "advice", "p_worse_than_new", "weaned", "weaned_new", "at_stake", "check", "gain", "changes"]
_OF_STAGE = {
    INTACT: found("pairs.worth-whole"),
    FERTILE: found("pairs.worth-fertile"),
    HATCH: found("pairs.worth-hatch"),
    WEAN: found("pairs.worth-weaned"),
}
_ALL_CLEAR = found("pairs.worth-sexes")
# What a rule asks about goes before whatever counts would ask, and a bird's health before all.
_OF_RULE = {
    "pairs.signs-seen": found("pairs.worth-veterinarian"),
    "pairs.two-hens": _ALL_CLEAR,
    "pairs.hen-too-old": found("pairs.worth-own-limit"),
    "pairs.hen-too-young": found("pairs.worth-her-age"),
    "pairs.hen-too-young-for-you": found("pairs.worth-her-age"),
    "pairs.related": found("pairs.worth-kin"),
    "pairs.related-and-died": found("pairs.worth-kin"),
}


def decision(record: Record, review: pd.DataFrame, ahead: "Outlook | None") -> pd.DataFrame:
    """What keeping or parting each pair is worth.

    Parameters
    ----------
    record, review, ahead : from `read_record`, `review_pairs` and `outlook`; None: next season cannot be told

    Returns
    -------
    frame, a row a pair of this season, by name; none where no egg is logged
        pair, advice, p_worse_than_new (as `review_pairs` has them);
        weaned, weaned_new: chicks weaned next season on average, by the pair, and by a new one in its place in its
        first season, what it costs to settle taken off; at_stake: the first less the second, so that below 0 a new
        pair would give more. NaN of a colony or trio, and where next season cannot be told;
        check: the one check worth most, a Finding, or None: what a rule asks about, else the stage at which the pair
        falls most behind a new one in chicks a season, where that is half a chick or more and the pair was not checked;
        gain: chicks a season, were the pair at that stage like a new one (NaN where a rule asks, or nothing is asked);
        changes: under which other thought beforehand the word would be another, and which (`other_priors`; the first
        that does), a Finding, or None.

    Examples
    --------
    >>> from analysis import open_season
    >>> from analysis.pairs import Pairs
    >>> table = Pairs.of(open_season("data_demo/season_2026")).decision.set_index("pair")
    >>> bool(table.loc["P02", "at_stake"] < -2), bool(table.loc["P02", "p_worse_than_new"] > 0.9)
    (True, True)
    """
    if record.clutches.empty:
        return pd.DataFrame(columns=_COLUMNS)
    season = record.season
    fit = fitness(season, record.clutches[record.clutches["season"] == record.this_season])
    seasons, evidence = pair_seasons(record), stage_evidence(record)
    beside = {pair: BesideNew.of(record, pair) for pair in review["pair"]}
    others = _words_otherwise(record, evidence, fit, beside)
    rows = []
    for row in review.itertuples():
        pair, chances = str(row.pair), clutch_chances(record, seasons, str(row.pair))
        clutches = float(chances @ np.arange(len(chances)))
        check, gain = _check(record, evidence[evidence["pair"] == pair], fit[pair], beside[pair], clutches, row.advice)
        changes = next(
            (found(code, word=ADVICE[of[pair]]) for code, of in others.items() if of[pair] != row.advice), None
        )
        rows.append(
            (pair, row.advice, row.p_worse_than_new, *_stake(record, pair, fit[pair], ahead), check, gain, changes)
        )
    return pd.DataFrame(rows, columns=_COLUMNS)


def _stake(record: Record, pair: str, fit: Fitness, ahead: "Outlook | None") -> tuple[float, float, float]:
    """Chicks weaned next season by a pair and by a new one that settles, and the difference."""
    if ahead is None or fit.kind != "pair":
        return np.nan, np.nan, np.nan
    row = ahead.pairs.set_index("pair").loc[pair]
    new = (1 - record.season.settings.number("settling_cost")) * float(row["weaned_new"])
    return float(row["weaned"]), new, float(row["weaned"]) - new


def _check(
    record: Record, evidence: pd.DataFrame, fit: Fitness, beside: BesideNew, clutches: float, advice: str
) -> tuple[Finding | None, float]:
    """The check worth most and what it would gain; see `decision`."""
    met = {rule.why.code for rule in fit.rules}
    asked = next((check for code, check in _OF_RULE.items() if code in met), None)
    if asked or advice == STOP or fit.kind != "pair" or evidence["pair"].iloc[0] in record.checked:
        return asked, np.nan
    gains = {stage: clutches * beside.mended(stage) for stage in STAGES}
    stage = max(gains, key=lambda one: gains[one])
    if not gains[stage] >= LEAST:
        return None, np.nan
    counts = evidence.set_index("stage").loc[stage]
    clear = stage == FERTILE and counts["tried"] > 0 and not counts["worked"]
    return _ALL_CLEAR if clear else _OF_STAGE[stage], gains[stage]


def _words_otherwise(
    record: Record, evidence: pd.DataFrame, fit: dict[str, Fitness], beside: dict[str, BesideNew]
) -> dict[str, dict[str, str]]:
    """Every pair's word by every other thought beforehand."""
    limits, priors = Limits.of(record.season.settings), other_priors(record)
    words: dict[str, dict[str, str]] = {code: {} for code in priors}
    for code, table in evidence_otherwise(record, evidence, priors).items():
        by_pair = dict(list(table.groupby("pair")))
        for pair, one in beside.items():
            worse = p_worse_than_new(record, one, priors[code])
            _, word = word_by_record(record, pair, by_pair[pair], limits, worse)
            words[code][pair] = stands(word, *(rule.advice for rule in fit[pair].rules))
    return words
