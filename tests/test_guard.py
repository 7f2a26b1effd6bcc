"""Formula injection: OWASP, "CSV Injection", https://owasp.org/www-community/attacks/CSV_Injection."""

import csv
import io

import pytest
from openpyxl import Workbook, load_workbook

from analysis.guard import CUT, LONGEST_CELL, cell_text, guarded, write_text_cell

# the seven first characters in OWASP's list, each with something behind it
FORMULAS = [
    "=1+1",
    "+cmd|' /C calc'!A0",
    "+cmd",
    "-2+3",
    "@SUM(A1)",
    "\tx",
    "\rx",
    "\nx",
    "-3.5g",
    "--1",
    "+-2",
    "=",
    "-1e",
    "-1-",
]
PLAIN = [
    "",
    "K03",
    "a=b",
    "'=1",
    "3.5",
    " ok",
    "-3.5",
    "+2",
    "-3,5",
    "-.5",
    "+1e-3",
    "-4.",
    "-",
    "+",
    "–5",
    "2026-04-03",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_what_a_spreadsheet_would_run_gets_an_apostrophe_and_loses_nothing(text):
    assert guarded(text) == "'" + text


@pytest.mark.parametrize("text", PLAIN)
def test_numbers_and_plain_text_stay_as_they_are(text):
    assert guarded(text) == text


def test_guarding_twice_is_guarding_once():
    assert [guarded(guarded(text)) for text in FORMULAS] == [guarded(text) for text in FORMULAS]


def test_the_two_examples_of_owasp():
    def written(text):
        file = io.StringIO()
        csv.writer(file, quoting=csv.QUOTE_ALL, lineterminator="").writerow([guarded(text)])
        return file.getvalue()

    assert written('=1+2";=1+2') == '''"'=1+2"";=1+2"'''
    assert written("""=1+2'" ;,=1+2""") == '''"'=1+2'"" ;,=1+2"'''


def _there_and_back(texts):
    book, file = Workbook(), io.BytesIO()
    for row, text in enumerate(texts, start=1):
        write_text_cell(book.active.cell(row, 1), text)
    book.save(file)
    sheet = load_workbook(file).active
    return [sheet.cell(row, 1) for row in range(1, len(texts) + 1)]


def test_a_workbook_holds_every_formula_as_text():
    texts = [text for text in FORMULAS if "\r" not in text]  # XML reads a carriage return as a line feed
    cells = _there_and_back([*texts, "#N/A", "TRUE"])
    # read back: a cell that was written as text and quoted is a string, with nothing added
    assert [cell.value for cell in cells] == [*texts, "#N/A", "TRUE"]
    assert [cell.data_type for cell in cells] == ["s"] * len(cells)
    assert [bool(cell.quotePrefix) for cell in cells] == [True] * len(texts) + [False, False]


def test_plain_text_in_a_workbook_is_not_quoted():
    cells = _there_and_back(PLAIN[1:])
    assert [cell.value for cell in cells] == PLAIN[1:]
    assert not any(cell.quotePrefix for cell in cells)


def test_what_no_workbook_can_hold_is_shown_as_unreadable():
    hard = "a\x00b\x07c\x0bd\x1fe\ud83df\uffffg"
    assert _there_and_back([hard])[0].value == "a\ufffdb\ufffdc\ufffdd\ufffde\ufffdf\ufffdg"
    assert cell_text("tab\tline\nbird 🐦") == "tab\tline\nbird 🐦"


@pytest.mark.parametrize("sign", ["x", "🐦"])
def test_a_very_long_text_is_cut_with_a_mark(sign):
    # 32 767: support.microsoft.com, "Excel specifications and limits", characters in a cell (from memory)
    units = len(sign.encode("utf-16-le")) // 2
    fits = sign * (32_767 // units)
    assert cell_text(fits) == fits
    cut = cell_text(fits + sign)
    assert cut.endswith(CUT)
    assert LONGEST_CELL - units < len(cut.encode("utf-16-le")) / 2 <= LONGEST_CELL == 32_767
