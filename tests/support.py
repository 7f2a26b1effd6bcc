"""What several tests share."""

from functools import cache
from pathlib import Path

from analysis import Season, open_season
from analysis.nursery import Round, round_of

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


@cache
def demo_round(day: str) -> Round:
    """Return the demo's round of a day, worked out once for all tests."""
    return round_of(open_season(DEMO, up_to=day), day)
