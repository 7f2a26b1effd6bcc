"""A log as text: its headings understood, its cells not yet read."""

from dataclasses import dataclass, field

from analysis.logs.ledger import Place
from analysis.logs.sheets import Cells, Rows


@dataclass(frozen=True)
class RawTable:
    """A block of rows under one line of headings.

    Attributes
    ----------
    log : the log it belongs to
    file, sheet : where it stands; `sheet` is blank for a text file
    headings : plain names of columns where the log knows them, else as written; empty where no row names any
    rows : (row number as the spreadsheet counts, cells as many as were written); blank rows are left out
    written : the headings as the keeper wrote them
    units : by column, the unit its heading names
    grid : "" for a list; else what the headings are: "chicks", "dates" or "ages"
    held_back : rows as in `rows` that are not used, as control characters stood in them
    """

    log: str
    file: str
    sheet: str
    headings: Cells
    rows: Rows
    written: Cells = ()
    units: dict[str, str] = field(default_factory=dict)
    grid: str = ""
    held_back: Rows = ()

    def place(self, number: int, cells: Cells, column: str = "") -> Place:
        """Return where a row, or a cell of a grid, was written, with its raw cells."""
        return Place(self.log, self.file, self.sheet, number, " | ".join(cells), column)

    def heading(self, at: int) -> str:
        """Return the heading of a column, blank beyond the last one."""
        return self.headings[at] if at < len(self.headings) else ""
