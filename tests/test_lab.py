"""`season lab` without a browser: whose chapters are replaced, what is said, and how it starts and ends."""

import json
import os
import signal
import socket
import stat
import subprocess
import sys
import webbrowser
from contextlib import contextmanager

import pytest
from started_lab import LISTENING, SLOW_S, until

from analysis.disk import read_json, write_json
from analysis.errors import SeasonError
from analysis.lab import starting as opening
from analysis.lab.chapters import copy_chapters, fingerprint, set_damaged_aside
from analysis.lab.jupyter_settings import environment, write_look, write_run
from analysis.lab.server import noting_stops
from analysis.lab.starting import open_lab
from analysis.report.render import notebooks_folder
from analysis.say import say
from support import ROOT

CHAPTER, BESIDE = "04_growth.ipynb", "04_growth (new).ipynb"
LOGS = {"hatches": "chick,hatched_at\nK1,2026-04-01\n"}


def cell(source, kind="markdown", **more):
    return {"cell_type": kind, "source": source, "metadata": {}, **more}


def write(path, *cells):
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps({"cells": cells}), encoding="utf-8")


@pytest.fixture
def shelf(tmp_path):
    """Our chapters, the season folder and its workbook, with the first version copied."""
    ours, season = tmp_path / "ours", tmp_path / "season"
    write(ours / CHAPTER, cell("# Growth"), cell("1 + 1", "code", outputs=[]))
    assert copy_chapters(ours, season) == []
    return ours, season, season / "workbook"


def newer(ours, words="# Growth, newer"):
    write(ours / CHAPTER, cell(words))
    return (ours / CHAPTER).read_bytes()


def test_a_chapter_that_was_only_run_is_replaced(shelf):
    ours, season, hers = shelf
    write(hers / CHAPTER, cell("# Growth"), cell(["1 +", " 1"], "code", outputs=[{"text": "2"}], execution_count=1))
    assert copy_chapters(ours, season) == []
    assert b'"outputs": [{' in (hers / CHAPTER).read_bytes(), "nothing newer: what she ran stays"
    content = newer(ours)
    assert copy_chapters(ours, season) == []
    assert (hers / CHAPTER).read_bytes() == content
    assert [path.name for path in hers.glob("*.ipynb")] == [CHAPTER]


@pytest.mark.parametrize(
    "changed",
    [
        [cell("# Growth\n\nMy remark"), cell("1 + 1", "code")],
        [cell("# Growth"), cell("1 + 1", "code"), cell("My remark")],
        [cell("# Growth", attachments={"image.png": {"image/png": "aGVu"}}), cell("1 + 1", "code")],
        [cell("# Growth"), cell("1 + 1", "code") | {"metadata": {"tags": ["remove-cell"]}}],
        [cell("# Growth")],
    ],
)
def test_a_chapter_that_she_changed_stays_and_the_newer_lies_beside(shelf, changed):
    ours, season, hers = shelf
    write(hers / CHAPTER, *changed)
    mine = (hers / CHAPTER).read_bytes()
    assert copy_chapters(ours, season) == [], "nothing newer yet"
    content = newer(ours)
    assert copy_chapters(ours, season) == [BESIDE]
    assert (hers / CHAPTER).read_bytes() == mine
    assert (hers / BESIDE).read_bytes() == content
    assert copy_chapters(ours, season) == [], "it is said once"
    (hers / BESIDE).unlink()
    assert copy_chapters(ours, season) == [], "what she threw away stays away"
    assert not (hers / BESIDE).exists()


def test_her_remark_in_the_one_beside_stays_too(shelf):
    ours, season, hers = shelf
    write(hers / CHAPTER, cell("mine"))
    newer(ours)
    copy_chapters(ours, season)
    second = newer(ours, "# Second")
    assert copy_chapters(ours, season) == [BESIDE]
    assert (hers / BESIDE).read_bytes() == second, "unchanged by her: replaced"
    write(hers / BESIDE, cell("mine as well"))
    third = newer(ours, "# Third")
    assert copy_chapters(ours, season) == ["04_growth (new 2).ipynb"]
    assert (hers / "04_growth (new 2).ipynb").read_bytes() == third
    assert "mine as well" in (hers / BESIDE).read_text()


@pytest.mark.parametrize("memory", [None, b"{not json", b"[]", b'{"04_growth.ipynb": ["x"]}'])
def test_where_it_is_not_known_who_changed_it_hers_stays(shelf, memory):
    ours, season, hers = shelf
    record = hers / ".settings" / "chapters.json"
    record.unlink() if memory is None else record.write_bytes(memory)
    write(hers / CHAPTER, cell("an older version, or hers"))
    assert copy_chapters(ours, season) == [BESIDE]
    assert "or hers" in (hers / CHAPTER).read_text()


def test_a_chapter_that_cannot_be_read_counts_as_hers(shelf):
    ours, season, hers = shelf
    (hers / CHAPTER).write_bytes(b"\xff half a file")
    newer(ours)
    assert copy_chapters(ours, season) == [BESIDE]
    assert (hers / CHAPTER).read_bytes() == b"\xff half a file"


def test_our_chapters_each_have_a_fingerprint():
    marks = [fingerprint(path.read_bytes()) for path in notebooks_folder().glob("*.ipynb")]
    assert len(marks) >= 8
    assert len(set(marks) - {""}) == len(marks)


def test_the_look_is_written_once_and_hers_is_kept(tmp_path):
    write_look(tmp_path, tmp_path)
    settings = tmp_path / ".settings"
    news = settings / "@jupyterlab/apputils-extension/notification.jupyterlab-settings"
    assert read_json(news) == {"fetchNews": "false", "checkForUpdates": False}
    assert read_json(settings / "@jupyter-widgets/jupyterlab-manager/plugin.jupyterlab-settings") == {"saveState": True}
    write_json(news, {"fetchNews": "true"})
    write_look(tmp_path, tmp_path)
    assert read_json(news) == {"fetchNews": "true"}


def test_the_run_listens_here_alone_and_asks_nobody(tmp_path):
    write_run(tmp_path, tmp_path / "workbook", port=8888, token="t")
    config = read_json(tmp_path / "config" / "jupyter_server_config.json")
    assert config["ServerApp"]["ip"] == "127.0.0.1"
    assert config["LabApp"]["news_url"] is None
    assert config["LabApp"]["check_for_updates_class"].endswith("NeverCheckForUpdate")
    kernel = read_json(tmp_path / "share" / "kernels" / "python3" / "kernel.json")
    assert kernel["argv"][0] == sys.executable


@pytest.mark.parametrize("home", [None, "/dev/null/nowhere"])
def test_it_needs_no_home(tmp_path, monkeypatch, home):
    monkeypatch.delenv("HOME") if home is None else monkeypatch.setenv("HOME", home)
    monkeypatch.setenv("XDG_DATA_HOME", "/dev/null/nowhere")
    places = environment(tmp_path, tmp_path)
    for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR", "JUPYTER_PATH"):
        assert places[name].startswith(str(tmp_path))
    if home:
        assert places["JUPYTER_DATA_DIR"].startswith(str(tmp_path))
    assert places["SEASON_FOLDER"] == str(tmp_path)


def test_what_cannot_be_opened_is_one_sentence(tmp_path, write_logs):
    with pytest.raises(SeasonError, match=r"There is no folder .*season new"):
        open_lab(tmp_path / "nowhere", browser=False)
    (tmp_path / "empty").mkdir()
    with pytest.raises(SeasonError, match=r"There are no logs in .*season new"):
        open_lab(tmp_path / "empty", browser=False)
    season = write_logs(**LOGS)
    (season / "workbook").write_text("a file in the way")
    with pytest.raises(SeasonError, match=r"Nothing may be written in .*Copy the folder"):
        open_lab(season, browser=False)


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write anywhere")
def test_a_folder_that_may_only_be_read_is_one_sentence(write_logs):
    season = write_logs(**LOGS)
    season.chmod(0o555)
    with pytest.raises(SeasonError, match=r"Nothing may be written in .*Copy the folder"):
        open_lab(season, browser=False)


def noted(folder, url):
    """A season folder in which a lab is noted as open at an address."""
    note = folder / "workbook" / ".settings" / "open.json"
    note.parent.mkdir(parents=True)
    write_json(note, {"url": url, "token": "t"})
    return folder


def no_browser(address):
    raise webbrowser.Error("none is here")


@pytest.mark.parametrize("ends", [no_browser, lambda address: False])
def test_without_a_browser_nothing_is_opened_and_that_is_said(tmp_path, monkeypatch, ends):
    monkeypatch.setattr(opening.Lab, "answers", lambda lab: True)
    monkeypatch.setattr(webbrowser, "open", ends)
    told = []
    open_lab(noted(tmp_path, "http://127.0.0.1:1/"), tell=told.append)
    assert told[1].startswith("http://127.0.0.1:1/")
    assert told[2] == say("lab.no-browser")


@pytest.mark.skipif(not hasattr(signal, "SIGHUP"), reason="no such signal here")
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
@pytest.mark.parametrize("started_deaf", [False, True])
def test_each_way_to_end_it_is_noted_and_interrupts_nothing(name, started_deaf):
    number = getattr(signal, name)
    found = signal.signal(number, signal.SIG_IGN if started_deaf else signal.SIG_DFL)
    try:
        before = signal.getsignal(number)
        with noting_stops() as asked:
            assert not asked()
            for _ in range(2):  # an impatient second one too
                signal.raise_signal(number)
                assert asked() == (name == "SIGINT" or not started_deaf)  # with nohup it outlives its terminal
        assert signal.getsignal(number) == before
    finally:
        signal.signal(number, found)


@contextmanager
def start(season, port, *options):
    command = [
        sys.executable,
        "-c",
        f"{LISTENING} from analysis.cli import main; main()",
        "lab",
        season,
        "--no-browser",
    ]
    with subprocess.Popen([*command, f"--port={port}", *options], stdout=-1, stderr=-1, text=True, cwd=ROOT) as lab:
        try:
            yield lab
        finally:
            lab.terminate()  # it goes on for ever where an assertion has failed


@pytest.mark.slow
def test_it_starts_beside_a_taken_port_is_found_again_and_ends_at_once(write_logs):
    season = write_logs(**LOGS)
    note = season / "workbook" / ".settings" / "open.json"
    write_json(note, {"url": "http://127.0.0.1:9/", "token": "left by one that was cut off"})
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        with start(season, port) as lab:
            said = [lab.stdout.readline() for _ in range(5)]
            assert said[0].startswith(f"Port {port} is in use")
            assert said[3].startswith("http://127.0.0.1:")
            assert "Ctrl-C" in said[4]
            assert until(lambda: "left by" not in note.read_text())
            assert stat.S_IMODE(note.stat().st_mode) & 0o077 == 0 or os.name == "nt"
            with start(season, port) as second:
                again, wrong = second.communicate(timeout=SLOW_S)
            assert (second.returncode, wrong) == (0, "")
            assert said[3] in again
            with start(season, port, "--recipes") as third:
                again, wrong = third.communicate(timeout=SLOW_S)
            assert (third.returncode, wrong) == (0, "")
            assert said[3].replace("00_start_here", "recipes") in again
            assert (season / "workbook" / "recipes.ipynb").is_file(), "what is opened is there"
            lab.send_signal(signal.SIGINT)
            rest, wrong = lab.communicate(timeout=SLOW_S)
    assert (lab.returncode, rest, wrong) == (0, "Closed.\n", "")
    assert not note.exists()


def test_a_damaged_chapter_is_kept_under_a_name_that_says_so(tmp_path):
    ours, season = tmp_path / "ours", tmp_path / "season"
    for folder in (ours, season / "workbook"):
        folder.mkdir(parents=True)
    (ours / "01_one.ipynb").write_text('{"cells": []}')
    (season / "workbook" / "01_one.ipynb").write_text('{"cells": [ my notes')
    assert set_damaged_aside(ours, season) == ["01_one (damaged).ipynb"]
    assert copy_chapters(ours, season) == []
    assert (season / "workbook" / "01_one (damaged).ipynb").read_text() == '{"cells": [ my notes'
    assert (season / "workbook" / "01_one.ipynb").read_text() == '{"cells": []}'
    assert set_damaged_aside(ours, season) == []


def test_an_address_from_elsewhere_is_never_opened(tmp_path, monkeypatch):
    monkeypatch.setattr(opening.Lab, "answers", lambda lab: True)
    monkeypatch.setattr(webbrowser, "open", lambda address: opened.append(address) or True)
    opened, told = [], []
    with pytest.raises(SeasonError, match="There are no logs in"):  # it goes on as if none were open
        open_lab(noted(tmp_path, "http://127.0.0.2:1/"), tell=told.append)
    assert (opened, told) == ([], [])
    open_lab(noted(tmp_path / "mine", "http://127.0.0.1:1/"), tell=told.append)
    assert len(opened) == 1
