"""What keepers call the logs, columns and choices, in five languages; the words are data, in `headings.toml`."""

import re
import unicodedata
from collections.abc import Iterable
from difflib import get_close_matches
from functools import cache, lru_cache

from analysis.logs.tables import LOGS, Log, keepers_words

_LONGEST = 80  # no name, heading or choice is longer; a longer cell is not looked up
_SHORT = 3  # letters; so short a word is near to anything
_THINGS = frozenset(("hatches", "pairs", "birds", "cages", "clutches", "species"))
_UNITS_OF = {"weight": ("g", "kg", "oz", "lb"), "temperature": ("c", "f"), "percent": ("%",)}
_SEXES = {"1,0": "♂", "1.0": "♂", "0,1": "♀", "0.1": "♀"}  # as the trade writes cocks and hens
_APART = str.maketrans({"æ": "ae", "œ": "oe", "ø": "o", "ł": "l", "đ": "d", "ı": "i"})
_NO_LETTER = re.compile(r"(?:[^\w♂♀]|_)+")
_UMLAUT = re.compile("([aou])e")
_TOKEN = re.compile(r"[^\W\d_]+|\d+")
# (dd/mm/yyyy) behind a heading says how dates are written, and nothing of the column
_DATE_PART = "(?:[dtj]{1,2}|m{1,3}|[yja]{2,4})"
_DATE_SHAPE = re.compile(rf"\s*[(\[]{_DATE_PART}(?:[/.\- ]{_DATE_PART}){{1,2}}[)\]]$")
Words = dict[str, str]


def same(name: str) -> str:
    """Return what two spellings of one name have in common."""
    return " ".join(str(name).split()).casefold()


class NameBook:
    """Known names: finds the one that is meant, as it was first written."""

    def __init__(self, names: Iterable[str] = ()):
        self._first: dict[str, str] = {}
        self._without_zeros: dict[str, set[str]] = {}
        for name in names:
            self.add(name)

    def __contains__(self, name: str) -> bool:
        return self.find(name) is not None

    def __iter__(self):  # type: ignore[no-untyped-def]
        return iter(dict.fromkeys(self._first.values()))

    def add(self, name: str, leads_to: str | None = None) -> str:
        """Learn a name, or another name that leads to a known one; return the one that holds."""
        holds = self._first.setdefault(same(name), leads_to or name)
        self._without_zeros.setdefault(_bare(name), set()).add(holds)
        return holds

    def find(self, name: str | None) -> str | None:
        """Return the known name that is meant, or None; leading zeros count where both spellings exist."""
        if name is None:
            return None
        if same(name) in self._first:
            return self._first[same(name)]
        alike = self._without_zeros.get(_bare(name), set()) if same(name).isdecimal() else set()
        return next(iter(alike)) if len(alike) == 1 else None


def _bare(name: str) -> str:
    return same(name).lstrip("0") if same(name).isdecimal() else same(name)


def folded(text: str) -> str:
    """Return a text without case, accents and punctuation, its words parted by one blank: "N° d’œuf" as "n d oeuf"."""
    return _folded(text) if len(text) <= _LONGEST else _fold(text)


def log_named(text: str) -> str | None:
    """Return the log that the name of a file (without its ending) or of a sheet begins with, or None.

    The longest word wins, and what was done wins over what it was done to, so that "egg weights 2026" is
    `egg_weights` and "chick losses" is `losses`. A number in front is passed over. A name about money is no log.
    """
    tokens = _name_tokens(text)
    words, no_log = _log_words()
    begins = _begins(tokens, words)
    if not begins or no_log & {key_of(token) for token in tokens}:
        return None
    found, at = [], 0
    while at < len(tokens):
        log, length = _begins(tokens[at:], words) or ("", 1)
        found += [log] if log else []
        at += length
    return next((log for log in found if log not in _THINGS), found[0])


def log_asked(text: str) -> str:
    """Return what is asked of a name of a file or sheet that begins with a word for two logs; blank: nothing."""
    asked = _begins(_name_tokens(text), _asked("asked_logs"))
    return asked[0] if asked else ""


def column_asked(heading: str) -> str:
    """Return what is asked of a heading that reads two ways; blank: nothing."""
    return _asked("asked_columns").get(key_of(heading[:_LONGEST]), "")


def column_named(text: str, log: Log) -> tuple[str, str] | None:
    """Return the column of a log that a heading means, and the unit in it ("", "g", "kg", "oz", "lb", "c", "f", "%" or
    "mm").

    "hatched" is a day in `hatches` and a number in `clutches`. A unit that the column cannot have is no unit, and the
    heading then names no column.
    """
    return _column(text, log.name) if len(text) <= _LONGEST else None


def choice_meant(text: str, choices: tuple[str, ...]) -> str | None:
    """Return which of a column's choices a cell means, or None where that is not clear."""
    return _choice(text, choices) if len(text) <= _LONGEST else None


def column_meant(text: str, log: Log) -> str:
    """Return the column that a heading is a slip of; blank where none is close, or where it names one."""
    key = key_of(text[:_LONGEST])
    return _near(key, log.name) if len(key) > 2 and column_named(text, log) is None else ""


@lru_cache(maxsize=1 << 10)
def _near(key: str, log: str) -> str:
    words = {word: name for word, name in _column_words(log).items() if len(word) > _SHORT}
    close = get_close_matches(key, words, n=1, cutoff=0.75)
    return words[close[0]] if close else ""


def _fold(text: str) -> str:
    plain = text.casefold()
    if not plain.isascii():
        parts = unicodedata.normalize("NFKD", plain.translate(_APART))
        plain = "".join(c for c in parts if not unicodedata.combining(c))
    return _NO_LETTER.sub(" ", plain).strip()


_folded = lru_cache(maxsize=1 << 15)(_fold)


def key_of(text: str) -> str:
    """Return what all spellings of a word share, folded: no blanks, and "ue" as "u"."""
    return _UMLAUT.sub(r"\1", folded(text).replace(" ", ""))


def words_for(choice: str) -> tuple[str, ...]:
    """Return the other words for a choice, in every language of the headings."""
    return tuple(_choices().get(choice, ()))


def words_of(text: str) -> tuple[str, ...]:
    """Return the words and numbers of a text as they are compared: folded, and "ue" as "u"."""
    return tuple(_UMLAUT.sub(r"\1", word) for word in _TOKEN.findall(folded(text)))


def has_stem(text: str, stems: Iterable[str]) -> bool:
    """Tell whether a word of a text, or a run of its words, begins with one of these."""
    words = f" {folded(text)}"
    return any(f" {stem}" in words for stem in stems)


@cache
def _choices() -> dict[str, list[str]]:
    return {**keepers_words()["choices"], **keepers_words()["signs"]}


def _name_tokens(text: str) -> list[str]:
    """The words of a name, without the numbers in front of it."""
    tokens = _TOKEN.findall(folded(text)) if len(text) <= _LONGEST else []
    while tokens and tokens[0].isdigit():
        tokens = tokens[1:]
    return tokens


@cache
def _asked(of: str) -> Words:
    return {key_of(word): asked for asked, words in keepers_words()[of].items() for word in words}


@cache
def _log_words() -> tuple[Words, frozenset[str]]:
    words = {key_of(word): log for log, others in keepers_words()["logs"].items() for word in (log, *others)}
    return words, frozenset(map(key_of, keepers_words()["no_log"]["words"]))


def _begins(tokens: list[str], words: Words) -> tuple[str, int] | None:
    """Return the log of the longest word that some tokens begin with, and how many tokens it takes."""
    for length in range(min(len(tokens), 6), 0, -1):
        log = words.get(key_of("".join(tokens[:length])))
        if log:
            return log, length
    return None


@cache
def _column_words(log: str) -> Words:
    table = keepers_words()
    found = {column.name: (column.name, *table["columns"].get(column.name, ())) for column in LOGS[log].columns}
    for shared in table["shared"]:
        if log in shared["in"]:
            found[shared["in"][log]] += tuple(shared["words"])
    return {key_of(word): column for column, words in found.items() for word in words}


@cache
def _unit_words() -> Words:
    return {word: unit for unit, words in keepers_words()["units"].items() for word in words}


@cache
def _ends_in_unit() -> re.Pattern[str]:
    unit = "|".join(sorted(map(re.escape, _unit_words()), key=len, reverse=True))
    apart = r"(?:[\s_,.:/\-([{]+|(?=[%°º˚]))(?:(?:in|en)\s+)?"
    degrees = r"(?:°|º|˚|deg\.?|degrees?|grad|degres?|grados|graden)?\s*"
    return re.compile(rf"(.*?\w){apart}{degrees}({unit})\.?\s*[)\]}}]?\s*[.:]?")


@lru_cache(maxsize=1 << 15)
def _column(text: str, log: str) -> tuple[str, str] | None:
    words = _column_words(log)
    plain = _DATE_SHAPE.sub("", " ".join(unicodedata.normalize("NFC", text).casefold().split()))
    cut = _ends_in_unit().fullmatch(plain)
    plain = _SEXES.get(plain, plain)
    for heading, unit in ((cut[1], _unit_words()[cut[2]]), (plain, "")) if cut else ((plain, ""),):
        name = words.get(key_of(heading))
        column = LOGS[log].column(name) if name else None
        if column is None:
            continue
        unit = unit or _unit_words().get(folded(heading), "")
        has = ("mm",) if column.name.endswith("_mm") else _UNITS_OF.get(column.kind, ())
        if not unit or unit in has:
            return column.name, unit
    return None


@cache
def _choice_words() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for choice, others in _choices().items():
        for key in {key_of(word) for word in (choice, *others)}:
            found.setdefault(key, []).append(choice)
    return found


@lru_cache(maxsize=1 << 15)
def _choice(text: str, choices: tuple[str, ...]) -> str | None:
    meant = [choice for choice in _choice_words().get(key_of(text), ()) if choice in choices]
    return meant[0] if len(meant) == 1 else next((c for c in choices if key_of(c) and key_of(c) == key_of(text)), None)
