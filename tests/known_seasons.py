"""Whole seasons on the disk of which the truth is known, and one more that nobody has seen yet: two makes of them."""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from other_aviary import AS_EGGS, MEAN_EGGS, Told, Ways, World, inv_logit

from analysis.pairs.record import FERTILE, HATCH, WEAN
from analysis.simulate import simulate_season
from analysis.simulate.assumptions import draw_plan
from analysis.simulate.season import Truth, assume

YEAR = 2026
SET = "hatch of set"
STAGES = (FERTILE, HATCH, WEAN)
# Of `simulate_season`: no weighings, since they play no part and cost most of the time; one clutch in ten fails whole.
WORLD: dict[str, Any] = {"weighed_hand": 0.0, "weighed_nest": 0.0, "clutch_fails": 0.10}
CAGE_SD = 0.4


@dataclass(frozen=True)
class Known:
    """Seasons on the disk and what is true of the last one.

    `aviary`: by stage the rate that these pairs would have on average in these cages, clutches that fail whole among
    them. `pairs`: by pair its own rate by stage in a typical place, in a season like this one, without such clutches;
    hatched_per_clutch and weaned_per_clutch, what one of it gives on average, with them; value, the product of its
    rates; next, the chicks it weaned in the season after. `cages`: their effects on hatching and weaning, on the logit.
    """

    folder: Path
    earlier: list[Path]
    aviary: dict[str, float]
    pairs: pd.DataFrame
    cages: dict[str, float]


def logit(p: object) -> Any:
    rate = np.clip(np.asarray(p, float), 1e-9, 1 - 1e-9)
    return np.log(rate / (1 - rate))


def _average(rate: pd.Series, weight: pd.Series) -> float:
    return float((rate * weight).sum() / weight.sum()) if weight.sum() else np.nan


def _folders(folder: Path, years: int) -> dict[str, Any]:
    return {"folder": folder / str(YEAR), "earlier": [folder / str(YEAR - back) for back in range(1, years)]}


# -- analysis.simulate


def simulated(folder: Path, seed: int, *, pairs: int, years: int) -> Known:
    """Seasons of `simulate_season` with the same birds and cages, every pair written as checked."""
    rng = np.random.default_rng([seed, 1])
    cages = {f"C{at + 1}": float(effect) for at, effect in enumerate(rng.normal(0, CAGE_SD, max(2, 3 * pairs // 4)))}
    world = {**WORLD, "pairs": pairs, "cages": len(cages), "cage_effects": tuple(cages.items())}
    told: list[Truth] = []
    for year in range(YEAR - years + 1, YEAR + 2):
        plan = draw_plan(assume(**world, year=year), rng)
        if told:
            rates = told[0].pairs[["p_fertile", "p_hatch", "p_wean"]].to_numpy()
            plan = tuple(
                replace(pair, fertile=p[0], hatch=p[1], wean=p[2]) for pair, p in zip(plan, rates, strict=True)
            )
        where = folder / str(year) if year <= YEAR else None
        told.append(simulate_season(where, int(rng.integers(2**31)), plan=plan, year=year, **world))
    *_, last, after = told
    with open(folder / str(YEAR) / "settings.csv", "a", encoding="utf-8") as settings:
        settings.write(f"checked,{';'.join(last.pairs['pair'])}\n")
    weaned = after.chicks[after.chicks["fate"] == "weaned"].groupby("pair").size()
    own = _pairs_simulated(last)
    return Known(
        **_folders(folder, years),
        aviary=_aviary_simulated(last),
        pairs=own.assign(next=weaned.reindex(own.index).fillna(0)),
        cages=cages,
    )


def _pairs_simulated(told: Truth) -> pd.DataFrame:
    """What is true of each pair, its clutches incubated and reared as the plan is drawn."""
    a, pairs = told.assumptions, told.pairs.set_index("pair")
    rates = pairs[["p_fertile", "p_hatch", "p_wean"]].set_axis(STAGES, axis=1)
    fertile = (a.least_eggs + a.most_eggs) / 2 * (1 - a.broken) * rates[FERTILE]
    own = fertile * (1 - a.incubator) * rates[HATCH]
    pulled = fertile * a.incubator * inv_logit(logit(rates[HATCH]) + a.incubator_effect)
    by_hand = inv_logit(logit(a.wean) + a.hand_effect)
    weaned = own * (a.hand * by_hand + (1 - a.hand) * rates[WEAN]) + pulled * by_hand
    whole = 1 - a.clutch_fails * (1 - a.fails_as_chicks)
    given = {"hatched_per_clutch": (own + pulled) * whole, "weaned_per_clutch": weaned * (1 - a.clutch_fails)}
    return rates.assign(**given, value=rates.prod(axis=1))


def _aviary_simulated(told: Truth) -> dict[str, float]:
    a, clutches = told.assumptions, told.clutches
    as_eggs = 1 - a.clutch_fails * (1 - a.fails_as_chicks)
    of = clutches.merge(told.eggs.groupby(["pair", "clutch"])["fertile"].sum().reset_index(), on=["pair", "clutch"])
    of_set = _average(of["p_fertile"] * of["p_hatch"], of["eggs"]) * (1 - a.broken)
    return {
        FERTILE: _average(of["p_fertile"], of["eggs"]),
        HATCH: as_eggs * _average(of["p_hatch"], of["fertile"]),
        SET: as_eggs * of_set,
        WEAN: float(told.chicks["p_wean"].mean()) * (1 - a.clutch_fails) / as_eggs,
    }


# -- another make


def other(folder: Path, seed: int, *, pairs: int, years: int, first: int = 0, **ways: float) -> Known:
    """Seasons of `World`; with `first`, as many pairs in the first, of which those are kept whose eggs hatched best."""
    world = World(Ways(pairs=first or pairs, **ways), seed)  # type: ignore[arg-type]
    for year in range(YEAR - years + 1, YEAR + 1):
        told = world.season(folder / str(year), year)
        if year < YEAR and len(world.pairs) > pairs:
            laid = told.clutches.groupby("pair")[["hatched", "eggs"]].sum()
            best = set((laid["hatched"] / laid["eggs"]).nlargest(pairs).index)
            world.keep([pair for pair in world.pairs.index if pair in best])
    own = told.pairs[["fertile", "hatch", "wean"]].set_axis(STAGES, axis=1)
    fails = world.ways.fails
    hatched = MEAN_EGGS * (1 - world.ways.broken) * own[FERTILE] * own[HATCH]
    given = {
        "hatched_per_clutch": hatched * (1 - AS_EGGS * fails),
        "weaned_per_clutch": hatched * own[WEAN] * (1 - fails),
    }
    after = world.season(None, YEAR + 1).pairs["weaned"]
    return Known(
        **_folders(folder, years),
        aviary=_aviary_other(told, world.ways),
        pairs=own.assign(**given, value=own.prod(axis=1), next=after),
        cages={world.cages[0]: world.ways.bad_cage},
    )


def _aviary_other(told: Told, ways: Ways) -> dict[str, float]:
    of = told.clutches
    as_eggs, of_set = 1 - AS_EGGS * ways.fails, of["fertile_p"] * of["hatch_p"] * (1 - ways.broken)
    return {
        FERTILE: _average(of["fertile_p"], of["whole"]),
        HATCH: as_eggs * _average(of["hatch_p"], of["fertile"]),
        SET: as_eggs * _average(of_set, of["eggs"]),
        WEAN: (1 - ways.fails) / as_eggs * _average(of["wean_p"], of["hatched"]),
    }
