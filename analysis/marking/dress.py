"""How cells of the marked copy look."""

from typing import Any

from analysis.guard import cell_text, write_text_cell
from analysis.logs.rules import CELL_NOT_USED, LOOK, NOT_USED

_FILLS = {NOT_USED: "FFC7CE", CELL_NOT_USED: "FFD9A8", LOOK: "FFF2B3"}  # worst first; black text is easy to read on all


def write_bold(cell: Any, text: str) -> None:
    """Write text in bold."""
    from openpyxl.styles import Font

    write_text_cell(cell, text)
    cell.font = Font(bold=True)


def write_wrapped(cell: Any, text: str) -> None:
    """Write text that takes as many lines as it needs."""
    from openpyxl.styles import Alignment

    write_text_cell(cell, text)
    cell.alignment = Alignment(wrap_text=True, vertical="top")


def fill(severities: list[str]) -> Any:
    """Return the colour of the worst."""
    from openpyxl.styles import PatternFill

    return PatternFill("solid", fgColor=next(colour for severity, colour in _FILLS.items() if severity in severities))


def comment(text: str) -> Any:
    """Return a comment in a box that is large enough for it."""
    from openpyxl.comments import Comment

    lines = sum(1 + len(line) // 45 for line in text.splitlines())
    return Comment(cell_text(text), "season check", height=20 + 18 * lines, width=320)
