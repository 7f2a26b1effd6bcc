"""Parameters as given → assumptions that hold together; a wrong one is named, with what was got."""

import math
from collections.abc import Callable
from dataclasses import fields, replace
from difflib import get_close_matches
from typing import Any

import numpy as np

from analysis.simulate.assumptions import Assumptions
from analysis.simulate.growth import CURVES
from analysis.simulate.species import SPECIES, Species


def assume(**truth: Any) -> Assumptions:
    """Return the defaults with some of them replaced.

    Raises
    ------
    ValueError
        A name that is no parameter (the near ones are listed), or a value it cannot take (says what it got).

    Examples
    --------
    >>> assume(pairs=4).pairs
    4
    >>> assume(pair=4)
    Traceback (most recent call last):
    ...
    ValueError: There is no parameter pair. Did you mean pairs?
    """
    known = {f.name: f for f in fields(Assumptions)}
    for name in truth:
        if name not in known:
            close = get_close_matches(name, known, n=3, cutoff=0.6)
            hint = f" Did you mean {' or '.join(close)}?" if close else f" There are: {', '.join(known)}."
            raise ValueError(f"There is no parameter {name}.{hint}")
    made = replace(Assumptions(), **truth)
    for name, one in known.items():
        _check(name, getattr(made, name), one.metadata["kind"])
    _check_choices(made)
    _check_pairs(made)
    _check_together(made)
    return made


def _number(value: Any) -> bool:
    return not isinstance(value, bool) and math.isfinite(value)


def _numbers(value: Any, count: int) -> bool:
    return len(value) == count and all(_number(x) for x in value)


# by kind: what holds of a value, and how to say so
_KINDS: dict[str, tuple[Callable[[Any], bool], str]] = {
    "count": (lambda v: _number(v) and v == int(v) and v >= 1, "a whole number of at least 1"),
    "share": (lambda v: _number(v) and 0 <= v <= 1, "between 0 and 1"),
    "size": (lambda v: _number(v) and v >= 0, "zero or more"),
    "effect": (_number, "a number"),
    "sds": (lambda v: _numbers(v, 3) and min(v) >= 0, "three numbers of zero or more"),
    "correlation": (lambda v: _numbers(v, 3) and _can_be(*v), "three correlations that can hold together"),
    "shares": (lambda v: _numbers(v, 4) and min(v) >= 0 and sum(v) > 0, "four shares, not all zero"),
    "other": (lambda v: True, ""),
}


def _can_be(ab: float, ac: float, bc: float) -> bool:
    return bool(np.linalg.eigvalsh([[1, ab, ac], [ab, 1, bc], [ac, bc, 1]]).min() > 1e-9)


def _check(name: str, value: Any, kind: str) -> None:
    holds, must = _KINDS[kind]
    try:
        fine = holds(value)
    except (TypeError, ValueError, OverflowError):
        fine = False
    if not fine:
        raise ValueError(f"{name} is {value!r}; it must be {must}.")


def _check_choices(made: Assumptions) -> None:
    choices = {"curve": tuple(CURVES), "weights_as": ("list", "grid"), "eggs_as": ("rows", "counts")}
    for name, allowed in choices.items():
        if getattr(made, name) not in allowed:
            raise ValueError(f"{name} is {getattr(made, name)!r}; it must be one of {', '.join(allowed)}.")


def _check_pairs(made: Assumptions) -> None:
    unknown = [s for s in (*made.species, *(p.species for p in made.plan)) if not _is_known(s)]
    if unknown or not made.species:
        raise ValueError(f"species is {unknown or made.species!r}; known are {', '.join(SPECIES)}, or give a Species.")
    for pair in made.plan:
        if not pair.clutches or min(clutch.eggs for clutch in pair.clutches) < 1:
            raise ValueError(f"The plan gives {pair.pair} no clutch, or a clutch of no eggs; leave it out instead.")
        for name in ("fertile", "hatch", "wean"):
            if getattr(pair, name) is not None:
                _check(f"{name} of {pair.pair}", getattr(pair, name), "share")


def _is_known(species: str | Species) -> bool:
    return isinstance(species, Species) or species in SPECIES


def _check_together(made: Assumptions) -> None:
    for least, most in (("least_clutches", "most_clutches"), ("least_eggs", "most_eggs")):
        if getattr(made, least) > getattr(made, most):
            raise ValueError(f"{least} is {getattr(made, least)}, more than {most}, {getattr(made, most)}.")
    if made.tails <= 2:
        raise ValueError(f"tails is {made.tails}; it must be above 2, or the scatter has no spread.")
    if min(made.fine_g, made.coarse_g) <= 0:
        raise ValueError(f"fine_g is {made.fine_g} and coarse_g is {made.coarse_g}; a scale has a step above 0.")
    if made.day_to_day == 1:
        raise ValueError("day_to_day is 1; it must be below 1, or every day repeats the first.")
