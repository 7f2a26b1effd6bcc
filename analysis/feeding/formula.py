"""How warm formula may be when it is fed, and for how long a mix is used."""

import math
from typing import NamedTuple

from analysis.finding import ACT, LOOK, Finding, Level, found

# "Feed at 100-105 °F" (38-40.5 °C): Duerr & Gage, Hand-Rearing Birds, 2020, pp. 447, 616; a veterinary weekly: 39-41.
FEED_FROM_C, FEED_TO_C = 38.0, 41.0
# Crop burn above 110 °F (43.3 °C), often from a microwave's hot spots: LafeberVet, pediatric avian medicine.
REFUSE_FROM_C = 43.0
# Thrown away after an hour: Duerr & Gage, table 27.1.
_USABLE_H = 1
USABLE_MIN = 60 * _USABLE_H
USABLE = found("feeding.usable", hours=_USABLE_H)
_FROM_F, _TO_F = math.ceil(1.8 * FEED_FROM_C + 32), math.floor(1.8 * FEED_TO_C + 32)  # rounded into the window
WINDOW = found("feeding.window", from_c=FEED_FROM_C, to_c=FEED_TO_C, from_f=_FROM_F, to_f=_TO_F)
WAIT = found("feeding.wait", level=ACT, to_c=FEED_TO_C, refuse_c=REFUSE_FROM_C)
THERMOMETER = found("feeding.check-thermometer")
COLDEST_C = 15.0  # nobody mixes or measures formula so cold: another unit, or another thing (practice)
_FAHRENHEIT = (95.0, 125.0)  # no formula is as hot in °C; read so, it is one in °F
_STIR = found("feeding.stir", thermometer=THERMOMETER)


class Judged(NamedTuple):
    """A temperature judged.

    Parameters
    ----------
    word : "feed", "wait", "refuse", "too cool" or "" where nothing can be said
    brief : what was read and how it is judged
    finding : the same with what to do
    """

    word: str
    brief: Finding
    finding: Finding


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
    >>> from analysis.say import in_words
    >>> in_words(judge_formula(104).finding)
    '104 reads like °F: that is 40.0 °C. Read it again in °C before anything is fed.'
    """
    if not math.isfinite(celsius):
        brief = found("feeding.not-read")
        return Judged("", brief, found("feeding.read-it-first", level=ACT, read=brief))
    if _FAHRENHEIT[0] <= celsius <= _FAHRENHEIT[1]:
        read = (celsius - 32) / 1.8
        brief = found("feeding.like-fahrenheit", read=celsius, celsius=read, burns=read >= REFUSE_FROM_C)
        return Judged("", brief, found("feeding.read-in-celsius", level=ACT, read=brief))
    if celsius < COLDEST_C:
        brief = found("feeding.so-cold", celsius=celsius)
        return Judged("", brief, found("feeding.which-unit", level=LOOK, read=brief))
    read = round(celsius, 2)  # judged as it is printed: 105.8 °F, worked out, is a hair off 41
    word = _word(read)
    name = word.replace(" ", "-")
    brief = found(f"feeding.read-{name}", celsius=read)
    level: Level = LOOK if word == "feed" else ACT
    return Judged(word, brief, found(f"feeding.do-{name}", level=level, read=brief, to_c=FEED_TO_C, stir=_STIR))


def _word(celsius: float) -> str:
    if celsius >= REFUSE_FROM_C:
        return "refuse"
    if celsius > FEED_TO_C:
        return "wait"
    return "too cool" if celsius < FEED_FROM_C else "feed"
