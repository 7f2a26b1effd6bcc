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
from analysis.logs.names import same
from analysis.season import SOON, species_facts
from analysis.season.vocabulary import is_brooder
from analysis.words import day_words, listed

_WHO = "Who is in it is not written (the column brooder in hatches): judged by every chick that may be."
Read = tuple[int, str, str, str]  # how pressing (0 is at once), who, about, said


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


def brooders_read(nursery: pd.DataFrame, read: pd.DataFrame) -> Iterator[Read]:
    """Yield what the last readings of brooders ask for.

    Parameters
    ----------
    nursery : the chicks fed by hand, as `in_the_nursery`
    read : the last reading of each place, yesterday's or today's: place, name, read_at, temperature
    """
    needs = dict(zip(nursery["chick"], needs_of(nursery), strict=True))
    where = nursery["brooder"].map(same)
    known = set(where) - {""}
    for row in read.itertuples():
        if not (is_brooder(str(row.place)) or row.name in known):
            continue
        mine = [needs[chick] for chick in nursery.loc[where == row.name, "chick"]]
        may_be = [needs[chick] for chick in nursery.loc[where == "", "chick"]]
        found = _asked(float(row.temperature), mine or may_be, sure=bool(mine))
        if found is not None:
            rank, said = found
            yield rank, str(row.place), "", f"{row.temperature:.1f} °C when last read, {day_words(row.read_at)}: {said}"


def _asked(celsius: float, needs: list[Need], *, sure: bool) -> tuple[int, str] | None:
    """How pressing a reading is, and what it asks for; None where it suits whoever is or may be in it."""
    hot, cold = too_warm(celsius, needs), too_cold(celsius, needs)
    if not (hot or cold):
        return None
    suits = [need for need in needs if need not in hot and need not in cold]
    far = bool(hot) and celsius > max(need.high_c for need in hot) + FAR_OVER_C
    soon = "at once" if far or not hot else "before the next feed"
    parts = [f"too warm for {listed(need.said for need in hot)}"] if hot else []
    parts += [f"too cold for {listed(need.said for need in cold)}"] if cold else []
    said = f"{'; '.join(parts)}."
    if suits and not sure:
        return SOON.index("look again"), f"{said} Right for {listed(need.chick for need in suits)}. {_WHO}"
    does = [(TOO_HOT if far else TURN_DOWN) if hot else TOO_COLD]
    if hot and (suits or cold):
        does.append(f"{listed(need.chick for need in [*suits, *cold])} need it warmer: two brooders.")
    elif suits:
        does.append(f"It is right for {listed(need.chick for need in suits)}: two brooders.")
    return SOON.index(soon), " ".join([said, *does, *([] if sure else [_WHO])])
