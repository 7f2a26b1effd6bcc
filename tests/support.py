"""What several tests share."""

from functools import cache
from pathlib import Path

import pandas as pd

from analysis import Season, open_season
from analysis.finding import Finding
from analysis.nursery import Round, round_of
from analysis.say import in_words

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "data_demo" / "season_2026"
# A command as a keeper's terminal starts it, also where the tests run in the background or outlive their terminal.
LISTENING = (
    "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
    "hasattr(signal, 'SIGHUP') and signal.signal(signal.SIGHUP, signal.SIG_DFL); "
)


def codes(season: Season) -> list[str]:
    """Return the codes of all problems, in order."""
    return season.problems["code"].tolist()


def written(table: pd.DataFrame | pd.Series) -> pd.DataFrame | pd.Series:
    """Return the same with every finding in it written out."""
    return table.map(lambda cell: in_words(cell) if isinstance(cell, Finding) else cell)


@cache
def demo_round(day: str) -> Round:
    """Return the demo's round of a day, worked out once for all tests."""
    return round_of(open_season(DEMO, up_to=day), day)
