"""Whether the model behind the likely rates fits: what seasons made with it count, beside what was counted."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.names import named
from analysis.pairs.draws_ahead import through
from analysis.pairs.evidence import CLUTCH, StageDraws
from analysis.pairs.record import FERTILE, HATCH, Array, Record

_MADE = 2_000  # seasons
_CLUTCHES, _PAIRS = 6, 3  # fewer tell nothing of a model (practice)
_ENDS = (0.025, 0.975)  # nineteen seasons in twenty
_COLUMNS = ["check", "of", "seen", "low", "high", "fits"]


@dataclass(frozen=True)
class _Stage:
    """Clutches of one stage: `tried` (rows,), and of which pair and clutch each row is, (rows, pairs or clutches)."""

    tried: Array
    pairs: pd.DataFrame
    clutches: pd.DataFrame

    @classmethod
    def of(cls, rows: pd.DataFrame) -> "_Stage":
        clutch = rows.groupby(CLUTCH, dropna=False).ngroup()
        return cls(rows["tried"].to_numpy(float), *(pd.get_dummies(of, dtype=float) for of in (rows["pair"], clutch)))

    def failed(self, worked: Array) -> Array:
        """Clutches of which nothing worked."""
        return np.asarray((worked @ self.clutches.to_numpy() == 0).sum(axis=1), float)

    def apart(self, worked: Array) -> Array:
        """How far a pair's rate is from that of all, on average over what was tried."""
        tried, of_pair = self.tried @ self.pairs.to_numpy(), worked @ self.pairs.to_numpy()
        rate = worked.sum(axis=1, keepdims=True) / tried.sum()
        return np.asarray(np.abs(of_pair - tried * rate).sum(axis=1) / tried.sum())

    def best(self, worked: Array) -> Array:
        """The most that worked of one pair."""
        return np.asarray((worked @ self.pairs.to_numpy()).max(axis=1))


# check: its stage, what is counted, and whether it tells of pairs, else of clutches
_CHECKS: dict[str, tuple[str, Callable[[_Stage, Array], Array], bool]] = {
    "clear": (FERTILE, _Stage.failed, False),
    "failed": (HATCH, _Stage.failed, False),
    "apart": (HATCH, _Stage.apart, True),
    "best": (HATCH, _Stage.best, True),
}


def predictive_checks(record: Record, *, seed: int = 0) -> pd.DataFrame:
    """Hold what was counted against seasons made with the model of all clutches: posterior predictive checks.

    A made season takes one draw of all that the model has learnt, and has the same clutches with as many eggs in the
    same places. What is counted of clutches is made with the same pairs; what is counted of pairs with others, as
    unlike each other as the draw has pairs be: rates learnt from the very counts would come back whatever they are.
    What was set aside is in neither.

    Returns a row a check, those left out for which there are fewer than six clutches or, of the last two, three pairs:
    check: "clear" (clutches without any fertile egg), "failed" (with fertile eggs, of which none hatched), "apart" (how
    far a pair's hatch of fertile is from that of all, on average over eggs) and "best" (chicks hatched by the pair that
    hatched most); of (clutches or pairs); seen; low, high (which nineteen made seasons in twenty lie between, at
    least); fits (whether what was seen does). The same seed gives the same digits.

    Sources: Rubin 1984, *Ann. Stat.* 12:1151; Gelman, Meng & Stern 1996, *Stat. Sinica* 6:733; Marshall & Spiegelhalter
    2003, *Stat. Med.* 22:1649, for other pairs (all from memory). Tried: of 100 aviaries of 12 pairs and 3 clutches
    (eggs of a clutch alike by 0.15, one clutch in ten failing whole, 8 % of pairs never fertile) none was said not to
    fit; where six pairs in ten hatch 97 % and the others 15 %, 44 % were. Clutches that are clear or fail by accident,
    be it three in ten, are not seen so: the model learns how many they are.

    Examples
    --------
    >>> from analysis import open_season
    >>> from analysis.pairs.record import read_record
    >>> predictive_checks(read_record(open_season("data_demo/season_2026", up_to="2026-01-05")))["check"].tolist()
    ['clear', 'failed', 'apart', 'best']
    """
    told = []
    for check, (stage, count, of_pairs) in _CHECKS.items():
        rows = _ended(record.rows[stage])
        clutches = _Stage.of(rows)
        (_, several), (_, pairs) = clutches.clutches.shape, clutches.pairs.shape
        if several < _CLUTCHES or (of_pairs and pairs < _PAIRS):
            continue
        seen = float(count(clutches, rows["worked"].to_numpy(float)[None])[0])
        made = count(clutches, _made(record, stage, rows, seed, others=of_pairs))
        low, high = np.quantile(made, _ENDS, method="inverted_cdf")
        told.append((check, pairs if of_pairs else several, seen, low, high, low <= seen <= high))
    return pd.DataFrame(told, columns=_COLUMNS)


def _ended(rows: pd.DataFrame) -> pd.DataFrame:
    """The rows of which something has come to its end, a pair that is not written under its name."""
    rows = rows[rows["tried"] > 0].reset_index(drop=True)
    return rows.assign(pair=named(rows["pair"]).map(str))


def _made(record: Record, stage: str, rows: pd.DataFrame, seed: int, *, others: bool) -> Array:
    """What worked of each row in made seasons, (seasons, rows); `others`: of other pairs in the place of these."""
    fit, rng, off = record.rates[stage], np.random.default_rng(seed), np.zeros(_MADE)
    shares = [off if draws is None else draws[:_MADE] for draws in (fit.failing, fit.scatter)]
    columns = []
    for pair, place, kind, tried in rows[["pair", "place", "kind", "tried"]].itertuples(index=False):
        name = f"another than {pair}" if others else pair
        rate = record.draws(stage, pair=name, place=place, kind=kind)[:_MADE]
        columns.append(through(np.full(_MADE, tried), StageDraws(rate, *shares), rng))
    return np.stack(columns, axis=1).astype(float)


def how_it_fits(record: Record) -> list[Finding]:
    """Whether the model fits, then what was counted beside what made seasons count; nothing where too little was."""
    checks = predictive_checks(record)
    if checks.empty:
        return []
    verdict = found("pairs.fits-well" if checks["fits"].all() else "pairs.fits-not", counts=len(checks))
    return [verdict, *(_said(*row) for row in checks.itertuples(index=False))]


def _said(check: str, of: int, seen: float, low: float, high: float, fits: bool) -> Finding:
    code = "pairs.fits-one" if low == high else "pairs.fits-range"
    in_hundred = 100 if check == "apart" else 1
    between = found(code, low=in_hundred * low, high=in_hundred * high)
    return found(f"pairs.fits-{check}", of=of, seen=in_hundred * seen, between=between, outside=not fits)
