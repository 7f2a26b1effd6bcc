"""Long files are read by column and short ones row by row: both ways give the same season and the same problems."""

import numpy as np
import pandas as pd
import pytest

from analysis import open_season
from analysis.logs import book, text
from analysis.logs.sheets import HeldRows, hold_text
from analysis.logs.text import read_text

HATCHES = "pair,chick,hatched_at\n" + "".join(f"P{n % 3},K{n},2026-04-0{1 + n % 5}\n" for n in range(12))
LISTS = """\
chick,weighed_at,weight,crop,notes
K1,2026-04-06,5.5,empty,
K1,2026-04-07 06:30,6.9,,fine
k2,7.4.2026,5 g,,
K2,8/4/2026,~6,,
K2,13/4/2026,9.1,,
K99,2026-04-06,5,,
K3,2026-03-01,4,,
K3,2026-04-09,0,,
K3,2026-04-10,-1,,
K4,2026-04-06,5.1,stuffed,
K4,2026-04-07,61,,
K4,2026-04-08,7.2,,
K4,2026-04-09,8.8,,
K5,2026-04-06,5,,
K5,2026-04-06,5,,
K5,2026-04-06,6,,
K6+K7,2026-04-07,12,,
K8,2026-04-08,,,
?,2026-04-08,4,,
K9,n/a,4,,
K9,2062-04-08,4,,
K10,2026-04-08,1 oz,,
K10,46121,7,,
,,,,
Total,,99,,
K11,2026-04-08,#DIV/0!,,
K11,2026-04-09,=A1*2,,
K0,2026-04-08,4,,
"""
GRID = (
    "date;K1;K2;K3+K4;Nobody;notes;K5\n6.4.2026;5,5;~6;11;4;cold;5\n7.4.2026;6,9;-;?;;;<1\n"
    "soon;1;2;;;;\n8.4.2026;;;12,5;;;62\n9.4.2026;;;;;;7,1\n10.4.2026;;;;;;8,3\nMean;6;6;;;;\n"
)
ACROSS = "chick,2026-04-06,2026-04-07,2026-04-08,total\nK1,5.5,6.9,8.4,20\nK2,5 g,x,,9\nK98,4,,,\nK3+K4,,12,,\n?,3,,,\n"


@pytest.mark.parametrize("weights", [LISTS, GRID, ACROSS], ids=["list", "grid", "across"])
def test_both_ways_of_reading_give_the_same(write_logs, monkeypatch, weights):
    settings = "setting,value\nseason,2026\n"
    folder = write_logs(hatches=HATCHES, weights=weights, settings=settings, losses="chick,found_on\nK1,2026-04-20\n")
    by_row = open_season(folder)
    monkeypatch.setattr(text, "LONG", 0)
    by_column = open_season(folder)
    assert isinstance(read_text((folder / "weights.csv").read_bytes(), "weights.csv")[0].rows, HeldRows)
    pd.testing.assert_frame_equal(by_row.weights, by_column.weights)
    pd.testing.assert_frame_equal(by_row.accounting, by_column.accounting)
    keys = ["file", "row", "column", "code", "value"]
    for name in ("problems", "not_used"):
        one, other = (getattr(season, name) for season in (by_row, by_column))
        columns = [key for key in keys if key in one]
        pd.testing.assert_frame_equal(
            *(frame.sort_values(columns, ignore_index=True) for frame in (one, other)), check_like=True
        )
    assert by_row.last_day == by_column.last_day
    assert {*by_row.weights["chick"]} >= {"K1", "K2"}


@pytest.mark.parametrize(
    "content",
    [
        "a,b\n1\n,\n\n3,4\n",
        'a,b\n"x, y",2\n"q ""r""",4\n',
        "a,b\r1,2\r3,4\r",
        "a,b,\r\n 1 ,2,\r\n",
        'a,b\n"x\ny",2\n3,4\n',
    ],
)
def test_a_file_held_by_column_has_the_same_cells(content):
    rows = read_text(content.encode(), "x.csv")[0].rows
    held = hold_text(content, ",")
    trimmed = [[(n, "|".join(cells).rstrip("|")) for n, cells in one] for one in (rows, held)]
    assert trimmed[0] == trimmed[1]


@pytest.mark.parametrize(
    "column",
    [
        "1\n7\n8\n",
        "1\n007\n7\n",
        "1.5\n7.50\n8\n",
        "1\n1e5\n7\n",
        "True\nFalse\nTrue\n",
        "1\n7\nx\n",
        "1\n\n7\n",
        "\n\n",
    ],
    ids=["whole", "noughts", "decimal", "power", "flags", "mixed", "some blank", "all blank"],
)
def test_cells_held_by_column_stay_as_they_are_written(column):
    alone, beside = column, "".join(f"{line},{line}\n" for line in column.splitlines())
    for content in (alone, beside):
        rows = [(number, list(cells)) for number, cells in hold_text(content, ",")]
        written = content.splitlines()
        assert rows == [(at, line.split(",")) for at, line in enumerate(written, start=1) if line.strip(",")]


def test_a_large_grid_of_whole_grams_under_ring_numbers_is_read(write_logs, monkeypatch):
    monkeypatch.setattr(text, "LONG", 1_000)
    chicks, mornings = 100, [f"2026-04-{day:02d}" for day in range(6, 30)]
    hatches = "chick,hatched_at\n" + "".join(f"{ring},2026-04-05\n" for ring in range(101, 101 + chicks))
    heads = "date," + ",".join(str(ring) for ring in range(101, 101 + chicks))
    lines = [f"{day}," + ",".join([str(20 + at)] * chicks) for at, day in enumerate(mornings)]
    folder = write_logs(hatches=hatches, weights="\n".join([heads, *lines]) + "\n")
    season = open_season(folder)
    assert season.accounting.set_index("log").loc["weights"].tolist() == [2400, 2400, 0]
    assert sorted(season.weights["mass_g"]) == [20.0 + at for at in range(24) for _ in range(chicks)]


def test_a_row_too_long_is_for_the_reader_of_rows():
    assert hold_text("a,b\n1,2\n1,2,3\n", ",") is None


def test_a_long_sheet_of_a_workbook_is_held_by_column(tmp_path, monkeypatch):
    from datetime import datetime

    from openpyxl import Workbook

    made = Workbook()
    made.active.title = "weights"
    made.active.append(["chick", "weighed_at", "weight"])
    made.active.append(["K1", datetime(2026, 4, 6), 5.5])
    made.active.append([])
    made.active.append([7, datetime(2026, 4, 7, 6, 30), True])
    made.save(tmp_path / "season.xlsx")
    by_row = list(book.read_book(tmp_path / "season.xlsx")[0].rows)
    monkeypatch.setattr(book, "MANY", 0)
    held = book.read_book(tmp_path / "season.xlsx")[0].rows
    assert isinstance(held, HeldRows)
    assert list(held) == by_row
    assert np.array_equal(held.numbers, [1, 2, 4])
