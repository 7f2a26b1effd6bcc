"""Pairs with their true rates, and what became of every egg they laid."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import numpy as np
import pandas as pd

from analysis.names import DIED_IN_EGG
from analysis.simulate.assumptions import HAND, Assumptions, PairPlan

_NEVER = (1.0, 24.0)  # Beta: what a pair that is never fertile still shows fertile (invented)
_NOT_KNOWN = ("broken", "missing")


def draw_pairs(plan: Sequence[PairPlan], a: Assumptions, rng: np.random.Generator) -> pd.DataFrame:
    """Return a row a pair: its true rates and effects."""
    n = len(plan)
    never = rng.random(n) < a.never_fertile
    ordinary = inv_logit(logit(a.fertile) + a.fertile_sd * rng.standard_normal(n))
    growth = correlated(a.pair_growth, a.growth_correlation, n, rng)
    p_fertile = np.where(never, rng.beta(*_NEVER, n), ordinary)
    hatch_effect = a.hatch_sd * rng.standard_normal(n)
    wean_effect = a.wean_sd * rng.standard_normal(n)
    for at, p in enumerate(plan):
        if p.fertile is not None:
            never[at], p_fertile[at] = p.fertile == 0, p.fertile
        hatch_effect[at] = hatch_effect[at] if p.hatch is None else logit(p.hatch) - logit(a.hatch)
        wean_effect[at] = wean_effect[at] if p.wean is None else logit(p.wean) - logit(a.wean)
    return pd.DataFrame(
        {
            "pair": [p.pair for p in plan],
            "species": [a.kind(p.species).name for p in plan],
            "kind": [p.kind for p in plan],
            "never_fertile": never,
            "p_fertile": p_fertile,
            "hatch_effect": hatch_effect,
            "wean_effect": wean_effect,
            "ln_A": growth[:, 0],
            "ln_K": growth[:, 1],
            "ti_share": growth[:, 2],
        }
    ).assign(
        p_hatch=lambda f: inv_logit(logit(a.hatch) + f["hatch_effect"].to_numpy()),
        p_wean=lambda f: inv_logit(logit(a.wean) + f["wean_effect"].to_numpy()),
    )


def draw_cages(plan: Sequence[PairPlan], a: Assumptions, rng: np.random.Generator) -> pd.DataFrame:
    """Return a row a cage: its effect on hatching and weaning."""
    names = sorted({c.cage for p in plan for c in p.clutches}, key=lambda c: (len(c), c))
    drawn = dict(zip(names, a.cage_sd * rng.standard_normal(len(names)), strict=True)) | dict(a.cage_effects)
    return pd.DataFrame({"cage": names, "effect": [drawn[name] for name in names]})


def draw_clutches(
    plan: Sequence[PairPlan], pairs: pd.DataFrame, cages: pd.DataFrame, a: Assumptions, rng: np.random.Generator
) -> pd.DataFrame:
    """Return a row a clutch: where, by whom, its true rates, and whether it fails whole ("eggs", "chicks")."""
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
                    "p_hatch": float(inv_logit(logit(a.hatch) + sat_on)),
                    "p_wean": float(inv_logit(logit(a.wean) + reared)),
                }
            )
    return pd.DataFrame(rows)


def draw_eggs(
    plan: Sequence[PairPlan], clutches: pd.DataFrame, a: Assumptions, rng: np.random.Generator
) -> pd.DataFrame:
    """Return a row an egg: laid, set, candled, truly fertile, its outcome, and when it hatched."""
    kinds = {p.pair: a.kind(p.species) for p in plan}
    rows: list[dict[str, Any]] = []
    for clutch in clutches.to_dict("records"):
        kind = kinds[clutch["pair"]]
        eggs = clutch["eggs"]
        draws = rng.random((4, eggs))
        within = rng.integers(kind.incubation_d[0], kind.incubation_d[1] + 1, eggs)
        deaths = rng.choice(DIED_IN_EGG, size=eggs, p=_shares(a.embryo_deaths))
        gone = rng.choice(_NOT_KNOWN, size=eggs)
        laid = [clutch["first_egg_on"] + timedelta(days=i * kind.lay_every_d) for i in range(eggs)]
        for i in range(eggs):
            fertile = bool(draws[0, i] < clutch["p_fertile"])
            hatched = fertile and draws[1, i] < clutch["p_hatch"] and draws[2, i] >= a.broken
            hatched = hatched and clutch["fails"] != "eggs"
            set_on = max(laid[i], laid[min(2, eggs - 1)])
            outcome = "hatched" if hatched else str(deaths[i]) if fertile else "clear"
            if clutch["fails"] == "eggs" and fertile:
                outcome = "abandoned"
            if draws[2, i] < a.broken:
                outcome = str(gone[i])
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


def _shares(deaths: Sequence[float]) -> np.ndarray:
    return np.array(deaths) / sum(deaths)


def logit(p: float) -> float:
    """Return the log odds of a share; 0 and 1 are held just inside."""
    held = min(max(p, 1e-9), 1 - 1e-9)
    return float(np.log(held / (1 - held)))


def inv_logit(x: Any) -> Any:
    """Return the share of log odds."""
    return 1 / (1 + np.exp(-x))


def correlated(
    sds: tuple[float, float, float], correlation: tuple[float, float, float], n: int, rng: np.random.Generator
) -> np.ndarray:
    """Draw n rows of three correlated normal effects; a spread of zero gives zeros."""
    ab, ac, bc = correlation
    root = np.linalg.cholesky(np.array([[1, ab, ac], [ab, 1, bc], [ac, bc, 1.0]]))
    return np.asarray(rng.standard_normal((n, 3)) @ root.T * np.array(sds))
