"""A log as a sheet to fill in: headings that explain themselves, formats, and the dress of print."""

from collections.abc import Mapping, Sequence
from typing import Any

from analysis.finding import Finding, found
from analysis.logs.tables import Column, Log, either
from analysis.say import say
from analysis.theme import BLUE, GRID, INK, RULE

Form = Mapping[str, Sequence[str]]  # log → names of its columns, as they stand in the sheet

_LONGEST_LIST = 255  # characters: Excel specifications and limits (from memory)
CHECKED_TO, OFFERED_TO = 1000, 500  # rows
UNKNOWN, DEFAULT = found("blank.not-known"), found("blank.default")  # why a cell may stay blank

# column → where its names stand: the first of these that the workbook has
_OFFERED = {
    **dict.fromkeys(("pair", "incubated_by", "reared_by"), (("pairs", "pair"),)),
    **dict.fromkeys(("chick", "who"), (("hatches", "chick"),)),
    **dict.fromkeys(("cock", "hen", "father", "mother"), (("birds", "bird"),)),
    "egg": (("hatches", "egg"),),
    "cage": (("cages", "cage"),),
    "species": (("species", "species"), ("pairs", "species")),
}
# kind or column → low, high, what to write; wide, against slips of the hand alone (practice)
_BOUNDS = {
    "count": (0, 99, "blank.a-count"),
    "days": (0, 400, "blank.days"),
    "weight": (0.01, 5000, "blank.weight"),
    "percent": (1, 100, "blank.percent"),
    "temperature": (0, 130, "blank.degrees"),
    "number": (0, 1000, "blank.number"),
    "length_mm": (8, 100, "blank.millimetres"),
    "breadth_mm": (6, 80, "blank.millimetres"),
    "hen_oldest_y": (1, 80, "blank.years"),
    "hen_youngest_y": (0, 30, "blank.years"),
}

FONT = "Arial"  # on every computer, or one of the same widths; the typeface of the reports is not
TINT = "#edf2f6"  # the blue of the theme, 7 % of it on white
DAY, MOMENT, TEXT = "yyyy-mm-dd", "yyyy-mm-dd hh:mm", "@"

# Text keeps a ring 0123 and an egg 1-2 as they are written; a spreadsheet alone makes 123 and a date of them.
_FORMATS = {"date": DAY, "moment": MOMENT, "name": TEXT, "text": TEXT, "choice": TEXT}
_SHOWN = {"date": "blank.as-day", "moment": "blank.as-moment", "hour": "blank.as-hour"}
_WIDTHS = {"date": 14, "moment": 21, "hour": 21, "name": 12, "text": 26, "choice": 19}


def check_of(column: Column, log: str, form: Form) -> Any:
    """Make the check of a column's cells; None where anything may be written. Names are an offer."""
    from openpyxl.utils import get_column_letter

    if column.kind == "choice":
        return choice_check(column.choices, strict=not column.free)
    if column.kind in ("date", "moment"):
        return date_check(column.kind, old=not column.in_season)
    bounds = _BOUNDS.get(column.name) or _BOUNDS.get(column.kind)
    if bounds:
        return number_check(*bounds, whole=column.kind == "count")
    for sheet, name in _OFFERED.get(column.name, ()):
        if sheet != log and name in form.get(sheet, ()):
            letter = get_column_letter(form[sheet].index(name) + 1)
            return _list_check(f"{sheet}!${letter}$2:${letter}${OFFERED_TO}")
    return None


def choice_check(choices: Sequence[str], *, strict: bool = True, blank: Finding = UNKNOWN) -> Any:
    """Make a list of choices to pick from; of a free one that is too long for a spreadsheet, the first that fit."""
    offered = list(choices)
    while not strict and len(",".join(offered)) + 2 > _LONGEST_LIST:
        offered.pop()
    check = _list_check(f'"{",".join(offered)}"')
    if strict:
        check.showErrorMessage = True
        check.errorStyle, check.errorTitle = "stop", say("blank.not-listed")
        check.error = say("blank.choose", blank=blank)
    return check


def _list_check(source: str) -> Any:
    """Make a list that offers and refuses nothing; `source` is a range or quoted words."""
    from openpyxl.worksheet.datavalidation import DataValidation

    return DataValidation("list", formula1=source, allow_blank=True, showErrorMessage=False)


def date_check(kind: str = "date", *, old: bool = False, blank: Finding = UNKNOWN) -> Any:
    """Make the check of a day, or of a day with or without its time; `old` ones may go back to 1950."""
    from openpyxl.worksheet.datavalidation import DataValidation

    year = 1950 if old else 2000
    check = DataValidation("date", formula1=f"DATE({year},1,1)", formula2="DATE(2099,12,31)", allow_blank=True)
    check.operator, check.showErrorMessage = "between", True
    check.errorStyle, check.errorTitle = "stop", say("blank.no-date")
    check.error = say("blank.moment" if kind == "moment" else "blank.day", year=year, blank=blank)
    return check


def number_check(low: float, high: float, code: str, *, whole: bool = False, blank: Finding = UNKNOWN) -> Any:
    """Make the check of a number; one out of bounds may stay where the keeper says so."""
    from openpyxl.worksheet.datavalidation import DataValidation

    check = DataValidation("whole" if whole else "decimal", formula1=f"{low:g}", formula2=f"{high:g}", allow_blank=True)
    check.operator, check.showErrorMessage = "between", True
    check.errorStyle, check.errorTitle = "warning", say("blank.is-it-right")
    check.error = say(code, low=low, high=high, blank=blank)
    return check


def add_log(book: Any, log: Log, form: Form) -> Any:
    """Add the sheet of a log as the last: headings, formats and checks, and no row."""
    from openpyxl.comments import Comment

    sheet = book.create_sheet(log.name)
    for at, name in enumerate(form[log.name], start=1):
        column = log.column(name)
        assert column is not None
        needed = any(name in group for group in log.needs)
        as_heading(heading := sheet.cell(1, at, name), BLUE if needed else INK)
        text = _explained(column, log, first=at == 1)
        lines = sum(1 + len(line) // 38 for line in text.split("\n"))
        heading.comment = Comment(text, "season new", width=290, height=24 + 19 * lines)
        _dress(sheet, at, column)
        check = check_of(column, log.name, form)
        if check is not None:
            letter = heading.column_letter
            check.add(f"{letter}2:{letter}{CHECKED_TO}")
            sheet.add_data_validation(check)
    sheet.freeze_panes = "A2"
    for_paper(sheet)
    return sheet


def as_heading(cell: Any, colour: str = INK) -> None:
    """Give a cell the dress of a heading."""
    from openpyxl.styles import Alignment, Border, Font, PatternFill, Side

    cell.font = Font(name=FONT, size=10, bold=True, color=ink(colour))
    cell.fill = PatternFill("solid", fgColor=ink(GRID))
    cell.border = Border(bottom=Side("thin", color=ink(RULE)))
    cell.alignment = Alignment(vertical="center")


def ink(colour: str) -> str:
    """Write a colour of the theme as a workbook has it."""
    return f"FF{colour.lstrip('#').upper()}"


def ruled() -> Any:
    """Make the thin lines around a cell that is to be filled in."""
    from openpyxl.styles import Border, Side

    line = Side("thin", color=ink(RULE))
    return Border(left=line, right=line, top=line, bottom=line)


def for_paper(sheet: Any) -> None:
    """Set a sheet up to be printed: A4 across, one page wide, the headings on each page."""
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.paperSize = 9  # A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0  # as many pages down as it takes
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    sheet.print_title_rows = "1:1"


def _explained(column: Column, log: Log, *, first: bool) -> str:
    """Say what belongs under a heading: what it means, its choices, whether a row can do without."""
    said = [say("blank.row-is", what=log.row_is)] if first else []
    said.append(say("blank.means", meaning=log.meaning(column.name)))
    if column.choices:
        said.append(say("blank.one-of-or-own" if column.free else "blank.one-of", choices=column.choices))
    if column.kind in _SHOWN:
        said.append(say(_SHOWN[column.kind]))
    for group in log.needs:
        others = [name for name in group if name != column.name]
        if column.name in group:
            said.append(say("blank.this-or", others=either(others)) if others else say("blank.in-every-row"))
    return "\n".join(said)


def _dress(sheet: Any, at: int, column: Column) -> None:
    """Give a column its width and its format, which hold for cells that are not there yet."""
    from openpyxl.formatting.rule import Rule
    from openpyxl.styles import Font
    from openpyxl.styles.differential import DifferentialStyle
    from openpyxl.styles.numbers import NumberFormat

    letter = sheet.cell(1, at).column_letter
    whole = sheet.column_dimensions[letter]
    wide = 44 if column.name == "notes" else _WIDTHS.get(column.kind, 10)
    whole.width = max(wide, len(column.name) + 3)
    whole.font = Font(name=FONT, size=10)
    whole.number_format = _FORMATS.get(column.kind, "General")
    if column.kind == "moment":
        # a day without a time is shown as a day, not as its midnight
        day = DifferentialStyle(numFmt=NumberFormat(numFmtId=164, formatCode=DAY))
        rule = Rule(type="expression", dxf=day, formula=[f"AND(ISNUMBER({letter}2),{letter}2=INT({letter}2))"])
        sheet.conditional_formatting.add(f"{letter}2:{letter}{CHECKED_TO}", rule)
