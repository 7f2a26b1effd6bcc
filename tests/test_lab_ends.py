"""`season lab` ended in its most awkward moments; tests/prove_lab.py tries many more."""

import signal
from functools import partial

import pytest
from prove_lab import ended_early, ended_open, server_killed, terminal_closed

pytestmark = pytest.mark.skipif(not hasattr(signal, "SIGHUP"), reason="no such signals here")


@pytest.mark.parametrize(
    "ended",
    [
        partial(ended_open, name="SIGKILL", kernel="a busy kernel"),
        partial(ended_open, name="SIGTERM", kernel="a deaf kernel"),
        partial(ended_early, name="SIGKILL", moment=None),
        partial(ended_early, name="SIGINT", moment=None),
        partial(ended_early, name="SIGINT", moment=None, times=3),
        partial(ended_early, name="SIGHUP", moment=None),
        terminal_closed,
        server_killed,
    ],
    ids=lambda ended: "-".join(
        [getattr(ended, "func", ended).__name__, *map(str, getattr(ended, "keywords", {}).values())]
    ),
)
def test_nothing_is_left_of_it(tmp_path, ended):
    wrong, _ = ended(tmp_path)
    assert wrong == []
