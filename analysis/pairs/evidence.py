"""What the record says of each pair, stage by stage: counts, and how sure it is that the pair is below its kind."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import pandas as pd

from analysis.pairs.record import FERTILE, HATCH, INTACT, STAGES, WEAN, Array, Record, begun
from analysis.rates.pooling.model import inv_logit

_COLUMNS = [
    *("pair", "stage", "worked", "tried", "clutches", "lost_in", "excluded", "pending", "in_part"),
    *("mean", "low", "high", "typical", "usual_there", "p_low", "alone_in"),
]
NEW = " new "  # a pair that was never seen: no name that a keeper wrote begins with a blank
CLUTCH = ["season", "laid_by", "clutch"]
_BESIDE = 2.0  # clutches of its kind that a pair's own clutch size is held against (practice)


def stage_evidence(record: Record) -> pd.DataFrame:
    """Hold each pair of this season against what is typical of its kind, at each stage.

    Returns a row a pair and stage, pairs by name: pair; stage (of `STAGES`); worked, tried, over all joined seasons,
    without what is set aside; clutches (with anything tried); lost_in (clutches in which not all worked); excluded
    (eggs or chicks set aside); pending and in_part (what those still being reared have come through, and how many they
    are, see `Record`); mean, low, high of the pair's own rate in a typical place; typical, of its kind; usual_there,
    the same in the places where its eggs or chicks were, as far as others' were there too; p_low, the probability that
    its rate is below the typical one; alone_in: the place where it always was and no other was ever: mean, low, high
    and p_low are of the two together. Rates are NaN where there is no data at all.
    """
    pairs = record.birds.pairs.loc[record.birds.pairs["this_season"], "pair"]
    rows = [_of_stage(record, str(pair), stage) for pair in pairs for stage in STAGES]
    return pd.DataFrame(rows, columns=_COLUMNS)


def evidence_otherwise(
    record: Record, evidence: pd.DataFrame, priors: Mapping[str, Mapping[str, Array]]
) -> dict[str, pd.DataFrame]:
    """The same by what else might be thought beforehand, `evidence` from `stage_evidence`; low and high stay.

    `priors`: by name and stage what each draw would weigh, as `other_priors` has it.
    """
    drawn = {at: _drawn(record, row.pair, row.stage) for at, row in evidence.dropna(subset="mean").iterrows()}
    return {
        name: evidence.assign(
            **pd.DataFrame({at: one.told(weighed[evidence.loc[at, "stage"]]) for at, one in drawn.items()}).T
        )
        for name, weighed in priors.items()
    }


def _of_stage(record: Record, pair: str, stage: str) -> dict[str, object]:
    rows = record.rows[stage]
    mine = rows[rows["pair"] == pair]
    tried, names = mine[mine["tried"] > 0], _names(record, pair, stage)
    counts = {
        "pair": pair,
        "stage": stage,
        "worked": int(tried["worked"].sum()),
        "tried": int(tried["tried"].sum()),
        "clutches": tried.groupby(CLUTCH).ngroups,
        "lost_in": tried[tried["worked"] < tried["tried"]].groupby(CLUTCH).ngroups,
        "excluded": int(mine["excluded"].sum()),
        "pending": float(mine["pending"].sum()),
        "in_part": int(mine["in_part"].sum()),
        "alone_in": names.get("place", ""),
    }
    if begun(rows).empty:
        return counts
    drawn = _drawn(record, pair, stage)
    low, high = np.quantile(drawn.own, [0.025, 0.975])
    return counts | {"low": low, "high": high} | drawn.told()


class _Drawn(NamedTuple):
    """Draws of the rate of a pair, of what is typical of its kind, and of that where it was, (draws,) each."""

    own: Array
    typical: Array
    there: Array

    def told(self, weights: Array | None = None) -> dict[str, float]:
        """What `stage_evidence` has of them."""
        columns = {"mean": self.own, "typical": self.typical, "usual_there": self.there}
        columns["p_low"] = (self.own < self.typical).astype(float)
        return {name: float(np.average(draws, weights=weights)) for name, draws in columns.items()}


def _drawn(record: Record, pair: str, stage: str) -> _Drawn:
    names, rows = _names(record, pair, stage), record.rows[stage]
    own, typical = record.draws(stage, **names), record.draws(stage, kind=names["kind"])
    some = begun(rows[rows["pair"] == pair])
    return _Drawn(own, typical, _usual_there(record, stage, some, names["kind"]) if len(some) else typical)


def _usual_there(record: Record, stage: str, mine: pd.DataFrame, kind: str) -> Array:
    """What is typical of a kind where one pair's rows were, in each place as often; its own places count as typical."""
    others = record.rows[stage].loc[lambda rows: rows["pair"] != mine["pair"].iloc[0]]
    shared = set(begun(others)["place"])
    tried = mine[["tried", "pending"]].sum(axis=1).groupby(mine["place"].where(mine["place"].isin(shared), "")).sum()
    places = [{"place": str(place)} if place else {} for place in tried.index]
    usual = [record.draws(stage, kind=kind, **place) for place in places]
    return np.asarray(np.average(usual, axis=0, weights=tried))


def _names(record: Record, pair: str, stage: str) -> dict[str, str]:
    """A pair and its kind, and the place where it always was and no other ever; else it is drawn in a typical one."""
    rows = begun(record.rows[stage])
    places = rows.loc[rows["pair"] == pair, "place"].unique()
    alone = len(places) == 1 and bool(places[0]) and (rows.loc[rows["place"] == places[0], "pair"] == pair).all()
    return {"pair": pair, "kind": _kind_of(record, pair, stage)} | ({"place": str(places[0])} if alone else {})


def _kind_of(record: Record, pair: str, stage: str) -> str:
    """The kind a pair is held against: its species, in the latest season in which that species tried the stage."""
    return _kinds_of(record, pair, stage)[0]


def _kinds_of(record: Record, pair: str, stage: str) -> list[str]:
    """A pair's species in each season in which that species tried the stage, the latest first."""
    rows = record.rows[stage]
    birds = record.birds.pairs.set_index("pair")
    species = str(birds.loc[pair, "species"]) if pair in birds.index else ""
    alike = begun(rows[rows["species"] == species])
    alike = alike if len(alike) else rows[rows["pair"] == pair]
    if alike.empty:
        return [species]
    kinds = alike.drop_duplicates("season").set_index("season")["kind"]
    return [str(kinds[name]) for name in record.birds.names["season"].unique() if name in kinds.index]


@dataclass(frozen=True)
class StageDraws:
    """Draws, each (draws,), of what one stage does with the eggs or chicks that come to it.

    `rate` in clutches that do not fail whole; `failing`, the share of clutches that do, and `scatter`, how much alike
    eggs of one clutch are (intraclass correlation): zeros where neither is worked out.
    """

    rate: Array
    failing: Array
    scatter: Array

    @property
    def works(self) -> Array:
        """The share that comes through the stage, clutches that fail whole counted."""
        return self.rate * (1 - self.failing)

    @classmethod
    def of(cls, record: Record, stage: str, rate: Array) -> "StageDraws":
        """Put a rate beside what all clutches of its stage share, the draws those that stand together."""
        fit, off, at = record.rates[stage], np.zeros(len(rate)), record.together[stage]
        shared = (off if draws is None else draws for draws in (fit.failing, fit.scatter))
        return cls(rate[at], *(draws[at] for draws in shared))


@dataclass(frozen=True)
class ClutchValue:
    """Draws of what a clutch of one pair gives on average, stage by stage.

    `eggs`: mean eggs laid in a clutch, (draws,); `intact`: neither broken nor gone; `fertile` of what is left then, so
    that the stages multiply; `wean` by whoever rears this pair's chicks.
    """

    eggs: Array
    intact: StageDraws
    fertile: StageDraws
    hatch: StageDraws
    wean: StageDraws

    @property
    def hatched(self) -> Array:
        """Chicks hatched: the part that is the pair's own."""
        return self.eggs * self.intact.works * self.fertile.works * self.hatch.works

    @property
    def weaned(self) -> Array:
        """Chicks weaned."""
        return self.hatched * self.wean.works


def clutch_value(record: Record, pair: str, *, every_season: bool = False, new: bool = False) -> ClutchValue:
    """Draw what a clutch of a pair gives, in the place where it is told apart from it, else where it always was.

    In the latest season of its species; `every_season`: in the middle of all of them, on the logit. `new`: what a pair
    gives there that was never seen, one of the aviary's own kind; where others reared the chicks they go on doing so.
    """
    who = {"pair": NEW} if new else {}
    intact, fertile, hatch = (
        StageDraws.of(record, stage, _rate(record, pair, stage, every_season, _names(record, pair, stage) | who))
        for stage in (INTACT, FERTILE, HATCH)
    )
    eggs = clutch_sizes(record, pair, len(fertile.rate), new=new).mean
    wean = StageDraws.of(record, WEAN, _weaning(record, pair, len(eggs), every_season, new))
    return ClutchValue(eggs, intact, replace(fertile, rate=_of_whole(record, fertile.rate, intact.rate)), hatch, wean)


def _of_whole(record: Record, fertile: Array, intact: Array) -> Array:
    """The share fertile of eggs neither broken nor gone, from that of all that were candled.

    Eggs broken after they were candled were fertile ones, since clear ones count as clear whatever became of them. With
    s of a pair's losses such, fertile - s (1 - fertile) (1 - intact) / intact are left; s is the aviary's own, for a
    pair with fewer fertile eggs to break the less.
    """
    eggs = record.clutches[["seen", "whole", "fertile_gone", "fertile", "fertile_known"]].dropna().sum()
    gone, candled = float(eggs["seen"] - eggs["whole"]), float(eggs["fertile_gone"])
    if not candled:
        return fertile
    usual = float(eggs["fertile"] / eggs["fertile_known"])
    s = candled * fertile / ((gone - candled) * usual + candled * fertile)
    return np.asarray(np.clip(fertile - s * (1 - fertile) * (1 - intact) / intact, 0.0, 1.0))


def log_odds(rate: Array) -> Array:
    """The logit of rates; 0 and 1 are taken just inside."""
    inside = np.clip(rate, 1e-9, 1 - 1e-9)
    return np.asarray(np.log(inside / (1 - inside)))


def _rate(record: Record, pair: str, stage: str, every_season: bool, names: dict[str, str]) -> Array:
    """The rate of these names in the latest season of the pair's species, or in the middle of all."""
    if not every_season:
        return record.draws(stage, **names)
    rates = [record.draws(stage, **names | {"kind": kind}) for kind in _kinds_of(record, pair, stage)]
    return inv_logit(np.mean([log_odds(rate) for rate in rates], axis=0))


def _weaning(record: Record, pair: str, draws: int, every_season: bool, new: bool) -> Array:
    """Weaning by those who reared this pair's chicks, as often as each did; by the pair where nobody has yet.

    `new`: by a new pair in the place of this one.
    """
    rows = record.rows[WEAN]
    chicks = rows[["tried", "excluded", "pending"]].sum(axis=1)
    shares = chicks[(rows["laid_by"] == pair) & (chicks > 0)].groupby(rows["pair"]).sum()
    shares = pd.Series({pair: 1}) if shares.empty else shares
    kind = _kind_of(record, pair, WEAN)
    parts = [
        share
        * _rate(record, pair, WEAN, every_season, {"pair": NEW if new and who == pair else str(who), "kind": kind})
        for who, share in shares.items()
    ]
    return np.sum(parts, axis=0) / shares.sum() if draws else np.array([])


@dataclass(frozen=True)
class ClutchSizes:
    """How many eggs a pair lays in a clutch: the `eggs`, (sizes,), and draws of how often, `often` (draws, sizes)."""

    eggs: Array
    often: Array

    @property
    def mean(self) -> Array:
        """Draws of the eggs in a clutch on average, (draws,); NaN where nobody has counted a clutch."""
        return np.asarray(self.often @ self.eggs)

    def drawn(self, rng: np.random.Generator) -> Array:
        """One clutch for each draw, in eggs, (draws,); NaN where nobody has counted a clutch."""
        below = self.often.cumsum(axis=1) < rng.random(len(self.often))[:, None]
        return np.asarray(self.eggs[np.minimum(below.sum(axis=1), len(self.eggs) - 1)])


def clutch_sizes(record: Record, pair: str, draws: int, *, new: bool = False) -> ClutchSizes:
    """Draw how many eggs a pair lays: its own clutches, as counted, beside two of its species; `new`: without its own.

    The Bayesian bootstrap (Rubin 1981, Ann. Stat. 9:130; with the species as two clutches' worth of what is thought
    beforehand, Ferguson 1973, Ann. Stat. 1:209; both from memory). Where no clutch of its species was counted, all are
    taken; of a single clutch, an egg more or less is as likely.
    """
    counts = record.clutches[record.clutches["eggs"].notna()]
    species = set(record.birds.pairs.loc[record.birds.pairs["pair"] == pair, "species"])
    own, alike, every = (
        counts.loc[rows, "eggs"].to_numpy(float)
        for rows in ((counts["pair"] == pair) & (not new), counts["species"].isin(species), counts["pair"].notna())
    )
    alike = alike if len(alike) else every
    if not len(alike):
        return ClutchSizes(np.array([np.nan]), np.ones((draws, 1)))
    alike = alike if len(alike) > 1 else np.maximum(alike[0] + np.array([-1.0, 0.0, 1.0]), 1.0)
    eggs, size = np.unique(np.concatenate([own, alike]), return_inverse=True)
    weight = np.concatenate([np.ones(len(own)), np.full(len(alike), _BESIDE / len(alike))])
    return ClutchSizes(eggs, np.random.default_rng(int(new)).dirichlet(np.bincount(size, weight), draws))
