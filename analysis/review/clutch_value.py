"""What one more clutch of a pair would give, from posterior draws of every stage."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.review.evidence import alone_in, kind_of
from analysis.review.record import FERTILE, HATCH, WEAN, Array, Record

# Clutches of its kind that a pair's own clutch size is held against (practice).
_BESIDE = 2.0


@dataclass(frozen=True)
class ClutchValue:
    """Draws of what a clutch of one pair gives on average.

    Parameters
    ----------
    eggs : (draws,) eggs in a clutch
    fertile, hatch, wean : (draws,) rates of the stages; weaning by whoever rears this pair's chicks
    whole_eggs, whole_chicks : (draws,) shares of clutches that do not fail whole, in the egg and as chicks
    """

    eggs: Array
    fertile: Array
    hatch: Array
    wean: Array
    whole_eggs: Array
    whole_chicks: Array

    @property
    def hatched(self) -> Array:
        """Chicks hatched: the part that is the pair's own."""
        return self.eggs * self.fertile * self.hatch * self.whole_eggs

    @property
    def weaned(self) -> Array:
        """Chicks weaned."""
        return self.hatched * self.wean * self.whole_chicks


def clutch_value(record: Record, pair: str) -> ClutchValue:
    """Draw what a clutch of a pair gives, in the place where it is told apart from it, else where it always was."""
    fertile = _own(record, pair, FERTILE)
    draws = len(fertile)
    return ClutchValue(
        eggs=_clutch_size(record, pair, draws),
        fertile=fertile,
        hatch=_own(record, pair, HATCH),
        wean=_weaning(record, pair, draws),
        whole_eggs=_whole(record, HATCH, draws),
        whole_chicks=_whole(record, WEAN, draws),
    )


def _own(record: Record, pair: str, stage: str) -> Array:
    rows = record.rows[stage]
    names = {"pair": pair, "kind": kind_of(record, pair, stage)}
    alone = alone_in(rows[rows["tried"] > 0], pair)
    return record.draws(stage, **names, **({"place": alone} if alone else {}))


def _weaning(record: Record, pair: str, draws: int) -> Array:
    """Weaning by those who reared this pair's chicks, as often as each did; by the pair where nobody has yet."""
    rows = record.rows[WEAN]
    laid = rows[(rows["laid_by"] == pair) & (rows["tried"] + rows["aside"] > 0)]
    shares = laid.groupby("pair")["tried"].sum() + laid.groupby("pair")["aside"].sum()
    if shares.empty:
        shares = pd.Series({pair: 1})
    kind = kind_of(record, pair, WEAN)
    parts = [share * record.draws(WEAN, pair=str(who), kind=kind) for who, share in shares.items()]
    return np.sum(parts, axis=0) / shares.sum() if draws else np.array([])


def _whole(record: Record, stage: str, draws: int) -> Array:
    failing = record.rates[stage].failing
    return np.ones(draws) if failing is None else 1 - failing


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
    eggs: Array = np.clip(mean + error * np.random.default_rng(0).standard_normal(draws), 1.0, None)
    return eggs
