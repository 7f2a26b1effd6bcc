"""What the record says of each pair, stage by stage: counts, and how sure it is that the pair is below its kind."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.pairs.record import FERTILE, HATCH, STAGES, WEAN, Array, Record
from analysis.rates import Pooled
from analysis.rates.pooling.density import inv_logit

_COLUMNS = [
    *("pair", "stage", "worked", "tried", "clutches", "excluded"),
    *("mean", "low", "high", "typical", "p_low", "alone_in"),
]
_BESIDE = 2.0  # clutches of its kind that a pair's own clutch size is held against (practice)


def stage_evidence(record: Record) -> pd.DataFrame:
    """Hold each pair of this season against what is typical of its kind, at each stage.

    Returns a row a pair and stage, pairs by name: pair; stage (of `STAGES`); worked, tried, over all joined seasons,
    without what is set aside; clutches (with anything tried); excluded (eggs or chicks set aside); mean, low, high of
    the pair's own rate in a typical place; typical, of its kind; p_low, the probability that its rate is below the
    typical one; alone_in: the place where it always was and no other was ever: mean, low, high and p_low are of the two
    together. Rates are NaN where there is no data at all.
    """
    pairs = record.birds.pairs.loc[record.birds.pairs["this_season"], "pair"]
    rows = [_of_stage(record, str(pair), stage) for pair in pairs for stage in STAGES]
    return pd.DataFrame(rows, columns=_COLUMNS)


def _of_stage(record: Record, pair: str, stage: str) -> dict[str, object]:
    rows = record.rows[stage]
    mine = rows[rows["pair"] == pair]
    tried, names = mine[mine["tried"] > 0], _names(record, pair, stage)
    counts = {
        "pair": pair,
        "stage": stage,
        "worked": int(tried["worked"].sum()),
        "tried": int(tried["tried"].sum()),
        "clutches": tried.groupby(["season", "laid_by", "clutch"]).ngroups,
        "excluded": int(mine["excluded"].sum()),
        "alone_in": names.get("place", ""),
    }
    if not (rows["tried"] > 0).any():
        return counts
    own, typical = record.draws(stage, **names), record.draws(stage, kind=names["kind"])
    low, high = np.quantile(own, [0.025, 0.975])
    rates = {"mean": own.mean(), "low": low, "high": high, "typical": typical.mean()}
    return counts | rates | {"p_low": float((own < typical).mean())}


def _names(record: Record, pair: str, stage: str) -> dict[str, str]:
    """A pair and its kind, and the place where it always was and no other ever; else it is drawn in a typical one."""
    rows = record.rows[stage]
    rows = rows[rows["tried"] > 0]
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
    alike = rows[(rows["tried"] > 0) & (rows["species"] == species)]
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
    def of(cls, fit: Pooled, rate: Array) -> "StageDraws":
        """Put a rate beside what all clutches of its stage share."""
        off = np.zeros(len(rate))
        scatter = getattr(fit, "scatter", None)
        return cls(rate, off if fit.failing is None else fit.failing, off if scatter is None else scatter)


@dataclass(frozen=True)
class ClutchValue:
    """Draws of what a clutch of one pair gives on average, stage by stage.

    `eggs`: mean eggs laid in a clutch, (draws,); `wean` by whoever rears this pair's chicks.
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


def clutch_value(record: Record, pair: str, *, every_season: bool = False) -> ClutchValue:
    """Draw what a clutch of a pair gives, in the place where it is told apart from it, else where it always was.

    In the latest season of its species; `every_season`: in the middle of all of them, on the logit.
    """
    fertile, hatch = (
        StageDraws.of(record.rates[stage], _rate(record, pair, stage, every_season, _names(record, pair, stage)))
        for stage in (FERTILE, HATCH)
    )
    draws = len(fertile.rate)
    intact = StageDraws(np.ones(draws), np.zeros(draws), np.zeros(draws))
    wean = StageDraws.of(record.rates[WEAN], _weaning(record, pair, draws, every_season))
    return ClutchValue(_clutch_size(record, pair, draws), intact, fertile, hatch, wean)


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


def _weaning(record: Record, pair: str, draws: int, every_season: bool) -> Array:
    """Weaning by those who reared this pair's chicks, as often as each did; by the pair where nobody has yet."""
    rows = record.rows[WEAN]
    laid = rows[(rows["laid_by"] == pair) & (rows["tried"] + rows["excluded"] > 0)]
    shares = laid.groupby("pair")["tried"].sum() + laid.groupby("pair")["excluded"].sum()
    shares = pd.Series({pair: 1}) if shares.empty else shares
    kind = _kind_of(record, pair, WEAN)
    parts = [
        share * _rate(record, pair, WEAN, every_season, {"pair": str(who), "kind": kind})
        for who, share in shares.items()
    ]
    return np.sum(parts, axis=0) / shares.sum() if draws else np.array([])


def _clutch_size(record: Record, pair: str, draws: int) -> Array:
    """Mean eggs in a clutch: the pair's own clutches beside two of its species."""
    counts = record.clutches[record.clutches["eggs"].notna()]
    mine = counts.loc[counts["pair"] == pair, "eggs"].astype(float)
    species = set(record.birds.pairs.loc[record.birds.pairs["pair"] == pair, "species"])
    alike = counts.loc[counts["species"].isin(species), "eggs"].astype(float)
    alike = alike if len(alike) else counts["eggs"].astype(float)
    if alike.empty:
        return np.full(draws, np.nan)
    mean = (mine.sum() + _BESIDE * alike.mean()) / (len(mine) + _BESIDE)
    spread = alike.std(ddof=1) if len(alike) > 1 else 1.0
    error = spread / np.sqrt(len(mine) + _BESIDE)
    return np.asarray(np.clip(mean + error * np.random.default_rng(0).standard_normal(draws), 1.0, None))
