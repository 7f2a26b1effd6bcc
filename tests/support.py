"""What several tests share."""

from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import pandas as pd

from analysis import Season, open_season
from analysis.chicks.of_season import Chicks
from analysis.day.round import Round, round_of
from analysis.finding import Finding, Words
from analysis.pairs.of_season import Pairs
from analysis.say import in_words
from analysis.season.signs import rank

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


# What is worked out of the demo is worked out once for all tests that run in one process, and none of them changes it.


@cache
def demo(day: str | None = None) -> Season:
    """Return the demo, whole or as it stood on a day."""
    return open_season(DEMO, up_to=day)


@cache
def demo_growth(day: str | None = None) -> Chicks:
    """Return what is known of its weighings."""
    return Chicks.of(demo(day))


@cache
def demo_judged() -> Pairs:
    """Return what is judged of the whole demo."""
    return Pairs.of(demo())


@cache
def demo_round(day: str | None = None) -> Round:
    """Return its round of a day, or of its last."""
    return round_of(demo(day), day)


def as_read(items: Iterable[Finding | Sequence[Words]]) -> list[tuple[str, str]]:
    """Return (what, sentence) of findings as a keeper reads them."""
    pairs = [(one.about, one) if isinstance(one, Finding) else one for one in items]
    return [(in_words(what), in_words(said)) for what, said in pairs]


def read_first(today: Round) -> list[tuple[str, str, str]]:
    """Return (who, age and kind or where, sentence) of what is read first, as a keeper reads it."""
    return [(in_words(one.about), in_words(one.facts["of"]), in_words(one)) for one in today.reads]


def ranked(today: Round) -> list[tuple[int, str, str, str]]:
    """Return the same, each behind how pressing it is: 0 is at once."""
    return [(rank(one), *read) for one, read in zip(today.reads, read_first(today), strict=True)]


def rows_as_read(rows: pd.DataFrame) -> pd.DataFrame:
    """Return rows with their findings as a keeper reads them."""
    return rows.map(_cell_as_read)


def _cell_as_read(cell: Any) -> Any:
    if isinstance(cell, list):
        return [_cell_as_read(one) for one in cell]
    return in_words(cell) if isinstance(cell, Finding) else cell


def table_shown(displays: Iterable[Any]) -> pd.DataFrame:
    """Return the table among some displays as a keeper reads it, all cells text; no rows where there is none."""
    tables = [one.data for one in displays if getattr(one, "data", {}).get("kind") == "table"]
    (table,) = tables or [{"rows": [], "heads": []}]
    return pd.DataFrame(table["rows"], columns=table["heads"])
