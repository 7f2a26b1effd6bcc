"""How warm a brooder is at which age: a range, because published tables differ, and the chick decides."""

import math
from collections.abc import Iterable

# Duerr & Gage, Hand-Rearing Birds, 2020, table 40.1; Digney 1998; Wragg: three tables that differ by up to 3 °C.
# When feathers leave the pin, and when a chick is feathered, differs by species; these days are practice.
_STAGES = (
    (0, 3, 35.0, 36.5, "to day 3"),
    (3, 14, 31.0, 35.0, "to day 14"),
    (14, 28, 28.0, 31.0, "pinfeathers"),
    (28, math.inf, 25.0, 26.0, "feathered"),
)
DECIDES = (
    "Published tables differ by up to 3 °C, and feathers count more than days. "
    "The chick decides: huddled, pale or cool to the touch it is too cold; spread out, red or panting it is too hot."
)
HUMIDITY = "55 to 70 % relative humidity did better than 15 to 35 % (Clipsham 1991, in Duerr & Gage, p. 617)."
_NUMBERS = {2: "two", 3: "three"}


def brooder_range_c(age_d: float) -> tuple[float, float]:
    """Lowest and highest °C for chicks of an age, over the published tables; missing where the age is not known.

    Examples
    --------
    >>> brooder_range_c(1), brooder_range_c(10), brooder_range_c(40)
    ((35.0, 36.5), (31.0, 35.0), (25.0, 26.0))
    """
    found = ((low, high) for since, until, low, high, _ in _STAGES if since <= age_d < until)
    return next(found, (math.nan, math.nan))


def brooders_said(ages_d: Iterable[float]) -> str:
    """Say how warm the brooder is for these chicks, and where one brooder cannot serve all.

    Examples
    --------
    >>> brooders_said([10, 12]).split(". ")[0]
    'To day 14: 31 to 35 °C'
    >>> brooders_said([1, 40]).split(". ")[2]
    'One brooder cannot serve these ages: two brooders, the younger apart from the older'
    """
    ages = list(ages_d)
    stages = [stage for stage in _STAGES if any(stage[0] <= age < stage[1] for age in ages)]
    if not stages:
        return ""
    said = [f"{words[0].upper()}{words[1:]}: {low:g} to {high:g} °C." for _, _, low, high, words in stages]
    ranges = [(low, high) for _, _, low, high, _ in stages]
    needed = _brooders(ranges)
    if needed > 1:
        said.append(
            f"One brooder cannot serve these ages: {_NUMBERS[needed]} brooders, the younger apart from the older."
        )
    elif len(ranges) > 1:
        said.append(f"One brooder for all of them: {ranges[0][0]:g} °C.")
    return " ".join([*said, DECIDES])


def _brooders(ranges: list[tuple[float, float]]) -> int:
    """How many temperatures it takes to stand one in each range; ranges from the warmest on."""
    number, stands = 0, math.inf
    for low, high in ranges:
        if stands > high:
            number, stands = number + 1, low
    return number
