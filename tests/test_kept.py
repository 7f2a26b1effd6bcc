"""What a keeper wrote stays: forms, tables and notebooks that she changed; what is made together arrives together."""

import errno
import json
import os
from pathlib import Path

import nbformat
import pytest

from analysis import SeasonError, disk, open_season
from analysis.logs.blank import write_blank_logs, write_blank_workbook
from analysis.report import season_report as reporting
from analysis.report.render import notebooks_folder
from analysis.report.round_page import morning_round
from analysis.report.writing import RECORD, Record, claim, put_all, reports_folder, said_of, scratch_folder

HATCHES = "pair,clutch,hatched_at,chick,reared_by\nP1,1,2026-05-10,K1,hand\nP1,1,2026-05-11,K2,hand\n"
ON = "2026-05-20"


@pytest.fixture
def folder(write_logs):
    return write_logs(hatches=HATCHES)


@pytest.fixture
def short_report(tmp_path, monkeypatch):
    """A report of its first page alone: how it is kept does not depend on how long it is."""
    book = nbformat.read(notebooks_folder() / "07_season_report.ipynb", as_version=4)
    book.cells = book.cells[: 1 + next(n for n, cell in enumerate(book.cells) if "attention(" in cell.source)]
    nbformat.write(book, tmp_path / "07_season_report.ipynb")
    monkeypatch.setattr(reporting, "notebooks_folder", lambda: tmp_path)


def put_down(out, files, **more):
    """Write files as a run does."""
    with scratch_folder(out) as scratch:
        return put_all({out / name: content for name, content in files.items()}, out, scratch, **more)


def listing(out):
    return {path.relative_to(out).as_posix(): path.read_bytes() for path in out.rglob("*") if path.is_file()}


def names(out):
    return sorted(listing(out).keys() - {RECORD})


# -- what somebody typed


def test_weights_typed_into_the_form_stay_and_the_new_form_is_beside_it(folder, tmp_path):
    out = tmp_path / "out"
    first = morning_round(folder, out, on=ON, csv=True)
    typed = first.csv.read_text().replace("K1,2026-05-20,,,", "K1,2026-05-20,23.5,empty,")
    first.csv.write_text(typed)
    second = morning_round(folder, out, on=ON, csv=True)
    assert first.csv.read_text() == typed
    assert second.csv.name == "weights_2026-05-20 (2).csv"
    assert "K1,2026-05-20,,," in second.csv.read_text()
    said = "\n".join(second.lines())
    assert "weights_2026-05-20.csv is not as this command left it and was not touched" in said
    assert "the new one is weights_2026-05-20 (2).csv beside it." in said
    third = morning_round(folder, out, on=ON, csv=True)
    assert third.csv == second.csv  # nobody wrote in that one
    assert first.csv.read_text() == typed


def test_a_form_that_nobody_touched_is_replaced(folder, tmp_path):
    out = tmp_path / "out"
    morning_round(folder, out, on=ON, csv=True)
    (folder / "weights.csv").write_text("chick,weighed_at,weight\nK1,2026-05-20,30\n")
    made = morning_round(folder, out, on=ON, csv=True)
    assert made.csv.name == "weights_2026-05-20.csv"
    assert made.csv.read_text().splitlines()[1:] == ["K2,2026-05-20,,,"]
    assert not [line for line in made.lines() if "beside" in line]


def test_a_form_that_no_record_knows_stays_unless_it_is_the_same(tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    (out / "weights.csv").write_bytes(b"hers")
    assert put_down(out, {"weights.csv": b"ours"})[0].name == "weights (2).csv"
    (out / RECORD).unlink()
    assert put_down(out, {"weights.csv": b"hers"})[0].name == "weights.csv"
    assert (out / "weights.csv").read_bytes() == b"hers"


def test_a_page_with_marks_on_it_and_a_changed_notebook_stay(tmp_path):
    files = {"season_report.ipynb": b"{}", "season_report.pdf": b"one", "tables/weights.csv": b"a"}
    put_down(tmp_path, files)
    for name in files:
        with (tmp_path / name).open("ab") as stream:
            stream.write(b" hers")
    hers = listing(tmp_path)
    places = put_down(tmp_path, {name: content + b"2" for name, content in files.items()})
    assert [place.name for place in places] == [
        "season_report (2).ipynb",
        "season_report (2).pdf",
        "weights (2).csv",
    ]
    assert [name for name in files if (tmp_path / name).read_bytes() != hers[name]] == []
    assert said_of(places)[0].startswith("season_report.ipynb, season_report.pdf and weights.csv are not as")


# -- together or not at all


@pytest.mark.parametrize("refused", range(1, 7))
def test_where_the_disk_refuses_one_move_all_are_as_before(tmp_path, monkeypatch, refused):
    put_down(tmp_path, {"season_report.pdf": b"1", "tables/a.csv": b"1", "tables/gone.csv": b"1"})
    before = listing(tmp_path)
    move, times = os.replace, []

    def failing(*paths):
        times.append(paths)
        if len(times) == refused:
            raise OSError(errno.EIO, "Input/output error")
        move(*paths)

    monkeypatch.setattr(os, "replace", failing)
    new = {"tables/a.csv": b"2", "tables/b.csv": b"2", "season_report.pdf": b"2"}
    if refused <= 5:  # the record twice, and three files
        with pytest.raises(SeasonError, match="could not be written"):
            put_down(tmp_path, new, replaces=("season_report", "tables/"))
        assert listing(tmp_path) == before
    else:
        put_down(tmp_path, new, replaces=("season_report", "tables/"))
        assert names(tmp_path) == sorted(new)


class Killed(BaseException):
    """As kill -9: nothing is tidied."""


def killed_at(monkeypatch, move_number):
    move, times = os.replace, []

    def dying(*paths):
        times.append(paths)
        if len(times) == move_number:
            raise Killed
        move(*paths)

    monkeypatch.setattr(os, "replace", dying)


def test_a_mixed_set_is_told_by_the_next_command_and_mended_by_the_next_report(tmp_path, monkeypatch, folder):
    out = tmp_path / "out"
    set_of = ("season_report", "tables/")
    put_down(out, {"tables/a.csv": b"1", "season_report.pdf": b"1"}, replaces=set_of)
    with monkeypatch.context() as patch:
        killed_at(patch, 3)
        with pytest.raises(Killed):
            put_down(out, {"tables/a.csv": b"2", "tables/b.csv": b"2", "season_report.pdf": b"2"}, replaces=set_of)
    assert ((out / "tables" / "a.csv").read_bytes(), (out / "season_report.pdf").read_bytes()) == (b"2", b"1")
    said = "\n".join(morning_round(folder, out, on=ON).lines())
    assert "An earlier run was ended while it wrote season_report.pdf, tables/a.csv and tables/b.csv" in said
    places = put_down(out, {"tables/a.csv": b"3", "season_report.pdf": b"3"}, replaces=set_of)
    assert names(out) == ["round_2026-05-20.pdf", "season_report.pdf", "tables/a.csv"]
    assert said_of(places) == []


def test_tables_that_are_no_longer_made_go_but_never_hers(tmp_path):
    set_of = ("season_report", "tables/")
    put_down(tmp_path, {"tables/a.csv": b"1", "tables/b.csv": b"1", "tables/c.csv": b"1"}, replaces=set_of)
    (tmp_path / "tables" / "b.csv").write_bytes(b"1 and a remark")
    (tmp_path / "tables" / "mine.csv").write_bytes(b"hers")
    put_down(tmp_path, {"tables/a.csv": b"2"}, replaces=set_of)
    assert names(tmp_path) == ["tables/a.csv", "tables/b.csv", "tables/mine.csv"]


def test_two_seasons_of_one_name_do_not_share_a_folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    first, second = tmp_path / "2025" / "logs", tmp_path / "2026" / "logs"
    for one in (first, second):
        one.mkdir(parents=True)
        target = reports_folder(one, None)
        put_down(target, {"season_report.pdf": b"1"})
        claim(target, one)
    assert [reports_folder(one, None).as_posix() for one in (first, second)] == ["reports/logs", "reports/2026_logs"]
    assert reports_folder(second, Path("reports/logs")) == Path("reports/logs")  # where she says so
    first.rename(tmp_path / "2025" / "old")
    assert reports_folder(second, None).as_posix() == "reports/logs"  # whoever it was is gone


def test_a_damaged_record_is_none(tmp_path):
    (tmp_path / RECORD).write_text('{"files": [1]')
    assert Record.of(tmp_path).files == {}
    (tmp_path / RECORD).write_text(json.dumps({"files": 3, "moving": [], "season": ""}))
    assert Record.of(tmp_path).files == {}


# -- blank logs on a full disk


@pytest.mark.parametrize("write", [write_blank_logs, write_blank_workbook])
@pytest.mark.parametrize("operation", ["write", "fsync", "link"])
def test_blank_logs_are_written_whole_or_not_at_all(tmp_path, monkeypatch, write, operation):
    with monkeypatch.context() as patch:
        full_after(patch, operation, 2 if operation != "write" and write is write_blank_logs else 1)
        with pytest.raises(SeasonError, match="no room left"):
            write(tmp_path / "mine")
    assert not (tmp_path / "mine").exists()
    assert len(write(tmp_path / "mine")) == (6 if write is write_blank_logs else 1)
    assert not [path for path in (tmp_path / "mine").iterdir() if path.name.startswith(".")]


def full_after(patch, operation, times):
    """A disk that is full from some operation on."""
    done = []

    def full(*args, **options):
        done.append(args)
        if len(done) >= times:
            raise OSError(errno.ENOSPC, "No space left on device")
        return real(*args, **options)

    if operation == "write":
        real = disk.stage
        patch.setattr(disk, "stage", full)
    else:
        real = getattr(os, operation)
        patch.setattr(os, operation, full)


def test_a_log_that_she_made_meanwhile_stays(tmp_path, monkeypatch):
    real = disk.stage

    def meanwhile(content, path):
        (tmp_path / "mine" / "hatches.csv").write_text("hers")
        real(content, path)

    monkeypatch.setattr(disk, "stage", meanwhile)
    with pytest.raises(SeasonError, match="cannot be written"):
        write_blank_logs(tmp_path / "mine")
    assert [path.name for path in (tmp_path / "mine").iterdir()] == ["hatches.csv"]
    assert (tmp_path / "mine" / "hatches.csv").read_text() == "hers"


# -- one and the same logs


def saving(monkeypatch, folder, runs):
    """Have a log saved in the middle of each of the first runs."""
    look, times = reporting.hold_same_logs, []

    def saved(season, executed=None):
        times.append(season)
        if len(times) <= runs:
            with (folder / "hatches.csv").open("a") as stream:
                stream.write(f"P1,1,2026-05-12,L{len(times)},hand\n")
        look(season, executed)

    monkeypatch.setattr(reporting, "hold_same_logs", saved)
    return times


@pytest.mark.slow
def test_a_report_of_logs_that_were_saved_meanwhile_is_made_again(folder, tmp_path, monkeypatch, short_report):
    saving(monkeypatch, folder, 1)
    made = reporting.season_report(folder, tmp_path / "out")
    chicks = (tmp_path / "out" / "tables" / "chicks.csv").read_text(encoding="utf-8-sig")
    assert "L1" in chicks
    assert open_season(folder).fingerprint in made.files.notebook.read_text(encoding="utf-8")


@pytest.mark.slow
def test_logs_that_are_saved_all_the_time_leave_the_last_report(folder, tmp_path, monkeypatch, short_report):
    out = tmp_path / "out"
    put_down(out, {"season_report.pdf": b"last good one"})
    before = listing(out)
    saving(monkeypatch, folder, 9)
    with pytest.raises(SeasonError, match=r"were saved while the report was made of them.*Run again"):
        reporting.season_report(folder, out)
    assert listing(out) == before


def test_what_the_kernel_read_counts_too(open_logs):
    cover = {"kind": "cover", "fingerprint": "another"}
    season = open_logs(hatches=HATCHES)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("analysis.report.blocks.season_displays", lambda notebook: [cover])
        with pytest.raises(SeasonError, match="were saved while"):
            reporting.hold_same_logs(season, {})
        cover["fingerprint"] = season.fingerprint
        reporting.hold_same_logs(season, {})


def test_midnight_comes_but_once(folder, tmp_path, set_clock):
    set_clock("2026-05-20 23:59", "2026-05-21 00:00", "2026-05-22 00:00")
    made = morning_round(folder, tmp_path / "out", csv=True)
    assert (made.pdf.name, made.csv.name) == ("round_2026-05-20.pdf", "weights_2026-05-20.csv")
