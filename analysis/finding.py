"""A finding is data: what was seen, of whom, how pressing, and its facts. What a keeper reads of it stands in `say`."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Literal, NamedTuple

ACT: Final = "act"
LOOK: Final = "look"
NOTE: Final = "note"
Level = Literal["act", "look", "note"]


class Rates(NamedTuple):
    """An interval of rates, 0 to 1."""

    low: float
    high: float


@dataclass(frozen=True)
class Finding:
    """One thing that was found out.

    `code` is `subject.what`, the key of its sentence in `analysis/say`; `about` who or what it is about (a chick, pair,
    cage or log as its keeper wrote it, or a finding that names it); `level` "act" (today), "look" or "note"; `facts`,
    by the names that its sentence uses, are numbers, rates from 0 to 1, `Rates`, weights in gram, days, names, lists of
    these, and other findings.
    """

    code: str
    about: "str | Finding" = ""
    level: Level = NOTE
    facts: Mapping[str, Any] = field(default_factory=dict, hash=False)


Words = str | Finding  # what a keeper wrote, or what is said of a finding


def found(code: str, /, about: Words = "", level: Level = NOTE, **facts: Any) -> Finding:
    """Write a finding down: `found("chicks.lost", about="K07", level="look", chicks=3)`."""
    return Finding(code, about, level, facts)
