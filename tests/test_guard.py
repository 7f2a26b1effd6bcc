"""Formula injection: OWASP, "CSV Injection", https://owasp.org/www-community/attacks/CSV_Injection."""

import csv
import io
import re
from pathlib import Path

import pandas as pd
import pytest
from openpyxl import Workbook, load_workbook

from analysis.guard import LONGEST_CELL, cell_text, guarded, write_text_cell
from analysis.say import say
from analysis.show.spreadsheet import csv_text

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
    " =1+1",
    "\u00a0\u200b=1+1",
    "\x1b=1+1",
    "＝1+1",
    "＋cmd",
    "－2+3",
    "＠SUM(A1)",
    " ＝1+1",
]
INSIDE = {
    "K1;=cmd|'/C calc'!A0": "K1;'=cmd|'/C calc'!A0",
    "K1; =1;+2;a;-b": "K1; '=1;'+2;a;'-b",
    "K1\t@x": "K1\t'@x",
    "K1|＝1": "K1|'＝1",
    'K1;"=1;"': 'K1;"\'=1;"',
    "two\n=1": "two\n'=1",
    "two\r\n =1": "two\r\n '=1",
    '=1+2";=1+2': "'=1+2\";'=1+2",
    "\t=1": "'\t'=1",
}
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
    " -3.5",
    "cold; warm",
    "a; b=c",
    "Ä＝b",
]


@pytest.mark.parametrize("text", FORMULAS)
def test_what_a_spreadsheet_would_run_gets_an_apostrophe_and_loses_nothing(text):
    assert guarded(text) == "'" + text


@pytest.mark.parametrize("text", PLAIN)
def test_numbers_and_plain_text_stay_as_they_are(text):
    assert guarded(text) == text


def test_guarding_twice_is_guarding_once():
    every = [*FORMULAS, *INSIDE]
    assert [guarded(guarded(text)) for text in every] == [guarded(text) for text in every]


@pytest.mark.parametrize("text", INSIDE)
def test_what_would_compute_where_another_sign_parts_the_cells_gets_an_apostrophe_too(text):
    assert guarded(text) == INSIDE[text]


@pytest.mark.parametrize("parted", [",", ";", "\t", "|"])
def test_no_field_begins_a_formula_whatever_parts_the_cells(parted):
    frame = pd.DataFrame({"first": [*FORMULAS, *INSIDE], "K;=1": [*INSIDE, *FORMULAS], "gain": -1.5})
    # a quote within a field is only a letter, so the lines are parted as they stand
    fields = [field for line in csv_text(frame).split("\n") for field in line.split(parted)]
    begins = [field for field in fields if re.match(r'[\s"]*[=+@＝＋－＠-]', field)]
    assert all(re.fullmatch(r"-1\.5", field) for field in begins), begins


def test_every_writer_of_csv_guards_its_cells():
    package = Path(__file__).parent.parent / "analysis"
    code = {path.name: path.read_text(encoding="utf-8") for path in package.rglob("*.py")}
    writers = {name for name, text in code.items() if re.search(r"\.to_csv\(|csv\.writer\(", text)}
    assert writers == {"spreadsheet.py", "blank.py", "write.py"}
    assert [name for name in writers if "guarded(" not in code[name]] == []


def test_the_two_examples_of_owasp():
    def written(text):
        file = io.StringIO()
        csv.writer(file, quoting=csv.QUOTE_ALL, lineterminator="").writerow([guarded(text)])
        return file.getvalue()

    assert written('=1+2";=1+2') == '''"'=1+2"";'=1+2"'''  # and ours: a semicolon may part, too
    assert written("""=1+2'" ;,=1+2""") == '''"'=1+2'"" ;,=1+2"'''


def _there_and_back(texts):
    book, file = Workbook(), io.BytesIO()
    for row, text in enumerate(texts, start=1):
        write_text_cell(book.active.cell(row, 1), text)
    book.save(file)
    sheet = load_workbook(file).active
    return [sheet.cell(row, 1) for row in range(1, len(texts) + 1)]


def test_a_workbook_holds_every_formula_as_text():
    # XML reads a carriage return as a line feed, and holds no escape
    texts = [text for text in FORMULAS if "\r" not in text and "\x1b" not in text]
    cells = _there_and_back([*texts, "#N/A", "TRUE"])
    # read back: a cell that was written as text and quoted is a string, with nothing added
    assert [cell.value for cell in cells] == [*texts, "#N/A", "TRUE"]
    assert [cell.data_type for cell in cells] == ["s"] * len(cells)
    assert [bool(cell.quotePrefix) for cell in cells] == [True] * len(texts) + [False, False]


def test_plain_text_in_a_workbook_is_not_quoted():
    cells = _there_and_back(PLAIN[1:])
    assert [cell.value for cell in cells] == PLAIN[1:]
    assert [cell for cell in cells if cell.quotePrefix] == []


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
    assert cut.endswith(say("report.cut-in-cell"))
    assert LONGEST_CELL - units < len(cut.encode("utf-16-le")) / 2 <= LONGEST_CELL == 32_767
