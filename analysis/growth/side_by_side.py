"""Problems whose rows lie end to end, laid side by side in tables, a column each.

A sum over the rows of each problem is then a sum down the columns, and what belongs to a problem broadcasts
along its column: NumPy does both much faster than on rows end to end.
"""

from collections.abc import Iterator

import numpy as np

from analysis.growth.curves import Array

# Numbers in a table: few enough that what is worked out from it stays in cache and needs no new memory from the
# system, and so many that the work is long beside the calls that start it. From half to twice as many is as fast.
TOGETHER = 24_000


def side_by_side(sizes: np.ndarray) -> Iterator[tuple[np.ndarray, np.ndarray, Array | None]]:
    """Lay out problems in tables, the longest first, so that those in a table are of much the same length.

    Parameters
    ----------
    sizes : (problems,), rows of each problem, at least one

    Yields
    ------
    numbers : (columns,), the problems in this table
    place : (rows, columns), which of its problem's rows stands there; the last one fills what a shorter column lacks
    real : (rows, columns), 0 where a row only fills, else 1; None where none does

    Examples
    --------
    >>> for numbers, place, real in side_by_side(np.array([2, 3])):
    ...     print(numbers.tolist(), place.tolist(), real.tolist())
    [1, 0] [[0, 0], [1, 1], [2, 1]] [[1.0, 1.0], [1.0, 1.0], [1.0, 0.0]]
    """
    order, begin = np.argsort(-sizes, kind="stable"), 0
    while begin < len(order):
        longest = sizes[order[begin]]
        numbers = order[begin : begin + max(1, TOGETHER // longest)]
        begin += len(numbers)
        down, size = np.arange(longest)[:, None], sizes[numbers]
        yield numbers, np.minimum(down, size - 1), None if size[-1] == longest else (down < size).astype(float)
