"""Text that stays text: no cell of ours becomes a formula in a spreadsheet, no letter a command to a terminal."""

import re
from typing import Any

from analysis.say import say

LONGEST_CELL = 32_767  # UTF-16 units; "Total number of characters that a cell can contain", Excel's specifications
_SIGNS = "[=+@＝＋－＠﹦﹢﹣﹫-]"  # the wide ones too: an East Asian spreadsheet takes them for the narrow ones
_UNSEEN = r"[\s\x00-\x1f\x7f-\x9f\u061c\u200b-\u200f\u202a-\u202e\u2060-\u2069\ufeff]"
_FORMULA = re.compile(rf"[\t\r\n]|{_UNSEEN}*{_SIGNS}")
_FORMULA_INSIDE = re.compile(rf'[;\t|\r\n](?:{_UNSEEN}|")*(?={_SIGNS})')
_NUMBER = re.compile(r" *(?:[+-](\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?|[+-]) *")
# what no XML file, and so no workbook, can hold: control characters, halves of characters, two that are none
_NO_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
# controls, C1 and DEL; what turns the direction of writing; what ends a line; halves of characters
UNSEEN_ON_SCREEN = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")


def guarded(text: str) -> str:
    """Text for a cell of a CSV file that no spreadsheet takes for a formula.

    A text that begins with = + - @ (also wide, also behind blanks), tab, carriage return or line feed gets a leading
    apostrophe. Signed numbers such as -3.5 or +2, and a sign that stands alone, are no formulas and stay as they are.
    Within the text, = + - @ behind a semicolon, tab, bar or line end get one as well: where the spreadsheet parts
    cells there, quotes around the whole text do not help. Quotes and separators are left to the writer of the file.

    The characters and the apostrophe: OWASP, "CSV Injection", https://owasp.org/www-community/attacks/CSV_Injection.
    That signed numbers may stay is our own choice, so that a number is still a number to who opens the file.

    Examples
    --------
    >>> guarded("=1+1"), guarded("-2+3"), guarded("-3.5"), guarded("K1;=1+1")
    ("'=1+1", "'-2+3", '-3.5', "K1;'=1+1")
    """
    inside = _FORMULA_INSIDE.sub(r"\g<0>'", text)
    return "'" + inside if _is_formula(text) else inside


def _is_formula(text: str) -> bool:
    return bool(_FORMULA.match(text)) and not _NUMBER.fullmatch(text)


def cell_text(text: str) -> str:
    """Text that a cell of a workbook can hold: U+FFFD for what XML cannot, and cut with a mark if it is too long."""
    text = _NO_XML.sub("\ufffd", text)
    if len(text.encode("utf-16-le")) <= 2 * LONGEST_CELL:
        return text
    cut = say("report.cut-in-cell")
    return first_units(text, LONGEST_CELL - len(cut)) + cut


def first_units(text: str, most: int) -> str:
    """The beginning of a text, as workbooks count its length: a bird sign counts two, and is never cut in half.

    Examples
    --------
    >>> first_units("K03", 2), first_units("a🐦b", 2)
    ('K0', 'a')
    """
    return text.encode("utf-16-le")[: 2 * most].decode("utf-16-le", errors="ignore")


def write_text_cell(cell: Any, text: str) -> None:
    """Write text into a cell of an openpyxl worksheet as text, whatever it looks like.

    The cell is a string cell and never a formula or an error, and holds what `cell_text` lets through. Where that looks
    like a formula the cell is also marked `quotePrefix` (ECMA-376, part 1, 18.8.45 (xf), from memory), so that it stays
    text when a keeper edits it; the mark is no part of the text.
    """
    cell.value = cell_text(text)
    cell.data_type = "s"  # openpyxl takes =… for a formula and #N/A for an error
    if _is_formula(text):
        cell.quotePrefix = True


def on_screen(line: str) -> str:
    """One line for a terminal, which could be made to hide, repaint or answer by what a name or a cell holds.

    Each character that it would obey is named in its place, a line end too: lines of ours are printed one by one.
    C0, DEL and C1: ECMA-48. The directions: Unicode Standard Annex 9, section 2.

    Examples
    --------
    >>> on_screen("season\\x1b[31m"), on_screen("two\\nlines")
    ('season<U+001B>[31m', 'two↵lines')
    """
    return UNSEEN_ON_SCREEN.sub(lambda sign: "↵" if sign[0] == "\n" else f"<U+{ord(sign[0]):04X}>", line)
