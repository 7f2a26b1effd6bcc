"""What a design cannot tell apart, by its rank: which levels of two groups only ever come together."""

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.names import NOT_WRITTEN
from analysis.rates.pooled.design import Design, Index, lay_out
from analysis.words import listed

_ALIKE = 1e-8
# Beyond so many columns the rank of all groups together is not worked out, only that of two at a time.
_MOST = 800


def not_told_apart(
    frame: pd.DataFrame, tried: str = "eggs", groups: Sequence[str] = ("pair", "cage")
) -> tuple[str, ...]:
    """Say what clutches cannot tell apart, whatever comes of them: by who was ever with whom.

    Parameters
    ----------
    frame : frame
        A row a clutch: the groups, and how many were tried; a clutch with none tells nothing.
    tried, groups : names of columns, as in `pooled`

    Returns
    -------
    tuple of sentences

    Examples
    --------
    >>> frame = pd.DataFrame({"pair": ["P1", "P2", "P2", "P3"], "cage": ["C1", "C1", "C2", "C9"], "eggs": 4})
    >>> not_told_apart(frame)
    ('Never the one without the other, so pair and cage cannot be told apart here: P3, C9.',)
    """
    known = frame[frame[tried].fillna(0) > 0]
    if known.empty:
        return ()
    none = known.assign(worked=0)
    return tuple(notes_of(lay_out(none, tried, "worked", groups, first=True, lost_apart=False)))


def notes_of(design: Design) -> Iterator[str]:
    """Say what cannot be told apart, a sentence each."""
    tried = design.tried > 0
    for group, names in zip(design.groups, design.names, strict=True):
        if len(names) == 1:
            yield f"All clutches are of one {group} ({names[0]}), so what another {group} would do cannot be told."
        if NOT_WRITTEN in names:
            yield f"Some clutches name no {group}; they count as one of their own."
    several = [at for at, names in enumerate(design.names) if len(names) > 1]
    missing = 0
    for one, other in combinations(several, 2):
        parts = list(_parts(design, one, other, tried))
        missing += len(parts) - 1
        yield from _of_two(design, one, other, parts)
    if len(several) > 2:
        yield from _of_all(design, several, tried, missing)


def _parts(design: Design, one: int, other: int, tried: NDArray[np.bool_]) -> Iterator[tuple[Index, Index]]:
    """Levels of two groups that are linked through shared clutches, set by set.

    The rank of both groups' columns together is the number of levels less the number of sets: within a set all
    differences can be told, between sets none.
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


def _of_two(design: Design, one: int, other: int, parts: list[tuple[Index, Index]]) -> Iterator[str]:
    """Sentences on two groups: sets of levels that only come together, those without clutches left out."""
    parts = [(a, b) for a, b in parts if len(a) and len(b)]
    if len(parts) < 2:
        return
    groups = design.groups[one], design.groups[other]
    if all(len(a) == len(b) == 1 for a, b in parts):
        yield (
            f"Every {groups[0]} has a {groups[1]} of its own, so {groups[0]} and {groups[1]} cannot be told apart at "
            f"all: {_together(design, one, other, parts)}."
        )
        return
    for nested, holder, side in ((groups[0], groups[1], 1), (groups[1], groups[0], 0)):
        if all(len(part[side]) == 1 for part in parts):
            yield (
                f"No {nested} was in more than one {holder}, so how {holder} differ cannot be told from how their "
                f"{nested} differ; within one {holder} each {nested} can be told."
            )
    names = [(_named(design, one, a), _named(design, other, b)) for a, b in parts]
    alone = [(a, b) for a, b in parts if len(a) == len(b) == 1]
    if alone:
        yield (
            f"Never the one without the other, so {groups[0]} and {groups[1]} cannot be told apart here: "
            f"{_together(design, one, other, alone)}."
        )
    if all(len(a) == 1 for a, _ in parts) or all(len(b) == 1 for _, b in parts):
        return
    largest = max(names, key=lambda part: len(part[0]) + len(part[1]))
    for a, b in names:
        if (a, b) != largest and len(a) + len(b) > 2:
            yield (
                f"{listed(a)} were only ever with {listed(b)}, and these with no others: which of these makes them "
                "differ from the rest cannot be told."
            )


def _together(design: Design, one: int, other: int, parts: list[tuple[Index, Index]]) -> str:
    both = ((_named(design, one, a)[0], _named(design, other, b)[0]) for a, b in parts)
    return "; ".join(f"{a}, {b}" if a != b else a for a, b in both)


def _named(design: Design, group: int, levels: Index) -> list[str]:
    return [design.names[group][level] for level in levels]


def _of_all(design: Design, several: list[int], tried: NDArray[np.bool_], missing: int) -> Iterator[str]:
    """What only shows when all groups are taken together: levels that no two of them explain."""
    columns = [np.eye(design.sizes[group])[design.level[group][tried]] for group in several]
    width = sum(part.shape[1] for part in columns)
    if width > _MOST:
        return
    rank = np.linalg.matrix_rank(np.hstack(columns), tol=_ALIKE * max(1, width))
    lost = width - (len(several) - 1) - int(rank)
    if lost > missing:
        groups = listed(design.groups[group] for group in several)
        yield f"Taken together, {groups} are linked so little that not all their differences can be told apart."
