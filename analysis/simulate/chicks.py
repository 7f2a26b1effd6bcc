"""Chicks: how each truly grows, who rears it, and what becomes of it."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import numpy as np
import pandas as pd

from analysis.simulate.assumptions import CURVES, HAND, Assumptions, PairPlan, typical
from analysis.simulate.eggs import correlated

_FOSTER_D = 6  # the age at which a chick is fostered, and the most two broods may differ in (invented)
_STALL_D = 3


def draw_chicks(
    plan: Sequence[PairPlan],
    pairs: pd.DataFrame,
    clutches: pd.DataFrame,
    eggs: pd.DataFrame,
    a: Assumptions,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """Return a row a chick, in the order of hatching: its true curve, its rearer and its fate."""
    hatched = eggs[eggs["outcome"] == "hatched"].sort_values(["hatched_on", "pair", "clutch", "egg"], kind="stable")
    chicks = hatched.drop(columns=["fertile", "candled", "candled_on", "set_on", "outcome"]).reset_index(drop=True)
    chicks = chicks.merge(clutches[["pair", "clutch", "fails", "p_wean"]], on=["pair", "clutch"], how="left")
    width = max(2, len(str(len(chicks))))
    chicks.insert(0, "chick", [f"K{i + 1:0{width}d}" for i in range(len(chicks))])
    chicks["place"] = chicks.groupby(["pair", "clutch"]).cumcount() + 1
    chicks["fostered_to"], chicks["p_wean"] = _foster(chicks, a, rng)
    chicks = chicks.assign(**_curves(chicks, plan, pairs, a, rng))
    return chicks.assign(**_fates(chicks, a, rng))


def _foster(chicks: pd.DataFrame, a: Assumptions, rng: np.random.Generator) -> tuple[list[str], list[float]]:
    """Choose the pair of another brood of about the same age, for the few that are fostered; it rears from then on."""
    draws = rng.random(len(chicks)) < a.foster
    nests = list(chicks[chicks["reared_by"] == chicks["pair"]].itertuples())
    to, p_wean = [""] * len(chicks), chicks["p_wean"].tolist()
    for chick in (c for c in nests if draws[c.Index]):
        for nest in nests:
            near = abs((nest.hatched_on - chick.hatched_on).days) <= _FOSTER_D
            if near and nest.pair != chick.pair and nest.species == chick.species:
                to[chick.Index], p_wean[chick.Index] = nest.pair, nest.p_wean
                break
    return to, p_wean


def _curves(
    chicks: pd.DataFrame, plan: Sequence[PairPlan], pairs: pd.DataFrame, a: Assumptions, rng: np.random.Generator
) -> dict[str, Any]:
    kinds = {p.pair: a.kind(p.species) for p in plan}
    of = [kinds[pair] for pair in chicks["pair"]]
    base = {pair: typical(kind, a.curve) for pair, kind in kinds.items()}
    A, K, ti, shape = np.array([base[pair] for pair in chicks["pair"]]).reshape(-1, 4).T
    span = np.array([kind.t10_90_d for kind in of])
    effect = pairs.set_index("pair").loc[chicks["pair"], ["ln_A", "ln_K", "ti_share"]].to_numpy()
    effect = effect + correlated(a.chick_growth, a.growth_correlation, len(chicks), rng)
    later = chicks["place"].to_numpy() - 1
    by_hand = (chicks["reared_by"] == HAND).to_numpy()
    falls = CURVES[a.curve] is None
    fall = np.array([kind.fall for kind in of]) + a.fall_sd * rng.standard_normal(len(chicks))
    return {
        "A_g": A * np.exp(effect[:, 0] + a.order_mass * later),
        "K_per_d": K * np.exp(effect[:, 1] + a.hand_growth * by_hand),
        "ti_d": ti + span * (effect[:, 2] + a.order_delay * later),
        "shape": shape,
        "fall": np.clip(fall, 0, 0.5) if falls else np.zeros(len(chicks)),
        "lag_d": np.full(len(chicks), a.lag_d if falls else 0.0),
        "wean_d": np.array([int(rng.integers(kind.wean_d[0], kind.wean_d[1] + 1)) for kind in of], dtype=int),
    }


def _fates(chicks: pd.DataFrame, a: Assumptions, rng: np.random.Generator) -> dict[str, Any]:
    n = len(chicks)
    wean_d = chicks["wean_d"].to_numpy()
    lost = rng.random(n) >= chicks["p_wean"].to_numpy()
    lost_d = np.minimum(1 + rng.exponential(a.loss_age_d, n).astype(int), wean_d - 2)
    nights = {key: int(rng.integers(3, 16)) for key in chicks.groupby(["pair", "clutch"]).groups}
    failed = (chicks["fails"] == "chicks").to_numpy()
    first = chicks.groupby(["pair", "clutch"])["hatched_on"].transform("min")
    keys = list(zip(chicks["pair"], chicks["clutch"], strict=True))
    night = np.array([nights[k] - (h - f).days for k, h, f in zip(keys, chicks["hatched_on"], first, strict=True)])
    lost_d = np.where(failed, np.maximum(night, 0), lost_d)
    lost = lost | failed
    shows = lost & ~failed & (rng.random(n) < a.loss_shows) & (lost_d >= _STALL_D + 2)
    stalls = ~lost & (rng.random(n) < a.stall)
    stall_d = np.where(shows, lost_d - _STALL_D + 1, rng.integers(5, np.maximum(wean_d // 2, 6)))
    days = [timedelta(days=int(d)) for d in np.where(lost, lost_d, wean_d)]
    ends = [hatched + after for hatched, after in zip(chicks["hatched_on"], days, strict=True)]
    return {
        "fate": np.where(lost, "lost", "weaned"),
        "ends_on": ends,
        "ends_d": np.where(lost, lost_d, wean_d),
        "together": lost & failed,
        "stall_d": np.where(shows | stalls, stall_d, -1),
        "stall_days": np.where(shows | stalls, _STALL_D, 0),
        "stall_drop": np.where(shows, a.stall_drop, 0.0),
    }
