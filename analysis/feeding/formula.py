"""How warm formula may be when it is fed, and for how long a mix is used."""

import math
from typing import NamedTuple

# "Feed at 100-105 °F" (38-40.5 °C): Duerr & Gage, Hand-Rearing Birds, 2020, pp. 447, 616; a veterinary weekly: 39-41.
FEED_FROM_C, FEED_TO_C = 38.0, 41.0
# Crop burn above 110 °F (43.3 °C), often from a microwave's hot spots: LafeberVet, pediatric avian medicine.
REFUSE_FROM_C = 43.0
# Thrown away after an hour: Duerr & Gage, table 27.1.
USABLE_MIN = 60
USABLE = "1 hour after mixing"
WINDOW = "38 to 41 °C (101 to 105 °F)"  # both ends rounded into the window
WAIT = "Over 41 °C: wait, stir, measure again. From 43 °C on it burns the crop: refused."
THERMOMETER = "A kitchen thermometer can be off by about 1 °C: check it in ice water, where it reads 0 (practice)."
COLDEST_C = 15.0  # nobody mixes or measures formula so cold: another unit, or another thing (practice)
_FAHRENHEIT = (95.0, 125.0)  # no formula is as hot in °C; read so, it is one in °F
_STIR = f"Stir, since a microwave leaves hot spots, and measure in the middle. {THERMOMETER}"


class Judged(NamedTuple):
    """A temperature judged: word is "feed", "wait", "refuse", "too cool" or "" where nothing can be said."""

    word: str
    sentence: str


def judge_formula(celsius: float) -> Judged:
    """Judge one reading of formula, stirred.

    38 to 41 °C may be fed. Above 41 and below 43 °C it waits, and only a second reading of at most 41 °C permits
    feeding. From 43 °C on it is refused. Below 38 °C it is too cool: refusal and a slow crop follow (Duerr & Gage,
    *Hand-Rearing Birds*, 2020, pp. 617, 619).

    Parameters
    ----------
    celsius : °C; missing or no finite number where nothing was read

    Returns
    -------
    Judged

    Examples
    --------
    >>> judge_formula(39.5).word, judge_formula(42.0).word, judge_formula(43.0).word, judge_formula(36.0).word
    ('feed', 'wait', 'refuse', 'too cool')
    >>> judge_formula(104).sentence
    '104 reads like °F: that is 40.0 °C. Read it again in °C before anything is fed.'
    """
    if not math.isfinite(celsius):
        return Judged("", "No temperature was read. Nothing is fed by feel: read it first.")
    if _FAHRENHEIT[0] <= celsius <= _FAHRENHEIT[1]:
        read = (celsius - 32) / 1.8
        burns = ", which burns a crop" if read >= REFUSE_FROM_C else ""
        said = f"{celsius:g} reads like °F: that is {read:.1f} °C{burns}. Read it again in °C before anything is fed."
        return Judged("", said)
    if celsius < COLDEST_C:
        return Judged("", f"{celsius:.1f} °C: no formula is so cold. Is temperature_unit right in your settings?")
    read = round(celsius, 2)  # judged as it is printed: 105.8 °F, worked out, is a hair off 41
    word, said = _judged(read)
    return Judged(word, f"{read:g} °C: {said} {_STIR}")


def _judged(celsius: float) -> tuple[str, str]:
    if celsius >= REFUSE_FROM_C:
        return "refuse", "refused. It burns the crop. Let it cool, and read it twice before anything is fed."
    if celsius > FEED_TO_C:
        return "wait", f"wait. Feed only when a second reading is {FEED_TO_C:g} °C or less."
    if celsius < FEED_FROM_C:
        return "too cool", (
            "too cool. A chick may refuse it, and its crop is slow to empty. Stand the cup in warm water, and read it "
            "again (practice)."
        )
    return "feed", "in the window."
