"""Clutches laid out as arrays, in the order of the group that is integrated over, and what the model is asked."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.names import by_name, named

Array = NDArray[np.float64]
Index = NDArray[np.intp]

_SHIFT = 2  # factors of a broken trial that are written out, before the rest is taken as one power


@dataclass(frozen=True)
class Options:
    """What the model has, as `pooled` was asked: `never`, `failures` and `scatter` say which mixtures are on.

    mu ~ Normal(centre, spread²); the share of clutches that fail whole ~ Beta(1, failing).
    """

    never: bool
    failures: bool
    scatter: bool
    centre: float
    spread: float
    failing: float


@dataclass(frozen=True)
class Factors:
    """Factors (p + at theta)^power of the likelihood of some rows: `rows`, `power` and `at` (rows,)."""

    rows: Index
    power: Array
    at: Array


@dataclass(frozen=True)
class Scattered:
    """Beta-binomial clutches as products of factors: `up` of p, `down` of 1 - p, and `whole` of 1, which divide.

    With theta = rho / (1 - rho), k of n at p has the chance, without its binomial coefficient, of the product of
    p + i theta, i < k, and 1 - p + i theta, i < n - k, over that of 1 + i theta, i < n: clutches share factors.
    """

    up: tuple[Factors, ...]
    down: tuple[Factors, ...]
    whole: tuple[Factors, ...]


@dataclass(frozen=True)
class Design:
    """Clutches in the order of the group that is integrated over, which comes first.

    `worked`, `tried`: with what is under way, as so much of a trial that worked. `clutches`: how many of them a row is,
    for whole failures. `lost`: the rows of which nothing worked, and `unlike` how far what is under way speaks against
    each having failed whole, as a log chance. `names` has each group's levels, `level` (groups, rows) the number of
    each row's. `place`: where each row stands in the frame, one of theirs if it stands for several clutches. `first`:
    where each level of the first group begins. `scattered`: the same clutches, one by one, for a scatter between them.
    """

    worked: Array
    tried: Array
    clutches: Array
    lost: Index
    unlike: Array
    groups: tuple[str, ...]
    names: tuple[list[str], ...]
    level: Index
    place: Index
    first: Index
    scattered: Scattered | None

    @cached_property
    def of_level(self) -> Array:
        """Return (levels of the first group, rows): 1 where a row belongs to a level."""
        return np.asarray(self.level[0] == np.arange(len(self.first))[:, None], float)

    @property
    def sizes(self) -> list[int]:
        """How many levels each group has."""
        return [len(names) for names in self.names]


def lay_out(
    frame: pd.DataFrame,
    tried: str,
    worked: str,
    groups: Sequence[str],
    pending: str | None = None,
    *,
    first: bool,
    lost_apart: bool,
    scatter: bool = False,
) -> Design:
    """Lay out clutches, the arguments as in `pooled`; those of the same levels are added up.

    `first`: integrate over the group named first, else over the one with the most levels. `lost_apart`: clutches of
    which nothing worked stay rows of their own, since each may have failed whole; so do, with `scatter`, those with
    a broken number under way.
    """
    n, k = (frame[column].to_numpy(float) for column in (tried, worked))
    under_way = frame[pending].to_numpy(float) if pending else np.zeros(len(n))
    names, level = _levels_of(frame, groups, first=first)
    failed = lost_apart & (k == 0) & (n > 0) & (under_way < 1)  # so far; what is under way may follow
    alone = np.where(failed | (scatter & (under_way % 1 > 0)), np.arange(len(n)) + 1, 0)
    key, at, where = np.unique(np.vstack([level, alone]), axis=1, return_index=True, return_inverse=True)
    turn_in = np.lexsort((under_way, k, n))  # sums of broken numbers depend on their order
    counts = (n + under_way, k + under_way, np.minimum(n + under_way, 1))
    tried_of, worked_of, clutches = (
        np.bincount(where.ravel()[turn_in], v[turn_in], len(at)).astype(float) for v in counts
    )
    level = key[:-1]
    turn = np.lexsort((worked_of, tried_of, *level[::-1]))  # the order of rows changes no digit
    lost = np.flatnonzero(failed[at[turn]])
    return Design(
        worked=worked_of[turn],
        tried=tried_of[turn],
        clutches=clutches[turn],
        lost=lost,
        unlike=np.log1p(-under_way[at[turn][lost]]),
        groups=tuple(names),
        names=tuple(names.values()),
        level=level[:, turn],
        place=at[turn],
        first=np.searchsorted(level[0, turn], np.arange(level[0].max() + 1)),
        scattered=_scattered(n, k, under_way, np.argsort(turn)[where.ravel()]) if scatter else None,
    )


def _levels_of(frame: pd.DataFrame, groups: Sequence[str], *, first: bool) -> tuple[dict[str, list[str]], Index]:
    """Names of each group's levels, the group that is integrated over first, and the number of each clutch's."""
    labels = {group: named(frame[group]).map(str) for group in groups}
    names = {group: by_name(labels[group].unique()) for group in groups}
    lead = groups[0] if first else max(groups, key=lambda group: len(names[group]))
    names = {group: names[group] for group in (lead, *(group for group in groups if group != lead))}
    return names, np.array([pd.Categorical(labels[group], of).codes for group, of in names.items()], np.intp)


def _scattered(n: Array, k: Array, under_way: Array, row: Index) -> Scattered:
    """Factors of clutches of which each belongs to a row; what is under way is so many more that worked."""
    ended, broken = np.floor(under_way), under_way % 1
    up, down, whole = k + ended, n - k, n + ended
    apart = np.flatnonzero(broken > 0)
    apart = apart[np.argsort(row[apart])]
    return Scattered(
        up=(*_steps(up, row), *_broken(up[apart], broken[apart], row[apart])),
        down=_steps(down, row),
        whole=(*_steps(whole, row), *_broken(whole[apart], broken[apart], row[apart])),
    )


def _steps(counts: Array, row: Index) -> tuple[Factors, ...]:
    """Factors at 0, 1, … below each count."""
    found = []
    for at in range(int(counts.max(initial=0))):
        rows, power = np.unique(row[counts > at], return_counts=True)
        found.append(Factors(rows, power.astype(float), np.full(len(rows), float(at))))
    return tuple(found)


def _broken(counts: Array, more: Array, row: Index) -> tuple[Factors, ...]:
    """Factors of a part of a trial more, Gamma(x + more) / Gamma(x): some written out, then one power.

    By Gamma(y + f) / Gamma(y) near (y + (f - 1) / 2)^f, true to 0.5 % where y is 2 or more and exact at f = 0 and 1.
    """
    if not len(row):
        return ()
    one = np.ones(len(row))
    found = [Factors(row, sign * one, counts + at + off) for at in range(_SHIFT) for sign, off in ((1, 0), (-1, more))]
    return (*found, Factors(row, more, counts + _SHIFT + (more - 1) / 2))
