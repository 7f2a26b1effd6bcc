"""What each chick asks for before anybody feeds it: a veterinarian, a second look, or nothing."""

from typing import Any

import pandas as pd

from analysis.feeding import VET
from analysis.findings import Growth, warnings
from analysis.growth.flags.sentences import SAME
from analysis.nursery.expected import PAST_PEAK
from analysis.words import begun, day_words, grams, listed

# Food left in a hatchling's crop is no alarm: it is fed through the night (practice).
HATCHLING_D = 3
BACK_D = 2  # a stalled chick that is back where it was expected is looked at for so many days more (practice)
# "Crop not empty in the morning is itself an alarm": Hagen Avicultural Research Institute, hand-feeding papers.
THEIRS = "An avian veterinarian should see it today."  # how a flag ends; a page to feed by says more
LEFT = "Nothing is fed on top of it."
LOOK_AGAIN = (
    f"Look again in two hours (practice): not emptying, tight, or anything else amiss: {VET[0].lower()}{VET[1:]}"
)
CROP = "crop not emptying"


def with_care(nursery: pd.DataFrame, growth: Growth, on: pd.Timestamp) -> pd.DataFrame:
    """Add what must be read of each chick before the round.

    Parameters
    ----------
    nursery : from `expected_today`, with weaning: whether a chick is within its species' weaning days, of which some
        fall, and food in the crop in the morning, are usual; and fledging: whether it is near them, and gains little
    growth : of the same season
    on : the day

    Returns
    -------
    The same rows with vet and look: tuples of sentences (what `VET` says goes with vet); flagged: by its weights, and
    not back since; food_left and cold: truth values; weigh_again: whether this morning's weight lies outside what was
    expected, or is in doubt
    """
    flags = warnings(growth, on)
    rows = [_read(chick, flags[flags["chick"] == chick.chick], on) for chick in nursery.itertuples()]
    found = pd.DataFrame(rows, columns=["vet", "look", "flagged", "food_left", "cold", "doubtful"], index=nursery.index)
    off = (nursery["today_g"] < nursery["low_g"]) | (nursery["today_g"] > nursery["high_g"])
    return nursery.join(found).assign(weigh_again=off | found["doubtful"].astype(bool)).drop(columns="doubtful")


def _read(chick: Any, flags: pd.DataFrame, on: pd.Timestamp) -> tuple[Any, ...]:
    urgent = flags[(flags["level"] == "act") & ~flags["back"]]
    others = flags.drop(urgent.index)
    others = others[_still(others, chick, on)]
    vet, look = (
        [f"{said.removesuffix(THEIRS).strip()}{_mornings(chick)}" for said in urgent["said"]],
        list(others["said"]),
    )
    if urgent.empty and _by_the_rule(chick, on):
        _, second, newest = _last_three(chick)
        when = "this morning" if not pd.isna(chick.today_g) else "yesterday"
        vet.append(
            f"{grams(newest)} g {when} and {grams(second)} g before: any drop, or no gain two days "
            f"running, calls a veterinarian (Duerr & Gage, Hand-Rearing Birds, 2020, p. 617)."
        )
    if chick.signs:
        written = f" As written: {chick.notes}." if chick.notes else ""
        nothing = f" {LEFT}" if CROP in chick.signs else ""
        vet.append(f"{begun(listed(chick.signs))}, seen {day_words(chick.seen_on)}.{nothing}{written}")
    left = _food_left(chick, on)
    if left == "again" and CROP not in chick.signs:
        vet.append(f"{_LEFT_WORDS[left]} {LEFT}")
    elif left and CROP not in chick.signs:
        look.append(f"{_LEFT_WORDS[left].format(word=chick.odd_crop)} {LEFT} {LOOK_AGAIN}")
    doubtful = bool((others["flag"] == "weigh again").any())
    return tuple(vet), tuple(look), not urgent.empty, bool(left) or CROP in chick.signs, "cold" in chick.signs, doubtful


def _mornings(chick: Any) -> str:
    """The last weights as they stand on the page."""
    told = [grams(mass_g) for mass_g in (chick.before_g, chick.last_g, chick.today_g) if not pd.isna(mass_g)]
    return f" Last weighed {listed(told)} g." if len(told) > 1 else ""


_LEFT_WORDS = {
    "again": "Food left in the crop two mornings running.",
    "part": "Food left in the crop this morning.",
    "full": "Weighed with a full crop this morning; if it had not been fed before, that is food left from the night.",
    "odd": "“{word}” is written for its crop, none of empty, part and full: look at it before it is fed.",
    "yesterday": "Food was left in the crop yesterday morning: look at it first.",
}


def _still(flags: pd.DataFrame, chick: Any, on: pd.Timestamp) -> pd.Series:
    """Which flags still say something: a doubtful weight until the next one, a stall that is over for two days."""
    last = chick.crop_on if not pd.isna(chick.crop_on) else on
    age_d = (on - flags["day"]).dt.days
    over = (flags["flag"] == "weigh again") & (flags["day"] < last)
    return ~over & ~(flags["back"] & (age_d > BACK_D))


def _food_left(chick: Any, on: pd.Timestamp) -> str:
    """How food was left: part, full, odd (its own word), again (twice running), yesterday; blank where it may be."""
    if chick.age_d < HATCHLING_D or chick.weaning or chick.eats or pd.isna(chick.crop_on):
        return ""
    left, before = chick.crop in ("part", "full"), chick.crop_before in ("part", "full")
    if (on - chick.crop_on).days <= 1 and chick.odd_crop:
        return "odd"
    if (on - chick.crop_on).days == 0:
        return ("again" if before else str(chick.crop)) if left else ""
    return "yesterday" if left and (on - chick.crop_on).days == 1 else ""


def _by_the_rule(chick: Any, on: pd.Timestamp) -> bool:
    """Whether the trade's own rule calls, for a chick without a curve: any drop, or no gain two days running.

    By this morning's weight, or by yesterday's where this morning's is not written yet.
    """
    if chick.by in ("its curve", PAST_PEAK) or chick.fledging or chick.age_d < HATCHLING_D:
        return False
    third, second, newest = _last_three(chick)
    if pd.isna(chick.today_g) and not (on - chick.last_on).days <= 1:
        return False
    return bool(newest < (1 - SAME) * second or newest <= second <= third)


def _last_three(chick: Any) -> tuple[float, float, float]:
    """The last three weights, the newest last; this morning's is one of them where it is written."""
    if pd.isna(chick.today_g):
        return chick.third_g, chick.before_g, chick.last_g
    return chick.before_g, chick.last_g, chick.today_g
