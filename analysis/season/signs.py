"""What was seen of a chick, bird or pair: what it asks for now, how soon, and what of it is only good news."""

import re
import tomllib
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.finding import ACT, LOOK, NOTE, Finding, Level, Words, found
from analysis.logs import GOOD_SIGNS
from analysis.logs.headings import choice_meant, same, words_for, words_of
from analysis.logs.tables import SIGNS, keepers_words
from analysis.season.model import Season

# What was seen stays open for so many days, until somebody writes that it is over (practice).
OPEN_D = 3
WELL = "well again"  # ends what was seen before
SOON = ("at once", "before the next feed", "today", "look again", "note")  # the most pressing first
AT_ONCE, NEXT_FEED, TODAY, LOOK_AGAIN, _NOTE = SOON
LOOKS = (LOOK_AGAIN, _NOTE)  # how soon of what is looked at, and calls nobody yet
_LEVELS: dict[str, Level] = {LOOK_AGAIN: LOOK, _NOTE: NOTE}  # all others are to be acted upon
_SOON = {soon: found(f"season.{soon.replace(' ', '-')}") for soon in (AT_ONCE, NEXT_FEED, TODAY)}
_MARKS = {"read": None, "practice": found("season.practice"), "memory": found("season.from-memory")}
_PARTS = re.compile(r"\s*[,;+/&]\s*|\s+(?:and|und|y|et|en|[-–])\s+")
_NOT = {"not", "no", "never", "without", "nicht", "kein", "keine", "ohne"}
_NOT |= {"pas", "sans", "sin", "niet", "geen", "zonder"}
_COLOURS = {(word,) for word in keepers_words()["no_sign"]["colours"]}
_NO_BIRDS = frozenset(keepers_words()["no_sign"]["beside"])
_BETTER = frozenset(keepers_words()["goes_better"]["words"])
_ODD = "unknown"  # what any other word asks for


@dataclass(frozen=True)
class Sign:
    """What a sign asks for; see the head of signs.toml for what each word means."""

    name: str
    soon: str
    feeds: str
    heat: str
    source: str
    mark: str
    place: int
    code: str
    warmth: bool = False
    alone: bool = False

    @property
    def rank(self) -> int:
        """How pressing it is: 0 is at once."""
        return SOON.index(self.soon)

    @property
    def now(self) -> Finding:
        """What to do now."""
        return found(f"signs.{self.code}")

    def asks(self, *, warm: bool, alone: bool) -> Finding:
        """What to do, how soon, and what never; what is said of warmth and of one sign alone only where it may be."""
        code = "season.do" if self.soon in LOOKS else "season.do-soon"
        parts: list[Words] = [found(code, soon=_SOON.get(self.soon), do=self.now, mark=_MARKS[self.mark])]
        parts += [found(f"signs.{self.code}-warmth")] if self.warmth and warm else []
        parts += [found(f"signs.{self.code}-alone")] if self.alone and alone else []
        return found("season.sign-asks", parts=[*parts, found("season.never", never=found(f"signs.{self.code}-never"))])


def sign_words(sign: str) -> Words:
    """What is said of a sign by its name; another word as it was written."""
    return found(f"signs.{sign.replace(' ', '-')}") if is_sign(sign) else sign


def is_sign(name: str) -> bool:
    """Tell whether this is the name of a sign that is known here."""
    return name in SIGNS or name in _table().keys() - {_ODD}


def soon_words(soon: str) -> Words | None:
    """What is said of a word of `SOON`; None of one that calls nobody."""
    return _SOON.get(soon)


def signs_seen(season: Season) -> pd.DataFrame:
    """Return what was seen, a row a sign: a cell that names several has several rows.

    Columns: who (as written), day, seen_at, sign (its name; another word as it was written), good (asks for nothing),
    over (it was written to be well again since), notes.
    """
    signs = season.logs["signs"]
    named = pd.Series([signs_named(str(sign)) for sign in signs["sign"]], index=signs.index, dtype=object)
    seen_at = pd.to_datetime(signs["seen_at"])
    frame = pd.DataFrame({"who": signs["who"], "day": seen_at.dt.normalize(), "seen_at": seen_at})
    frame = frame.assign(sign=named, notes=signs["notes"].astype(object).fillna(""))
    frame = frame.explode("sign").dropna(subset="sign").sort_values("seen_at", kind="stable", ignore_index=True)
    frame = frame.assign(good=frame["sign"].map(is_good))
    well = frame[frame["sign"] == WELL]
    last = dict(zip(map(same, well["who"]), well["seen_at"], strict=True))
    until = pd.Series([last.get(same(who)) for who in frame["who"]], index=frame.index, dtype="datetime64[us]")
    return frame.assign(over=frame["seen_at"] <= until)


def signs_named(text: str) -> list[str]:
    """Return the signs that a cell of signs names: the whole of it, or each of its parts; other words as written."""
    if whole := _named(text):
        return [whole]
    parts = [part for part in _PARTS.split(text.strip()) if part]
    return list(dict.fromkeys(sign for part in parts for sign in _within(part) or [part]))


def is_good(sign: str) -> bool:
    """Tell whether a sign, as `signs_named` names it, is no alarm; other words are none where they say "better".

    Examples
    --------
    >>> is_good("well again"), is_good("legs better"), is_good("legs no better"), is_good("limp")
    (True, True, False, False)
    """
    words = set() if sign in SIGNS else set(words_of(sign))
    return sign in GOOD_SIGNS or (bool(words & _BETTER) and not words & _NOT)


def _named(text: str) -> str | None:
    return _also().get(same(text)) or (same(text) if same(text) in SIGNS else choice_meant(text, SIGNS))


def _within(text: str) -> list[str]:
    """The signs whose words stand in a part of a cell, or that it is."""
    whole = _named(text)
    return [whole] if whole else signs_within(text)


def signs_within(text: str, *, ordinary: bool = False) -> list[str]:
    """Return the signs whose words stand in a text, in their order, unless a word for not stands before them.

    Not those within longer ones. `ordinary` of a text that may be about anything: then "red" alone names a colour, and
    a night is cold, no chick.
    """
    words, taken, found_at = words_of(text), set[int](), list[tuple[int, str]]()
    for phrase, name in _phrases().items():  # the longest first: blood in droppings is no bleeding
        for at in range(len(words)):
            run = set(range(at, at + len(phrase)))
            if words[at : at + len(phrase)] != phrase or run <= taken:
                continue
            taken |= run
            before = words[max(at - 2, 0) : at]
            beside = {*before[-1:], *words[at + len(phrase) : at + len(phrase) + 1]}
            if not set(before) & _NOT and not (ordinary and (phrase in _COLOURS or beside & _NO_BIRDS)):
                found_at.append((at, name))
    return list(dict.fromkeys(name for _, name in sorted(found_at)))


def signs_of(words: Iterable[str], of: str) -> list[Sign]:
    """Return what a few signs ask for, each once, the most pressing first.

    `words` are as they are written in signs, several in one cell too; `of` is "chick" or "bird" (a pair is its birds).
    A word that nobody knows stands as it was written, for the stricter reading.
    """
    named = dict.fromkeys(part for word in words for part in signs_named(word))
    signs = [_sign(name, of) for name in named if not is_good(name)]
    return sorted(signs, key=lambda sign: (sign.rank, sign.place))


def asked_by(signs: list[Sign]) -> list[Finding]:
    """Return what these signs ask for; what they say of warmth only where none is of heat or breathing."""
    heats = {sign.heat for sign in signs}
    asking = [sign for sign in signs if not (sign.heat in ("cold", "cool") and {"cold", "cool"} <= heats)]
    warm, alone = not heats & {"cool", "cold", "neither"}, len(signs) == 1
    both = [] if asking == signs else [found("season.cold-and-hot")]
    return list(dict.fromkeys([*both, *(sign.asks(warm=warm or alone, alone=alone) for sign in asking)]))


def _sign(name: str, of: str) -> Sign:
    """A sign of a chick or a bird: what is written of a bird alone serves a chick too, never the other way round."""
    table = _table()
    rows = table.get(name, {})
    whose = next((one for one in (of, "bird") if one in rows and (one == of or of == "chick")), "")
    row, code = (rows[whose], f"{name.replace(' ', '-')}-{whose}") if whose else (table[_ODD]["any"], f"{_ODD}-any")
    rest = {key: row[key] for key in row if key != "also"}
    place = next(at for at, one in enumerate(one for kinds in table.values() for one in kinds.values()) if one is row)
    return Sign(name=name, place=place, code=code, **rest)


@cache
def _also() -> dict[str, str]:
    """The other words that a sign goes by, and its name."""
    rows = ((name, row) for name, kinds in _table().items() for row in kinds.values())
    return {same(word): name for name, row in rows for word in row.get("also", ())}


@cache
def _phrases() -> dict[tuple[str, ...], str]:
    """The words of every sign, in all languages of the headings, and its name; the longest first."""
    words = [(word, name) for word, name in _also().items()] + [(sign, sign) for sign in (*_table(), *SIGNS)]
    words += [(word, name) for name in SIGNS for word in words_for(name)]
    named = {words_of(word): name for word, name in words if name not in (_ODD, *GOOD_SIGNS)}
    return dict(sorted(named.items(), key=lambda item: -len(item[0])))


@cache
def _table() -> dict[str, dict[str, dict[str, Any]]]:
    return tomllib.loads(Path(__file__).with_name("signs.toml").read_text(encoding="utf-8"))


def read_first(soon: str, said: Finding, *, of: Words = "") -> Finding:
    """Write into a finding how soon it asks for somebody: a word of `SOON`, its level, and the facts soon and of.

    `of` is what stands beside the name: age and kind, or where.
    """
    return replace(said, level=_LEVELS.get(soon, ACT), facts={**said.facts, "soon": soon, "of": of})


def rank(read: Finding) -> int:
    """How pressing what is read first is: its place in `SOON`, 0 is at once."""
    return SOON.index(read.facts["soon"])
