"""Every table is held and read by column, and each cell, row and problem is what a reader of rows would find."""

import csv
import io

import pytest

from analysis import open_season
from analysis.logs import sheets
from analysis.logs.read import read_text
from analysis.logs.sheets import by_column

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


# by row, as read one after another: the row, the column, the code and what was written
FOUND = {
    "list": (
        (27, 14, 13),
        "5 weight about ~6|7 chick unknown-chick K99|8 weighed_at weight-before-hatch 2026-03-01"
        "|9 weight weight-not-positive 0|10 weight weight-not-positive -1|11 crop unknown-choice stuffed"
        "|12 weight ten-fold 61|16 weight repeated-row 5|17 weight weighed-twice 5 and 6|19 weight value-missing "
        "|20 chick name-missing |21 weighed_at date-missing |22 weighed_at far-from-season 2062-04-08"
        "|23 weight other-unit 1 oz|26  totals-line Total|27 weight error-cell #DIV/0!"
        "|28 weight formula-without-value =A1*2",
        "K0 4|K1 5.5|K1 6.9|K2 5|K2 6|K2 9.1|K4 5.1|K4 7.2|K4 8.8|K5 5|K5 6|K6 6|K7 6|K10 28.3495|K10 7",
    ),
    "grid": (
        (14, 8, 6),
        "<NA> notes unknown-column |2 weight about ~6|2 chick unknown-chick Nobody|3 weight less-than <1"
        "|4 weighed_at unreadable-date soon|4 weighed_at unreadable-date soon|5 weight ten-fold 62|8  totals-line Mean",
        "K1 5.5|K1 6.9|K2 6|K3 5.5|K3 6.25|K4 5.5|K4 6.25|K5 5|K5 7.1|K5 8.3",
    ),
    "across": (
        (8, 5, 3),
        "<NA> total unknown-column |3 weight unreadable-number x|4 chick unknown-chick K98|6 chick name-missing ",
        "K1 5.5|K1 6.9|K1 8.4|K2 5|K3 6|K4 6",
    ),
}


@pytest.mark.parametrize(("weights", "form"), [(LISTS, "list"), (GRID, "grid"), (ACROSS, "across")], ids=FOUND)
def test_all_that_is_found_in_a_table_stands_in_the_order_of_its_rows(open_logs, weights, form):
    settings = "setting,value\nseason,2026\n"
    season = open_logs(hatches=HATCHES, weights=weights, settings=settings, losses="chick,found_on\nK1,2026-04-20\n")
    account, problems, used = FOUND[form]
    found = season.problems[season.problems["file"] == "weights.csv"]
    rows = [f"{one.row} {one.column} {one.code} {one.value}" for one in found.itertuples()]
    assert rows == problems.split("|")
    assert tuple(season.accounting.set_index("log").loc["weights"]) == account
    weighed = zip(season.weights["chick"], season.weights["mass_g"], strict=True)
    assert [f"{chick} {mass_g:g}" for chick, mass_g in weighed] == used.split("|")


def test_a_copy_is_found_in_an_odd_row_and_the_first_one_is_used(open_logs):
    weights = "chick,weighed_at,weight\nK1,2026-04-06,5\nK2,2026-04-06,5 g\nK2,2026-04-06,5\nK1,2026-04-06,5 g\n"
    season = open_logs(hatches=HATCHES, weights=weights)
    assert season.problems.query("code == 'repeated-row'")["row"].tolist() == [4, 5]
    assert season.weights["row"].tolist() == [2, 3]


def test_what_is_dropped_makes_no_last_day(open_logs):
    weights = "chick,weighed_at,weight\nK1,2026-04-06,5\nK99,2026-05-06,5\n"
    assert str(open_logs(hatches=HATCHES, weights=weights).last_day.date()) == "2026-04-06"


def test_a_total_beside_a_date_is_no_chick(open_logs):
    season = open_logs(hatches=HATCHES, weights="chick,2026-04-06,2026-04-07\nK1,5,6\nK2,5,7\nTotal,10,13\n")
    assert season.problems.query("file == 'weights.csv'")["code"].tolist() == ["totals-line"]


def as_rows(content):
    rows = csv.reader(io.StringIO(content, newline=""))
    stripped = [(n, tuple(cell.strip() for cell in cells)) for n, cells in enumerate(rows, start=1)]
    return [row for row in stripped if any(row[1])]


@pytest.mark.parametrize(
    "content",
    [
        "a,b\n1\n,\n\n3,4\n",
        'a,b\n"x, y",2\n"q ""r""",4\n',
        "a,b\r1,2\r3,4\r",
        "a,b,\r\n 1 ,2,\r\n",
        'a,b\n"x\ny",2\n3,4\n',
        "a,b\n1,2\n1,2,3\n1\n1,,\n",
        "a\n" + "1,2\n" * 1200 + "1,2,3\n",
    ],
)
def test_a_file_held_by_column_has_the_same_cells(content):
    rows = read_text(content.encode(), "x.csv")[0].rows
    assert list(rows) == as_rows(content)
    assert [rows[at] for at in range(len(rows))] == as_rows(content)
    assert list(rows[1:]) == as_rows(content)[1:]


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
        rows = [(number, list(cells)) for number, cells in read_text(content.encode(), "x.csv")[0].rows]
        written = content.splitlines()
        assert rows == [(at, line.split(",")) for at, line in enumerate(written, start=1) if line.strip(",")]


def test_a_large_grid_of_whole_grams_under_ring_numbers_is_read(write_logs):
    chicks, mornings = 100, [f"2026-04-{day:02d}" for day in range(6, 30)]
    hatches = "chick,hatched_at\n" + "".join(f"{ring},2026-04-05\n" for ring in range(101, 101 + chicks))
    heads = "date," + ",".join(str(ring) for ring in range(101, 101 + chicks))
    lines = [f"{day}," + ",".join([str(20 + at)] * chicks) for at, day in enumerate(mornings)]
    folder = write_logs(hatches=hatches, weights="\n".join([heads, *lines]) + "\n")
    season = open_season(folder)
    assert season.accounting.set_index("log").loc["weights"].tolist() == [2400, 2400, 0]
    assert sorted(season.weights["mass_g"]) == [20.0 + at for at in range(24) for _ in range(chicks)]


def test_a_row_of_very_many_cells_takes_no_room_for_all_others(monkeypatch):
    monkeypatch.setattr(sheets, "MOST_CELLS", 10)
    monkeypatch.setattr(sheets, "WIDE", 3)
    rows = by_column([["a", "b"]] * 4 + [list("abcdef")], most_rows=5)
    assert (len(rows.columns), rows[3], rows[4]) == (3, (4, ("a", "b")), (5, ("a", "b", "c | d | e | f")))


def test_a_sheet_of_a_workbook_is_held_by_column(tmp_path):
    from datetime import datetime

    from openpyxl import Workbook

    from analysis.logs.book import read_book

    made = Workbook()
    made.active.title = "weights"
    made.active.append(["chick", "weighed_at", "weight"])
    made.active.append(["K1", datetime(2026, 4, 6), 5.5])
    made.active.append([])
    made.active.append([7, datetime(2026, 4, 7, 6, 30), True])
    made.active.append([1, False, "1"])
    made.save(tmp_path / "season.xlsx")
    assert list(read_book(tmp_path / "season.xlsx")[0].rows) == [
        (1, ("chick", "weighed_at", "weight")),
        (2, ("K1", "2026-04-06", "5.5")),
        (4, ("7", "2026-04-07 06:30", "TRUE")),
        (5, ("1", "FALSE", "1")),
    ]
