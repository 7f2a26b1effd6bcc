"""The blank workbook: every column explained and checked, nothing of the keeper's touched, and it reads back."""

import re
import shutil
import subprocess
from datetime import date, datetime
from zipfile import ZipFile

import openpyxl
import pytest
from python_calamine import CalamineWorkbook

from analysis import SeasonError, open_season
from analysis.logs.blank import BOOK, CHICKS, GRID_SHEET, MORNINGS, PAGES, write_blank_workbook
from analysis.logs.blank_sheets import CHECKED_TO
from analysis.logs.settings import SETTINGS
from analysis.logs.tables import LOGS, SMALL_FORM
from analysis.logs.understand import GUIDE_SHEET
from analysis.say import in_words

HATCHES = {
    "pair": ["Bramble", "Bramble", "Otto"],
    "egg": ["1-2", "03", "1"],
    "laid_on": [date(2026, 3, 2), date(2026, 3, 4), None],
    "outcome": ["hatched", "clear", "hatched"],
    "hatched_at": [datetime(2026, 3, 24, 6, 30), None, date(2026, 3, 30)],
    "chick": ["K1", None, "07"],
    "notes": ["=late, but strong", None, None],
}
WEIGHTS = {"chick": ["K1", "K1"], "weighed_at": [datetime(2026, 3, 25, 7, 5), date(2026, 3, 26)], "weight": [5.25, 6]}
GRID = [["date", "07"], [date(2026, 3, 31), 4.5], [date(2026, 4, 1), 5.75]]


@pytest.fixture(scope="module", params=[False, True], ids=["small", "every"])
def blank(request, tmp_path_factory):
    """A blank workbook, as openpyxl reads it back, and whether it holds every log."""
    (path,) = write_blank_workbook(tmp_path_factory.mktemp("blank") / "new", every=request.param)
    return openpyxl.load_workbook(path), request.param


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    """A folder with a workbook that a keeper filled in: dates as dates, numbers as numbers, the rest as text."""
    folder = tmp_path_factory.mktemp("filled")
    (path,) = write_blank_workbook(folder)
    book = openpyxl.load_workbook(path)
    for name, columns in (("hatches", HATCHES), ("weights", WEIGHTS)):
        places = {cell.value: cell.column for cell in book[name][1]}
        for heading, values in columns.items():
            for row, value in enumerate(values, start=2):
                _type(book[name].cell(row, places[heading]), value)
    for row, values in enumerate(GRID, start=1):
        for at, value in enumerate(values, start=1):
            _type(book[GRID_SHEET].cell(row, at), value)
    _type(book["pairs"]["A2"], "Bramble")
    _type(book["pairs"]["B2"], "cockatiel")
    book.save(path)
    return folder


def _type(cell, value):
    """Write into a cell as a spreadsheet does: with the format of its column, and never as a formula."""
    styled = cell.has_style
    cell.value = value
    if not styled:
        cell.number_format = cell.parent.column_dimensions[cell.column_letter].number_format
    if isinstance(value, str):
        cell.data_type = "s"


def _checks(sheet):
    """Return the check of each range of a sheet."""
    return {str(check.sqref): check for check in sheet.data_validations.dataValidation}


def _check(book, log, column):
    letter = next(cell.column_letter for cell in book[log][1] if cell.value == column)
    return _checks(book[log]).get(f"{letter}2:{letter}{CHECKED_TO}")


def test_a_sheet_a_log_between_the_guide_and_the_grid(blank):
    book, every = blank
    assert book.sheetnames == [GUIDE_SHEET, *(LOGS if every else SMALL_FORM), GRID_SHEET]
    for name in book.sheetnames[1:-1]:
        sheet = book[name]
        columns = [c for c in LOGS[name].columns if every or c.small]
        assert [cell.value for cell in sheet[1]] == [c.name for c in columns]
        assert sheet.freeze_panes == "A2"
        assert [cell for cell in sheet[1] if not cell.font.bold] == []
        assert sheet.max_row == (1 + len(SETTINGS) if name == "settings" else 1)


def test_each_heading_says_what_belongs_under_it(blank):
    book, _ = blank
    for name in book.sheetnames[1:-1]:
        for cell in book[name][1]:
            column, said = LOGS[name].column(cell.value), cell.comment.text
            assert in_words(LOGS[name].meaning(column.name))[1:] in said
            assert [choice for choice in column.choices if choice not in said] == []
            assert ("Needed" in said) == any(cell.value in group for group in LOGS[name].needs)
            assert (cell.font.color.rgb == "FF004488") == ("Needed" in said)
            assert book[name].column_dimensions[cell.column_letter].width > len(cell.value)
    assert book["hatches"]["A1"].comment.text.startswith(f"One row is {in_words(LOGS['hatches'].row_is)}.\n")


def test_the_guide_is_a_title_and_ten_short_lines(blank):
    lines = [cell.value for row in blank[0][GUIDE_SHEET].iter_rows() for cell in row if cell.value]
    assert len(lines) == 11
    assert [line for line in lines if len(line) > 120] == []


def test_every_column_is_checked_by_its_kind(blank):
    book, _ = blank
    types = {"choice": "list", "date": "date", "moment": "date", "count": "whole"}
    types |= dict.fromkeys(("number", "days", "weight", "temperature", "percent"), "decimal")
    seen = set()
    for name in book.sheetnames[1:-1]:
        for cell in book[name][1]:
            column = LOGS[name].column(cell.value)
            check = _check(book, name, cell.value)
            if column.kind in types:
                seen.add(column.kind)
                assert check.type == types[column.kind]
                refused = column.kind in ("date", "moment") or (column.kind == "choice" and not column.free)
                assert bool(check.showErrorMessage) == (refused or column.kind != "choice")
                assert (check.errorStyle == "stop") == refused
            elif check is not None:
                assert not check.showErrorMessage  # a name that the workbook does not know yet may be written
    assert {"choice", "date", "moment", "weight"} <= seen


def test_a_check_has_both_ends_and_fits_what_excel_allows(blank):
    # error title 32 and error text 225 characters, list 255: Excel specifications and limits (from memory)
    for sheet in blank[0]:
        for check in sheet.data_validations.dataValidation:
            assert check.allow_blank
            assert not check.showDropDown  # true would hide the arrow
            assert len(check.formula1) <= 255
            assert len(check.errorTitle or "") <= 32
            assert len(check.error or "") <= 225
            if check.type != "list":
                assert check.operator == "between"
                assert check.error.startswith("Write ")
                low, high = (re.sub(r"DATE\((\d+),.*\)", r"\1", end) for end in (check.formula1, check.formula2))
                assert float(low) < float(high)


@pytest.mark.parametrize(
    ("log", "column", "small", "every"),
    [
        ("hatches", "pair", "pairs!$A$2:$A$500", "pairs!$A$2:$A$500"),
        ("hatches", "reared_by", "pairs!$A$2:$A$500", "pairs!$A$2:$A$500"),
        ("weights", "chick", "hatches!$G$2:$G$500", "hatches!$N$2:$N$500"),
        ("losses", "chick", "hatches!$G$2:$G$500", "hatches!$N$2:$N$500"),
        ("pairs", "cage", None, "cages!$A$2:$A$500"),
        ("pairs", "species", None, "species!$A$2:$A$500"),
        ("pairs", "cock", None, "birds!$A$2:$A$500"),
        ("pairs", "pair", None, None),
    ],
)
def test_names_are_offered_from_the_sheets_that_hold_them(blank, log, column, small, every):
    book, all_logs = blank
    check = _check(book, log, column)
    assert (check.formula1 if check else None) == (every if all_logs else small)
    if check:  # the range stands under the heading that it should
        sheet, letter = re.fullmatch(r"(\w+)!\$([A-Z]+)\$2.*", check.formula1).groups()
        wanted = {"reared_by": "pair", "cock": "bird"}.get(column, column)
        assert book[sheet][f"{letter}1"].value == wanted


def test_formats_keep_names_as_written_and_dates_as_dates(blank):
    book, _ = blank
    formats = {"name": "@", "text": "@", "choice": "@", "date": "yyyy-mm-dd", "moment": "yyyy-mm-dd hh:mm"}
    for name in book.sheetnames[1:-1]:
        for cell in book[name][1]:
            kind = LOGS[name].column(cell.value).kind
            assert book[name].column_dimensions[cell.column_letter].number_format == formats.get(kind, "General")


def test_settings_are_listed_with_what_they_may_be(blank):
    sheet = blank[0]["settings"]
    checks = _checks(sheet)
    rows = list(sheet.iter_rows(min_row=2, values_only=True))
    assert [row[0] for row in rows] == list(SETTINGS)
    for at, (row, setting) in enumerate(zip(rows, SETTINGS.values(), strict=True), start=2):
        assert row[1] is None
        assert (f"{row[2]:g}" if isinstance(row[2], float | int) else row[2] or "") == setting.default.removesuffix(
            ".0"
        )
        assert row[3] == in_words(setting.reason)
        check = checks.get(f"B{at}")
        if setting.choices:
            assert check.formula1 == f'"{",".join(setting.choices)}"'
        elif setting.kind == "number":
            assert (float(check.formula1), float(check.formula2)) == (setting.low, setting.high)
            assert float(row[2]) == float(setting.default)
        else:
            assert (check.type if check else "text") == setting.kind


def test_the_grid_is_ruled_and_fits_a_page(blank):
    sheet = blank[0][GRID_SHEET]
    assert sheet["A1"].value == "date"
    assert [cell.value for cell in sheet[1]][1:] == [None] * CHICKS
    assert (sheet.page_setup.orientation, int(sheet.page_setup.paperSize)) == ("landscape", 9)
    assert sheet.sheet_properties.pageSetUpPr.fitToPage
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (1, 0)
    assert (sheet.print_title_rows, sheet.freeze_panes) == ("$1:$1", "B2")
    assert sheet.max_row == 1 + MORNINGS * PAGES
    assert [
        cell for row in sheet for cell in row if not cell.border.left.style == cell.border.bottom.style == "thin"
    ] == []
    assert sheet["B1"].number_format == "@"  # a chick called 07 keeps its name
    assert {check.type for check in _checks(sheet).values()} == {"date", "list", "decimal"}


def test_a_blank_workbook_is_a_season_without_rows(tmp_path):
    for every in (False, True):
        write_blank_workbook(tmp_path / str(every), every=every)
        season = open_season(tmp_path / str(every))
        assert season.problems.empty, season.problems.to_string()
        assert season.settings.values == {}
        assert season.eggs.empty
        assert season.weights.empty


def test_what_a_keeper_has_is_never_touched(tmp_path):
    assert [path.name for path in write_blank_workbook(tmp_path)] == [BOOK]
    (tmp_path / BOOK).write_bytes(b"hers")
    assert write_blank_workbook(tmp_path, every=True) == []
    assert (tmp_path / BOOK).read_bytes() == b"hers"
    (tmp_path / BOOK).rename(tmp_path / "season.ods")
    assert write_blank_workbook(tmp_path) == []
    assert [path.name for path in tmp_path.iterdir()] == ["season.ods"]


def test_a_place_that_cannot_be_written(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(SeasonError, match="cannot be written"):
        write_blank_workbook(tmp_path / "file")


def _assert_as_typed(path):
    book = CalamineWorkbook.from_path(path)
    for name, columns in (("hatches", HATCHES), ("weights", WEIGHTS)):
        headings, *rows = book.get_sheet_by_name(name).to_python()
        assert len(rows) == max(map(len, columns.values()))
        for at, heading in enumerate(headings):
            assert [row[at] or None for row in rows] == columns.get(heading, [None] * len(rows)), heading
    rows = book.get_sheet_by_name(GRID_SHEET).to_python()
    assert [row[:2] for row in rows[: len(GRID)]] == GRID
    assert [cell for row in rows[len(GRID) :] for cell in row if cell] == []


def test_what_is_filled_in_reads_back_cell_for_cell(filled):
    _assert_as_typed(filled / BOOK)


def test_a_filled_in_workbook_is_a_season(filled):
    season = open_season(filled)
    assert set(season.chicks["chick"]) == {"K1", "07"}
    assert set(season.eggs["egg"]) == {"1-2", "03", "1"}
    weights = season.weights.set_index(["chick", "weighed_at"])["mass_g"]
    assert weights.to_dict() == {
        ("K1", datetime(2026, 3, 25, 7, 5)): 5.25,
        ("K1", datetime(2026, 3, 26)): 6.0,
        ("07", datetime(2026, 3, 31)): 4.5,
        ("07", datetime(2026, 4, 1)): 5.75,
    }
    assert set(season.accounting.query("log != 'settings'")["not_used"]) == {0}


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice (soffice) is not installed")
def test_libreoffice_keeps_cells_checks_and_comments(filled, tmp_path):
    """One conversion, to its own form: what it could not understand is not in there."""
    command = ["soffice", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--headless"]
    command += ["--convert-to", "ods", "--outdir", str(tmp_path), str(filled / BOOK)]
    subprocess.run(command, check=True, capture_output=True, timeout=120)
    _assert_as_typed(tmp_path / "season.ods")
    with ZipFile(tmp_path / "season.ods") as ods:
        content = ods.read("content.xml").decode()
    conditions = re.findall(r'content-validation [^>]*?table:condition="([^"]*)"', content)
    assert "of:cell-content-is-in-list([$pairs.$A$2:.$A$500])" in conditions
    assert "of:cell-content-is-in-list([$hatches.$G$2:.$G$500])" in conditions
    assert "of:cell-content-is-date() and cell-content-is-between(DATE(2000;1;1),DATE(2099;12;31))" in conditions
    assert "of:cell-content-is-decimal-number() and cell-content-is-between(0.01,5000)" in conditions
    assert any("dead in shell" in condition for condition in conditions), conditions
    columns = sum(c.small for name in SMALL_FORM for c in LOGS[name].columns)
    assert content.count("<office:annotation ") == columns
    assert 'table:message-type="stop" table:title="Not a date"' in content
