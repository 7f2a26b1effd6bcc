"""Who lays what, where and when: a plan of pairs and clutches, drawn or laid out by hand."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from analysis.simulate.assumptions import Assumptions
    from analysis.simulate.species import Species

INCUBATOR = "incubator A"
HAND = "hand"
_REST_D = 18  # invented: from the last hatch to the next clutch's first egg


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
    """One pair, trio or colony and its clutches.

    `fertile`, `hatch` and `wean` are its own true rates in a cage with effect 0; None: drawn.
    """

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
    """Return the plan that was given, or one drawn: clutches one after another, cages changing hands."""
    return a.plan or tuple(_pair(number, a, rng) for number in range(a.pairs))


def _pair(number: int, a: Assumptions, rng: np.random.Generator) -> PairPlan:
    name = f"P{number + 1:02d}"
    species = a.species[number % len(a.species)]
    kind = a.kind(species)
    cage = number % a.cages
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
    return PairPlan(name, species, tuple(clutches), cock=f"{name} cock", hen=f"{name} hen")
