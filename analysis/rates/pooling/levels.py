"""What weighted draws say of every level, and what clutches cannot tell apart."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import Finding, Words, found
from analysis.names import NOT_WRITTEN, name_said
from analysis.rates.pooling.density import (
    NEVER_APART,
    NEVER_LOGIT,
    Model,
    at_nodes,
    inv_logit,
    log_posterior,
    never_log,
    shares_of,
)
from analysis.rates.pooling.design import Array, Design, Index, lay_out
from analysis.rates.pooling.posterior import Draws, at_once
from analysis.rates.pooling.rows import failed_log, rows_log

# Rates are counted on an even line of logits.
FINE = 0.02
LINE = np.arange(-16.0, 16.0 + FINE / 2, FINE)
ENDS = (0.025, 0.975)
_GROUPS = {group: found(f"rates.group-{group}") for group in ("pair", "cage", "place", "kind")}
_MOST = 800  # columns up to which the rank of all groups together is worked out, not only that of two at a time


@dataclass(frozen=True)
class Levels:
    """One group's levels: mean, low, high, below and never, (levels,) each."""

    mean: Array
    low: Array
    high: Array
    below: Array
    never: Array


def first_group(m: Model, draws: Draws, times: Index, rng: np.random.Generator) -> tuple[Levels, Array, Index]:
    """The levels of the group that is integrated over; `times`: as how many even draws each draw is taken.

    Also each lost clutch's chance that it failed whole, and a node of each level in each even draw, (draws, levels).
    """
    levels, nodes = m.design.sizes[0], len(m.u)
    x, sds = draws.x, draws.sds
    counted, never_counted = np.zeros((levels, len(LINE))), np.zeros((levels, len(NEVER_LOGIT)))
    mean, below, failed, chosen = np.zeros(levels), np.zeros(levels), np.zeros(len(m.design.lost)), []
    side = np.where(m.u < 0, 1.0, np.where(m.u == 0, 0.5, 0.0))
    step = at_once(m)
    for begin in range(0, len(x), step):
        part = slice(begin, begin + step)
        eta = x[part, :1] + sds[part, :1] * m.u
        rho = log_posterior(m, x[part], sds[part])[1]
        total = np.cumsum(rho, axis=2).repeat(times[part], axis=0)  # as often as each draw stands for
        chosen.append((total < rng.random(total.shape[:2])[..., None] * total[..., -1:]).sum(axis=2))
        rho = rho * draws.weights[part, None, None]
        own = rho[:, :, :nodes]
        mean += np.einsum("blj,bj->l", own, inv_logit(eta), optimize=True)
        below += np.einsum("blj,j->l", own, side, optimize=True)
        at = np.clip(np.rint((eta - LINE[0]) / FINE), 0, len(LINE) - 1).astype(int).ravel()
        for level in range(levels):
            counted[level] += np.bincount(at, own[:, level].ravel(), len(LINE))
        never_counted += rho[:, :, nodes:].sum(axis=0) if m.options.never else 0.0
        if m.options.failures:
            failed += _failed(m, x[part], sds[part], rho)
    mean += never_counted @ inv_logit(NEVER_LOGIT)
    never = never_counted.sum(axis=1)
    counted += _spread_out(never_counted)
    counted = np.cumsum(counted, axis=1)
    low, high = (inv_logit(np.array([np.interp(at * row[-1], row, LINE + FINE / 2) for row in counted])) for at in ENDS)
    return Levels(mean, low, high, below + never, never), failed, np.concatenate(chosen)


def _failed(m: Model, x: Array, sds: Array, rho: Array) -> Array:
    """Chance of each lost clutch that it failed whole, summed over these draws."""
    d, (q, never, theta) = m.design, shares_of(m, x)
    assert q is not None
    rows = rows_log(d, at_nodes(m, x, sds), q, theta)
    if never is not None:
        rows = np.concatenate([rows, never_log(m, q, len(x))], axis=2)
    return np.asarray(np.sum(rho[:, d.level[0][d.lost]] * np.exp(failed_log(d, rows, q)), axis=(0, 2)))


def _spread_out(never_counted: Array) -> Array:
    """What lies on the nodes of a level that never works, spread evenly between them along the line."""
    spread = np.zeros((len(never_counted), len(LINE)))
    width = round(NEVER_APART / FINE)
    at = np.rint((NEVER_LOGIT - LINE[0]) / FINE).astype(int)
    for away in range(-(width // 2), width - width // 2):
        spread[:, at + away] += never_counted / width
    return spread


def other_group(mu: Array, effects: Array, weights: Array) -> Levels:
    """Another group's levels, from weighted draws of mu (draws,) and of the effects (draws, levels)."""
    rate = inv_logit(mu[:, None] + effects)
    order = np.argsort(rate, axis=0)
    ends = [weighted_ends(rate[order[:, j], j], weights[order[:, j]]) for j in range(rate.shape[1])]
    low, high = np.array(ends).T if ends else (np.array([]), np.array([]))
    return Levels(weights @ rate, low, high, weights @ (effects < 0), np.full(rate.shape[1], np.nan))


def weighted_ends(values: Array, weights: Array) -> Array:
    """Ends of the 95 % interval of weighted values that are in order."""
    middle = np.cumsum(weights) - weights / 2
    return np.asarray(np.interp(np.array(ENDS) * weights.sum(), middle, values))


def not_told_apart(
    frame: pd.DataFrame, tried: str = "eggs", groups: Sequence[str] = ("pair", "cage")
) -> tuple[Finding, ...]:
    """Tell what clutches cannot tell apart, whatever comes of them: by who was ever with whom.

    `frame` has a row a clutch: the groups, and how many were tried; a clutch with none tells nothing.
    """
    known = frame[frame[tried].fillna(0) > 0]
    if known.empty:
        return ()
    none = known.assign(worked=0)
    return tuple(notes_of(lay_out(none, tried, "worked", groups, first=True, lost_apart=False)))


def notes_of(design: Design) -> Iterator[Finding]:
    """Tell what cannot be told apart, one by one."""
    tried = design.tried > 0
    for group, names in zip(design.groups, design.names, strict=True):
        if len(names) == 1:
            yield found("rates.one-level", group=_word(group), name=name_said(names[0]))
        if NOT_WRITTEN in names:
            yield found("rates.unnamed", group=_word(group))
    several = [at for at, names in enumerate(design.names) if len(names) > 1]
    missing = 0
    for one, other in combinations(several, 2):
        parts = list(_parts(design, one, other, tried))
        missing += len(parts) - 1
        yield from _of_two(design, one, other, parts)
    width = sum(design.sizes[group] for group in several)
    if len(several) > 2 and width <= _MOST:  # what only shows in all groups together: levels that no two explain
        columns = [np.eye(design.sizes[group])[design.level[group][tried]] for group in several]
        rank = np.linalg.matrix_rank(np.hstack(columns), tol=1e-8 * max(1, width))
        if width - (len(several) - 1) - int(rank) > missing:
            yield found("rates.hardly-linked", groups=[_word(design.groups[group]) for group in several])


def _word(group: str) -> Words:
    """What a group is called; a column of another's goes by its own name."""
    return _GROUPS.get(group, group)


def _parts(design: Design, one: int, other: int, tried: NDArray[np.bool_]) -> Iterator[tuple[Index, Index]]:
    """Levels of two groups that are linked through shared clutches, set by set.

    Within a set all differences can be told, between sets none: the rank is that of all levels less the sets.
    """
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    a, b = (design.level[group][tried] for group in (one, other))
    sizes = design.sizes[one], design.sizes[other]
    links = coo_array((np.ones(len(a)), (a, b + sizes[0])), shape=(sum(sizes), sum(sizes)))
    count, label = connected_components(links, directed=False)
    for part in range(count):
        mine = np.flatnonzero(label == part)
        yield mine[mine < sizes[0]], mine[mine >= sizes[0]] - sizes[0]


def _of_two(design: Design, one: int, other: int, parts: list[tuple[Index, Index]]) -> Iterator[Finding]:
    """What two groups say: sets of levels that only come together, those without clutches left out."""
    ones, others = ([name_said(name) for name in design.names[group]] for group in (one, other))
    sets = [([ones[at] for at in a], [others[at] for at in b]) for a, b in parts if len(a) and len(b)]
    if len(sets) < 2:
        return
    groups: dict[str, Any] = {"one": _word(design.groups[one]), "other": _word(design.groups[other])}
    alone = [
        found("rates.both", one=a[0], other=b[0]) if a[0] != b[0] else a[0] for a, b in sets if len(a) == len(b) == 1
    ]
    if len(alone) == len(sets):
        yield found("rates.each-its-own", together=alone, **groups)
        return
    for within, holder, side in (("one", "other", 1), ("other", "one", 0)):
        if all(len(part[side]) == 1 for part in sets):
            yield found("rates.within", within=groups[within], holder=groups[holder])
    if alone:
        yield found("rates.never-apart", together=alone, **groups)
    if all(len(a) == 1 for a, _ in sets) or all(len(b) == 1 for _, b in sets):
        return
    largest = max(sets, key=lambda part: len(part[0]) + len(part[1]))
    for a, b in sets:
        if (a, b) != largest and len(a) + len(b) > 2:
            yield found("rates.only-with", ones=a, others=b)
