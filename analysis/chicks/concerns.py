"""What each chick should weigh today, and between which weights nothing more need be asked."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.chicks.feeding import FEED_ON, HATCHLING_D, VET
from analysis.chicks.of_season import Chicks
from analysis.chicks.warnings import called_by_rule, warnings
from analysis.finding import ACT, LOOK, Finding, Words, found
from analysis.growth import expected_next
from analysis.logs.cells import GRAMS
from analysis.logs.tables import NOT_EMPTYING
from analysis.say import in_words
from analysis.season import LOOKS, SOON, Sign, asked_by, crop_words, sign_words, signs_of
from analysis.words import grams

# Without a curve: from this age on a weight must be above the last one (Duerr & Gage, Hand-Rearing Birds, 2020, p. 617;
# no gain in the first days is normal: Hagen Avicultural Research Institute), and gain neither twice what it last gained
# nor twice the fifth of its weight a day that is usual in the first weeks (Wragg; twice: practice).
FROM_D, GAINS, MOST_A_DAY = 3, 2.0, 0.4
PAST_PEAK = "past peak"
SOME_GAIN = 1.1  # a tenth above the last weight is never asked about: no chick is harmed by having gained (practice)
_LAST_D = 3  # a gain is carried on over so many days, no more (practice)
BACK_D = 2  # a stalled chick that is back where it was expected is looked at for so many days more (practice)
# Below its heaviest before weaning: above a tenth it is not ready (Duerr & Gage, Hand-Rearing Birds, 2020, p. 750,
# finches); above 15 % back to feeding and to the veterinarian (10 to 25 %: a general magazine; the stricter stands).
NOT_READY, FELL_FAR = 0.10, 0.15
FALLS = 4  # so many falls running near weaning are looked at, however small (practice)
# "Crop not empty in the morning is itself an alarm": Hagen Avicultural Research Institute, hand-feeding papers. Food
# left in a hatchling's crop is none: it is fed through the night (practice).
COLD = "cold"
_HELD = ("today_g", "low_g", "high_g")
_CALLS, _LOOKS = ("losing", "again"), ("part", "full", "odd", "unweighed", "yesterday")


def expected_today(nursery: pd.DataFrame, growth: Chicks, on: pd.Timestamp) -> pd.DataFrame:
    """Add what each chick of `in_the_nursery` is expected to weigh on a day, from its weighings before that day.

    expected_g, low_g and high_g (weigh again below and above), missing where nothing can be expected; by: "curve",
    "last gain", "past peak" (nobody knows how far a chick falls before weaning; a tenth is usual), or "".
    """
    parts = [expected_next(kind, on=on) for kind in growth.watch.kinds.values()]
    known = pd.concat([part for part in parts if len(part)] or [pd.DataFrame(columns=["chick", "median_g"])])
    known = known[known["chick"].isin(nursery["chick"])].drop_duplicates("chick").set_index("chick")
    curve = known.reindex(columns=["median_g", "low_g", "high_g"]).reindex(nursery["chick"]).to_numpy(dtype=float)
    # else by the gain between its last two weighings
    apart_d = (nursery["last_on"] - nursery["before_on"]).dt.days.to_numpy(dtype=float)
    ahead_d = (on - nursery["last_on"]).dt.days.to_numpy(dtype=float)
    last = nursery["last_g"].to_numpy(dtype=float)
    gain = (last - nursery["before_g"].to_numpy(dtype=float)) / apart_d * ahead_d
    usable = (ahead_d <= _LAST_D) & (apart_d <= _LAST_D) & (gain > 0)
    low = np.where(nursery["age_d"].to_numpy() >= FROM_D, last, np.nan)
    high = last + np.maximum(GAINS * gain, MOST_A_DAY * last * ahead_d)
    own = np.where(usable[:, None], np.column_stack([last + gain, low, high]), np.nan)
    past = (nursery["age_d"] > nursery["chick"].map(growth.watch.peaks.to_dict()).astype(float)).to_numpy()
    curve, own = (np.where(past[:, None], np.nan, one) for one in (curve, own))
    by_curve = np.isfinite(curve[:, 0])
    table = np.where(by_curve[:, None], curve, own)
    by = np.select([past, by_curve, np.isfinite(own[:, 0])], [PAST_PEAK, "curve", "last gain"], "")
    table[:, 2] = np.maximum(table[:, 2], SOME_GAIN * last)  # missing stays missing
    columns = dict(zip(("expected_g", "low_g", "high_g"), table.T, strict=True))
    return nursery.assign(**columns, by=by)


def mass_written(mass_g: float, unit: str) -> str:
    """A weight in gram as a page writes it for a keeper who weighs in `unit` (g, kg, oz or lb), without the unit.

    >>> mass_written(108.7, "g"), mass_written(108.7, "oz")
    ('109', '3.83')
    """
    digits = {"kg": 3, "oz": 2, "lb": 3}.get(unit)
    return grams(mass_g) if digits is None else f"{mass_g / GRAMS[unit]:.{digits}f}"


def with_concerns(nursery: pd.DataFrame, growth: Chicks, on: pd.Timestamp) -> pd.DataFrame:
    """Add what must be read of each chick before the round to `expected_today`, with fledging (see `near_fledging`).

    vet and look: tuples of findings; rank: how pressing what calls a veterinarian is, 0 at once; flagged: by its
    weights, and not back since; food_left and cold; unwell: signs that ask for no food from a page; less: whether a
    sign asks for smaller feeds; weigh_again: whether this morning's weight is not as expected, or is in doubt.
    """
    flags, called = warnings(growth, on), called_by_rule(growth, on)
    rule = called["said"].map(in_words).groupby(called["chick"]).agg(list).to_dict()
    by_chick = {name: flags[flags["chick"] == name] for name in nursery["chick"]}
    rows = [_concerns(chick, by_chick[chick.chick], rule.get(chick.chick, []), on) for chick in nursery.itertuples()]
    columns = ["vet", "look", "rank", "flagged", "food_left", "cold", "unwell", "less", "doubtful"]
    table = pd.DataFrame(rows, columns=columns, index=nursery.index)
    # Held against each other as a page writes them: 109 is not outside 95–109.
    unit = growth.season.settings["weight_unit"]
    written = {name: nursery[name].map(lambda mass_g: float(mass_written(mass_g, unit))) for name in _HELD}
    off = (written["today_g"] < written["low_g"]) | (written["today_g"] > written["high_g"])
    return nursery.join(table).assign(weigh_again=off | table["doubtful"].astype(bool)).drop(columns="doubtful")


def _concerns(chick: Any, flags: pd.DataFrame, rule: list[Words], on: pd.Timestamp) -> dict[str, Any]:
    urgent = flags[(flags["level"] == "act") & ~flags["back"]]
    others = flags.drop(urgent.index)
    others = others[still_says(others, chick, on) & ~others["flag"].isin(urgent["flag"])]
    seen_on = dict(chick.signs)
    signs = signs_of(seen_on, "chick")
    left = "" if NOT_EMPTYING in seen_on else _food_left(chick, on)
    word = crop_words(chick.odd_crop or chick.crop)
    crop = [found(f"day.left-{left}", masses=_masses(chick), word=word), found("day.nothing-on-top")] if left else []
    by_weight: list[Words] = [_pressing_flag(chick, flag) for flag in urgent.itertuples()]
    if urgent.empty:
        by_weight += rule or _fell_far(chick)
    pressing, mild = ([sign for sign in signs if (sign.soon in LOOKS) == looks] for looks in (False, True))
    vet: list[Words] = [_signs(chick, pressing)] if pressing else []
    vet += crop if left in _CALLS else []
    vet += [*by_weight, *_endings(signs, left in _CALLS, bool(by_weight), hot=chick.hot)]
    look: list[Words] = list(others["said"])
    look += [_signs(chick, mild)] if mild else []
    look += [*crop, found("day.look-again", level=LOOK)] if left in _LOOKS else []
    look += _falling(chick, on) if not vet and others.empty else []
    unwell = [sign.name for sign in signs if sign.feeds in ("nothing", "ask")]
    return {
        "vet": tuple(vet),
        "look": tuple(look),
        "rank": min([sign.rank for sign in pressing] + [SOON.index("today") - (left in _CALLS)]),
        "flagged": bool(by_weight),
        "food_left": bool(left) or NOT_EMPTYING in seen_on,
        "cold": COLD in seen_on,
        "unwell": tuple(sign_words(name) for name in unwell if name not in (NOT_EMPTYING, COLD)),
        "less": any(sign.feeds == "less" for sign in signs),
        "doubtful": bool((others["flag"] == "weigh again").any()),
    }


def _pressing_flag(chick: Any, flag: Any) -> Finding:
    """What a pressing flag of its weights says, without whom it calls: that stands at the end."""
    masses = _masses(chick)
    last = found("day.last-weighed", masses=masses) if len(masses) > 1 else ""
    to_feeding = found("growth.to-feeding") if flag.flag == "fall" else ""
    return found("day.all-of", parts=[flag.told, to_feeding, last])


def _signs(chick: Any, signs: list[Sign]) -> Finding:
    """What was seen and when, what it asks for, and what was written beside it."""
    days = dict(chick.signs)
    by_day: dict[pd.Timestamp, list[Words]] = {}
    for sign in signs:
        by_day.setdefault(days.get(sign.name, max(days.values())), []).append(sign_words(sign.name))
    seen = found("day.signs", signs=[found("day.seen-on", signs=names, on=day) for day, names in by_day.items()])
    return found("day.signs-ask", seen=seen, asks=asked_by(signs), notes=chick.notes)


def _endings(signs: list[Sign], left: bool, by_weight: bool, *, hot: bool) -> list[Finding]:
    """How it ends: who sees it, and whether it is fed until then."""
    hot = hot or any(sign.heat in ("cool", "neither") for sign in signs)
    no_food = left or any(sign.feeds in ("nothing", "ask") for sign in signs)
    ends = [found("day.not-warm", level=ACT) if hot else VET] if left or by_weight else []
    if no_food:
        return [*ends, found("day.ask-there")]
    return [*ends, FEED_ON] if by_weight else ends


def _masses(chick: Any) -> list[Finding]:
    """The last weights as they stand on the page."""
    return [found("day.mass", mass=float(mass_g)) for mass_g in _last_three(chick) if not pd.isna(mass_g)]


def still_says(flags: pd.DataFrame, chick: Any, on: pd.Timestamp) -> pd.Series:
    """Tell which flags still say something: a doubtful weight until the next one, a stall that is over for two days."""
    last = chick.last_on if pd.isna(chick.today_g) and not pd.isna(chick.last_on) else on
    age_d = (on - flags["day"]).dt.days
    over = (flags["flag"] == "weigh again") & (flags["day"] < last)
    return ~over & ~(flags["back"] & (age_d > BACK_D))


def _food_left(chick: Any, on: pd.Timestamp) -> str:
    """How food was left, of `_CALLS` or `_LOOKS`; blank where it may be: of a hatchling, and in part of one that eats.

    Age says nothing more: a full crop, and any food in that of a chick that loses weight, is spoken of at every age.
    """
    if pd.isna(chick.crop_on) or (on - chick.crop_on).days > 1:
        return ""
    if chick.odd_crop:
        return "odd"
    left, before = chick.crop in ("part", "full"), chick.crop_before in ("part", "full")
    _, second, newest = _last_three(chick)
    hatchling = chick.age_d < HATCHLING_D
    if not left or (chick.crop == "part" and (hatchling or (chick.eats and not newest < second))):
        return ""
    if newest < second and not hatchling:
        return "losing"
    if (on - chick.crop_on).days == 1:
        return "yesterday"
    if before and not hatchling:
        return "again"
    return "unweighed" if pd.isna(chick.today_g) else str(chick.crop)


def _fell_far(chick: Any) -> list[Finding]:
    """Near weaning the rule above ends: what a chick may be below its heaviest does not."""
    newest = _last_three(chick)[2]
    if not (chick.fledging or chick.by == PAST_PEAK) or not newest < (1 - FELL_FAR) * chick.peak_g:
        return []
    masses = {"mass": newest, "below": 1 - newest / chick.peak_g, "peak": chick.peak_g}
    return [found("day.fell-far", level=ACT, **masses)]


def _falling(chick: Any, on: pd.Timestamp) -> list[Finding]:
    """A chick near weaning that falls, and of which nobody wrote that it eats: fed on, and looked at."""
    newest = _last_three(chick)[2]
    recent = not pd.isna(chick.last_on) and (on - chick.last_on).days <= 1
    near = (chick.fledging or chick.by == PAST_PEAK) and not chick.eats and recent
    below = 1 - newest / chick.peak_g
    if not near or not (chick.falls >= FALLS or (chick.falls and below > NOT_READY)):
        return []
    return [found("day.falls", level=LOOK, masses=_masses(chick), below=below)]


def _last_three(chick: Any) -> tuple[float, float, float]:
    """The last three weights, the newest last; this morning's is one of them where it is written."""
    if pd.isna(chick.today_g):
        return chick.third_g, chick.before_g, chick.last_g
    return chick.before_g, chick.last_g, chick.today_g
