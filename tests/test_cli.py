"""The command as a keeper meets it: exit codes, plain sentences, never a traceback."""

import json
import os

import pytest
from click.testing import CliRunner

import analysis
from analysis.__main__ import main as start
from analysis.cli import main
from support import DEMO, ROOT

NO_FOLDER = "is a file, not a folder, so it cannot be written into. Choose a folder of your own."
HATCHES = "chick,hatched_at\nK1,2026-04-01\n"


def run(*arguments):
    result = CliRunner().invoke(main, [str(a) for a in arguments])
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    assert "Traceback" not in result.output
    return result


@pytest.mark.parametrize("command", ["", "new", "check", "report", "lab"])
def test_every_command_says_what_it_does(command):
    result = run(*command.split(), "--help")
    assert result.exit_code == 0
    assert result.output.startswith("Usage:")


def test_it_says_which_version_it_is():
    assert run("--version").output == f"{analysis.__version__}\n"


def test_the_command_works_with_one_thread_where_nobody_asked_for_more(monkeypatch):
    seen = []
    monkeypatch.setattr("analysis.cli.main", lambda: seen.append(os.environ.get("OPENBLAS_NUM_THREADS")))
    monkeypatch.setattr("analysis.__main__.catch_signals", lambda: None)
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    start()
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "4")
    start()
    assert seen == ["1", "4"]


def test_new_then_check_says_that_nothing_is_filled_in(tmp_path):
    assert run("new", tmp_path / "mine").exit_code == 0
    result = run("check", tmp_path / "mine")
    assert result.exit_code == 2
    assert "No row of any log could be used. Start with hatches" in result.output


def test_check_of_a_clean_folder(write_logs):
    result = run("check", write_logs(hatches=HATCHES))
    assert (result.exit_code, "No problems found." in result.output) == (0, True)


def test_something_to_look_at_is_no_failure(write_logs):
    result = run("check", write_logs(hatches=HATCHES + "K2,\n"))
    assert (result.exit_code, "A chick with no hatch date" in result.output) == (0, True)


@pytest.mark.parametrize(
    "logs",
    [
        {"weights": "chick,weighed_at,weight\nK1,2026-04-02,4\nK9,2026-04-02,4\n"},
        {"losses": "chick,found_on,last_seen_well_on\nK1,2026-04-05,soon\n"},
    ],
)
def test_a_row_or_cell_not_used_is_exit_code_1(write_logs, logs):
    assert run("check", write_logs(hatches=HATCHES, **logs)).exit_code == 1


def test_check_as_json(write_logs):
    folder = write_logs(hatches=HATCHES, weights="chick,weighed_at,weight\nK9,2026-04-02,=1+1\n")
    told = json.loads(run("check", folder, "--json").output)
    assert told["problems"][0]["code"] == "formula-without-value"
    assert told["not_used"][0]["cells"] == "K9 | 2026-04-02 | =1+1"
    assert told["accounting"] == [
        {"log": "hatches", "read": 1, "used": 1, "not_used": 0},
        {"log": "weights", "read": 1, "used": 0, "not_used": 1},
    ]


@pytest.mark.parametrize(
    ("logs", "words"),
    [
        ({}, "no logs in"),
        ({"weights": "chick,weighed_at,weight\nK1,2026-04-02,4\n"}, "found weights (1 rows)"),
        ({"hatches": "chick,hatched_at\n"}, "its logs have no rows"),
        ({"hatches": b""}, "its logs have no rows"),
        ({"hatches": b"\x00\x01\x02"}, "its logs have no rows"),
        ({"wieghts": "chick\nK1\n"}, "its logs have no rows"),
        ({"birdroom": "when,what\n2 Mar 26,paired up\n"}, "No log has the name of birdroom.csv"),
    ],
)
def test_what_cannot_be_reported_on_is_one_plain_sentence(write_logs, tmp_path, logs, words):
    result = run("report", write_logs(**logs), "--out", tmp_path / "out")
    assert result.exit_code == 2
    assert words in result.output
    assert not (tmp_path / "out").exists()


def test_no_such_folder(tmp_path):
    for command in ("check", "report", "lab"):
        result = run(command, tmp_path / "nowhere")
        assert (result.exit_code, "There is no folder" in result.output) == (2, True)


@pytest.mark.parametrize(("asked", "recipes"), [([], False), (["--recipes"], True)])
def test_the_lab_opens_on_the_recipes_where_they_are_asked_for(monkeypatch, asked, recipes):
    opened = []
    monkeypatch.setattr("analysis.cli.leave_signals", lambda: None)
    monkeypatch.setattr("analysis.lab.starting.open_lab", lambda folder, **options: opened.append(options["recipes"]))
    assert run("lab", DEMO, *asked).exit_code == 0
    assert opened == [recipes]


def test_the_tab_key_finishes_commands_and_options():
    def finished(typed):
        asked = {"_SEASON_COMPLETE": "bash_complete", "COMP_WORDS": typed, "COMP_CWORD": str(typed.count(" "))}
        return CliRunner().invoke(main, prog_name="season", env=asked).output.split()

    assert finished("season sh") == ["plain,sheets"]
    assert finished("season report --up") == ["plain,--up-to"]
    assert 'eval "$(_SEASON_COMPLETE=bash_source season)"' in (ROOT / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ([command, "{file}"], "is a file. Name the folder that your logs are in.")
        for command in ("check", "report", "round", "sheets", "outlook", "lab")
    ]
    + [
        (["new", "{file}"], NO_FOLDER),
        (["new", "{file}", "--workbook"], NO_FOLDER),
        (["check", DEMO, "--with", "{file}"], "is a file. Name the folder that your logs are in."),
        (["sheets", DEMO, "--out", "{file}"], "is a file, not a folder. Choose another folder for the report."),
    ],
)
def test_a_file_in_the_place_of_a_folder_is_one_sentence(tmp_path, arguments, words):
    (tmp_path / "notes.csv").write_text("chick\n")
    result = run(*(str(word).format(file=tmp_path / "notes.csv") for word in arguments))
    assert result.exit_code == 2
    assert result.stderr.endswith(f"{tmp_path / 'notes.csv'} {words}\n")
    assert [path.name for path in tmp_path.iterdir()] == ["notes.csv"]


def test_a_day_that_cannot_be_read(tmp_path):
    result = run("report", DEMO, "--out", tmp_path / "out", "--up-to", "whitsun")
    assert (result.exit_code, "whitsun is not a day" in result.output) == (2, True)


def test_two_earlier_seasons_that_are_not_there(tmp_path):
    result = run("check", DEMO, "--with", tmp_path / "2025", "--with", tmp_path / "2024")
    assert (result.exit_code, "An earlier season cannot be joined" in result.output) == (2, True)


def test_a_new_workbook_and_a_marked_copy(write_logs, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert "1 new file" in run("new", tmp_path / "mine", "--workbook").output
    book = run("check", tmp_path / "mine").output
    read = next(line for line in book.split("\n") if line.endswith(": Excel workbook, headings in row 1."))
    assert "season.xlsx, hatches" in read
    folder = write_logs(hatches=HATCHES, weights="chick,weighed_at,weight\nK9,2026-04-02,4\n")
    before = {path: path.read_bytes() for path in folder.iterdir()}
    result = run("check", folder, "--mark")
    assert (result.exit_code, "Marked copy: season_marked.xlsx" in result.output) == (1, True)
    assert before == {path: path.read_bytes() for path in folder.iterdir()}
    assert (tmp_path / "season_marked.xlsx").stat().st_size > 1000
    again = run("check", folder, "--mark")
    assert again.exit_code == 2  # never over a file that is there


def test_a_problem_in_a_workbook_names_its_sheet(tmp_path):
    import openpyxl

    book = openpyxl.Workbook()
    book.active.title = "hatches"
    for row in (["chick", "hatched_at"], ["K1", "2026-04-01"], ["K2", "soon"]):
        book.active.append(row)
    book.save(tmp_path / "season.xlsx")
    assert 'season.xlsx, hatches row 3, hatched_at: "soon"' in run("check", tmp_path).output


def test_every_command_shows_an_example():
    for name, command in main.commands.items():
        said = CliRunner().invoke(main, [name, "--help"]).output
        assert f"For example: season {name} " in " ".join(said.split()), name
        assert command.get_short_help_str()


def test_ctrl_c_ends_without_a_traceback(monkeypatch, write_logs):
    def stopped(*args, **options):
        raise KeyboardInterrupt

    monkeypatch.setattr("analysis.season.open_season", stopped)
    ended = CliRunner().invoke(main, ["check", str(write_logs(hatches="chick,hatched_at\nK1,2026-04-01\n"))])
    assert ended.exit_code == 130
    assert "Stopped. Your logs" in ended.output
    assert "Traceback" not in ended.output


def test_what_nobody_foresaw_is_a_sentence_with_the_next_step(monkeypatch, write_logs):
    def broken(*args, **options):
        raise KeyError("mass_g")

    monkeypatch.setattr("analysis.season.open_season", broken)
    ended = CliRunner().invoke(main, ["check", str(write_logs(hatches="chick,hatched_at\nK1,2026-04-01\n"))])
    assert ended.exit_code == 2
    assert ended.output.startswith("season: Something went wrong in the program (KeyError: 'mass_g'). Your logs")
    assert "Traceback" not in ended.output
