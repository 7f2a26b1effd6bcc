"""Every parameter of a simulated season: its default, what it means, and where the default comes from."""

from dataclasses import dataclass, field, fields
from functools import partial
from typing import Any

import pandas as pd

from analysis.names import DIED_IN_EGG
from analysis.simulate.growth import CURVES
from analysis.simulate.plan import PairPlan
from analysis.simulate.species import SPECIES, Species


def _given(kind: str, default: Any, meaning: str, origin: str) -> Any:
    """Make a field; `kind` says what it may be (see `checks`)."""
    return field(default=default, metadata={"kind": kind, "meaning": meaning, "from": origin})


_count, _share, _size = partial(_given, "count"), partial(_given, "share"), partial(_given, "size")
_effect, _sds, _other = partial(_given, "effect"), partial(_given, "sds"), partial(_given, "other")


@dataclass(frozen=True)
class Assumptions:
    """What a simulated season is made from. `assumptions_table` lists meaning and origin of each.

    Every spread is a standard deviation; effects on rates are on the logit scale.
    """

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
    curve: str = _other("rise_and_fall", f"the true curve: {', '.join(CURVES)}", "invented: one that no model fits")
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
    weights_as: str = _other("list", "list, or grid (a row a morning)", "practice: both are seen")
    eggs_as: str = _other(
        "rows", "rows (an egg a row), or counts (a clutch a row, no chicks)", "practice: both are seen"
    )

    def kind(self, name: str | Species) -> Species:
        """Return a species by name, or as given."""
        return name if isinstance(name, Species) else SPECIES[name]


def assumptions_table() -> pd.DataFrame:
    """List every parameter: parameter, default, meaning, from (source, practice or invented).

    Examples
    --------
    >>> table = assumptions_table()
    >>> table.loc[table["parameter"] == "pairs", "default"].item()
    12
    """
    return pd.DataFrame(
        {
            "parameter": [f.name for f in fields(Assumptions)],
            "default": [f.default for f in fields(Assumptions)],
            "meaning": [f.metadata["meaning"] for f in fields(Assumptions)],
            "from": [f.metadata["from"] for f in fields(Assumptions)],
        }
    )
