"""What a file holds before anything is understood: sheets of rows of cells as they were written."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from analysis.finding import Words

Cells = tuple[str, ...]
Rows = Sequence[tuple[int, Cells]]


class Exact(str):
    """A number or date that the spreadsheet itself knows, as text: never thousands, never another date order.

    Examples
    --------
    >>> Exact("1.234") == "1.234"
    True
    """

    __slots__ = ()


class Unworked(str):
    """A formula of a workbook that holds no value, as it was written; it is no text of the keeper's.

    Examples
    --------
    >>> Unworked("=B2*10") == "=B2*10"
    True
    """

    __slots__ = ()


@dataclass(frozen=True)
class Sheet:
    """One sheet of a workbook, or one text file.

    `rows` are (row number as the spreadsheet counts, cells without outer blanks); blank rows are left out.
    `how` says how the file was read, for the keeper. `name` is blank for a text file. `marred` are the numbers of
    the rows in which control characters stood; they were dropped.
    `refused` is the rule by which nothing of the sheet was read, or blank.
    """

    file: str
    name: str
    rows: Rows
    how: Words
    marred: frozenset[int] = field(default=frozenset(), repr=False)
    refused: str = field(default="", repr=False)
