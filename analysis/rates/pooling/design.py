"""Clutches as arrays: counts, and which level of each group every clutch belongs to."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.names import by_name, named

Array = NDArray[np.float64]
Index = NDArray[np.intp]
Short = NDArray[np.float32]


@dataclass(frozen=True)
class Design:
    """Clutches in the order of the group that is integrated over, which comes first.

    Parameters
    ----------
    worked, tried, clutches : (rows,) counts
    groups : names of the groups
    names : of each group its levels, by name
    level : (groups, rows) the number of each row's level
    place : (rows,) where each row stands in the frame; a row that stands for several clutches has one of theirs
    first : (levels of the first group,) where the rows of each begin
    """

    worked: Array
    tried: Array
    clutches: Array
    groups: tuple[str, ...]
    names: tuple[list[str], ...]
    level: Index
    place: Index
    first: Index

    @cached_property
    def of_level(self) -> Array:
        """Return (levels of the first group, rows): 1 where a row belongs to a level."""
        belongs: Array = (self.level[0] == np.arange(len(self.first))[:, None]).astype(float)
        return belongs

    @property
    def sizes(self) -> list[int]:
        """How many levels each group has."""
        return [len(names) for names in self.names]


def lay_out(
    frame: pd.DataFrame, tried: str, worked: str, groups: Sequence[str], *, first: bool, lost_apart: bool
) -> Design:
    """Lay out clutches.

    Parameters
    ----------
    frame, tried, worked, groups : as in `pooled`, checked
    first : whether to integrate over the group named first; else over the one with the most levels
    lost_apart : whether clutches of which nothing worked stay rows of their own; others that are alike are added up
    """
    n, k = (frame[column].to_numpy(float) for column in (tried, worked))
    labels = {group: named(frame[group]).map(str) for group in groups}
    names = {group: by_name(labels[group].unique()) for group in groups}
    lead = groups[0] if first else max(groups, key=lambda group: len(names[group]))
    order = [lead, *(group for group in groups if group != lead)]
    level = np.array([pd.Categorical(labels[group], names[group]).codes for group in order], np.intp)
    # Clutches that are alike in all groups say together what they say apart, those that may have failed whole do not.
    alone = np.where((k == 0) & (n > 0), np.arange(len(n)) + 1, 0) if lost_apart else np.zeros(len(n), int)
    key, at, where = np.unique(np.vstack([level, alone]), axis=1, return_index=True, return_inverse=True)
    n, k, clutches = (np.bincount(where.ravel(), v, len(at)).astype(float) for v in (n, k, n > 0))
    level, place = key[:-1], np.arange(len(frame))[at]
    turn = np.lexsort((k, n, *level[::-1]))  # the order of rows changes no digit
    level, n, k, clutches, place = level[:, turn], n[turn], k[turn], clutches[turn], place[turn]
    begins = np.searchsorted(level[0], np.arange(len(names[lead])))
    return Design(k, n, clutches, tuple(order), tuple(names[group] for group in order), level, place, begins)
