"""`season lab` ended in its most awkward moments; tests/prove_lab.py tries each signal, kernel and moment."""

import os
import signal
import time
from functools import partial

import pytest
from prove_lab import ended_early, ended_open, terminal_closed

from analysis.lab.server import clear_left

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGHUP"), reason="no such signals here")


@pytest.mark.parametrize(
    "ended",
    [
        partial(ended_open, name="SIGKILL", kernel="a busy kernel"),
        partial(ended_early, name="SIGINT", moment=None, times=3),
        terminal_closed,
    ],
    ids=lambda ended: "-".join(
        [getattr(ended, "func", ended).__name__, *map(str, getattr(ended, "keywords", {}).values())]
    ),
)
@pytest.mark.slow
def test_nothing_is_left_of_it(tmp_path, ended):
    wrong, _ = ended(tmp_path)
    assert wrong == []


@pytest.mark.parametrize(("living", "age_s", "cleared"), [(False, 3600, True), (True, 3600, False), (False, 5, False)])
def test_what_a_killed_run_left_is_cleared_by_the_next(tmp_path, living, age_s, cleared):
    pid = os.getpid() if living else 999_999_999
    left = tmp_path / "season_lab_abc"
    (left / "runtime").mkdir(parents=True)
    (left / "runtime" / f"jpserver-{pid}.json").write_text(f'{{"pid": {pid}}}')
    (tmp_path / "season_lab_of_hers.txt").write_text("mine")
    then = time.time() - age_s
    os.utime(left, (then, then))
    clear_left(tmp_path)
    assert left.exists() != cleared
    assert (tmp_path / "season_lab_of_hers.txt").exists()
