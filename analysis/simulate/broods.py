"""Pairs with their true rates, what became of every egg they laid, and how each chick truly grows and ends."""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any

import numpy as np
import pandas as pd

from analysis.names import DIED_IN_EGG
from analysis.simulate.assumptions import CURVES, HAND, Array, Assumptions, PairPlan, Species, typical

_NEVER = (1.0, 24.0)  # Beta: what a pair that is never fertile still shows fertile (invented)
_NOT_KNOWN = ("broken", "missing")
_FOSTER_D = 6  # the age at which a chick is fostered, and the most two broods may differ in (invented)
_STALL_D = 3
Kinds = Mapping[str, Species]  # by pair


def draw_pairs(plan: Sequence[PairPlan], a: Assumptions, rng: np.random.Generator) -> pd.DataFrame:
    """A row a pair: its true rates and effects."""
    n = len(plan)
    never = rng.random(n) < a.never_fertile
    ordinary = _inv_logit(_logit(a.fertile) + a.fertile_sd * rng.standard_normal(n))
    growth = _correlated(a.pair_growth, a.growth_correlation, n, rng)
    p_fertile = np.where(never, rng.beta(*_NEVER, n), ordinary)
    hatch_effect = a.hatch_sd * rng.standard_normal(n)
    wean_effect = a.wean_sd * rng.standard_normal(n)
    for at, p in enumerate(plan):
        if p.fertile is not None:
            never[at], p_fertile[at] = p.fertile == 0, p.fertile
        hatch_effect[at] = hatch_effect[at] if p.hatch is None else _logit(p.hatch) - _logit(a.hatch)
        wean_effect[at] = wean_effect[at] if p.wean is None else _logit(p.wean) - _logit(a.wean)
    return pd.DataFrame(
        {
            "pair": [p.pair for p in plan],
            "species": [a.kind(p.species).name for p in plan],
            "kind": [p.kind for p in plan],
            "never_fertile": never,
            "p_fertile": p_fertile,
            "hatch_effect": hatch_effect,
            "wean_effect": wean_effect,
            **dict(zip(("ln_A", "ln_K", "ti_share"), growth.T, strict=True)),
            "p_hatch": _inv_logit(_logit(a.hatch) + hatch_effect),
            "p_wean": _inv_logit(_logit(a.wean) + wean_effect),
        }
    )


def draw_cages(plan: Sequence[PairPlan], a: Assumptions, rng: np.random.Generator) -> pd.DataFrame:
    """A row a cage: its effect on hatching and weaning."""
    names = sorted({c.cage for p in plan for c in p.clutches}, key=lambda c: (len(c), c))
    drawn = dict(zip(names, a.cage_sd * rng.standard_normal(len(names)), strict=True)) | dict(a.cage_effects)
    return pd.DataFrame({"cage": names, "effect": [drawn[name] for name in names]})


def draw_clutches(
    plan: Sequence[PairPlan], pairs: pd.DataFrame, cages: pd.DataFrame, a: Assumptions, rng: np.random.Generator
) -> pd.DataFrame:
    """A row a clutch: where, by whom, its true rates, and whether it fails whole ("eggs", "chicks")."""
    cage_effect = dict(zip(cages["cage"], cages["effect"], strict=True))
    rows: list[dict[str, Any]] = []
    for plan_of, pair in zip(plan, pairs.to_dict("records"), strict=True):
        for number, clutch in enumerate(plan_of.clutches, start=1):
            fails = rng.random() < a.clutch_fails
            as_chicks = rng.random() < a.fails_as_chicks
            here = cage_effect[clutch.cage]
            sat_on = pair["hatch_effect"] + (a.incubator_effect if clutch.incubated_by else here)
            reared = a.hand_effect if clutch.reared_by == HAND else pair["wean_effect"] + here
            rows.append(
                {
                    "pair": plan_of.pair,
                    "clutch": str(number),
                    "species": pair["species"],
                    "cage": clutch.cage,
                    "incubated_by": clutch.incubated_by or plan_of.pair,
                    "reared_by": clutch.reared_by or plan_of.pair,
                    "first_egg_on": clutch.first_egg_on,
                    "eggs": clutch.eggs,
                    "fails": ("chicks" if as_chicks else "eggs") if fails else "",
                    "p_fertile": pair["p_fertile"],
                    "p_hatch": float(_inv_logit(_logit(a.hatch) + sat_on)),
                    "p_wean": float(_inv_logit(_logit(a.wean) + reared)),
                }
            )
    return pd.DataFrame(rows)


def draw_eggs(clutches: pd.DataFrame, kinds: Kinds, a: Assumptions, rng: np.random.Generator) -> pd.DataFrame:
    """A row an egg: laid, set, candled, truly fertile, its outcome, and when it hatched."""
    shares = np.array(a.embryo_deaths) / sum(a.embryo_deaths)
    rows: list[dict[str, Any]] = []
    for clutch in clutches.to_dict("records"):
        kind = kinds[clutch["pair"]]
        eggs = clutch["eggs"]
        draws = rng.random((4, eggs))
        within = rng.integers(kind.incubation_d[0], kind.incubation_d[1] + 1, eggs)
        deaths = rng.choice(DIED_IN_EGG, size=eggs, p=shares)
        gone = rng.choice(_NOT_KNOWN, size=eggs)
        laid = [clutch["first_egg_on"] + timedelta(days=i * kind.lay_every_d) for i in range(eggs)]
        for i in range(eggs):
            fertile = bool(draws[0, i] < clutch["p_fertile"])
            hatched = fertile and draws[1, i] < clutch["p_hatch"] and draws[2, i] >= a.broken
            hatched = hatched and clutch["fails"] != "eggs"
            set_on = max(laid[i], laid[min(2, eggs - 1)])
            died = "abandoned" if clutch["fails"] == "eggs" else str(deaths[i])
            outcome = "hatched" if hatched else died if fertile else "clear"
            outcome = str(gone[i]) if draws[2, i] < a.broken else outcome
            rows.append(
                {name: clutch[name] for name in ("pair", "clutch", "species", "cage", "incubated_by", "reared_by")}
                | {
                    "egg": str(i + 1),
                    "laid_on": laid[i],
                    "set_on": set_on,
                    "fertile": fertile,
                    "candled": ("fertile" if fertile else "clear") if draws[3, i] < a.candled else "",
                    "candled_on": set_on + timedelta(days=7),
                    "outcome": outcome,
                    "hatched_on": set_on + timedelta(days=int(within[i])) if hatched else None,
                }
            )
    return pd.DataFrame(rows)


def draw_chicks(
    eggs: pd.DataFrame,
    clutches: pd.DataFrame,
    pairs: pd.DataFrame,
    kinds: Kinds,
    a: Assumptions,
    rng: np.random.Generator,
) -> pd.DataFrame:
    """A row a chick, in the order of hatching: its true curve, its rearer and its fate."""
    hatched = eggs[eggs["outcome"] == "hatched"].sort_values(["hatched_on", "pair", "clutch", "egg"], kind="stable")
    chicks = hatched.drop(columns=["fertile", "candled", "candled_on", "set_on", "outcome"]).reset_index(drop=True)
    chicks = chicks.merge(clutches[["pair", "clutch", "fails", "p_wean"]], on=["pair", "clutch"], how="left")
    width = max(2, len(str(len(chicks))))
    chicks.insert(0, "chick", [f"K{i + 1:0{width}d}" for i in range(len(chicks))])
    chicks["place"] = chicks.groupby(["pair", "clutch"]).cumcount() + 1
    chicks["fostered_to"], chicks["p_wean"] = _foster(chicks, a, rng)
    chicks = chicks.assign(**_curves(chicks, pairs, kinds, a, rng))
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
    chicks: pd.DataFrame, pairs: pd.DataFrame, kinds: Kinds, a: Assumptions, rng: np.random.Generator
) -> dict[str, Any]:
    of = [kinds[pair] for pair in chicks["pair"]]
    base = {pair: typical(kind, a.curve) for pair, kind in kinds.items()}
    A, K, ti, shape = np.array([base[pair] for pair in chicks["pair"]]).reshape(-1, 4).T
    span = np.array([kind.t10_90_d for kind in of])
    effect = pairs.set_index("pair").loc[chicks["pair"], ["ln_A", "ln_K", "ti_share"]].to_numpy()
    effect = effect + _correlated(a.chick_growth, a.growth_correlation, len(chicks), rng)
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
    wean_d, failed = chicks["wean_d"].to_numpy(), (chicks["fails"] == "chicks").to_numpy()
    lost = rng.random(n) >= chicks["p_wean"].to_numpy()
    lost_d = np.minimum(1 + rng.exponential(a.loss_age_d, n).astype(int), wean_d - 2)
    clutches = chicks.groupby(["pair", "clutch"])
    nights = {key: int(rng.integers(3, 16)) for key in clutches.groups}
    first = clutches["hatched_on"].transform("min")
    keys = list(zip(chicks["pair"], chicks["clutch"], strict=True))
    night = np.array([nights[k] - (h - f).days for k, h, f in zip(keys, chicks["hatched_on"], first, strict=True)])
    lost_d = np.where(failed, np.maximum(night, 0), lost_d)
    lost = lost | failed
    shows = lost & ~failed & (rng.random(n) < a.loss_shows) & (lost_d >= _STALL_D + 2)
    stalls = ~lost & (rng.random(n) < a.stall)
    stall_d = np.where(shows, lost_d - _STALL_D + 1, rng.integers(5, np.maximum(wean_d // 2, 6)))
    ends_d = np.where(lost, lost_d, wean_d)
    ends = [hatched + timedelta(days=int(d)) for hatched, d in zip(chicks["hatched_on"], ends_d, strict=True)]
    return {
        "fate": np.where(lost, "lost", "weaned"),
        "ends_on": ends,
        "ends_d": ends_d,
        "together": lost & failed,
        "stall_d": np.where(shows | stalls, stall_d, -1),
        "stall_days": np.where(shows | stalls, _STALL_D, 0),
        "stall_drop": np.where(shows, a.stall_drop, 0.0),
    }


def _logit(p: float) -> float:
    """The log odds of a share; 0 and 1 are taken just inside."""
    inside = min(max(p, 1e-9), 1 - 1e-9)
    return float(np.log(inside / (1 - inside)))


def _inv_logit(x: Any) -> Any:
    return 1 / (1 + np.exp(-x))


def correlation(ab: float, ac: float, bc: float) -> Array:
    """The matrix of three correlations."""
    return np.array([[1, ab, ac], [ab, 1, bc], [ac, bc, 1.0]])


def _correlated(
    sds: tuple[float, float, float], between: tuple[float, float, float], n: int, rng: np.random.Generator
) -> Array:
    """Draw n rows of three correlated normal effects; a spread of zero gives zeros."""
    root = np.linalg.cholesky(correlation(*between))
    return np.asarray(rng.standard_normal((n, 3)) @ root.T * np.array(sds))
