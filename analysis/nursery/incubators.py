"""What an incubator out of range asks for, fitted to what was read: the eggs first, then the cause."""

import pandas as pd

from analysis.finding import Finding, Words, found

OPEN_OVER_C = 39.0  # practice: above it the heat is let out before anything is checked
HEATER_OUT_C = 35.0  # practice: below it a heater is more likely out than a setting too low
# Let the heat out, back to its setting, note the peak and the hours, candle after some days; no cold water, no
# overshoot into cold, no egg thrown away that day: a poultry page on temperature spikes (onestopincubators.com).
# Cooled to 37.2-37.5 °C: Duerr & Gage, Hand-Rearing Birds, 2nd ed., 2020, p. 552.
_TOO_HOT = found("day.let-the-heat-out", from_c=37.2, to_c=37.5)
_WARM, _COOL = found("day.turn-it-down"), found("day.turn-it-up")
# Stop a fan that blows cold air, close and cover, mend or move, note the hours; heat nothing fast, throw no egg away:
# H. Voren, Power Failures and Incubators (voren.com).
_COLD = found("day.keep-it-covered")


def incubator_said(
    place: str, celsius: float, read_at: pd.Timestamp, on: pd.Timestamp, low_c: float, high_c: float, note: Words = ""
) -> Finding | None:
    """What to do about an incubator whose last reading is out of range; None where it is in range.

    Parameters
    ----------
    place : its name
    celsius, read_at : the last reading, °C, and when it was read
    on : the day
    low_c, high_c : the range, °C; both ends are in it, and over 39 °C nothing is
    note : said of the reading at the end

    Examples
    --------
    >>> from analysis.say import in_words
    >>> day = pd.Timestamp("2026-05-20")
    >>> in_words(incubator_said("drawer", 38.4, day, day, 36.9, 37.8)).partition(": ")[0]
    '38.4 °C when last read, 20 May 2026; its range is 36.9 to 37.8 °C'
    >>> incubator_said("drawer", 37.4, day, day, 36.9, 37.8) is None
    True
    """
    hot = celsius > OPEN_OVER_C
    if low_c <= celsius <= high_c and not hot:
        return None
    limits = "" if hot else found("day.range", low_c=low_c, high_c=high_c)
    todo = _TOO_HOT if hot else _WARM if celsius > high_c else _COOL if celsius >= HEATER_OUT_C else _COLD
    read = {"celsius": celsius, "on": read_at, "old": bool(read_at.normalize() < on.normalize())}
    return found("day.incubator-read", about=place, **read, range=limits, asks=[todo, note])
