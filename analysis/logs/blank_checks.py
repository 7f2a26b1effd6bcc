"""What a cell of a blank workbook takes: lists to choose from, days, and bounds with a plain message."""

from collections.abc import Mapping, Sequence
from typing import Any

from analysis.logs.columns import Column

Form = Mapping[str, Sequence[str]]  # log → names of its columns, as they stand in the sheet

CHECKED_TO, OFFERED_TO = 1000, 500  # rows
UNKNOWN, DEFAULT = "where you do not know", "for the default"  # why a cell may stay blank

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
# kind or column → low, high, the rest of "Write …"; wide, against slips of the hand alone (practice)
_BOUNDS = {
    "count": (0, 99, "a whole number from 0 to 99."),
    "days": (0, 400, "a number of days from 0 to 400."),
    "weight": (0.01, 5000, "the number alone, without g or oz. It is over 0 and not over 5000."),
    "percent": (1, 100, "a number from 1 to 100, without the sign: 55 for 55 %."),
    "temperature": (0, 130, "the number of degrees alone, from 0 to 130."),
    "number": (0, 1000, "the number alone, from 0 to 1000."),
    "length_mm": (8, 100, "a number of millimetres from 8 to 100."),
    "breadth_mm": (6, 80, "a number of millimetres from 6 to 80."),
    "hen_oldest_y": (1, 80, "a number of years from 1 to 80."),
    "hen_youngest_y": (0, 30, "a number of years from 0 to 30."),
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


def choice_check(choices: Sequence[str], *, strict: bool = True, blank: str = UNKNOWN) -> Any:
    """Make a list of choices to pick from; of a free one that is too long for a spreadsheet, the first that fit."""
    offered = list(choices)
    while not strict and len(",".join(offered)) + 2 > LONGEST_LIST:
        offered.pop()
    check = list_check(f'"{",".join(offered)}"')
    if strict:
        check.showErrorMessage = True
        check.errorStyle, check.errorTitle = "stop", "Not in the list"
        check.error = f"Choose from the list of this cell, or leave it blank {blank}."
    return check


def list_check(source: str) -> Any:
    """Make a list that offers and refuses nothing; `source` is a range or quoted words."""
    from openpyxl.worksheet.datavalidation import DataValidation

    return DataValidation("list", formula1=source, allow_blank=True, showErrorMessage=False)


def date_check(kind: str = "date", *, old: bool = False, blank: str = UNKNOWN) -> Any:
    """Make the check of a day, or of a day with or without its time; `old` ones may go back to 1950."""
    from openpyxl.worksheet.datavalidation import DataValidation

    year = 1950 if old else 2000
    check = DataValidation("date", formula1=f"DATE({year},1,1)", formula2="DATE(2099,12,31)", allow_blank=True)
    with_time = ", with the time as 2026-04-03 06:30" if kind == "moment" else ""
    check.operator, check.showErrorMessage = "between", True
    check.errorStyle, check.errorTitle = "stop", "Not a date"
    check.error = f"Write the day as 2026-04-03{with_time}. Years from {year} on. Leave it blank {blank}."
    return check


def number_check(low: float, high: float, words: str, *, whole: bool = False, blank: str = UNKNOWN) -> Any:
    """Make the check of a number; one out of bounds may stay where the keeper says so."""
    from openpyxl.worksheet.datavalidation import DataValidation

    check = DataValidation("whole" if whole else "decimal", formula1=f"{low:g}", formula2=f"{high:g}", allow_blank=True)
    check.operator, check.showErrorMessage = "between", True
    check.errorStyle, check.errorTitle = "warning", "Is this right?"
    check.error = f"Write {words} Leave the cell blank {blank}."
    return check


def _offered(column: str, log: str, form: Form) -> str:
    """Return the range that a column's names are offered from, blank where the workbook has none."""
    from openpyxl.utils import get_column_letter

    for sheet, name in _OFFERED.get(column, ()):
        if sheet != log and name in form.get(sheet, ()):
            letter = get_column_letter(form[sheet].index(name) + 1)
            return f"{sheet}!${letter}$2:${letter}${OFFERED_TO}"
    return ""
