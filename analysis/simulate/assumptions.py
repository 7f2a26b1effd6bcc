"""Every parameter of a simulated season: its default, what it means, and where the default comes from."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, fields
from datetime import date, timedelta
from functools import partial
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.names import DIED_IN_EGG

Array = npt.NDArray[np.float64]

CURVES: dict[str, float | None] = {  # the shape; None: the species' own, with lag and fall
    "logistic": 1.0,
    "gompertz": 0.0,
    "von_bertalanffy": -1 / 3,
    "rise_and_fall": None,
}
_FALL_AT = 0.86  # of the weaning age, where half of the fall is over (invented)
_FALL_OVER = 0.05  # of the weaning age, the width of the fall (invented)
INCUBATOR = "incubator A"
HAND = "hand"
_REST_D = 18  # invented: from the last hatch to the next clutch's first egg


def rise(age_d: Array, A_g: Array, K_per_d: Array, ti_d: Array, shape: Array) -> Array:
    """The mass on the rising curve; all arrays broadcast."""
    e = np.exp(-K_per_d * (age_d - ti_d))
    smooth = np.where(np.abs(shape) < 1e-6, 1.0, shape)
    inside = np.maximum(smooth * e, -1 + 1e-3)  # far before hatch von Bertalanffy has no mass at all
    return A_g * np.exp(np.where(np.abs(shape) < 1e-6, -e, -np.log1p(inside) / smooth))


def falling(age_d: Array, wean_d: Array, fall: Array) -> Array:
    """What is left of the rise as weaning comes near: from 1 down to 1 − fall."""
    return np.asarray(1 - fall / (1 + np.exp(-(age_d - _FALL_AT * wean_d) / (_FALL_OVER * wean_d))))


def typical(species: Species, curve: str) -> tuple[float, float, float, float]:
    """A, K, ti and the shape of a species' typical chick, so that it hatches at its hatch mass."""
    own = CURVES[curve]
    shape = species.shape if own is None else own
    A = species.adult_g / (1 - species.fall) if own is None else species.adult_g
    at_10, at_90, hatched = (  # e^(−K(t−ti)) where the curve has reached a share of A
        (share**-shape - 1) / shape if shape else -math.log(share) for share in (0.1, 0.9, species.hatch_g / A)
    )
    K = math.log(at_10 / at_90) / species.t10_90_d
    return A, K, math.log(hatched) / K, shape


@dataclass(frozen=True)
class Species:
    """A kind of bird; `ORIGINS` says where each number comes from. Ranges are (least, most).

    `shape` of a Richards curve: 1 is logistic, 0 Gompertz; `fall`: the share of its peak lost before weaning.
    """

    name: str
    adult_g: float
    hatch_g: float
    egg_g: float
    t10_90_d: float
    shape: float
    fall: float
    incubation_d: tuple[int, int]
    wean_d: tuple[int, int]
    ring_d: tuple[int, int]
    clutch_eggs: tuple[int, int]
    lay_every_d: int
    hen_oldest_y: int


ORIGINS = {
    "adult_g": "memory: ordinary weights of healthy adults, to a few grams",
    "hatch_g": "memory: about two thirds of the fresh egg; cockatiel 4 g (one keeper's cockatiels, read)",
    "egg_g": "memory: 0.548 g/cm³ · length · breadth² (Hoyt 1979) at ordinary egg sizes",
    "t10_90_d": "invented, so that early gains fit: about 20 % a day over two to three weeks (Wragg, read), "
    "doubled within 7 days (Crosta, read), a cockatiel 4 g on day 1 and 20 g on day 7 (one keeper, read)",
    "shape": "invented: between Gompertz and logistic, so that neither fits quite",
    "fall": "source: parrots lose about 10 % from the peak until weaned (HARI growth-chart page; Duerr & Gage 2020, "
    "p. 599); finches: invented",
    "incubation_d": "source: general tables, read; peach-faced lovebird: memory",
    "wean_d": "practice; nothing was read",
    "ring_d": "source: budgerigar 7-10 days, read; the others: practice",
    "clutch_eggs": "practice",
    "lay_every_d": "practice: parrots every other day, finches daily",
    "hen_oldest_y": "practice: the keeper's own limit; a budgerigar hen declines after her third season (read)",
}

SPECIES: dict[str, Species] = {
    s.name: s
    for s in (
        Species("cockatiel", 92.0, 4.0, 5.2, 20.0, 0.5, 0.09, (19, 21), (46, 56), (8, 11), (4, 6), 2, 8),
        Species("peach-faced lovebird", 52.0, 2.7, 3.7, 19.0, 0.45, 0.09, (22, 24), (41, 50), (9, 12), (4, 6), 2, 7),
        Species("sun conure", 112.0, 5.2, 7.3, 24.0, 0.5, 0.10, (23, 27), (56, 68), (12, 16), (3, 5), 2, 12),
        Species("budgerigar", 40.0, 1.6, 2.2, 16.0, 0.6, 0.08, (17, 20), (32, 38), (7, 10), (4, 6), 2, 4),
        Species("zebra finch", 13.5, 0.8, 1.0, 11.0, 0.7, 0.05, (14, 14), (28, 35), (7, 9), (4, 6), 1, 5),
    )
}


@dataclass(frozen=True)
class ClutchPlan:
    """One clutch: its first egg, how many, where, and who incubates and rears; blank: the pair."""

    first_egg_on: date
    eggs: int
    cage: str
    incubated_by: str = ""
    reared_by: str = ""


@dataclass(frozen=True)
class PairPlan:
    """A pair, trio or colony; `fertile`, `hatch` and `wean`: its true rates in a cage with effect 0; None: drawn."""

    pair: str
    species: str | Species
    clutches: tuple[ClutchPlan, ...]
    kind: str = "pair"
    cock: str = ""
    hen: str = ""
    put_up_on: date | None = None
    fertile: float | None = None
    hatch: float | None = None
    wean: float | None = None


def draw_plan(a: Assumptions, rng: np.random.Generator) -> tuple[PairPlan, ...]:
    """The plan that was given, or one drawn: clutches one after another, cages changing hands."""
    pairs: list[PairPlan] = []
    for number in range(0 if a.plan else a.pairs):
        name, species, cage = f"P{number + 1:02d}", a.species[number % len(a.species)], number % a.cages
        kind = a.kind(species)
        day = date(a.year, 2, 1) + timedelta(days=int(rng.integers(0, 45)))
        many = a.least_clutches + int((rng.random(a.most_clutches - a.least_clutches) < a.lays_again).cumprod().sum())
        clutches = []
        for _ in range(many):
            eggs = int(rng.integers(a.least_eggs, a.most_eggs + 1))
            pulled = rng.random() < a.incubator
            by_hand = pulled or rng.random() < a.hand
            clutches.append(ClutchPlan(day, eggs, f"C{cage + 1}", INCUBATOR if pulled else "", HAND if by_hand else ""))
            day += timedelta(days=kind.incubation_d[1] + eggs * kind.lay_every_d + _REST_D)
            if rng.random() < a.moves:
                cage = int(rng.integers(a.cages))
        pairs.append(PairPlan(name, species, tuple(clutches), cock=f"{name} cock", hen=f"{name} hen"))
    return a.plan or tuple(pairs)


def _given(kind: str, default: Any, meaning: str, origin: str) -> Any:
    """Make a field; `kind` says what it may be (see `_KINDS`)."""
    return field(default=default, metadata={"kind": kind, "meaning": meaning, "from": origin})


_count, _share, _size = partial(_given, "count"), partial(_given, "share"), partial(_given, "size")
_effect, _sds, _other = partial(_given, "effect"), partial(_given, "sds"), partial(_given, "other")


@dataclass(frozen=True)
class Assumptions:
    """What a simulated season is made from. Spreads are standard deviations; effects on rates are on the logit."""

    # the aviary
    year: int = _count(2026, "the season's year", "invented")
    pairs: int = _count(12, "pairs put up", "practice: a home aviary has about a dozen")
    species: tuple[str | Species, ...] = _other(("cockatiel",), "kinds, in turn over the pairs", "invented")
    cages: int = _count(9, "cages that pairs are put up in", "invented: fewer than pairs, so that cages change hands")
    plan: tuple[PairPlan, ...] = _other((), "pairs and clutches laid out by hand; none: drawn", "invented")
    least_clutches: int = _count(1, "clutches that every pair lays", "practice")
    most_clutches: int = _count(3, "clutches that no pair goes over", "practice: two, three at most, then a rest")
    lays_again: float = _share(0.25, "pairs that go on to another clutch", "invented: gives about thirty chicks")
    least_eggs: int = _count(3, "fewest eggs in a clutch", "practice: about four")
    most_eggs: int = _count(5, "most eggs in a clutch", "practice: about four")
    moves: float = _share(0.3, "pairs put into another cage between two clutches", "invented")
    # eggs
    never_fertile: float = _share(0.08, "pairs that lay next to nothing fertile", "invented: near Beta(1, 9)")
    fertile: float = _share(0.88, "showed fertile, typical pair", "invented")
    fertile_sd: float = _size(0.7, "spread of fertility over the other pairs", "invented")
    hatch: float = _share(0.80, "hatch of fertile, typical pair and cage", "invented")
    hatch_sd: float = _size(0.5, "spread of hatching over pairs", "invented")
    cage_sd: float = _size(0.4, "spread over cages, for hatching and weaning", "invented")
    cage_effects: tuple[tuple[str, float], ...] = _other((), "(cage, effect) where it is not drawn", "invented")
    clutch_fails: float = _share(0.10, "clutches that fail whole", "invented: what the advice must stand")
    fails_as_chicks: float = _share(0.4, "of these, the ones lost as chicks, in one night", "invented")
    broken: float = _share(0.02, "eggs broken or gone", "practice")
    incubator: float = _share(0.15, "clutches pulled for the incubator", "invented")
    incubator_effect: float = _effect(-0.3, "what the incubator does to hatching", "invented")
    # Unhatched budgerigar eggs: 14.8 % dead in shell, 11.1 % early death (HARI, artificial incubation part 4, read).
    embryo_deaths: tuple[float, float, float, float] = _given(
        "shares",
        (0.43, 0.15, 0.34, 0.08),
        f"how fertile eggs that do not hatch end, as shares: {', '.join(DIED_IN_EGG)}",
        "source: 1200 budgerigar eggs (HARI, artificial incubation part 4); parted further: invented",
    )
    candled: float = _share(0.9, "eggs whose candling is written", "practice")
    # rearing
    wean: float = _share(0.88, "weaned of hatched, typical rearer and cage", "invented")
    wean_sd: float = _size(0.5, "spread of weaning over rearing pairs", "invented")
    hand: float = _share(0.25, "clutches hand-reared from about two weeks", "practice")
    hand_effect: float = _effect(0.2, "what hand-rearing does to weaning", "invented")
    hand_from_d: int = _count(14, "the age at which chicks are taken for hand-rearing", "practice: about two weeks")
    foster: float = _share(0.04, "chicks moved under another pair", "invented")
    loss_age_d: float = _size(6.0, "mean age at a loss", "practice: most losses come early")
    loss_shows: float = _share(0.6, "losses with a stall before them", "invented")
    # growth
    curve: str = _given(
        "curve", "rise_and_fall", f"the true curve: {', '.join(CURVES)}", "invented: one that no model fits"
    )
    lag_d: float = _size(0.8, "days without gain after hatch (rise_and_fall)", "source: 0-3 days is normal (HARI)")
    pair_growth: tuple[float, float, float] = _sds(
        (0.04, 0.04, 0.01), "spread over pairs: ln A, ln K, ti as a share of t10-90", "invented"
    )
    chick_growth: tuple[float, float, float] = _sds(
        (0.05, 0.06, 0.02), "spread over chicks: ln A, ln K, ti as a share of t10-90", "invented"
    )
    growth_correlation: tuple[float, float, float] = _given(
        "correlation", (-0.2, 0.2, -0.7), "correlation A-K, A-ti, K-ti, of both", "invented"
    )
    fall_sd: float = _size(0.012, "spread of the fall before weaning", "invented")
    order_mass: float = _effect(-0.012, "ln A for each place later in the brood", "invented")
    order_delay: float = _effect(0.006, "ti later for each place, as a share of t10-90", "invented")
    hand_growth: float = _effect(-0.03, "what hand-rearing does to ln K", "invented")
    stall: float = _share(0.04, "weaned chicks that stalled once and went on", "invented")
    stall_drop: float = _effect(-0.04, "ln mass a day, stalling before a loss", "invented")
    # the scale and the keeper
    sigma: float = _size(0.025, "scatter of a weighing, as a share of the mass", "invented")
    tails: float = _size(4.0, "degrees of freedom of the scatter (Student-t); above 2", "invented: heavy tails")
    day_to_day: float = _share(0.35, "correlation of the scatter from one day to the next", "invented")
    weighed_hand: float = _share(0.96, "mornings on which a hand-reared chick is weighed", "practice: every morning")
    weighed_nest: float = _share(0.6, "mornings on which a chick in the nest is weighed", "practice")
    nobody: float = _share(0.02, "mornings on which nobody weighs", "practice")
    part_full: float = _share(0.05, "weighings with food in the crop", "practice")
    crop_fill: float = _share(0.08, "what a full crop adds; half of it where part full", "source: at most 10 % a feed")
    crop_noted: float = _share(0.7, "of these, the ones where the crop is written", "invented")
    slips: float = _share(0.01, "weights written wrong", "practice: one in a hundred")
    swaps: float = _share(0.01, "mornings on which two chicks are written for each other", "invented")
    scale_off: float = _share(0.01, "mornings on which the scale is off for all", "invented")
    scale_off_g: float = _size(4.0, "how far off it is then", "invented")
    fine_g: float = _size(0.1, "the step of the small scale", "practice")
    fine_to_g: float = _size(20.0, "the mass up to which the small scale is used", "practice")
    coarse_g: float = _size(1.0, "the step of the kitchen scale", "practice")
    # how it is kept
    weights_as: str = _given("weights", "list", "list, or grid (a row a morning)", "practice: both are seen")
    eggs_as: str = _given(
        "eggs", "rows", "rows (an egg a row), or counts (a clutch a row, no chicks)", "practice: both are seen"
    )

    def kind(self, name: str | Species) -> Species:
        """A species by name, or as given."""
        return name if isinstance(name, Species) else SPECIES[name]


def assumptions_table() -> pd.DataFrame:
    """Every parameter: parameter, default, meaning, from (source, practice or invented)."""
    rows = [(f.name, f.default, f.metadata["meaning"], f.metadata["from"]) for f in fields(Assumptions)]
    return pd.DataFrame(rows, columns=["parameter", "default", "meaning", "from"])
