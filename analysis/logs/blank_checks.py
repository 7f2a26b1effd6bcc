"""What a cell of a blank workbook takes: lists to choose from, days, and bounds with a plain message."""

from collections.abc import Mapping, Sequence
from typing import Any

from analysis.finding import Finding, found
from analysis.logs.columns import Column
from analysis.say import say

Form = Mapping[str, Sequence[str]]  # log → names of its columns, as they stand in the sheet

CHECKED_TO, OFFERED_TO = 1000, 500  # rows
UNKNOWN, DEFAULT = found("blank.not-known"), found("blank.default")  # why a cell may stay blank

# column → where its names stand: the first of these that the workbook has
_OFFERED = {
    "pair": (("pairs", "pair"),),
    "incubated_by": (("pairs", "pair"),),
    "reared_by": (("pairs", "pair"),),
    "chick": (("hatches", "chick"),),
    "who": (("hatches", "chick"),),
    "egg": (("hatches", "egg"),),
    "cage": (("cages", "cage"),),
    "species": (("species", "species"), ("pairs", "species")),
    "cock": (("birds", "bird"),),
    "hen": (("birds", "bird"),),
    "father": (("birds", "bird"),),
    "mother": (("birds", "bird"),),
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


def check_of(column: Column, log: str, form: Form) -> Any:
    """Make the check of a column's cells; None where anything may be written.

    A choice, a date and a moment outside what can be read are refused. A number out of bounds may stay where the
    keeper says so. Names are an offer: any other may be written.
    """
    if column.kind == "choice":
        return choice_check(column.choices, strict=not column.free)
    if column.kind in ("date", "moment"):
        return date_check(column.kind, old=not column.in_season)
    bounds = _BOUNDS.get(column.name) or _BOUNDS.get(column.kind)
    if bounds:
        return number_check(*bounds, whole=column.kind == "count")
    offered = _offered(column.name, log, form)
    return list_check(offered) if offered else None


LONGEST_LIST = 255  # characters: Excel specifications and limits (from memory)


def choice_check(choices: Sequence[str], *, strict: bool = True, blank: Finding = UNKNOWN) -> Any:
    """Make a list of choices to pick from; of a free one that is too long for a spreadsheet, the first that fit."""
    offered = list(choices)
    while not strict and len(",".join(offered)) + 2 > LONGEST_LIST:
        offered.pop()
    check = list_check(f'"{",".join(offered)}"')
    if strict:
        check.showErrorMessage = True
        check.errorStyle, check.errorTitle = "stop", say("blank.not-listed")
        check.error = say("blank.choose", blank=blank)
    return check


def list_check(source: str) -> Any:
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


def _offered(column: str, log: str, form: Form) -> str:
    """Return the range that a column's names are offered from, blank where the workbook has none."""
    from openpyxl.utils import get_column_letter

    for sheet, name in _OFFERED.get(column, ()):
        if sheet != log and name in form.get(sheet, ()):
            letter = get_column_letter(form[sheet].index(name) + 1)
            return f"{sheet}!${letter}$2:${letter}${OFFERED_TO}"
    return ""
