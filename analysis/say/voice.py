"""How a sentence is looked up and its facts are written."""

import re
import tomllib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import date
from functools import cache
from pathlib import Path
from string import Formatter
from typing import Any

from analysis import words
from analysis.finding import Finding, Rates, Words

_FOLDER = Path(__file__).parent
_MARKS = re.compile(r"[\W_]+")
_PLAIN, _CODES = "plain", "codes"
_voice: ContextVar[str] = ContextVar("voice", default=_PLAIN)


@contextmanager
def speaking(voice: str) -> Iterator[None]:
    """Say everything meanwhile "plain", in ⟦"brackets"⟧, or as its "codes" alone: for tests of what is said where."""
    token = _voice.set(voice)
    try:
        yield
    finally:
        _voice.reset(token)


def say(code: str, /, **facts: Any) -> str:
    """Write a sentence in plain text: the entry `what` of `subject.toml` in this folder, with the facts that it names.

    KeyError: no such code, or a fact that the sentence names is not given.

    Examples
    --------
    >>> say("words.nothing")
    'nothing'
    """
    if (voice := _voice.get()) == _CODES:
        return f"⟦{code}⟧"
    written = "".join(text if name is None else _write(facts[name], spec) + text for text, name, spec in _parts(code))
    return written if voice == _PLAIN else f"⟦{written}⟧"


def in_words(what: Words | Iterable[Words]) -> str:
    """Write out a finding, or several with a space between; what a keeper wrote stays as it is.

    Examples
    --------
    >>> in_words("K07"), in_words(Finding("words.nothing")), in_words(["K07:", Finding("words.nothing")])
    ('K07', 'nothing', 'K07: nothing')
    """
    if isinstance(what, str):
        return what
    if isinstance(what, Finding):
        return say(what.code, **what.facts)
    return " ".join(written for part in what if (written := in_words(part)))


def heads(*codes: str) -> list[str]:
    """Write the heads of a table's columns, from `heads.toml`."""
    return [say(f"heads.{code}") for code in codes]


@cache
def sentences(subject: str) -> dict[str, str]:
    """Return the sentences of a subject by code, as they stand in its file."""
    return tomllib.loads((_FOLDER / f"{subject}.toml").read_text(encoding="utf-8"))


@cache
def _parts(code: str) -> tuple[tuple[str, str | None, str], ...]:
    """A sentence's facts, each with its spec and the text behind it; the first part is text alone."""
    subject, _, what = code.partition(".")
    parts: list[tuple[str, str | None, str]] = []
    text, asked = "", None
    for before, name, spec, _ in Formatter().parse(sentences(subject)[what]):
        parts.append((before, *(asked or (None, ""))))
        text, asked = "", None if name is None else (name, spec or "")
    if asked:
        parts.append((text, *asked))
    return tuple(parts)


def _write(value: Any, spec: str) -> str:
    if spec.startswith("?"):
        there, _, missing = spec[1:].partition("|")
        written = _write(value, "") if _is(value) else ""
        return there.replace("#.", words.ended(written)).replace("#", written) if _is(value) else missing
    if "|" in spec:
        one, other = spec.split("|")
        return (one if value == 1 else other).replace("#", str(value))
    if spec in _TURNED:
        return _TURNED[spec](_write(value, ""))
    if value is None or value != value or isinstance(value, str):
        return value if isinstance(value, str) else ""
    if isinstance(value, Finding):
        return in_words(value)
    if isinstance(value, Rates):
        return words.interval_words(*value)
    if isinstance(value, date):
        return _day(value, spec)
    if isinstance(value, Iterable):
        return _list(value, spec)
    if spec in _NUMBERS:
        return _NUMBERS[spec](value)
    return format(value, spec)


def _is(value: Any) -> bool:
    """Tell whether a fact is there at all."""
    return bool(value is not None and value == value and (isinstance(value, date | Finding) or value))


def _day(day: Any, spec: str) -> str:
    if spec == "full":
        return words.day_in_full(day)
    if spec == "short":
        return f"{day.day} {day:%B}"
    return format(day, spec) if spec else words.day_words(day)


def _list(values: Iterable[Any], spec: str) -> str:
    if spec == "rows":
        return words.row_words(values)
    written = [one for value in values if (one := _write(value, ""))]
    if spec and _MARKS.fullmatch(spec):
        return spec.join(written)
    return words.listed(written, int(spec.removeprefix("most "))) if spec else words.listed(written)


_TURNED = {"begun": words.begun, "ended": words.ended, "within": words.within}
_NUMBERS = {"%": words.percent, "+%": words.change_words, "mass": words.grams}
