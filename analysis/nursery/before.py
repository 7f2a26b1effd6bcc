"""What stands before the first feed: how warm, how much to mix, which brooder, in which order; who is asked about."""

import math
from collections.abc import Iterator

import pandas as pd

from analysis.feeding import (
    CROP_DECIDES,
    HATCHLING_D,
    HATCHLINGS,
    HUMIDITY,
    ORDER_WHY,
    USABLE,
    WAIT,
    WINDOW,
    Amount,
    brooders_said,
    cooling_rate,
    judge_formula,
    lots_said,
    total_to_mix,
)
from analysis.logs.names import same
from analysis.nursery.brooders import needs_of
from analysis.nursery.round import Round
from analysis.nursery.who import age_words
from analysis.season import is_brooder, is_formula, is_kept_warm, unheard
from analysis.words import count_words, day_words, listed

_ROOM_C = (10, 35)
_CUPS = ("cup", "mug", "bowl", "jug", "beaker", "glass")
_APART_MIN = 60  # two readings of a cup further apart are of two fillings (practice)


def before_feeding(today: Round) -> list[tuple[str, str]]:
    """Return (what, sentence) for what is looked at before anybody is fed; nothing where nobody is."""
    if today.chicks.empty:
        return []
    found = [
        ("Formula", f"{WINDOW}, stirred and measured in the middle. {WAIT} Thrown out {USABLE}."),
        *_batches(today),
    ]
    found += [("To mix", _to_mix(today)), *_cup(today)]
    found += [("The crop", CROP_DECIDES)]
    found += [("Hatchlings", HATCHLINGS)] if (today.chicks["age_d"] < HATCHLING_D).any() else []
    found += [("Brooder", f"{brooders_said(needs_of(today.chicks))}{_brooder_read(today)} {HUMIDITY}")]
    return [*found, ("This order", ORDER_WHY)]


def no_amounts(today: Round) -> list[tuple[str, str]]:
    """Return (chicks, why) for those that the page gives no amount; why a veterinarian is needed is read of first."""
    none = today.chicks[(today.chicks["why"] != "") & ~today.chicks["needs_vet"]]
    return [(listed(own["chick"], most=20), str(why)) for why, own in none.groupby("why", sort=False)]


def still_here(today: Round) -> list[tuple[str, str]]:
    """Return (question, sentence) for the chicks that may be weaned, gone or lost, and are not fed by a page."""
    asked = unheard(today.season, today.on).merge(today.season.chicks, on=["chick", "by_hand"])
    asked = asked.assign(age_d=(today.on - asked["hatched_at"].dt.normalize()).dt.days.astype(float))
    hand, others = asked[asked["by_hand"]], asked[~asked["by_hand"]]
    named = [f"{chick.chick} ({age_words(chick)}, {_heard(chick.heard_on)})" for chick in hand.itertuples()]
    said = [("Still fed by hand", f"{listed(named, most=_MOST)}. {_ASK} {_IF_HERE}")] if named else []
    said += [("Still here", f"{listed(others['chick'], most=_MOST)}. {_OTHERS} {_ASK}")] if len(others) else []
    return said


_MOST = 12  # chicks that are named where many are asked about
_ASK = "Weaned, left or lost? Write the day into weaned_on or left_on in hatches, or a row into losses."
_IF_HERE = (
    "No row here feeds it until then. If it is here: look at its crop, weigh it before its first feed and write that "
    "down; with it, it is in the round again. Thin, dull or cold: an avian veterinarian, today."
)
_OTHERS = "Past the days by which they feed themselves, and nothing was written of them for two weeks."


def _heard(on: pd.Timestamp) -> str:
    return "nothing written since it hatched or came" if pd.isna(on) else f"no word since {day_words(on)}"


def _batches(today: Round) -> Iterator[tuple[str, str]]:
    """The mixes whose temperature was read on the day."""
    feeds = today.season.logs["feeds"]
    of_day = pd.to_datetime(feeds["fed_at"]).dt.normalize() == today.on
    formula = feeds["food"].map(lambda food: not isinstance(food, str) or is_formula(food)).astype(bool)
    read = feeds[feeds["temperature"].notna() & of_day & formula].sort_values("fed_at", kind="stable")
    said = []
    for row in read.itertuples():
        when = f"{row.fed_at:%H:%M}" if row.fed_at != today.on else "no time written"
        said.append(f"{when}, {judge_formula(float(row.temperature)).sentence.split('. ')[0].rstrip('.')}")
    if said:
        yield "Read today", "; ".join(said) + "."


def _to_mix(today: Round) -> str:
    amounts = [Amount(*row) for row in today.chicks[["low_ml", "high_ml", "why"]].itertuples(index=False)]
    low, high, known = total_to_mix(amounts)
    others = len(amounts) - known
    beside = f" {count_words(others, 'chick')} without an amount not counted." if others else ""
    if not known:
        return f"No amount is given for anybody.{beside}"
    step = 0.01 if high < 1 else 0.1 if high < 10 else 1.0  # the upper end rounded up: nobody's feed is short
    low, high = math.floor(low / step) * step, math.ceil(high / step) * step
    return f"{low:g} to {high:g} ml for one feed of {count_words(known, 'chick')}, what is wasted included.{beside}"


def _cup(today: Round) -> Iterator[tuple[str, str]]:
    """Whether the keeper's own cup stays warm for the round, by its last two readings of the day."""
    readings = today.season.logs["readings"]
    read = readings[readings["temperature"].notna()].sort_values("read_at", kind="stable")
    read = read[pd.to_datetime(read["read_at"]).dt.normalize() == today.on]
    cups = read[_cups(read)]
    for cup, own in cups.groupby(cups["place"].map(same), sort=True):
        first, second = own.iloc[-2:].itertuples() if len(own) > 1 else (None, None)
        room = _room(today, read)
        if first is None or second is None or room is None:
            continue
        name = str(cup)[:1].upper() + str(cup)[1:]
        minutes = (second.read_at - first.read_at).total_seconds() / 60
        if not (0 < minutes <= _APART_MIN and first.temperature > second.temperature > room):
            yield name, "Its two readings are not those of one cup that cools, so nothing is told of it."
            continue
        rate = cooling_rate(minutes, first.temperature, second.temperature, room)
        each = today.season.settings.number("minutes_a_chick")
        chicks = count_words(len(today.chicks), "chick")
        yield name, f"{chicks} at {each:g} minutes each. {lots_said(rate, room, len(today.chicks) * each)}"


def _cups(read: pd.DataFrame) -> pd.Series:
    """Whether a reading is of a cup, by the place that it stands under."""
    return read["place"].map(lambda place: any(word in same(place).split() for word in _CUPS)).astype(bool)


def _room(today: Round, read: pd.DataFrame) -> float | None:
    """The temperature of the room: the coolest place read on the day that is neither cup nor kept warm nor a fridge."""
    incubators = {same(name) for name in today.season.eggs["incubated_by"]}
    warm = read["place"].map(lambda place: same(place) in incubators or is_kept_warm(place))
    rooms = read[~_cups(read) & ~warm.astype(bool) & read["temperature"].between(*_ROOM_C)]
    return None if rooms.empty else float(rooms["temperature"].min())


def _brooder_read(today: Round) -> str:
    readings = today.season.logs["readings"]
    readings = readings.assign(temperature=readings["temperature"].fillna(readings["temperature_if_other"]))
    read = readings[readings["temperature"].notna() & readings["place"].map(is_brooder).astype(bool)]
    read = read[read["read_at"] >= today.on - pd.Timedelta(days=2)].sort_values("read_at").groupby("place").tail(1)
    said = [f"{row.place} {row.temperature:.0f} °C on {row.read_at.day} {row.read_at:%B}" for row in read.itertuples()]
    return f" Last read: {'; '.join(said)}." if said else ""
