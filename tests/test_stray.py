"""A control character costs its row, never its log; only what is mostly binary is no text."""

import gzip
import random

import pytest

from analysis import open_season
from analysis.logs.read import NotText, read_text
from analysis.logs.sheets import Sheet, by_column, without_stray
from support import codes

HATCHES = "chick,hatched_at\nK1,2026-04-01\nK2,2026-04-01\n"
WEIGHTS = "chick,weighed_at,weight,notes\n" + "".join(f"K1,2026-04-{day:02d},{day},fine\n" for day in range(2, 22))
CONTROLS = [0, 1, 7, 8, 11, 12, 0x1A, 0x1B, 0x1C, 0x1F, 0x7F, 0x80, 0x85, 0x9B, 0x9F]


def account(season, log="weights"):
    return season.accounting.set_index("log").loc[log].tolist()


def put(logs, at, sign):
    return (logs[:at] + sign + logs[at:]).encode()


@pytest.mark.parametrize("code", CONTROLS)
@pytest.mark.parametrize("where", ["2026-04-05,", "5,fine", "\nK1,2026-04-05", ",2026-04-05"])
def test_one_control_character_costs_its_row_and_no_other(open_logs, code, where):
    season = open_logs(hatches=HATCHES, weights=put(WEIGHTS, WEIGHTS.index(where) + len(where) // 2, chr(code)))
    assert account(season) == [20, 19, 1]
    assert codes(season) == ["control-character"]
    assert season.problems["row"].tolist() == [5]
    assert season.not_used["cells"].tolist() == ["K1 | 2026-04-05 | 5 | fine"], "the character alone is gone"
    assert 5.0 not in set(season.weights["mass_g"])


@pytest.mark.parametrize("made", ["utf-16", "utf-16-le", "utf-16-be", "utf-8-sig", "cp1252"])
def test_whatever_the_encoding(open_logs, made):
    written = WEIGHTS.replace("05,5,fine", "05,5,f\x1bine").replace("09,9,fine", "09,9,schön")
    season = open_logs(hatches=HATCHES, weights=written.encode(made))
    assert (account(season), codes(season)) == ([20, 19, 1], ["control-character"])


def test_half_a_character_in_utf_16_costs_its_row(open_logs):
    written = WEIGHTS.replace("05,5,fine", "05,5,f\ud83dine").encode("utf-16", errors="surrogatepass")
    season = open_logs(hatches=HATCHES, weights=written)
    assert (account(season), codes(season)) == ([20, 19, 1], ["control-character"])
    season = open_logs(hatches=HATCHES, weights=WEIGHTS.encode("utf-16")[:-1])  # cut off within its last line end
    assert account(season)[0] == 20


def test_every_row_in_turn(open_logs):
    lines = WEIGHTS.splitlines(keepends=True)
    for at in range(1, len(lines)):
        written = "".join([*lines[:at], "\x00" + lines[at], *lines[at + 1 :]])
        assert account(open_logs(hatches=HATCHES, weights=written)) == [20, 19, 1]


def test_in_the_headings_it_is_dropped_and_said(open_logs):
    season = open_logs(hatches=HATCHES, weights=WEIGHTS.replace("weighed_at", "weigh\x00ed_at"))
    assert (account(season), codes(season)) == ([20, 20, 0], ["control-dropped"])
    assert "row 1" in season.problems["advice"].iloc[0]


@pytest.mark.parametrize("tail", ["\x1a", "\x00" * 4096, "\x00" * 4096 + "\n\x1a\n"])
def test_what_an_old_program_or_a_crash_leaves_at_the_end_is_said_and_costs_nothing(open_logs, tail):
    season = open_logs(hatches=HATCHES, weights=WEIGHTS + tail)
    assert (account(season), codes(season)) == ([20, 20, 0], ["control-dropped"])


def test_in_a_grid_a_morning_is_held_back(open_logs):
    grid = "date,K1,K2\n2026-04-02,5,6\n2026-04-03,6,7\x00\n2026-04-04,7,\n2026-04-05\x07,,\n"
    season = open_logs(hatches=HATCHES, weights=grid)
    assert account(season) == [5, 3, 2]
    assert codes(season) == ["control-character", "control-dropped"]
    assert season.not_used["cells"].tolist() == ["K1 | 2026-04-03 | 6", "K2 | 2026-04-03 | 7"]


def test_in_a_flat_sheet_the_row_of_every_log_it_fills_is_held_back(open_logs):
    flat = "chick,hatched_at,day 1,day 2\nK1,2026-04-01,5,6\nK2,2026-04-01,5,\x1b6\nK3,2026-04-02,5,6\n"
    season = open_logs(hatches=flat)
    assert (account(season, "hatches"), account(season)) == ([3, 2, 1], [6, 4, 2])


def test_in_settings_too(open_logs):
    season = open_logs(hatches=HATCHES, settings="setting,value\naviary,Fly\x00way\nseason,2026\n")
    assert (season.settings["aviary"], season.settings["season"]) == ("", "2026")
    assert account(season, "settings") == [2, 1, 1]


def test_rows_held_by_column_lose_it():
    rows = by_column([["a", "b"], ["K\x001", "2"], ["K1", "3"], ["\x00", ""]])
    clean, marred = without_stray(rows)
    assert list(clean) == [(1, ("a", "b")), (2, ("K1", "2")), (3, ("K1", "3"))]
    assert marred == {2, 4}


def test_a_cell_of_a_workbook_costs_its_row_too(tmp_path):
    from openpyxl import Workbook

    (tmp_path / "hatches.csv").write_text(HATCHES)
    book = Workbook()
    book.active.title = "weights"
    for row in (["chick", "weighed_at", "weight"], ["K1", "2026-04-02", 5], ["K1\x9b", "2026-04-03", 6]):
        book.active.append(row)
    book.save(tmp_path / "season.xlsx")
    season = open_season(tmp_path)
    assert (account(season), codes(season)) == ([2, 1, 1], ["control-character"])
    assert season.not_used["cells"].tolist() == ["K1 | 2026-04-03 | 6"]


def test_a_file_without_any_is_none_the_worse():
    sheet, said = read_text(WEIGHTS.encode(), "weights.csv")
    assert (sheet.marred, said) == (frozenset(), [])
    assert sheet == Sheet("weights.csv", "", sheet.rows, sheet.how)


BINARY = {
    "random": random.Random(1).randbytes(20_000),
    "zipped": gzip.compress(WEIGHTS.encode() * 50, mtime=0),
    "noughts": bytes(5000),
    "picture": b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR",
    "few": b"\x01\x02\x03 chick",
    "program": b"\x7fELF\x02\x01\x01" + bytes(9) + b"\x03\x00\x3e\x00" * 500,
}


@pytest.mark.parametrize("data", BINARY.values(), ids=BINARY)
def test_what_is_mostly_binary_is_no_text(data):
    with pytest.raises(NotText):
        read_text(data, "weights.csv")
