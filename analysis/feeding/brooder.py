"""How warm a brooder is for which chick: by its feathers where they are written, else by what its kind is like."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce

from analysis.finding import ACT, Finding, Words, found

# Duerr & Gage, Hand-Rearing Birds, 2020, table 40.1; Digney 1998; Wragg: three tables that differ by up to 3 °C.
_RANGES_C = {"hatchling": (35.0, 36.5), "down": (31.0, 35.0), "pins": (28.0, 31.0), "feathered": (25.0, 26.0)}
_HATCHLING_D = 3  # the same tables: hatch to day 3
# Days between which pins break, and by which a chick is feathered, where its kind's are not known: from the smallest
# finches to the largest parrots (from memory).
PINS_D, FEATHERED_D = (5.0, 21.0), (14.0, 90.0)
TABLES_DIFFER_C = 3.0  # so far below its range a place is cold in every table; above it there is no such margin
FAR_OVER_C = 2.0  # so far above, chicks come out before anything else is done (practice)
DECIDES = found("feeding.chick-decides")
HUMIDITY = found("feeding.humidity")  # Clipsham 1991, in Duerr & Gage, p. 617
# "Brooder too hot", "too cold": Duerr & Gage, pp. 618-619.
TOO_HOT = found("feeding.too-hot", level=ACT)
TURN_DOWN = found("feeding.turn-down", level=ACT)
TOO_COLD = found("feeding.too-cold", level=ACT)


@dataclass(frozen=True)
class Need:
    """How warm a chick wants it, °C, and the stages that its feathers may be at."""

    chick: str
    low_c: float
    high_c: float
    stages: tuple[str, ...]

    @property
    def least_c(self) -> float:
        """The least that it may want: of the youngest stage that it may be at, since a chilled chick dies unheard."""
        return _RANGES_C[self.stages[0]][0]

    @property
    def called(self) -> Finding:
        """The stages that it may be at."""
        stages = [found(f"feeding.stage-{stage}") for stage in self.stages]
        return reduce(lambda one, other: found("feeding.or", one=one, other=other), stages)

    @property
    def said(self) -> Finding:
        """The chick with its range and stage, as a page has it."""
        return found("feeding.need", chick=self.chick, stages=self.called, low_c=self.low_c, high_c=self.high_c)


def brooder_need(
    chick: str,
    age_d: float,
    *,
    sure_to_days: float = 0.0,
    stage: str = "",
    pins_d: tuple[float, float] = PINS_D,
    feathered_d: tuple[float, float] = FEATHERED_D,
) -> Need:
    """Say how warm a chick wants it.

    Parameters
    ----------
    chick : its name
    age_d : days; missing where it is not known
    sure_to_days : days by which the age may be wrong
    stage : what was seen last of its feathers, "down", "pins" or "feathered"; "" where nobody wrote it
    pins_d : days between which pins break in its kind; by default those of any kind
    feathered_d : days between which it is feathered

    Returns
    -------
    Need, over every stage that it may be at

    Source: Duerr & Gage, *Hand-Rearing Birds*, 2020, table 40.1; Digney 1998; Wragg.

    Examples
    --------
    >>> from analysis.say import in_words
    >>> in_words(brooder_need("K1", 31, pins_d=(14, 21), feathered_d=(70, 80)).said)
    'K1 (pinfeathers: 28 to 31 °C)'
    >>> in_words(brooder_need("K1", 31, stage="feathered").said)
    'K1 (feathered: 25 to 26 °C)'
    >>> brooder_need("K1", 31).stages
    ('pins', 'feathered')
    """
    stages = _stages(age_d, sure_to_days, stage, pins_d, feathered_d)
    ranges = [_RANGES_C[one] for one in stages]
    return Need(chick, min(low for low, _ in ranges), max(high for _, high in ranges), stages)


def _stages(
    age_d: float, sure_to_days: float, stage: str, pins_d: tuple[float, float], feathered_d: tuple[float, float]
) -> tuple[str, ...]:
    if stage in ("pins", "feathered"):
        return (stage,)
    spread = 0.0 if math.isnan(sure_to_days) else abs(sure_to_days)
    youngest, oldest = (0.0, math.inf) if math.isnan(age_d) else (max(age_d - spread, 0.0), age_d + spread)
    hatchling, down = youngest < _HATCHLING_D, oldest >= _HATCHLING_D and (youngest < pins_d[1] or stage == "down")
    pins = oldest >= pins_d[0] and youngest < feathered_d[1] and stage != "down"
    feathered = oldest >= feathered_d[0] and stage != "down"
    held = {"hatchling": hatchling, "down": down, "pins": pins, "feathered": feathered}
    return tuple(one for one, holds in held.items() if holds)


def too_warm(celsius: float, needs: Iterable[Need]) -> list[Need]:
    """Return whom a place is too warm for: above the range of any stage that a chick may be at, by however little.

    Examples
    --------
    >>> hatchling, older = brooder_need("K1", 1), brooder_need("K2", 31, stage="feathered")
    >>> [one.chick for one in too_warm(36.0, [hatchling, older])]
    ['K2']
    """
    return [need for need in needs if celsius > need.high_c]


def too_cold(celsius: float, needs: Iterable[Need]) -> list[Need]:
    """Return whom a place is too cold for in every published table, at the youngest stage that it may be at."""
    return [need for need in needs if celsius < need.least_c - TABLES_DIFFER_C]


def brooders_said(needs: Sequence[Need]) -> Words:
    """Say how warm the brooder is for these chicks, and where one brooder cannot serve all; blank where nobody is.

    Examples
    --------
    >>> from analysis.say import in_words
    >>> in_words(brooders_said([brooder_need("K1", 10), brooder_need("K2", 1)])).split(". ")[0]
    'K2 (to day 3): 35 to 36.5 °C; K1 (in down or pinfeathers): 28 to 35 °C'
    >>> brooders_said([brooder_need("K1", 1), brooder_need("K2", 40, stage="feathered")]).facts["how_many"].code
    'feeding.brooders-apart'
    """
    if not needs:
        return ""
    groups: dict[tuple[float, float, tuple[str, ...]], list[Need]] = {}
    for need in sorted(needs, key=lambda one: (-one.low_c, -one.high_c)):
        groups.setdefault((need.low_c, need.high_c, need.stages), []).append(need)
    wants = [
        found("feeding.want", chicks=[one.chick for one in own], stages=own[0].called, low_c=low, high_c=high)
        for (low, high, _), own in groups.items()
    ]
    how_many = _how_many([_RANGES_C[need.stages[0]] for need in needs])
    return found("feeding.brooders", wants=wants, how_many=how_many, decides=DECIDES)


def _how_many(ranges: list[tuple[float, float]]) -> Words:
    """Whether one temperature serves all, by the youngest stage that each may be at."""
    number, stands, ranges = 0, math.inf, sorted(set(ranges), reverse=True)
    for low, high in ranges:
        if stands > high:
            number, stands = number + 1, low
    if number > 1:
        return found("feeding.brooders-apart", brooders=found(f"feeding.number-{number}"))
    return found("feeding.one-brooder", celsius=ranges[0][0]) if len(ranges) > 1 else ""
