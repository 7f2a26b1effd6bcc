"""What clutches cannot tell apart, by who was ever with whom."""

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import Finding, Words, found
from analysis.names import NOT_WRITTEN, name_said
from analysis.rates.pooling.design import Design, Index, lay_out

_GROUPS = {group: found(f"rates.group-{group}") for group in ("pair", "cage", "place", "kind")}
_MOST = 800  # columns up to which the rank of all groups together is worked out, not only that of two at a time


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
