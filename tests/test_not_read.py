"""A log that cannot be read is said, never waited for, and stands in the account: nothing holds emptily."""

import json
import os
import socket
import subprocess
import sys

import pandas as pd
import pytest

from analysis import chapters, open_season
from analysis.check.summary import check_json, check_text, exit_code
from analysis.day.round import attention, round_of
from analysis.logs import Ledger, read, read_folder
from analysis.pairs.of_season import Pairs
from support import as_read, codes

HATCHES = "chick,hatched_at\nK1,2026-04-01\n"
WEIGHTS = "chick,weighed_at,weight\nK1,2026-04-02,4\nK1,2026-04-03,5\n"


def broken_link(path):
    path.symlink_to("nowhere.csv")


def link_to_itself(path):
    path.symlink_to(path.name)


def pipe(path):
    os.mkfifo(path)


def link_to_a_pipe(path):
    os.mkfifo(path.with_suffix(".fifo"))
    path.symlink_to(path.with_suffix(".fifo"))


def folder(path):
    path.mkdir()


def a_socket(path):
    here = os.getcwd()
    os.chdir(path.parent)  # the path of a socket may be no longer than about a hundred letters
    try:
        socket.socket(socket.AF_UNIX).bind(path.name)
    finally:
        os.chdir(here)


def device(path):
    path.symlink_to("/dev/zero")


KINDS = {
    broken_link: "a link that leads nowhere",
    link_to_itself: "a link that leads nowhere",
    pipe: "a pipe",
    link_to_a_pipe: "a pipe",
    folder: "a folder",
    a_socket: "a socket",
    device: "a device",
}


@pytest.mark.skipif(sys.platform == "win32", reason="no such files there")
@pytest.mark.filterwarnings("ignore::ResourceWarning")
@pytest.mark.parametrize("make", KINDS)
@pytest.mark.parametrize("name", ["weights.csv", "season.xlsx"])
def test_what_is_no_plain_file_is_said_and_never_waited_for(write_logs, make, name):
    logs = write_logs(hatches=HATCHES)
    make(logs / name)
    ran = subprocess.run(
        [sys.executable, "-c", RUN, "check", str(logs), "--json"],
        capture_output=True,
        timeout=60,
        encoding="utf-8",
        check=False,
    )
    told = json.loads(ran.stdout)
    assert ran.returncode == 1
    assert [(p["file"], p["code"]) for p in told["problems"]] == [(name, "no-plain-file")]
    assert f"This is {KINDS[make]}" in told["problems"][0]["advice"]
    assert told["accounting"][-1] == {"log": f"{name}, not read", "read": None, "used": 0, "not_used": None}


RUN = "from analysis.cli import main; main()"


@pytest.mark.skipif(sys.platform == "win32", reason="no such files there")
def test_a_folder_with_nothing_else_is_no_empty_folder(tmp_path):
    broken_link(tmp_path / "weights.csv")
    season = open_season(tmp_path)
    assert codes(season) == ["no-plain-file"]
    assert exit_code(season) == 2


def test_a_refused_log_stands_in_the_account_with_the_lines_it_seems_to_have(write_logs):
    binary = b"\x00\x01\x02\x03\n" * 40
    season = open_season(write_logs(hatches=HATCHES, weights=binary))
    assert season.accounting.to_dict("records") == [
        {"log": "hatches", "read": 1, "used": 1, "not_used": 0},
        {"log": "weights.csv, not read", "read": 40, "used": 0, "not_used": 40},
    ]
    assert season.unread == ("weights.csv",)
    assert "It seems to have 40 lines; none was used." in season.problems["advice"].iloc[0]
    said = check_text(season)
    assert "weights.csv, not read     40      0        40" in said
    assert said.endswith(
        "40 rows not used, 0 things to look at. weights.csv could not be read. Nothing you wrote was changed."
    )
    assert exit_code(season) == 1


def test_beside_a_log_that_was_read_it_stands_alone(write_logs):
    logs = write_logs(hatches=HATCHES, weights=WEIGHTS)
    (logs / "weights 2.csv").write_bytes(b"\x00\x01\x02\x03\n" * 3)
    account = open_season(logs).accounting.set_index("log")
    assert account.loc["weights"].tolist() == [2, 2, 0]
    assert account.loc["weights 2.csv, not read"].tolist() == [3, 0, 3]
    assert (account["read"] == account["used"] + account["not_used"]).all()


def test_a_workbook_that_cannot_be_read_has_rows_that_nobody_can_count(write_logs):
    logs = write_logs(hatches=HATCHES)
    (logs / "season.xlsx").write_bytes(b"PK\x03\x04")
    season = open_season(logs)
    row = season.accounting.iloc[-1]
    assert (row["log"], row["used"], pd.isna(row["read"]), pd.isna(row["not_used"])) == (
        "season.xlsx, not read",
        0,
        True,
        True,
    )
    assert "could not be counted; none was used" in season.problems["advice"].iloc[0]
    said = check_text(season)
    assert "season.xlsx, not read      ?      0         ?" in said
    assert "season.xlsx could not be read" in said
    assert json.loads(check_json(season))["accounting"][-1]["read"] is None
    assert "season.xlsx could not be read" in chapters.in_short.logs(season)[0].text
    assert "season.xlsx could not be read" in dict(as_read(attention(round_of(season), Pairs.of(season))))["Your logs"]


@pytest.fixture
def small_limit(monkeypatch):
    monkeypatch.setattr(read, "LARGE", 200)


def test_a_large_text_file_asks_first(write_logs, small_limit):
    logs = write_logs(hatches=HATCHES, weights=WEIGHTS + "K1,2026-04-04,6\n" * 100)
    season = open_season(logs)
    assert codes(season) == ["large-log"]
    advice = season.problems["advice"].iloc[0]
    assert "large_logs" in advice
    assert season.accounting.set_index("log").loc["weights.csv, not read"].tolist() == [103, 0, 103]
    assert len(season.weights) == 0


@pytest.mark.parametrize("settings", ["setting,value\nlarge_logs,yes\n", "Setting;Value;Default\nLarge logs;Yes;no\n"])
def test_and_is_read_where_the_settings_say_so(write_logs, small_limit, settings):
    logs = write_logs(hatches=HATCHES, weights=WEIGHTS + "K1,2026-04-04,6\n" * 100, settings=settings)
    season = open_season(logs)
    assert "large-log" not in codes(season)
    assert season.accounting.set_index("log").loc["weights", "read"] == 102
    assert [sheet.file for sheet in read_folder(logs, Ledger())] == ["hatches.csv", "settings.csv", "weights.csv"]


@pytest.mark.parametrize("settings", ["setting,value,default\nlarge_logs,,no\n", "setting,value\nlarge_logs,no\n"])
def test_and_not_where_they_do_not(write_logs, small_limit, settings):
    logs = write_logs(hatches=HATCHES, weights=WEIGHTS + "K1,2026-04-04,6\n" * 100, settings=settings)
    assert "large-log" in codes(open_season(logs))


@pytest.mark.slow
def test_twenty_thousand_unknown_headings_are_one_problem(open_logs):
    heads = ",".join(f"thing {n}" for n in range(20_000))
    season = open_logs(hatches=f"chick,hatched_at,{heads}\nK1,2026-04-01\n")
    assert codes(season) == ["unknown-columns"]
    assert "20000 columns" in season.problems["advice"].iloc[0]
    assert season.problems["value"].str.len().max() < 300
    assert season.chicks["chick"].tolist() == ["K1"]


@pytest.mark.slow
def test_so_are_twenty_thousand_of_one_name_and_as_many_in_a_grid(open_logs):
    heads = ",".join(["thing"] * 20_000)
    season = open_logs(hatches=f"chick,hatched_at,{heads}\nK1,2026-04-01\n")
    assert len(codes(season)) <= 2
    cells = ",".join(["total"] * 20_000)
    season = open_logs(hatches=HATCHES, weights=f"date,K1,{cells}\n2026-04-02,5\n")
    assert codes(season) == ["unknown-columns"]


def test_a_few_unknown_headings_are_named_one_by_one(open_logs):
    season = open_logs(hatches="chick,hatched_at,thing,wight,other\nK1,2026-04-01\n")
    assert codes(season) == ["unknown-column"] * 3


def test_a_stray_cell_far_out_refuses_its_sheet_and_not_the_book(tmp_path):
    from openpyxl import Workbook

    book = Workbook()
    book.active.title = "hatches"
    for row in HATCHES.splitlines():
        book.active.append(row.split(","))
    book.create_sheet("weights")["XFD1048576"] = "x"
    book.save(tmp_path / "season.xlsx")
    season = open_season(tmp_path)
    assert codes(season) == ["sheet-too-large"]
    assert season.problems["sheet"].tolist() == ["weights"]
    assert season.chicks["chick"].tolist() == ["K1"]
    assert season.accounting["log"].tolist() == ["hatches", "season.xlsx, weights, not read"]
