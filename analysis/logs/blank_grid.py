"""A grid of weights to print and to fill in beside the scale: a row a morning, a column a chick."""

from typing import Any

from analysis.logs.blank_checks import Form, check_of, date_check
from analysis.logs.blank_sheets import DAY, FONT, TEXT, TINT, as_heading, for_paper, ink, ruled
from analysis.logs.tables import LOGS
from analysis.say import say
from analysis.theme import BLUE, INK

GRID_SHEET = "weights grid"  # begins with the name of the log that it is read as
CHICKS, MORNINGS, PAGES = 12, 28, 3  # four weeks a page


def add_grid(book: Any, form: Form) -> Any:
    """Add the grid of weights: blank, ruled, set up for A4 across.

    Parameters
    ----------
    book
        The workbook; the sheet becomes its last.
    form
        The logs of the workbook and the columns that each of their sheets has.

    Returns
    -------
    openpyxl Worksheet
        Row 1 has ``date`` and blank cells for the names of the chicks.
    """
    sheet = book.create_sheet(GRID_SHEET)
    _rule(sheet)
    sheet["A1"] = "date"
    sheet.freeze_panes = "B2"
    _add_checks(sheet, form)
    _set_up_page(sheet)
    return sheet


def _rule(sheet: Any) -> None:
    """Draw the lines; every second morning is tinted, so that a hand finds its row."""
    from openpyxl.styles import Alignment, Font, PatternFill

    lines = ruled()
    middle, tint = Alignment(horizontal="center", vertical="center"), PatternFill("solid", fgColor=ink(TINT))
    for row in range(1, 2 + MORNINGS * PAGES):
        sheet.row_dimensions[row].height = 17.25 if row > 1 else 25
        for at in range(1, 2 + CHICKS):
            cell = sheet.cell(row, at)
            if row == 1:
                as_heading(cell, BLUE if at == 1 else INK)
            else:
                cell.font = Font(name=FONT, size=10)
            cell.border, cell.alignment = lines, middle
            cell.number_format = TEXT if row == 1 else DAY if at == 1 else "General"
            if row > 1 and row % 2:
                cell.fill = tint
    sheet.column_dimensions["A"].width = 14
    for at in range(2, 2 + CHICKS):
        sheet.column_dimensions[sheet.cell(1, at).column_letter].width = 10.5


def _add_checks(sheet: Any, form: Form) -> None:
    weight = LOGS["weights"].column("weight")
    chick = LOGS["weights"].column("chick")
    assert weight is not None
    assert chick is not None
    last_column, last_row = sheet.cell(1, 1 + CHICKS).column_letter, 1 + MORNINGS * PAGES
    for check, cells in (
        (date_check(), f"A2:A{last_row}"),
        (check_of(chick, "weights", form), f"B1:{last_column}1"),
        (check_of(weight, "weights", form), f"B2:{last_column}{last_row}"),
    ):
        if check is not None:
            check.add(cells)
            sheet.add_data_validation(check)


def _set_up_page(sheet: Any) -> None:
    for_paper(sheet)
    sheet.print_area = f"A1:{sheet.cell(1, 1 + CHICKS).column_letter}{1 + MORNINGS * PAGES}"
    page = sheet.page_margins
    page.left = page.right = 0.5  # inches
    page.top, page.bottom, page.header, page.footer = 0.7, 0.5, 0.3, 0.25
    sheet.print_options.horizontalCentered = True
    sheet.oddHeader.left.text = say("blank.grid")
    sheet.oddHeader.right.text = say("blank.page")
    sheet.page_setup.firstPageNumber, sheet.page_setup.useFirstPageNumber = 1, True
    sheet.oddFooter.left.text = say("blank.not-weighed")
