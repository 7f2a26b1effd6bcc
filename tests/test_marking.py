"""The marked copy: every cell where it was, every problem at its cell and in words, no original touched."""

from dataclasses import replace

import pandas as pd
import pytest
from openpyxl import Workbook, load_workbook
from python_calamine import CalamineWorkbook

from analysis.check.marked_copy import sheet_names, write_marked
from analysis.errors import SeasonError
from analysis.logs.sheets import Exact, Sheet
from analysis.say import say

HATCHES = """
    chick,pair,hatched_at
    K1,P1,2026-04-03
    K2,P1,2026-04-04
    """


def sheet_of(file, rows, name=""):
    """Rows as the reader gives them: numbered from 1, blank ones left out."""
    numbered = [(at, tuple(cells)) for at, cells in enumerate(rows, start=1) if any(cells)]
    return Sheet(file, name, tuple(numbered), "")


def problem(**facts):
    blank = {"file": "weights.csv", "sheet": "", "row": 2, "column": "", "code": "unreadable-number"}
    blank |= {"severity": "not used", "value": "", "advice": "Write digits, such as 23.5."}
    return blank | facts


@pytest.fixture
def season(open_logs):
    return open_logs(hatches=HATCHES)


@pytest.fixture
def marked(season, tmp_path):
    """Mark sheets with these problems and read the copy back."""

    def mark(sheets, *problems):
        columns = list(season.problems.columns)
        frame = pd.DataFrame([problem(**p) for p in problems], columns=columns).astype({"row": "Int64"})
        out = tmp_path / "marked.xlsx"
        out.unlink(missing_ok=True)
        assert write_marked(replace(season, problems=frame), sheets, out) == out
        return load_workbook(out)

    return mark


def comments(page):
    return {cell.coordinate: cell.comment.text for row in page.iter_rows() for cell in row if cell.comment}


def colour(cell):
    return cell.fill.fgColor.rgb[-6:] if cell.fill.fill_type else None


def test_a_folder_of_csv_files_from_reading_to_marks(open_logs, tmp_path):
    weights = "chick,weighed_at,weight\nK1,2026-04-05,3.1\n\nK1,2026-04-06,heavy\nK2,2026-04-07,4\n"
    season = open_logs(hatches=HATCHES, weights=weights, pairs="pair,species\nP1,lovebird\n")
    before = {path.name: path.read_bytes() for path in season.folder.iterdir()}
    sheets = [
        sheet_of("hatches.csv", [line.split(",") for line in HATCHES.split()]),
        sheet_of("weights.csv", [line.split(",") for line in weights.split("\n")]),
    ]
    book = load_workbook(write_marked(season, sheets, tmp_path / "season_marked.xlsx"))
    assert book.sheetnames == ["problems", "hatches", "weights"]
    page = book["weights"]
    title, advice = say("problems.unreadable-number"), say("problems.unreadable-number-do")
    said = f"NOT USED: {title}. {advice}"
    assert comments(page) == {"C4": said}
    assert page["D4"].value == said
    assert page["D1"].value == say("check.look-at")
    assert page["D5"].value is None
    assert colour(page["C4"]) == colour(page["D4"]) == "FFC7CE"
    lines = [line.split(",") if line else [None] * 3 for line in weights.splitlines()]
    assert [[cell.value for cell in row] for row in page["A1:C5"]] == lines
    assert not comments(book["hatches"])
    assert book["hatches"].max_column == 3  # no problem, no column more
    assert before == {path.name: path.read_bytes() for path in season.folder.iterdir()}


def test_a_workbook_keeps_its_numbers_and_its_sheets(marked):
    rows = [["Weights of 2026"], [], ["Chick", "Weighed at", "Weight"], ["K1", Exact("2026-04-05"), Exact("12.5")]]
    rows += [["K2", "1.234", Exact("7")], ["K3", Exact("1e400"), Exact("-0.5")]]
    sheets = [sheet_of("mine.xlsx", rows, name) for name in ("Weights", "Other")]
    book = marked(sheets, {"file": "mine.xlsx", "sheet": "Weights", "row": 5, "column": "weighed_at"})
    page = book["Weights"]
    assert [[c.value for c in row] for row in page["A4:C6"]] == [
        ["K1", "2026-04-05", 12.5],
        ["K2", "1.234", 7],
        ["K3", "1e400", -0.5],
    ]
    assert [c.data_type for c in page["4"][:3]] == ["s", "s", "n"]
    assert page["A1"].value == "Weights of 2026"
    assert list(comments(page)) == ["B5"]
    assert page["D3"].value == say("check.look-at")
    assert page.freeze_panes == "A4"
    assert not comments(book["Other"])  # the same row of another sheet


@pytest.mark.parametrize(
    ("headings", "cells", "facts", "where"),
    [
        (["chick", "weighed_at", "weight"], ["K1", "x", "x"], {"column": "weight", "value": "x"}, "C2"),
        (["chick", "Weighed  At", "weight"], ["K1", "x", "x"], {"column": "weighed_at"}, "B2"),
        (["chick", "weight", "weight"], ["K1", "3", "x"], {"column": "weight", "value": "x"}, "C2"),
        (["chick", "weight", "weight"], ["K1", "3", "4"], {"column": "weight", "value": "x"}, "B2"),
        (["Küken", "Datum", "Gewicht"], ["K1", "x", "y"], {"column": "weight", "value": "y"}, "C2"),
        (["Küken", "Datum", "Gewicht"], ["K1", "x", "y"], {"column": "weight", "value": "z"}, "A2"),
        (["date", "K1", "K2"], ["2026-04-05", "3", "3"], {"column": "K2", "value": "3"}, "C2"),
        (["Küken", "Gewicht"], ["weight", "x"], {"column": "weight", "value": "x"}, "B2"),
        (["chick", "weight"], ["K1", "3"], {}, "A2"),
        (["chick", "weight"], ["", "", "3"], {"column": "chick"}, "A2"),
    ],
)
def test_the_cell_is_found_by_heading_then_by_value(marked, headings, cells, facts, where):
    page = marked([sheet_of("weights.csv", [headings, cells])], facts)["weights"]
    assert list(comments(page)) == [where]
    assert page.cell(2, max(len(headings), len(cells)) + 1).value.startswith("NOT USED: Not a number.")


def test_a_title_is_no_heading_and_the_row_itself_is_none(marked):
    rows = [["weight"], ["chick", "weight"], ["weight", "x"]]
    page = marked([sheet_of("weights.csv", rows)], {"row": 3, "column": "weight"})["weights"]
    assert list(comments(page)) == ["B3"]
    assert page["C2"].value == say("check.look-at")


def test_a_sheet_without_headings_keeps_the_words_for_its_first_row(marked):
    page = marked([sheet_of("weights.csv", [["K1", "x"], ["K2", "4"]])], {"row": 1, "value": "x"})["weights"]
    assert list(comments(page)) == ["B1"]
    assert page["C1"].value == "NOT USED: Not a number. Write digits, such as 23.5."


def test_several_problems_in_one_cell_are_one_comment_and_the_worst_colour(marked):
    facts = {"column": "weight"}
    book = marked(
        [sheet_of("weights.csv", [["chick", "weight"], ["K1", "x"], ["K2", "4"], ["K3", "5"]])],
        {**facts, "severity": "look at this", "code": "other-unit", "advice": "One."},
        {**facts, "severity": "not used", "advice": "Two."},
        {**facts, "column": "chick", "severity": "look at this", "advice": "Three."},
        {**facts, "severity": "cell not used", "row": 3, "advice": "Four."},
        {**facts, "severity": "look at this", "row": 4, "advice": "Five."},
    )
    page = book["weights"]
    title = say("problems.other-unit")
    both = f"LOOK AT THIS: {title}. One.\nNOT USED: Not a number. Two."
    assert comments(page)["B2"] == both
    assert page["C2"].value == f"{both}\nLOOK AT THIS: Not a number. Three."
    assert page["C3"].value == "CELL NOT USED: Not a number. Four."
    colours = [colour(page[at]) for at in ("B2", "B3", "B4")]
    assert len(set(colours)) == 3
    assert colour(page["C2"]) == colours[0] != colour(page["A2"]) == colours[2]
    assert colour(page["A3"]) is None


def test_all_problems_are_listed_first_those_of_whole_files_too(marked):
    book = marked(
        [sheet_of("my weights.csv", [["chick", "weight"], ["K1", "=1"]])],
        {"file": "scan.csv", "row": None, "code": "not-text", "advice": "Save it as CSV."},
        {"file": "my weights.csv", "column": "weight", "value": "=1"},
    )
    page = book.worksheets[0]
    assert page.title == "problems"
    assert page.freeze_panes == "A2"
    rows = [[cell.value for cell in row] for row in page.iter_rows()]
    assert rows == [
        ["file", "sheet", "row", "column", "what", "value", "advice"],
        ["scan.csv", None, None, None, f"NOT USED: {say('problems.not-text')}.", None, "Save it as CSV."],
        ["my weights.csv", None, 2, "weight", "NOT USED: Not a number.", "=1", "Write digits, such as 23.5."],
    ]
    assert page["C3"].hyperlink.location == "'my weights'!B2"
    assert page["C2"].hyperlink is None
    assert page["F3"].data_type == "s"
    assert len(comments(book["my weights"])) == 1


def test_a_season_without_problems_says_so(marked):
    book = marked([sheet_of("hatches.csv", [["chick"], ["K1"]])])
    assert book["problems"]["A2"].value == "No problems found."
    assert book["hatches"].max_column == 1


@pytest.mark.parametrize("text", ["=1+1", "@SUM(A1)", "+cmd", "-2+3", "\tx", "#REF!", "=HYPERLINK(1)"])
def test_a_formula_stays_the_text_it_is_everywhere(marked, tmp_path, text):
    sheet = sheet_of("weights.csv", [["chick", text], [text, "3"]])
    book = marked([sheet], {"column": text, "value": text, "advice": text})
    # another library's eyes: calamine gives the result of a formula, which would be blank here
    read = CalamineWorkbook.from_path(tmp_path / "marked.xlsx").get_sheet_by_name("weights").to_python()
    assert [row[:2] for row in read] == [["chick", text], [text, "3"]]
    for page in book:
        assert not [cell for row in page.iter_rows() for cell in row if cell.data_type in "fe"]
    page = book["weights"]
    assert [page["B1"].value, page["A2"].value, book["problems"]["F2"].value] == [text] * 3
    assert page["A2"].quotePrefix is (text != "#REF!")


def test_what_a_workbook_cannot_hold_stops_nothing(marked):
    long = "x" * 40_000
    sheet = sheet_of("a\x07.csv", [["chick\x00", "\x0bweight"], [long, "\ud83d"]])
    facts = {"file": "a\x07.csv", "column": "chick\x00", "value": long, "advice": "\x01" + long}
    book = marked([sheet], facts, {**facts, "row": 99})
    page = book.worksheets[1]
    assert page.title == "a_"
    assert page["A1"].value == "chick\ufffd"
    assert page["A2"].value.endswith(say("report.cut-in-cell"))
    assert page["B2"].value == "\ufffd"
    assert len(page["A2"].comment.text) <= 32_767
    assert list(comments(page)) == ["A2", "A99"]  # a row that the sheet does not have


def test_names_of_sheets_are_unique_and_allowed():
    stems = ["weights", "Weights", "problems", "a" * 40, "a" * 40 + "b", "[x]:*?/\\", "'q'", "History", "", "🐦" * 20]
    names = sheet_names([Sheet("book.xlsx", stem, (), "") for stem in stems])
    assert names[:3] == ["weights", "Weights 2", "problems 2"]
    assert names[3:8] == ["a" * 31, "a" * 29 + " 2", "_x______", "q", "History 2"]
    assert names[8:] == ["book", "🐦" * 15]
    assert len({name.casefold() for name in names}) == len(names)
    assert [name for name in names if len(name.encode("utf-16-le")) > 62] == []
    book = Workbook()
    for name in names:
        assert book.create_sheet(name).title == name


def refused(season, sheets, out):
    with pytest.raises(SeasonError) as wrong:
        write_marked(season, sheets, out)
    return str(wrong.value)


def test_no_file_is_written_over(season, tmp_path):
    out = tmp_path / "there.xlsx"
    out.write_text("mine")
    assert "is there already" in refused(season, [], out)
    assert out.read_text() == "mine"
    assert "is there already" in refused(season, [], season.folder / "hatches.csv")
    link = tmp_path / "link.xlsx"
    link.symlink_to(tmp_path / "nowhere.xlsx")
    assert "is there already" in refused(season, [], link)


def test_a_source_is_not_written_even_where_it_has_gone(season, tmp_path):
    gone = Sheet("gone.xlsx", "weights", (), "")
    assert "one of your own logs" in refused(season, [gone], season.folder / ".." / season.folder.name / "gone.xlsx")
    book = tmp_path / "book.xlsx"
    book.write_text("mine")
    alone = replace(season, folder=book)
    assert "one of your own logs" in refused(alone, [gone], tmp_path / "gone.xlsx")
    assert write_marked(alone, [], tmp_path / "beside.xlsx").exists()


def test_the_copy_never_becomes_a_log(season, tmp_path):
    assert "would be read as a log" in refused(season, [], season.folder / "season_marked.xlsx")
    assert [path.name for path in season.folder.iterdir()] == ["hatches.csv"]
    assert write_marked(season, [], tmp_path / "reports" / "season_marked.xlsx").exists()


def test_a_place_that_cannot_be_written_is_said(season, tmp_path):
    (tmp_path / "file").write_text("mine")
    assert "cannot be written" in refused(season, [], tmp_path / "file" / "marked.xlsx")


@pytest.mark.parametrize("rows", [((1_048_577, ("x",)),), ((1, ("x",) * 16_384),)])
def test_a_sheet_larger_than_a_workbook_is_refused(season, tmp_path, rows):
    assert "more rows or columns" in refused(season, [Sheet("weights.csv", "", rows, "")], tmp_path / "out.xlsx")
    assert not (tmp_path / "out.xlsx").exists()


def test_nothing_is_left_of_a_copy_that_could_not_be_finished(season, tmp_path, monkeypatch):
    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.fsync", full)
    assert "There is no room left on the disk" in refused(season, [], tmp_path / "out" / "out.xlsx")
    assert not (tmp_path / "out").exists()


def test_problems_are_not_marked_in_logs_that_were_saved_meanwhile(open_logs, tmp_path):
    season = open_logs(hatches="chick,hatched_at\nK1,soon\n")
    with (season.folder / "hatches.csv").open("a") as log:
        log.write("K2,2026-05-01\n")
    assert "were saved while they were read" in refused(season, [], tmp_path / "out.xlsx")
    assert not (tmp_path / "out.xlsx").exists()
