"""`season lab` among settings of others: it never opens to anyone without its key."""

import os
import sys
from http.server import BaseHTTPRequestHandler, HTTPServer
from threading import Thread

import pytest
from prove_lab import SETTINGS, among_settings, started

from analysis.errors import SeasonError
from analysis.lab import server
from analysis.lab.locks import locks, open_locks
from analysis.lab.serving import PROGRAM

pytestmark = pytest.mark.skipif(os.name == "nt", reason="environments are made with links here")


@pytest.mark.parametrize(
    ("place", "name"),
    [
        ("environment", "all doors, on every class"),
        ("environment", "a door of its own"),
        ("environment", "a door of its own, for the lab"),
        ("environment", "a folder of pieces"),
        ("home", "lines of Python"),
        ("path", "all doors, on every class"),
    ],
)
def test_settings_elsewhere_open_it_to_nobody(tmp_path, place, name):
    assert among_settings(tmp_path, place, SETTINGS[name]) == []


@pytest.mark.parametrize(
    "spoilt",
    [
        "from jupyter_server.auth.identity import PasswordIdentityProvider as P; P.auth_enabled = property(bool);",
        "import analysis.lab.locks as l; kept = l.locks;"
        "l.locks = lambda t: kept(t) | {'ServerApp': kept(t)['ServerApp'] | {'allow_origin': '?'}};",
    ],
    ids=["it lets strangers in", "a lock is open"],
)
def test_one_that_is_open_all_the_same_is_ended_before_it_is_shown(tmp_path, monkeypatch, spoilt):
    monkeypatch.setattr(server, "PROGRAM", spoilt + PROGRAM)
    monkeypatch.setenv("TMPDIR", str(tmp_path))
    with (
        open(tmp_path / "log", "wb") as log,
        pytest.raises(SeasonError, match=r"did not ask for its key.* ended at once\\. Install"),
        server.running_lab(tmp_path, tmp_path, log, port=18931),
    ):
        pytest.fail("it was opened")
