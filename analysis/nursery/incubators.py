"""What an incubator out of range asks for, fitted to what was read: the eggs first, then the cause."""

import pandas as pd

from analysis.words import day_words

# 37.2-37.5 °C: Duerr & Gage, Hand-Rearing Birds, 2nd ed., 2020, p. 552.
BEST = "37.2 to 37.5 °C"
OPEN_OVER_C = 39.0  # practice: above it the heat is let out before anything is checked
HEATER_OUT_C = 35.0  # practice: below it a heater is more likely out than a setting too low
# Let the heat out, back to its setting, note the peak and the hours, candle after some days; no cold water, no
# overshoot into cold, no egg thrown away that day: a poultry page on temperature spikes (onestopincubators.com).
_TOO_HOT = (
    f"Open it now, let it cool to {BEST}, no colder, then find out why (thermostat, fan, sun, a hot room). Note how "
    "hot it was and for how long. No cold water, and throw no egg away today: candle them after some days. Then check "
    "the thermometer against a second one."
)
_WARM = "Check the thermometer against a second one, then turn it down a little. Note how long it was warm."
_COOL = (
    "Keep it closed. Check the thermometer against a second one, then turn it up a little. Note how long it was cool."
)
# Stop a fan that blows cold air, close and cover, mend or move, note the hours; heat nothing fast, throw no egg away:
# H. Voren, Power Failures and Incubators (voren.com).
_COLD = (
    "Keep it closed and covered. Where the heater is out, stop the fan from blowing cold, mend it or move the eggs to "
    "one that is warm. Warm them slowly, note the hours, and throw no egg away: candle them after some days."
)


def incubator_said(celsius: float, read_at: pd.Timestamp, on: pd.Timestamp, low_c: float, high_c: float) -> str:
    """What to do about an incubator whose last reading is out of range; blank where it is in range.

    Parameters
    ----------
    celsius, read_at : the last reading, °C, and when it was read
    on : the day
    low_c, high_c : the range, °C; both ends are in it, and over 39 °C nothing is

    Examples
    --------
    >>> day = pd.Timestamp("2026-05-20")
    >>> incubator_said(38.4, day, day, 36.9, 37.8).partition(": ")[0]
    '38.4 °C when last read, 20 May 2026; its range is 36.9 to 37.8 °C'
    >>> incubator_said(37.4, day, day, 36.9, 37.8)
    ''
    """
    hot = celsius > OPEN_OVER_C
    if low_c <= celsius <= high_c and not hot:
        return ""
    since = "" if read_at.normalize() >= on.normalize() else ", not read since: look at it now. If it is as it was"
    limits = "" if hot else f"; its range is {low_c:.1f} to {high_c:.1f} °C"
    todo = _TOO_HOT if hot else _WARM if celsius > high_c else _COOL if celsius >= HEATER_OUT_C else _COLD
    return f"{celsius:.1f} °C when last read, {day_words(read_at)}{limits}{since}: {todo}"
