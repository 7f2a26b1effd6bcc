"""Numbers and dates as a keeper reads them."""

from collections.abc import Iterable
from datetime import date
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pandas as pd


def percent(rate: float) -> str:
    """Write a rate: 0.5649 as "56 %"."""
    return "" if _is_none(rate) else f"{100 * rate:.0f} %"


def change_words(change: float) -> str:
    """Write by how much something is more or less.

    Examples
    --------
    >>> change_words(0.031), change_words(-0.12)
    ('+3 %', '−12 %')
    """
    return "" if _is_none(change) else f"{100 * change:+.0f} %".replace("-", "−")


def grams(mass_g: float) -> str:
    """Write as many digits as a kitchen scale gives.

    Examples
    --------
    >>> grams(5.72), grams(91.4)
    ('5.7', '91')
    """
    return f"{mass_g:.1f}" if mass_g < 20 else f"{mass_g:.0f}"


def interval_words(low: float, high: float) -> str:
    """Write an interval of rates: "44–69"."""
    return "" if _is_none(low) or _is_none(high) else f"{100 * low:.0f}–{100 * high:.0f}"


def day_words(day: "pd.Timestamp") -> str:
    """Write a day of the season: "9 May 2026"."""
    return "" if _is_none(day) else f"{day.day} {day:%B %Y}"


def day_in_full(day: date) -> str:
    """Write a day so that it cannot be misread: "Wednesday 20 May 2026"."""
    return f"{day:%A} {day.day} {day:%B %Y}"


def begun(words: str) -> str:
    """Write words as a sentence begins."""
    return words[:1].upper() + words[1:]


def ended(words: str) -> str:
    """Write words as a sentence ends; a question has its own mark, and so has what a keeper ended."""
    return words if words.endswith(("?", ".", "!", "…")) else f"{words}."


def within(words: str) -> str:
    """Write a sentence as it goes on within another."""
    return words[:1].lower() + words[1:]


def listed(names: Iterable[object], most: int = 8) -> str:
    """Write a list of names, the first few of a long one.

    Examples
    --------
    >>> listed(["K1", "K2", "K3"]), listed("abcdefghij", most=2)
    ('K1, K2 and K3', 'a, b and 8 more')
    """
    words = [str(name) for name in names]
    if len(words) > most:
        return f"{', '.join(words[:most])} and {len(words) - most} more"
    return " and ".join([", ".join(words[:-1]), words[-1]]) if len(words) > 1 else "".join(words)


def row_words(rows: Iterable[int]) -> str:
    """Write row numbers, runs as from–to ("7–9, 12"); a row of a whole file has no number."""
    runs: list[list[int]] = []
    for row in sorted(int(row) for row in rows if not _is_none(row)):
        if runs and row <= runs[-1][-1] + 1:
            runs[-1].append(row)
        else:
            runs.append([row])
    return ", ".join(str(run[0]) if run[0] == run[-1] else f"{run[0]}–{run[-1]}" for run in runs)


def _is_none(value: Any) -> bool:
    """Whether there is no such number or day; pandas is loaded by whoever has it in a frame, not by a sentence."""
    return value is None or type(value).__name__ in {"NAType", "NaTType"} or value != value
