"""Season folders to test on, written from text."""

import os
import tempfile
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from textwrap import dedent
from typing import Any
from unittest.mock import patch

import pytest
from xdist.scheduler import LoadFileScheduling

# Before the numbers' library is loaded: two processes test side by side, and its threads would wait for each other.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from analysis import Season, open_season
from analysis.names import FOLDER_VARIABLE

WriteLogs = Callable[..., Path]
OpenLogs = Callable[..., Season]


# These share what `support` works out of the demo, so one process has them all, with the examples on it.
DEMO_FILES = {f"tests/test_{name}.py" for name in ("agree", "days", "demo", "due", "eggs_of_a_season", "elsewhere")}
DEMO_FILES |= {f"tests/test_{name}.py" for name in ("in_short", "nursery", "outlook", "pdf_ua", "round", "sheets")}
DEMO_FILES |= {f"analysis/pairs/{name}.py" for name in ("by_hen", "by_place", "dates_ahead", "next_season", "review")}
DEMO_FILES |= {
    f"tests/test_{name}.py" for name in ("credit", "decision", "evening", "kept_apart", "together", "weaning")
}
DEMO_FILES |= {"tests/test_predictive_checks.py", "analysis/pairs/predictive_checks.py"}
DEMO_FILES |= {"tests/test_recipes.py", "tests/test_dates_ahead.py", "tests/test_ahead.py"}
# What takes longest begins first, so that two processes end together: minutes, then a quarter of one and more.
LONGEST = ["the demo", "tests/test_speaking.py"]
LONGEST += ["tests/test_real_input.py", "tests/test_harm.py", "tests/test_data_quality.py"]
LONGEST += ["tests/test_mixed.py", "tests/test_growing.py", "tests/test_wheel.py", "tests/test_lab_ends.py"]


def together(nodeid: str) -> str:
    """Return what a test is part of that one process has whole: its file, or all of the demo."""
    file = nodeid.split("::", 1)[0]
    return "the demo" if file in DEMO_FILES else file


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Put what takes longest first."""
    places = {name: place for place, name in enumerate(LONGEST)}
    items.sort(key=lambda item: places.get(together(item.nodeid), len(places)))


class Parts(LoadFileScheduling):
    """Two processes share the tests by file, but for the demo's."""

    def _split_scope(self, nodeid: str) -> str:
        return together(nodeid)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Parts | None:
    """Share the tests in these parts, where several processes do."""
    return Parts(config, log) if config.getoption("dist") == "loadfile" else None


class SmallSeason:
    """Let nbval run the chapters on a small season of a German keeper: a browser runs them on the demo."""

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtest_setup(self, item: pytest.Item) -> None:
        """Name the season before its kernel starts."""
        os.environ.pop(FOLDER_VARIABLE, None)
        if item.nodeid.startswith("notebooks/"):
            os.environ[FOLDER_VARIABLE] = str(Path(__file__).parent / "odd" / "german")


class OneDemo:
    """Let the examples in docstrings share the demo, and what is worked out of it, with the tests."""

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        """Hand it to each example that opens it."""
        if not item.nodeid.startswith("analysis/pairs/"):
            return (yield)
        import analysis
        import support

        opened = analysis.open_season
        with patch("analysis.open_season", lambda *of, **more: opened(*of, **more) if more else support.demo()):
            return (yield)


def pytest_configure(config: pytest.Config) -> None:
    """Let the kernels that nbval and papermill start treat warnings as pytest does; write no troubles down at home."""
    config.pluginmanager.register(SmallSeason())  # the hooks of this file alone are not called for the notebooks
    config.pluginmanager.register(OneDemo())
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
        monkeypatch.setattr("analysis.season.days.read_clock", lambda: left.pop(0) if len(left) > 1 else left[0])

    return set_
