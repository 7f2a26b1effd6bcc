"""What was seen of a chick, bird or pair: what it asks for now, how soon, and what of it is only good news."""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.logs import GOOD_SIGNS
from analysis.logs.headings import choice_meant
from analysis.logs.names import same
from analysis.logs.tables import SIGNS
from analysis.season.model import Season

# What was seen stays open for so many days, until somebody writes that it is over (practice).
OPEN_D = 3
SOON = ("at once", "before the next feed", "today", "look again", "note")  # the most pressing first
LOOKS = ("look again", "note")  # how soon of what is looked at, and calls nobody yet
_MARKS = {"read": "", "practice": " (practice)", "memory": " (from memory)"}
_PARTS = re.compile(r"\s*[,;+/&]\s*|\s+and\s+")


@dataclass(frozen=True)
class Sign:
    """What a sign asks for; see the head of signs.toml for what each word means."""

    name: str
    of: str
    soon: str
    feeds: str
    heat: str
    now: str
    never: str
    source: str
    mark: str

    @property
    def rank(self) -> int:
        """How pressing it is: 0 is at once."""
        return SOON.index(self.soon)

    @property
    def said(self) -> str:
        """What to do, how soon, and what never: two sentences or three."""
        soon = "" if self.soon in LOOKS else f"{self.soon[0].upper()}{self.soon[1:]}: "
        return f"{soon}{self.now.removesuffix('.')}{_MARKS[self.mark]}. Never {self.never}."


def signs_seen(season: Season) -> pd.DataFrame:
    """Return what was seen, a row a sign: a cell that names several has several rows.

    Returns
    -------
    frame
        who (as written), day, seen_at, sign (its name; another word as it was written), good (asks for nothing), notes
    """
    signs = season.logs["signs"]
    named = [signs_named(str(sign)) for sign in signs["sign"]]
    seen_at = pd.to_datetime(signs["seen_at"])
    frame = pd.DataFrame({"who": signs["who"], "day": seen_at.dt.normalize(), "seen_at": seen_at})
    frame = frame.assign(sign=pd.Series(named, index=signs.index, dtype=object))
    frame = frame.assign(notes=signs["notes"].astype(object).fillna(""))
    frame = frame.explode("sign").dropna(subset="sign").reset_index(drop=True)
    return frame.assign(good=frame["sign"].isin(GOOD_SIGNS))


def signs_named(text: str) -> list[str]:
    """Return the signs that a cell names: the whole of it, or each of its parts.

    Examples
    --------
    >>> signs_named("panting, red"), signs_named("crop slow"), signs_named("odd")
    (['panting', 'red skin'], ['crop not emptying'], ['odd'])
    """
    whole = _named(text)
    return [whole] if whole else [_named(part) or part for part in _PARTS.split(text.strip()) if part]


def _named(text: str) -> str | None:
    return _also().get(same(text)) or (same(text) if same(text) in SIGNS else choice_meant(text, SIGNS))


def signs_of(words: Iterable[str], of: str) -> list[Sign]:
    """Return what a few signs ask for, the most pressing first.

    Parameters
    ----------
    words : as they are written in signs, several in one cell too
    of : "chick" or "bird" (a pair is its birds)

    Returns
    -------
    list of Sign, each once; a word that nobody knows stands as it was written, for the stricter reading

    Examples
    --------
    >>> [one.name for one in signs_of(["droppings", "panting, red"], "chick")]
    ['panting', 'red skin', 'droppings']
    >>> signs_of(["dull"], "chick")[0].soon
    'today'
    """
    found = dict.fromkeys(part for word in words for part in signs_named(word))
    signs = [_sign(name, of) for name in found if name not in GOOD_SIGNS]
    return sorted(signs, key=lambda sign: sign.rank)


def asked_by(signs: list[Sign]) -> str:
    """Say what these signs ask for, in sentences; where one of them is of heat, nothing is said of warming.

    Examples
    --------
    >>> "warm and quiet" in asked_by(signs_of(["panting", "swelling"], "chick"))
    False
    """
    hot = any(sign.heat in ("cool", "neither") for sign in signs)
    told = [sign for sign in signs if not (hot and sign.heat == "warm")]
    beside = [sign.name for sign in signs if sign not in told]
    more = [f"Tell an avian veterinarian of the rest too: {', '.join(beside)}."] if beside else []
    return " ".join([*dict.fromkeys(sign.said for sign in told), *more])


def _sign(name: str, of: str) -> Sign:
    table = _table()
    rows = table.get(name, {})
    row = rows.get(of) or next(iter(rows.values()), None) or table["unknown"]["any"]
    return Sign(name=name, of=of, **{key: value for key, value in row.items() if key != "also"})


@cache
def _also() -> dict[str, str]:
    """The other words that a sign goes by, and its name."""
    rows = ((name, row) for name, kinds in _table().items() for row in kinds.values())
    return {same(word): name for name, row in rows for word in row.get("also", ())}


@cache
def _table() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads(Path(__file__).with_name("signs.toml").read_text(encoding="utf-8"))
