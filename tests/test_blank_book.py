"""The blank workbook: its sheets, its drop-downs, and what is filled in comes back cell for cell."""

import shutil
import subprocess
import zipfile
from datetime import datetime

import openpyxl
import pytest

from analysis import SeasonError, open_season
from analysis.logs.blank_book import write_blank_workbook
from analysis.logs.tables import LOGS, OUTCOMES, SMALL_FORM
from analysis.logs.understand import GUIDE_SHEET
from support import codes


def blank(folder, **options):
    (path,) = write_blank_workbook(folder, **options)
    return openpyxl.load_workbook(path)


def checks(sheet):
    """Return the drop-down, or the kind of check, of each heading's column."""
    found = {}
    for check in sheet.data_validations.dataValidation:
        for area in check.sqref.ranges:
            for column in range(area.min_col, area.max_col + 1):
                found[sheet.cell(1, column).value] = check
    return found


@pytest.mark.parametrize("every", [False, True])
def test_a_sheet_a_log_with_headings_that_explain_themselves(tmp_path, every):
    book = blank(tmp_path, every=every)
    logs = list(LOGS) if every else list(SMALL_FORM)
    assert book.sheetnames[0] == GUIDE_SHEET
    assert set(book.sheetnames) == {GUIDE_SHEET, *logs, "weights grid"}
    for name in logs:
        sheet = book[name]
        wanted = [c.name for c in LOGS[name].columns if every or c.small]
        assert [cell.value for cell in sheet[1]] == wanted
        assert all(cell.comment is not None for cell in sheet[1])
        assert sheet.freeze_panes == "A2"


def test_drop_downs_are_fed_from_the_keepers_own_sheets(tmp_path):
    book = blank(tmp_path)
    hatches, weights = checks(book["hatches"]), checks(book["weights"])
    assert set(OUTCOMES) <= set(hatches["outcome"].formula1.strip('"').split(","))
    assert "pairs" in hatches["pair"].formula1
    assert "hatches" in weights["chick"].formula1
    assert not weights["chick"].showErrorMessage or weights["chick"].errorStyle in ("warning", "information")
    for check in (hatches["hatched_at"], weights["weight"]):
        assert check.error
        assert check.type in ("date", "decimal", "custom")


def test_the_grid_is_ready_for_printing(tmp_path):
    grid = blank(tmp_path)["weights grid"]
    assert grid.page_setup.orientation == "landscape"
    assert grid.page_setup.fitToWidth == 1
    assert grid.print_title_rows


def test_a_workbook_that_is_there_is_never_touched(tmp_path):
    blank(tmp_path)
    before = (tmp_path / "season.xlsx").read_bytes()
    assert write_blank_workbook(tmp_path) == []
    assert (tmp_path / "season.xlsx").read_bytes() == before
    (tmp_path / "file").write_text("")
    with pytest.raises(SeasonError, match="cannot be written"):
        write_blank_workbook(tmp_path / "file")


ROWS = {
    "pairs": [["P1", "cockatiel", "Pip", "Hazel", "C1"]],
    "hatches": [
        ["P1", "1", 1, datetime(2026, 3, 3), "hatched", datetime(2026, 3, 24, 6, 30), "K1", None, datetime(2026, 5, 3)],
        ["P1", "1", 2, datetime(2026, 3, 5), "clear"],
        ["P1", "1", 3, datetime(2026, 3, 7), "hatched", datetime(2026, 3, 28), "K2", "hand"],
    ],
    "weights": [["K1", datetime(2026, 3, 25, 7), 4.25], ["K1", datetime(2026, 3, 26), 5]],
    "weights grid": [[datetime(2026, 3, 29), 7.5, 4], [datetime(2026, 3, 30), 9.125, None]],
    "losses": [["K2", datetime(2026, 4, 2), "cold"]],
}


def fill(folder):
    book = blank(folder)
    for name, rows in ROWS.items():
        for at, row in enumerate(rows, start=2):
            for column, value in enumerate(row, start=1):
                book[name].cell(at, column).value = value
    for column, chick in enumerate(("K1", "K2"), start=2):
        book["weights grid"].cell(1, column).value = chick
    book["settings"]["B4"] = 2026
    book.save(folder / "season.xlsx")


def assert_read_back(season):
    assert codes(season) == []
    assert season.accounting["not_used"].sum() == 0
    assert season.eggs[["egg", "outcome"]].to_numpy().tolist() == [["1", "hatched"], ["2", "clear"], ["3", "hatched"]]
    assert f"{season.chicks['hatched_at'][0]:%Y-%m-%d %H:%M}" == "2026-03-24 06:30"
    assert season.chicks["fate"].tolist() == ["weaned", "lost"]
    assert season.weights["mass_g"].tolist() == [4.25, 5, 7.5, 9.125, 4]
    assert season.pairs["hen"].tolist() == ["Hazel"]


def test_what_is_filled_in_comes_back_cell_for_cell(tmp_path):
    fill(tmp_path)
    assert_read_back(open_season(tmp_path))


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not on this machine")
def test_libreoffice_saves_it_and_it_reads_the_same(tmp_path):
    fill(tmp_path)
    home = f"-env:UserInstallation=file://{tmp_path / 'profile'}"
    run = ["soffice", home, "--headless", "--convert-to", "ods", "--outdir", tmp_path / "ods", tmp_path / "season.xlsx"]
    subprocess.run(run, check=True, capture_output=True, timeout=120)
    assert_read_back(open_season(tmp_path / "ods"))
    content = zipfile.ZipFile(tmp_path / "ods" / "season.ods").read("content.xml").decode()
    assert content.count("<table:content-validation ") > 10
    assert "late death" in content
