"""One cell: what a keeper typed → a value, or `BadCell` with the code of the rule it breaks."""

import math
import re
from collections.abc import Iterable
from datetime import date
from difflib import get_close_matches

import pandas as pd

from analysis.logs.columns import Column

GRAMS = {"g": 1.0, "oz": 28.349523125}  # 1 oz = 28.349523125 g exactly (international avoirdupois, 1959)

_DATE = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]+(\d{1,2}):(\d{2})(?::(\d{2})(?:\.\d+)?)?)?")
_NUMBER = re.compile(r"([+-]?\d+(?:[.,]\d+)?|[+-]?[.,]\d+)\s*(g|gr|gram|grams|oz|°?c|°?f|%)?", re.IGNORECASE)


_MOST = 10_000  # more than this is a slip of the hand


class BadCell(ValueError):
    """A cell that cannot be read; the message is the code of a rule in `rules.py`."""


def read_moment(text: str) -> tuple[pd.Timestamp, bool]:
    """Read an ISO date, or date and time; also return whether the time of day was written.

    Examples
    --------
    >>> read_moment("2026-04-03 06:30")
    (Timestamp('2026-04-03 06:30:00'), True)
    """
    match = _DATE.fullmatch(text.strip())
    if not match:
        raise BadCell("unreadable-date")
    year, month, day, hour, minute, second = (int(part or 0) for part in match.groups())
    try:
        return pd.Timestamp(year, month, day, hour, minute, second), match[4] is not None
    except (ValueError, OverflowError) as wrong:
        raise BadCell("unreadable-date") from wrong


def read_day(text: str) -> date:
    """Read an ISO date."""
    return read_moment(text)[0].date()


def read_number(text: str) -> float:
    """Read a number with a decimal point or a decimal comma.

    Examples
    --------
    >>> read_number("23,5")
    23.5
    """
    return _measure(text)[0]


def _measure(text: str) -> tuple[float, str]:
    match = _NUMBER.fullmatch(text.strip())
    if not match:
        raise BadCell("unreadable-number")
    value = float(match[1].replace(",", "."))
    if not math.isfinite(value):
        raise BadCell("unreadable-number")
    return value, (match[2] or "").casefold().lstrip("°")


def read_weight(text: str, unit: str) -> tuple[float, bool]:
    """Read a weight in grams; also return whether the cell names another unit than `unit`."""
    value, written = _measure(text)
    if written[:1] == "g":
        written = "g"
    if written not in ("", "g", "oz"):
        raise BadCell("unreadable-number")
    return value * GRAMS[written or unit], written not in ("", unit)


def read_temperature(text: str, unit: str) -> float:
    """Read a temperature in °C."""
    value, written = _measure(text)
    if written not in ("", "c", "f"):
        raise BadCell("unreadable-number")
    return (value - 32) / 1.8 if (written or unit.casefold()) == "f" else value


def read_count(text: str) -> int:
    """Read a whole number, zero or more."""
    value = read_number(text)
    if value != int(value) or not 0 <= value <= _MOST:
        raise BadCell("unreadable-count")
    return int(value)


def read_choice(text: str, column: Column) -> str:
    """Read one of a column's choices, in any case; a free choice may be anything."""
    plain = re.sub(r"[\s_-]+", " ", text.strip()).casefold()
    if plain in column.choices:
        return plain
    if column.free:
        return text.strip()
    raise BadCell("unknown-choice")


def near(word: str, words: Iterable[str]) -> str:
    """Name the closest of some known words, as the end of a sentence; blank where none is close.

    Examples
    --------
    >>> near("wieghts", ["weights", "losses"])
    ' Did you mean weights?'
    """
    close = get_close_matches(word, list(words), n=1, cutoff=0.75)
    return f" Did you mean {close[0]}?" if close else ""
