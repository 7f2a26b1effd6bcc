"""What several tests share."""

from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path

from analysis import Season, open_season
from analysis.finding import Finding, Words
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


def told(items: Iterable[Finding | Sequence[Words]]) -> list[tuple[str, str]]:
    """Return (what, sentence) of findings as a keeper reads them."""
    pairs = [(one.about, one) if isinstance(one, Finding) else one for one in items]
    return [(in_words(what), in_words(said)) for what, said in pairs]


@cache
def demo_round(day: str) -> Round:
    """Return the demo's round of a day, worked out once for all tests."""
    return round_of(open_season(DEMO, up_to=day), day)


def as_read(items: Iterable[Finding | Sequence[Words]]) -> list[tuple[str, str]]:
    """Return (what, sentence) of findings as a keeper reads them."""
    pairs = [(one.about, one) if isinstance(one, Finding) else one for one in items]
    return [(in_words(what), in_words(said)) for what, said in pairs]
