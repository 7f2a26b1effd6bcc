"""How warm a brooder is for which chick: by its feathers where they are written, else by what its kind is like."""

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import reduce
from typing import Any

import pandas as pd

from analysis.finding import ACT, Finding, Words, found
from analysis.logs.headings import same
from analysis.season import species_facts
from analysis.season.signs import AT_ONCE, LOOK_AGAIN, NEXT_FEED, read_first
from analysis.season.species import any_bird
from analysis.season.vocabulary import is_brooder

# Duerr & Gage, Hand-Rearing Birds, 2020, table 40.1; Digney 1998; Wragg: three tables that differ by up to 3 °C.
WARM_C = {"hatchling": (35.0, 36.5), "down": (31.0, 35.0), "pins": (28.0, 31.0), "feathered": (25.0, 26.0)}
_HATCHLING_D = 3  # the same tables: hatch to day 3
# Days between which pins break, and by which a chick is feathered, where its kind's are not known.
PINS_D, FEATHERED_D = any_bird("pins")[:2], any_bird("feathered")[:2]
TABLES_DIFFER_C = 3.0  # so far below its range a place is cold in every table; above it there is no such margin
FAR_OVER_C = 2.0  # so far above, chicks come out before anything else is done (practice)
HUMIDITY = found("feeding.humidity")  # Clipsham 1991, in Duerr & Gage, p. 617
# "Brooder too hot", "too cold": Duerr & Gage, pp. 618-619.
_TOO_HOT, _TOO_COLD = found("feeding.too-hot", level=ACT), found("feeding.too-cold", level=ACT)
_WHO = found("day.who-is-in-it")


@dataclass(frozen=True)
class Need:
    """How warm a chick wants it, °C, and the stages that its feathers may be at."""

    chick: str
    low_c: float
    high_c: float
    stages: tuple[str, ...]

    @property
    def least_c(self) -> float:
        """The least that it may want: of the youngest stage that it may be at, since a chilled chick dies unheard."""
        return WARM_C[self.stages[0]][0]

    @property
    def called(self) -> Finding:
        """The stages that it may be at."""
        stages = [found(f"feeding.stage-{stage}") for stage in self.stages]
        return reduce(lambda one, other: found("feeding.or", one=one, other=other), stages)

    @property
    def said(self) -> Finding:
        """The chick with its range and stage, as a page has it."""
        return found("feeding.need", chick=self.chick, stages=self.called, low_c=self.low_c, high_c=self.high_c)


def brooder_need(
    chick: str,
    age_d: float,
    *,
    sure_to_days: float = 0.0,
    stage: str = "",
    pins_d: tuple[float, float] = PINS_D,
    feathered_d: tuple[float, float] = FEATHERED_D,
) -> Need:
    """Say how warm a chick wants it, over every stage that it may be at.

    `stage`: what was seen last of its feathers, "down", "pins" or "feathered"; "" where nobody wrote it. Else by its
    age, which may be missing, or wrong by `sure_to_days`: pins break and it is feathered between `pins_d` and
    `feathered_d` of its kind, by default of any kind. Source: the three tables above.
    """
    spread = 0.0 if math.isnan(sure_to_days) else abs(sure_to_days)
    youngest, oldest = (0.0, math.inf) if math.isnan(age_d) else (max(age_d - spread, 0.0), age_d + spread)
    may_be = {
        "hatchling": youngest < _HATCHLING_D,
        "down": oldest >= _HATCHLING_D and (youngest < pins_d[1] or stage == "down"),
        "pins": oldest >= pins_d[0] and youngest < feathered_d[1] and stage != "down",
        "feathered": oldest >= feathered_d[0] and stage != "down",
    }
    seen = stage in ("pins", "feathered")
    stages = (stage,) if seen else tuple(one for one, holds in may_be.items() if holds)
    ranges = [WARM_C[one] for one in stages]
    return Need(chick, min(low for low, _ in ranges), max(high for _, high in ranges), stages)


def too_warm(celsius: float, needs: Iterable[Need]) -> list[Need]:
    """Return whom a place is too warm for: above the range of any stage that a chick may be at, by however little."""
    return [need for need in needs if celsius > need.high_c]


def too_cold(celsius: float, needs: Iterable[Need]) -> list[Need]:
    """Return whom a place is too cold for in every published table, at the youngest stage that it may be at."""
    return [need for need in needs if celsius < need.least_c - TABLES_DIFFER_C]


def brooder_ranges(needs: Sequence[Need]) -> Words:
    """Say how warm the brooder is for these chicks, and where one brooder cannot serve all; blank where nobody is."""
    if not needs:
        return ""
    groups: dict[tuple[float, float, tuple[str, ...]], list[Need]] = {}
    for need in sorted(needs, key=lambda one: (-one.low_c, -one.high_c)):
        groups.setdefault((need.low_c, need.high_c, need.stages), []).append(need)
    wants = [
        found("feeding.want", chicks=[one.chick for one in own], stages=own[0].called, low_c=low, high_c=high)
        for (low, high, _), own in groups.items()
    ]
    # whether one temperature serves all, by the youngest stage that each may be at
    number, stands_at, ranges = 0, math.inf, sorted({WARM_C[need.stages[0]] for need in needs}, reverse=True)
    for low, high in ranges:
        if stands_at > high:
            number, stands_at = number + 1, low
    how_many: Words = found("feeding.one-brooder", celsius=ranges[0][0]) if len(ranges) > 1 else ""
    if number > 1:
        how_many = found("feeding.brooders-apart", brooders=found(f"feeding.number-{number}"))
    return found("feeding.brooders", wants=wants, how_many=how_many, decides=found("feeding.chick-decides"))


def needs_of(nursery: pd.DataFrame) -> dict[str, Need]:
    """How warm each chick wants it, by what was seen of its feathers, else by what its kind is like."""
    needs = {}
    for chick in nursery.itertuples():
        facts, name = species_facts(str(chick.species)), str(chick.chick)
        pins, feathered = (facts.days(what) if facts else None for what in ("pins", "feathered"))
        known: dict[str, Any] = {"pins_d": (pins.low, pins.high)} if pins else {}
        known |= {"feathered_d": (feathered.low, feathered.high)} if feathered else {}
        known |= {"sure_to_days": chick.sure_to_days, "stage": str(chick.stage)}
        needs[name] = brooder_need(name, float(str(chick.age_d)), **known)
    return needs


def brooders_read(nursery: pd.DataFrame, read: pd.DataFrame) -> Iterator[Finding]:
    """Yield what the last readings of brooders ask for, by the chicks of `in_the_nursery`.

    `read`: the last reading of each place, yesterday's or today's: place, name, read_at, temperature, note.
    """
    needs, where = needs_of(nursery), nursery["brooder"].map(same)
    known = set(where) - {""}
    for row in read.itertuples():
        if not (is_brooder(str(row.place)) or row.name in known):
            continue
        mine = [needs[chick] for chick in nursery.loc[where == row.name, "chick"]]
        may_be = [needs[chick] for chick in nursery.loc[where == "", "chick"]]
        asked = _asked(float(row.temperature), mine or may_be, sure=bool(mine))
        if asked is not None:
            soon, asks = asked
            read_at = {"celsius": float(row.temperature), "on": row.read_at}
            yield read_first(soon, found("day.brooder-read", about=str(row.place), **read_at, asks=[*asks, row.note]))


def in_the_heat(nursery: pd.DataFrame, read: pd.DataFrame) -> set[str]:
    """The chicks whose own brooder was last read too warm for them."""
    needs, where = needs_of(nursery), nursery["brooder"].map(same)
    celsius = where.map(read.set_index("name")["temperature"].to_dict())
    return {chick for chick, at in zip(nursery["chick"], celsius, strict=True) if too_warm(float(at), [needs[chick]])}


def _asked(celsius: float, needs: list[Need], *, sure: bool) -> tuple[str, list[Words]] | None:
    """How soon a reading asks for something, and for what; None where it suits whoever is or may be in it."""
    hot, cold = too_warm(celsius, needs), too_cold(celsius, needs)
    if not (hot or cold):
        return None
    others = [need for need in needs if need not in hot and need not in cold]
    suits = [need for need in others if celsius >= need.least_c]
    parts = [found("day.too-warm-for", chicks=[need.said for need in hot])] if hot else []
    parts += [found("day.too-cold-for", chicks=[need.said for need in cold])] if cold else []
    said = found("day.suits-not", parts=parts)
    right = [found("day.right-for", chicks=_names(suits))] if suits else []
    if others and not sure:
        return LOOK_AGAIN, [said, *right, _WHO]
    does = _too_hot(celsius, hot, others, cold) if hot else [_TOO_COLD, *right]
    unsure = [need for need in cold if celsius >= need.low_c]
    does += [found("day.may-be-further-on", chicks=_names(unsure))] if unsure else []
    soon = AT_ONCE if hot or cold != unsure else LOOK_AGAIN
    return NEXT_FEED if hot and not _far(celsius, hot) else soon, [said, *does, "" if sure else _WHO]


def _too_hot(celsius: float, hot: list[Need], others: list[Need], cold: list[Need]) -> list[Finding]:
    """What to do about heat; where others in the place need it as warm, turning it down does not help."""
    if others or cold:
        cooler = [need for need in [*others, *cold] if celsius < need.least_c]
        out = found("day.move-out", chicks=_names(hot))
        if cooler:
            return [out, found("day.then-raise-it", chicks=_names(cooler))]
        return [out, found("day.leave-it-as-warm", chicks=_names(others))] if others else [out]
    return [_TOO_HOT if _far(celsius, hot) else found("feeding.turn-down", level=ACT)]


def _far(celsius: float, hot: list[Need]) -> bool:
    """Whether a place is far too warm for the one that bears least."""
    return celsius > min(need.high_c for need in hot) + FAR_OVER_C


def _names(needs: list[Need]) -> list[str]:
    return [need.chick for need in needs]
