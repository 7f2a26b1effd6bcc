"""Season folders to test on, written from text."""

import os
import tempfile
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from textwrap import dedent

import pytest

# Before the numbers' library is loaded: two processes test side by side, and its threads would wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from analysis import Season, open_season

WriteLogs = Callable[..., Path]
OpenLogs = Callable[..., Season]


def pytest_configure() -> None:
    """Let the kernels that nbval and papermill start treat warnings as pytest does; write no troubles down at home."""
    os.environ["PYTHONWARNINGS"] = "error"
    os.environ["XDG_STATE_HOME"] = tempfile.gettempdir()


@pytest.fixture
def write_logs(tmp_path: Path) -> WriteLogs:
    """Write a season folder: a keyword a log, its text as the keeper typed it (or bytes)."""

    def write(**logs: str | bytes) -> Path:
        folder = tmp_path / "season"
        folder.mkdir(exist_ok=True)
        for name, text in logs.items():
            data = text if isinstance(text, bytes) else dedent(text).lstrip("\n").encode()
            (folder / f"{name}.csv").write_bytes(data)
        return folder

    return write


@pytest.fixture
def open_logs(write_logs: WriteLogs) -> OpenLogs:
    """Write a season folder and open it."""

    def open_(up_to: str | None = None, **logs: str | bytes) -> Season:
        return open_season(write_logs(**logs), up_to=up_to)

    return open_


@pytest.fixture
def set_clock(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    """Set the clock to moments such as 2026-05-20 06:50, one for each time that it is read; the last stays."""

    def set_(*moments: str) -> None:
        left = [datetime.fromisoformat(moment) for moment in moments]
        monkeypatch.setattr("analysis.season.dates.read_clock", lambda: left.pop(0) if len(left) > 1 else left[0])

    return set_
