"""Brooders: how warm the chicks in each want it, and what its last reading says to that."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from analysis.feeding import (
    FAR_OVER_C,
    FEATHERED_D,
    PINS_D,
    TOO_COLD,
    TOO_HOT,
    TURN_DOWN,
    Need,
    brooder_need,
    too_cold,
    too_warm,
)
from analysis.finding import Finding, Words, found
from analysis.logs.names import same
from analysis.nursery.pressing import AT_ONCE, LOOK_AGAIN, NEXT_FEED, read_first
from analysis.season import species_facts
from analysis.season.vocabulary import is_brooder

_WHO = found("day.who-is-in-it")


def needs_of(nursery: pd.DataFrame) -> list[Need]:
    """How warm each chick wants it, by what was seen of its feathers, else by what its kind is like."""
    return [_need(chick) for chick in nursery.to_dict("records")]


def _need(chick: dict[str, Any]) -> Need:
    facts = species_facts(str(chick["species"]))
    pins, feathered = (facts.days(what) if facts else None for what in ("pins", "feathered"))
    return brooder_need(
        str(chick["chick"]),
        float(chick["age_d"]),
        sure_to_days=float(chick["sure_to_days"]),
        stage=str(chick["stage"]),
        pins_d=(pins.low, pins.high) if pins else PINS_D,
        feathered_d=(feathered.low, feathered.high) if feathered else FEATHERED_D,
    )


def brooders_read(nursery: pd.DataFrame, read: pd.DataFrame) -> Iterator[Finding]:
    """Yield what the last readings of brooders ask for.

    Parameters
    ----------
    nursery : the chicks fed by hand, as `in_the_nursery`
    read : the last reading of each place, yesterday's or today's: place, name, read_at, temperature, note
    """
    needs = dict(zip(nursery["chick"], needs_of(nursery), strict=True))
    where = nursery["brooder"].map(same)
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
    needs, where = dict(zip(nursery["chick"], needs_of(nursery), strict=True)), nursery["brooder"].map(same)
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
    right = [found("day.right-for", chicks=_named(suits))] if suits else []
    if others and not sure:
        return LOOK_AGAIN, [said, *right, _WHO]
    does = _too_hot(celsius, hot, others, cold) if hot else [TOO_COLD, *right]
    unsure = [need for need in cold if celsius >= need.low_c]
    does += [found("day.may-be-further-on", chicks=_named(unsure))] if unsure else []
    soon = AT_ONCE if hot or cold != unsure else LOOK_AGAIN
    return NEXT_FEED if hot and not _far(celsius, hot) else soon, [said, *does, "" if sure else _WHO]


def _too_hot(celsius: float, hot: list[Need], others: list[Need], cold: list[Need]) -> list[Finding]:
    """What to do about heat; where others in the place need it as warm, it is no remedy to turn it down."""
    if others or cold:
        cooler = [need for need in [*others, *cold] if celsius < need.least_c]
        out = found("day.move-out", chicks=_named(hot))
        if cooler:
            return [out, found("day.then-raise-it", chicks=_named(cooler))]
        return [out, found("day.leave-it-as-warm", chicks=_named(others))] if others else [out]
    return [TOO_HOT if _far(celsius, hot) else TURN_DOWN]


def _far(celsius: float, hot: list[Need]) -> bool:
    """Whether a place is far too warm for the one that bears least."""
    return celsius > min(need.high_c for need in hot) + FAR_OVER_C


def _named(needs: list[Need]) -> list[str]:
    return [need.chick for need in needs]
