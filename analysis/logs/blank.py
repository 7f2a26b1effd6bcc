"""Blank logs to fill in, made from the log definitions: a file a log, or a workbook with a grid to print."""

import csv
import os
from io import StringIO
from pathlib import Path
from typing import Any

from analysis.disk import book_bytes, plain_words, put_new
from analysis.finding import Words, found
from analysis.guard import guarded
from analysis.logs.blank_sheets import (
    DAY,
    DEFAULT,
    FONT,
    TEXT,
    TINT,
    Form,
    add_log,
    as_heading,
    check_of,
    choice_check,
    date_check,
    for_paper,
    ink,
    number_check,
    ruled,
)
from analysis.logs.settings import SETTINGS, Setting
from analysis.logs.tables import LOGS, SMALL_FORM, Log, either
from analysis.logs.understand import GUIDE_SHEET
from analysis.say import in_words, say
from analysis.theme import BLUE, INK, MUTED

GUIDE = "how_to_fill_in.md"
BOOK = "season.xlsx"
GRID_SHEET = "weights grid"  # begins with the name of the log that it is read as
CHICKS, MORNINGS, PAGES = 12, 28, 3  # four weeks a page
_HOW_TO = ("blank.how-to-1", "blank.how-to-2", "blank.how-to-3")
_GUIDE = tuple(f"blank.guide-{line}" for line in range(1, 11))
_KINDS = (".xlsx", ".xlsm", ".xls", ".ods")
_REASON_WIDE = 96


def write_blank_logs(folder: Path, *, every: bool = False, season: str = "") -> list[Path]:
    """Write blank logs and a page that says what each column means; return the files written.

    All are written, or none where there is an error (`SeasonError`). A file that is there already is never touched.
    `every` is every log with every column; otherwise the small form of five logs. `season` is written into settings.
    """
    logs = [(LOGS[name], columns) for name, columns in _form(every).items()]
    files = {folder / f"{log.name}.csv": _blank(log, columns, season) for log, columns in logs}
    with plain_words("blank-logs", folder):
        missing = {path: text for path, text in files.items() if not any(folder.glob(f"{path.stem}.*"))}
        if not os.path.lexists(folder / GUIDE):
            missing[folder / GUIDE] = _guide_page(logs).encode()
        put_new(missing)
    return list(missing)


def _form(every: bool) -> dict[str, list[str]]:
    names = LOGS if every else SMALL_FORM
    return {name: [c.name for c in LOGS[name].columns if every or c.small] for name in names}


def _blank(log: Log, columns: list[str], season: str) -> bytes:
    rows = [columns]
    if log.name == "settings":
        value = {"season": season}
        rows += [[s.name, value.get(s.name, ""), s.default, in_words(s.reason)] for s in SETTINGS.values()]
    # a mark at the start of the file is what makes spreadsheets read it as UTF-8
    text = StringIO(newline="")
    csv.writer(text).writerows([guarded(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")


def _guide_page(logs: list[tuple[Log, list[str]]]) -> str:
    lines = [f"# {say('blank.how-to')}", "", *map(say, _HOW_TO)]
    for log, columns in logs:
        lines += ["", f"## {log.name}", "", say("blank.row-is", what=log.row_is), ""]
        lines += [f"| {say('blank.column')} | {say('blank.what-to-write')} |", "|---|---|"]
        for column in [column for column in log.columns if column.name in columns]:
            choices = found("blank.choices", choices=column.choices) if column.choices else ""
            written = say("blank.write", meaning=log.meaning(column.name), choices=choices)
            lines.append(f"| {in_words(_named(column.name, log))} | {written} |")
    return "\n".join(lines) + "\n"


def _named(name: str, log: Log) -> Words:
    groups = [group for group in log.needs if name in group]
    others = [other for group in groups for other in group if other != name]
    if others:
        return found("blank.needed-this-or", name=name, others=either(others))
    return found("blank.needed", name=name) if groups else name


def _add_grid(book: Any, form: Form) -> None:
    """Add the grid of weights as the last sheet: blank, ruled, set up for A4 across."""
    sheet = book.create_sheet(GRID_SHEET)
    _rule(sheet)
    sheet["A1"] = "date"
    sheet.freeze_panes = "B2"
    _add_checks(sheet, form)
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
    chick, _, weight, *_ = LOGS["weights"].columns
    last_column, last_row = sheet.cell(1, 1 + CHICKS).column_letter, 1 + MORNINGS * PAGES
    for check, cells in (
        (date_check(), f"A2:A{last_row}"),
        (check_of(chick, "weights", form), f"B1:{last_column}1"),
        (check_of(weight, "weights", form), f"B2:{last_column}{last_row}"),
    ):
        if check is not None:
            check.add(cells)
            sheet.add_data_validation(check)


def write_blank_workbook(folder: Path, *, every: bool = False, season: str = "") -> list[Path]:
    """Write one blank workbook, ``season.xlsx``, with a sheet a log and a grid of weights to print.

    Empty where the folder has such a workbook already (``.ods`` too), which is never touched. `every` is every log with
    every column; otherwise the small form of five logs. `season` is written into settings. Raises `SeasonError` where
    the folder cannot be written to.
    """
    path = folder / BOOK
    with plain_words("blank-workbook", folder):
        if any(found.suffix.casefold() in _KINDS for found in folder.glob("season.*")):
            return []
        put_new({path: book_bytes(_blank_book(every=every, season=season), folder)})
    return [path]


def _blank_book(*, every: bool = False, season: str = "") -> Any:
    """Make the workbook: the guide, a sheet a log, and the grid of weights."""
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book: Any = Workbook()
    # widths are counted in the digits of this style, which openpyxl lets nobody set in another way
    book._named_styles["Normal"].font = Font(name=FONT, size=10)
    book.properties.creator, book.properties.title = "season new", say("blank.title")
    form = _form(every)
    _write_guide(book.worksheets[0])
    for name in form:
        sheet = add_log(book, LOGS[name], form)
        if name == "settings":
            _fill_settings(sheet, season)
    _add_grid(book, form)
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


def _fill_settings(sheet: Any, season: str) -> None:
    """Write a row a setting; all values but that of the season are left to the keeper."""
    from openpyxl.styles import Alignment, Font

    places = {heading.value: heading.column for heading in sheet[1]}
    for row, setting in enumerate(SETTINGS.values(), start=2):
        reason, default = in_words(setting.reason), setting.default
        # a number, which the spreadsheet then writes as its keeper is used to
        number = float(default) if default.replace(".", "", 1).isdecimal() else default or None
        year = int(season) if season.isdecimal() else season
        written = {"setting": setting.name, "default": number, "reason": reason}
        written |= {"value": year} if setting.name == "season" and season else {}
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
