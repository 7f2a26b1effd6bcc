"""A blank workbook to fill in, made from the log definitions: a sheet a log, and a grid of weights to print."""

from pathlib import Path
from typing import Any

from analysis.disk import book_bytes, plain_words, put_new
from analysis.logs.blank_checks import DEFAULT, Form, choice_check, date_check, number_check
from analysis.logs.blank_grid import add_grid
from analysis.logs.blank_sheets import DAY, FONT, TINT, add_log, for_paper, ink, ruled
from analysis.logs.settings import SETTINGS, Setting
from analysis.logs.tables import LOGS, SMALL_FORM
from analysis.logs.understand import GUIDE_SHEET
from analysis.say import in_words, say
from analysis.theme import BLUE, INK, MUTED

BOOK = "season.xlsx"
_KINDS = (".xlsx", ".xlsm", ".xls", ".ods")

_REASON_WIDE = 96
_GUIDE = (
    "blank.guide-1",
    "blank.guide-2",
    "blank.guide-3",
    "blank.guide-4",
    "blank.guide-5",
    "blank.guide-6",
    "blank.guide-7",
    "blank.guide-8",
    "blank.guide-9",
    "blank.guide-10",
)


def write_blank_workbook(folder: Path, *, every: bool = False) -> list[Path]:
    """Write one blank workbook, ``season.xlsx``, with a sheet a log and a grid of weights to print.

    Parameters
    ----------
    folder
        Where to; made if it is not there.
    every
        Every log with every column; otherwise the small form of five logs.

    Returns
    -------
    list of Path
        The file written; empty where the folder has such a workbook already (``.ods`` too), which is never touched.

    Raises
    ------
    SeasonError
        The folder cannot be made or written to.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     [path.name for path in write_blank_workbook(Path(folder))], write_blank_workbook(Path(folder))
    (['season.xlsx'], [])
    """
    path = folder / BOOK
    with plain_words("blank-workbook", folder):
        if any(found.suffix.casefold() in _KINDS for found in folder.glob("season.*")):
            return []
        put_new({path: book_bytes(blank_book(every=every), folder)})
    return [path]


def blank_book(*, every: bool = False) -> Any:
    """Make the workbook.

    Parameters
    ----------
    every
        Every log with every column; otherwise the small form of five logs.

    Returns
    -------
    openpyxl Workbook
        The guide, a sheet a log, and the grid of weights.
    """
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book: Any = Workbook()
    # widths are counted in the digits of this style, which openpyxl lets nobody set in another way
    book._named_styles["Normal"].font = Font(name=FONT, size=10)
    book.properties.creator, book.properties.title = "season new", say("blank.title")
    form: Form = {
        name: [c.name for c in LOGS[name].columns if every or c.small] for name in (LOGS if every else SMALL_FORM)
    }
    _write_guide(book.worksheets[0])
    for name in form:
        sheet = add_log(book, LOGS[name], form)
        if name == "settings":
            _fill_settings(sheet)
    add_grid(book, form)
    return book


def _write_guide(sheet: Any) -> None:
    """Write the page that says how to use the others."""
    from openpyxl.styles import Font

    sheet.title = GUIDE_SHEET
    sheet["A1"], sheet["A1"].font = say("blank.title"), Font(name=FONT, size=18, bold=True, color=ink(BLUE))
    sheet.row_dimensions[1].height = 32
    for row, code in enumerate(_GUIDE, start=3):
        sheet.cell(row, 1, say(code)).font = Font(name=FONT, size=12, color=ink(INK))
        sheet.row_dimensions[row].height = 24
    sheet.column_dimensions["A"].width = 118
    sheet.sheet_view.showGridLines = False
    for_paper(sheet)


def _fill_settings(sheet: Any) -> None:
    """Write a row a setting; the value is left to the keeper."""
    from openpyxl.styles import Alignment, Font

    places = {heading.value: heading.column for heading in sheet[1]}
    for row, setting in enumerate(SETTINGS.values(), start=2):
        reason = in_words(setting.reason)
        written = {"setting": setting.name, "default": _as_number(setting.default), "reason": reason}
        for name, at in places.items():
            cell = sheet.cell(row, at, written.get(name))
            cell.font = Font(name=FONT, size=10, color=ink(INK if name in ("setting", "value") else MUTED))
            cell.alignment = Alignment(horizontal="left", vertical="top", indent=1, wrap_text=name == "reason")
        _to_fill_in(sheet.cell(row, places["value"]), setting)
        sheet.row_dimensions[row].height = 15 * (1 + len(reason) * 5 // (6 * _REASON_WIDE))
    for name, width in (("setting", 20), ("value", 24), ("default", 12), ("reason", _REASON_WIDE)):
        sheet.column_dimensions[sheet.cell(1, places[name]).column_letter].width = width


def _to_fill_in(cell: Any, setting: Setting) -> None:
    """Make the cell of a setting's value: light, with a list or bounds where the setting has them."""
    from openpyxl.styles import PatternFill

    cell.fill, cell.number_format = PatternFill("solid", fgColor=ink(TINT)), "General"
    cell.border = ruled()
    check = None
    if setting.choices:
        check = choice_check(setting.choices, blank=DEFAULT)
    elif setting.kind == "date":
        check, cell.number_format = date_check(blank=DEFAULT), DAY
    elif setting.kind == "number":
        check = number_check(setting.low, setting.high, "blank.from-to", blank=DEFAULT)
    if check is not None:
        check.add(cell.coordinate)
        cell.parent.add_data_validation(check)


def _as_number(text: str) -> str | float | None:
    """Return a number as a number, which the spreadsheet then writes as its keeper is used to."""
    try:
        return float(text)
    except ValueError:
        return text or None
