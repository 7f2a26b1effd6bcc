"""`season lab` among settings of others: it never opens to anyone without its key."""

import os
import subprocess

import pytest
from prove_lab import SETTINGS, among_settings

from analysis.errors import SeasonError
from analysis.lab import server
from analysis.lab.serving import PROGRAM


@pytest.mark.skipif(os.name == "nt", reason="an environment is made with links here")
@pytest.mark.slow
def test_settings_elsewhere_open_it_to_nobody(tmp_path):
    """The worst of them where they count most; tests/prove_lab.py tries each, and each place."""
    assert among_settings(tmp_path, "environment", SETTINGS["all doors, on every class"]) == []


@pytest.mark.parametrize(
    ("spoilt", "seen_before_it_listens"),
    [
        ("from jupyter_server.auth import identity as i; i.PasswordIdentityProvider.auth_enabled = False", False),
        (
            "import jupyter_server.serverapp as s; s.ServerApp.ip = property(lambda _: '127.0.0.9', lambda *_: None)",
            True,
        ),
    ],
    ids=["it lets strangers in", "a lock is open"],
)
@pytest.mark.slow
def test_one_that_is_open_all_the_same_is_ended_before_it_is_shown(
    tmp_path, monkeypatch, spoilt, seen_before_it_listens
):
    monkeypatch.setattr(server, "PROGRAM", f"{spoilt}; {PROGRAM}")
    begun = []
    monkeypatch.setattr(
        subprocess, "Popen", lambda *a, popen=subprocess.Popen, **k: begun.append(popen(*a, **k)) or begun[-1]
    )
    log, said = tmp_path / "log", r"did not ask for its key.* ended at once\. Install"
    with log.open("wb") as stream, pytest.raises(SeasonError, match=said):
        server.running_lab(tmp_path, tmp_path, stream, port=18931).__enter__()
    assert ("open: ServerApp.ip\n" in log.read_text()) == seen_before_it_listens
    assert [process.returncode is None for process in begun] == [False]
