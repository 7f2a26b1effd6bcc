"""How a command ends: by a signal, for want of memory, with no reader left; and what a killed one left behind."""

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import nbformat
import pytest
from click.testing import CliRunner
from started_lab import SLOW_S

from analysis import disk, errors
from analysis.cli import main
from analysis.disk import SCRATCH, alone_in, scratch_in
from analysis.report.render import execute
from analysis.say import say
from analysis.trouble import unforeseen
from support import DEMO, LISTENING, ROOT

SEASON = [sys.executable, "-c", f"{LISTENING}import runpy; runpy.run_module('analysis', run_name='__main__')"]
posix = pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")


@pytest.fixture
def place(tmp_path):
    """An empty folder, with a folder for passing files beside it."""
    (tmp_path / "tmp").mkdir()
    (tmp_path / "here").mkdir()
    return tmp_path


def started(place, *arguments, program=SEASON, **more):
    surroundings = {**os.environ, "TMPDIR": str(place / "tmp"), "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "default"}
    return subprocess.Popen(
        [*program, *map(str, arguments)],
        cwd=place / "here",
        env=surroundings,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        **more,
    )


def children(process):
    """The processes that a process has started."""
    said = Path(f"/proc/{process.pid}/task/{process.pid}/children")
    return [int(one) for one in said.read_text().split()] if said.exists() else []


def left_of(place):
    return [path for path in place.rglob("*") if path.name.startswith(".season_") and path.is_dir()]


def waited(what):
    until = time.monotonic() + SLOW_S
    while not what():
        assert time.monotonic() < until, "nothing came"
        time.sleep(0.02)


@posix
@pytest.mark.parametrize(("name", "later_s"), [("SIGINT", 0), ("SIGINT", 1.5), ("SIGTERM", 0), ("SIGHUP", 1)])
@pytest.mark.slow
def test_a_report_that_is_told_to_end_leaves_nothing_behind(place, name, later_s):
    process = started(place, "report", DEMO)
    waited(lambda: list((place / "tmp").glob(f"{SCRATCH}*/kernel.json")))
    time.sleep(later_s)
    kernels = children(process)
    process.send_signal(getattr(signal, name))
    _, said = process.communicate(timeout=SLOW_S)
    assert process.returncode == 128 + getattr(signal, name)
    assert said.decode().split("season: ")[-1] == (
        "Stopped. Your logs were not touched, and what was finished before is whole.\n"
    )
    assert "Traceback" not in said.decode()
    assert sorted(place.rglob("*")) == [place / "here", place / "tmp"]
    assert not [one for one in kernels if Path(f"/proc/{one}").exists()]


@posix
def test_a_signal_in_the_moment_of_the_moves_waits_for_their_end(place):
    program = (
        "import os, signal, sys; from pathlib import Path; from analysis.ending import catch_signals\n"
        "from analysis.report.writing import put_all, scratch_folder\n"
        "catch_signals(); move = os.replace\n"
        "def slow(*paths): os.kill(os.getpid(), signal.SIGTERM); move(*paths)\n"
        "os.replace = slow; out = Path('out')\n"
        "with scratch_folder(out) as scratch: put_all({out / 'a': b'1', out / 'b': b'1'}, out, scratch)\n"
        "print('never')"
    )
    process = started(place, program=[sys.executable, "-c", program])
    out, _ = process.communicate(timeout=SLOW_S)
    assert (process.returncode, out) == (143, b"")
    assert [path.name for path in sorted((place / "here" / "out").iterdir())] == [".season_files.json", "a", "b"]


@posix
def test_what_a_killed_run_left_is_cleared_by_the_next_and_a_living_ones_stays(tmp_path):
    program = "import sys, time; from pathlib import Path; from analysis.disk import scratch_in\n"
    program += "with scratch_in(Path(sys.argv[1])) as s: print(s, flush=True); time.sleep(60)"
    run = [sys.executable, "-c", program, str(tmp_path)]
    killed, living = (subprocess.Popen(run, cwd=ROOT, stdout=subprocess.PIPE, text=True) for _ in range(2))
    left, held = (Path(one.stdout.readline().strip()) for one in (killed, living))
    try:
        (left / "half").write_text("half")
        killed.kill()
        killed.wait()
        (tmp_path / f"{SCRATCH}hers.txt").write_text("hers")
        with scratch_in(tmp_path):
            assert not left.exists()
            assert held.exists()
            assert (tmp_path / f"{SCRATCH}hers.txt").read_text() == "hers"
    finally:
        living.kill()
        for one in (killed, living):
            one.communicate()


def test_where_no_lock_can_tell_a_day_must_have_gone_by(tmp_path, monkeypatch):
    monkeypatch.setattr(disk, "fcntl", None)
    left = tmp_path / f"{SCRATCH}1"
    left.mkdir()
    with scratch_in(tmp_path):
        assert left.exists()
    os.utime(left, (time.time() - 100_000,) * 2)
    with scratch_in(tmp_path):
        assert not left.exists()


@posix
def test_two_runs_change_a_folder_one_after_the_other(tmp_path):
    program = "import sys; from pathlib import Path; from analysis.disk import alone_in\n"
    program += "with alone_in(Path(sys.argv[1])): print('in', flush=True)"
    with alone_in(tmp_path):
        other = subprocess.Popen([sys.executable, "-c", program, str(tmp_path)], cwd=ROOT, stdout=subprocess.PIPE)
        with pytest.raises(subprocess.TimeoutExpired):
            other.wait(1.0)
    assert other.communicate(timeout=SLOW_S)[0] == b"in\n"


def test_a_folder_that_was_made_for_nothing_goes_again(tmp_path):
    with pytest.raises(KeyError), scratch_in(tmp_path / "reports" / "mine"):
        raise KeyError
    assert list(tmp_path.iterdir()) == []


@posix
@pytest.mark.slow
def test_where_nobody_reads_the_command_is_quiet(place):
    with started(place, "outlook", ROOT / "tests" / "odd" / "hard_year") as process:
        process.stdout.close()
        said = process.stderr.read().decode()
    assert (process.returncode, said) == (141, "")
    assert list((place / "tmp").iterdir()) == []


# -- what is said


@pytest.mark.parametrize(
    "trouble",
    [
        MemoryError(),
        ImportError("libopenblas.so: failed to map segment from shared object"),
        ImportError("libscipy.so: cannot allocate memory in static TLS block"),
        RuntimeError("can't start new thread"),
        OSError(12, "Cannot allocate memory"),
    ],
)
def test_memory_that_ran_out_is_told_as_such(trouble):
    assert unforeseen(trouble) == say("command.no-memory")
    later = KeyError("x")
    later.__cause__ = trouble
    assert unforeseen(later) == say("command.no-memory")
    assert "program (ImportError: No module" in unforeseen(ImportError("No module named x"))


@pytest.mark.parametrize(
    "cell",
    [
        # a library that words the error of another anew; an error for which there was no memory left to show it
        "raise ImportError('numpy is missing') from ImportError('libz.so: failed to map segment from shared object')",
        "import sys\nprint('MemoryError', file=sys.stderr)\nget_ipython().showtraceback = print\nraise KeyError",
        "bytearray(10**15)",
    ],
)
@pytest.mark.slow
def test_memory_that_ran_out_in_a_cell_is_told_whatever_wraps_it(tmp_path, cell):
    notebook = nbformat.v4.new_notebook(
        cells=[nbformat.v4.new_markdown_cell("# Eggs"), nbformat.v4.new_code_cell(cell)]
    )
    nbformat.write(notebook, tmp_path / "one.ipynb")
    with pytest.raises(errors.SeasonError, match=r"in the chapter “Eggs”: The memory of this machine ran out"):
        execute(tmp_path / "one.ipynb", {}, tmp_path, keep_stopped=lambda _: tmp_path)


def test_a_request_that_the_kernel_fails_on_ends_the_run(tmp_path):
    cells = [nbformat.v4.new_code_cell("get_ipython()._run_cell = None"), nbformat.v4.new_code_cell("1")]
    nbformat.write(nbformat.v4.new_notebook(cells=cells), tmp_path / "one.ipynb")
    with pytest.raises(errors.SeasonError, match="ended by itself, perhaps for want of memory"):
        execute(tmp_path / "one.ipynb", {}, tmp_path, keep_stopped=lambda _: tmp_path)


@pytest.mark.parametrize(
    ("what", "refused", "said"),
    [
        ("report", NotADirectoryError(20, "Not a directory"), "could not be written to out (not a directory)."),
        ("report", PermissionError(13, "Permission denied"), "The report may not be written to out. Close it"),
        ("report", OSError(28, "No space left"), "There is no room left on the disk of out. Make room and run"),
        ("report", OSError(5, "Input/output error"), "could not be written to out (input/output error)."),
        ("report", OSError(), "could not be written to out (the disk refused)."),
        ("chapters", OSError(28, "No space left"), "There is no room left on the disk of out. Make room and try"),
        ("chapters", FileExistsError(17, "File exists"), "Nothing may be written in out, where the chapters belong."),
        ("marked-copy", OSError(28, "No space left"), "on the disk of out, so nothing was written."),
        ("marked-copy", PermissionError(13, "Permission denied"), "cannot be written to out (Permission denied)."),
    ],
)
def test_what_a_disk_refuses_is_one_sentence_of_what_is_written_there(what, refused, said):
    with pytest.raises(errors.SeasonError) as told, disk.plain_words(what, Path("out")):
        raise refused
    assert said in str(told.value)


@posix
def test_what_is_written_whole_takes_the_place_of_a_link(tmp_path):
    (tmp_path / "precious").write_text("hers")
    (tmp_path / "new").mkdir()
    (tmp_path / "new" / "note.json").symlink_to(tmp_path / "precious")
    disk.write_json(tmp_path / "new" / "note.json", {"url": 1}, mode=0o600)
    assert (tmp_path / "precious").read_text() == "hers"
    assert disk.read_json(tmp_path / "new" / "note.json") == {"url": 1}
    assert [(one.name, one.stat().st_mode & 0o777) for one in (tmp_path / "new").iterdir()] == [("note.json", 0o600)]


@posix
def test_what_went_wrong_is_kept_in_this_account_where_no_link_leads_elsewhere(tmp_path, monkeypatch):
    own = tmp_path / "own"
    monkeypatch.setenv("TMPDIR", str(tmp_path / "shared"))
    monkeypatch.setattr("platformdirs.user_state_path", lambda name, **_: own / name)
    (own / "season").mkdir(parents=True)
    (tmp_path / "precious").write_text("hers")
    kept = own / "season" / "season_trouble.txt"
    kept.symlink_to(tmp_path / "precious")
    unforeseen(KeyError("one"))
    said = unforeseen(KeyError("two"))
    assert (tmp_path / "precious").read_text() == "hers"
    assert str(kept) in said
    assert "two" in kept.read_text()
    assert (kept.is_symlink(), kept.stat().st_mode & 0o077) == (False, 0)
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [tmp_path / "precious", kept]


def test_where_nothing_can_be_kept_that_is_said(tmp_path, monkeypatch):
    (tmp_path / "own").write_text("a file")
    monkeypatch.setattr("platformdirs.user_state_path", lambda name, **_: tmp_path / "own" / name)
    assert unforeseen(KeyError("mine")) == say("command.trouble-not-kept", said="KeyError: 'mine'")
    assert [path.name for path in tmp_path.iterdir()] == ["own"]


@posix
@pytest.mark.parametrize("command", ["check", "report", "round", "sheets", "outlook"])
def test_a_folder_that_may_not_be_read_is_one_sentence(tmp_path, monkeypatch, command):
    (tmp_path / "shut").mkdir()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(os, "access", lambda *args, **options: False)

    def shut(path):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "iterdir", shut)
    ended = CliRunner().invoke(main, [command, "shut"])
    assert (ended.exit_code, ended.stderr) == (
        2,
        "season: The folder shut cannot be opened (Permission denied). Check who may read it.\n",
    )


@posix
def test_a_folder_that_is_gone_under_ones_feet_is_one_sentence(tmp_path):
    (tmp_path / "gone").mkdir()
    program = "import os, sys; os.rmdir(os.getcwd()); from analysis.__main__ import main; main()"
    surroundings = {**os.environ, "PYTHONPATH": str(ROOT)}
    ended = subprocess.run(
        [sys.executable, "-c", program, "check", DEMO, "--mark"],
        cwd=tmp_path / "gone",
        env=surroundings,
        capture_output=True,
        text=True,
    )
    assert "Nothing you wrote was changed." in ended.stdout
    assert (ended.returncode, ended.stderr) == (
        2,
        "season: The folder that this was started in is no longer there. Change to another one and run again.\n",
    )
