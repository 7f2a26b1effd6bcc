"""One cell: blank marks, error marks, choices, and `BadCell`, which names the rule that a cell breaks."""

import math
import re
from collections.abc import Iterable
from difflib import get_close_matches
from functools import cache
from typing import Any, NamedTuple

from analysis.logs.headings import choice_meant, folded
from analysis.logs.sheets import Exact, Unworked
from analysis.logs.tables import Column, keepers_words

_MARKS = (
    "?|??|???|-|--|---|–|—|_|/|n/a|n.a.|n. a.|unknown|not known|unbekannt|inconnu|inconnue|desconocido|desconocida"
    "|onbekend|k.a.|s/d|nvt|n.v.t."
)
_NOT_KNOWN = frozenset(_MARKS.split("|"))
_YES = frozenset(["yes", "y", "ja", "j", "oui", "o", "si", "sí", "x", "✓", "✔", "true", "1"])
_NO = frozenset(["no", "n", "nein", "non", "nee", "false", "0"])
_ERROR = re.compile(
    r"#(DIV/0!|N/A|REF!|VALUE!|NAME\?|NUM!|NULL!|SPILL!|CALC!|WERT!|BEZUG!|VALEUR!)|Err:\d{3}", re.IGNORECASE
)
_LONGEST_NAME = 60  # no name is longer, and comparing takes the square of the length
_FORMULA = re.compile(r"=\s*[\w(+\-\"'{$\[]")

# of an ounce and a pound exactly (international avoirdupois, 1959)
GRAMS = {"g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237}
_UNITS = {
    "g": "g|gr|gm|gms|gram|grams|gramm|gramo|gramos|gramme|grammes",
    "kg": "kg|kilo|kilos",
    "oz": "oz|ounce|ounces",
    "lb": "lb|lbs|pound|pounds",
    **{unit: unit for unit in ("c", "f", "%", "mm")},
    "ml": "ml|cc",
    "d": "d|day|days|tag|tage|jour|jours|dia|dias|dag|dagen",
    "y": "y|yr|yrs|year|years",
}
_UNIT_OF = {word: unit for unit, words in _UNITS.items() for word in words.split("|")}
_NEARLY = "|".join(  # English, German, French, Spanish, Dutch; longer ones first
    (
        "approximately|approx|about|around|roughly|estimated|est",
        "schätzungsweise|geschätzt|ungefähr|ungefaehr|ungef|zirka|circa|ca|etwa|rund|um den|gegen",
        "approximativement|environ|env|vers le|vers|à peu près",
        "aproximadamente|aprox|alrededor del?|cerca de|hacia el|hacia|unos|unas",
        "ongeveer|ongev|ong|omstreeks|rond de|rond|plusminus",
    )
)
_SIGN = r"[~≈±]|\+/?-"
_ABOUT = re.compile(rf"(?:{_SIGN}|(?:{_NEARLY}|c)(?:\.\s*|\s+))\s*(?=.*\d)", re.IGNORECASE)
_BEHIND = re.compile(rf"(?<=\w|\.)\s*(?:{_SIGN}|[\s(](?:{_NEARLY})\.?\)?)$", re.IGNORECASE)
_DOUBT = re.compile(r"\s*(?:\?+|\(\?+\))$")  # behind a day; behind a number it may be a digit that nobody can read
DIGITS = r"[+-]?(?:\d{1,3}(?:[ '\u2019\u00a0\u202f]\d{3})+(?:[.,]\d+)?|\d+(?:[.,]\d+)*|[.,]\d+)"
_NUMBER = re.compile(rf"({DIGITS})\s*([a-z]{{1,8}}\.?|°\s?[cf]|%|mm)?", re.IGNORECASE)
_POUNDS = re.compile(r"(\d+)\s*(?:lbs?|pounds?)\.?[\s,]*(\d+(?:[.,]\d+)?)\s*(?:oz|ounces?)\.?", re.IGNORECASE)
_GROUPED = re.compile(r"[+-]?\d{1,3}([.,])\d{3}")
_MOST = 10_000  # a larger count is a slip of the hand


class BadCell(ValueError):
    """A cell that cannot be read; the message is the code of a rule in `rules.toml`, `facts` what its advice names."""

    def __init__(self, code: str, **facts: Any):
        super().__init__(code)
        self.facts = facts


class TwoReadings(NamedTuple):
    """A number such as 1,234: read with its mark between thousands, and as a decimal sign."""

    mark: str
    thousands: float
    decimals: float


def is_blank_mark(text: str) -> bool:
    """Tell whether a keeper wrote that nothing is known: a dash, a question mark, n/a."""
    return text.casefold() in _NOT_KNOWN


def is_not_weighed(text: str) -> bool:
    """Tell whether a keeper wrote that nothing was weighed: a mark for "not known", or words for it."""
    return is_blank_mark(text) or (text[:1].isalpha() and folded(text) in _not_weighed())


@cache
def _not_weighed() -> frozenset[str]:
    return frozenset(keepers_words()["in_weights"]["not weighed"])


def without_about(text: str, *, day: bool = False) -> tuple[str, bool]:
    """Return a number or a `day` without "about" before or behind it, and whether that stood there.

    Examples
    --------
    >>> without_about("ca. 23"), without_about("1.5.26 approx", day=True), without_about("1.5.26?", day=True)
    (('23', True), ('1.5.26', True), ('1.5.26', True))
    """
    if len(text) > _LONGEST_NAME or (text[:1].isdigit() and text[-1:].isdigit()):
        return text, False
    plain = _ABOUT.sub("", text, count=1) if _ABOUT.match(text) else text
    plain = _BEHIND.sub("", _DOUBT.sub("", plain) if day else plain)
    return (plain, True) if plain != text and plain else (text, False)


def yes_or_no(text: str) -> bool | None:
    """Tell a yes from a no, in five languages; None for anything else."""
    plain = text.casefold()
    return True if plain in _YES else False if plain in _NO else None


def refuse_broken(text: str, *, text_too: bool = True) -> None:
    """Refuse what a spreadsheet writes where it could work nothing out: an error, or a formula without its value.

    With `text_too` false the column holds text, which may begin with = as it likes in a text file.
    """
    if text[:1] in "#E" and _ERROR.fullmatch(text):
        raise BadCell("error-cell")
    if isinstance(text, Unworked) or (text_too and text[:1] == "=" and _FORMULA.match(text)):
        raise BadCell("formula-without-value")


def read_choice(text: str, column: Column) -> str:
    """Read one of a column's choices, in any case and in the plain words of the trade; a free one may be anything."""
    plain = re.sub(r"[\s_-]+", " ", text.strip()).casefold()
    if plain in column.choices:
        return plain
    meant = choice_meant(text, column.choices)
    if meant is None and not column.free:
        raise BadCell("unknown-choice")
    return text.strip() if meant is None else meant


def near(word: str, words: Iterable[str]) -> str:
    """Return the closest of some known words; blank where none is close."""
    by_fold = {w.casefold(): w for w in words}
    close = get_close_matches(word.casefold()[:_LONGEST_NAME], list(by_fold), n=1, cutoff=0.75)
    return by_fold[close[0]] if close else ""


def read_number(text: str, decimal: str = "") -> float:
    """Read a number; `decimal` is the decimal sign of the file, blank where nothing tells.

    It matters for "1,234" and "1.234" alone: without it the point is a decimal sign, and the comma is ambiguous.
    """
    return measure(text, decimal)[0]


def measure(text: str, decimal: str = "") -> tuple[float, str, bool]:
    """Read a number with its unit (blank: none), and whether it is only about that ("~23")."""
    if isinstance(text, Exact):
        return _finite(text), "", False
    text = text.strip()
    if text.isascii() and text.isdecimal():
        return _finite(text), "", False
    refuse_broken(text)
    if text[:1] in "<>≤≥" and text:
        raise BadCell("less-than")
    text, about = without_about(text)
    if pounds := _POUNDS.fullmatch(text):
        return 16 * int(pounds[1]) + _finite(_plain(pounds[2], decimal)), "oz", about
    match = _NUMBER.fullmatch(text)
    if not match:
        raise BadCell("unreadable-number")
    unit = re.sub(r"[°.\s]", "", match[2] or "").casefold()
    if unit and unit not in _UNIT_OF:
        raise BadCell("unreadable-number")
    return _finite(_plain(match[1], decimal)), _UNIT_OF.get(unit, ""), about


def _finite(digits: str) -> float:
    try:
        value = float(digits)
    except ValueError:
        raise BadCell("unreadable-number") from None
    if not math.isfinite(value):
        raise BadCell("unreadable-number")
    return value


def _plain(digits: str, decimal: str) -> str:
    """Write a number with a decimal point and without thousands marks."""
    spaced = re.sub(r"[ '\u2019\u00a0\u202f]", "", digits)
    points, commas = spaced.count("."), spaced.count(",")
    if points and commas:
        sign = max(".,", key=spaced.rfind)
        whole, _, part = spaced.rpartition(sign)
        other = "," if sign == "." else "."
        if sign in whole or not re.fullmatch(rf"[+-]?\d{{1,3}}(\{other}\d{{3}})+", whole):
            raise BadCell("unreadable-number")
        return f"{whole.replace(other, '')}.{part}"
    if points + commas > 1:
        if not re.fullmatch(r"[+-]?\d{1,3}([.,]\d{3})+", spaced):
            raise BadCell("unreadable-number")
        return re.sub("[.,]", "", spaced)
    if commas == 0 and points == 0:
        return spaced
    if _GROUPED.fullmatch(spaced) and not spaced.lstrip("+-").startswith("0") and spaced == digits:
        # "1,234" and "1.234" are settled by what the rest of the file does
        if not decimal and commas:
            raise BadCell("ambiguous-number")
        sign = "," if commas else "."
        return spaced.replace(sign, "." if sign == (decimal or ".") else "")
    return spaced.replace(",", ".")


def two_readings(text: str) -> TwoReadings | None:
    """Return both readings of a number such as 1,234 or 1.234; None where it reads one way."""
    match = None if isinstance(text, Exact) else _NUMBER.fullmatch(without_about(text)[0])
    digits = match[1] if match else ""
    if not _GROUPED.fullmatch(digits) or digits.lstrip("+-").startswith("0"):
        return None
    mark = "," if "," in digits else "."
    return TwoReadings(mark, float(digits.replace(mark, "")), float(digits.replace(mark, ".")))


def unit_words(*units: str) -> list[str]:
    """Return every word for some units, the longer ones first."""
    return sorted((word for word, unit in _UNIT_OF.items() if unit in units), key=len, reverse=True)


def decimal_sign(texts: list[str]) -> str:
    """Tell the decimal sign of a file from the numbers that leave no doubt; blank where none does, or both."""
    found = set()
    for text in texts:
        if isinstance(text, Exact):
            continue
        match = _NUMBER.fullmatch(text)
        digits = match[1] if match else ""
        last = max(digits.rfind("."), digits.rfind(","))
        sure = not _GROUPED.fullmatch(digits) or digits.lstrip("+-").startswith("0")
        if last >= 0 and sure and digits.count(digits[last]) == 1:
            found.add(digits[last])
    return found.pop() if len(found) == 1 else ""


def read_weight(text: str, unit: str, decimal: str = "") -> tuple[float, bool, bool]:
    """Read a weight in grams; also whether the cell names another unit than `unit`, and whether it is only "about"."""
    value, written, about = measure(text, decimal)
    if written not in ("", *GRAMS):
        raise BadCell("unreadable-number")
    return value * GRAMS[written or unit], written not in ("", unit), about


def read_temperature(text: str, unit: str, decimal: str = "") -> float:
    """Read a temperature in °C."""
    value, written = _in_units(text, decimal, "c", "f")
    return (value - 32) / 1.8 if (written or unit.casefold()) == "f" else value


def read_plain(text: str, decimal: str = "") -> float:
    """Read a number that has no unit but its column's own (days, ml, mm, %)."""
    return _in_units(text, decimal, "d", "ml", "mm", "y")[0]


def _in_units(text: str, decimal: str, *units: str) -> tuple[float, str]:
    value, written, _ = measure(text, decimal)
    if written not in ("", *units):
        raise BadCell("unreadable-number")
    return value, written


def read_count(text: str, decimal: str = "") -> int:
    """Read a whole number, zero or more."""
    value = read_number(text, decimal)
    if value != int(value) or not 0 <= value <= _MOST:
        raise BadCell("unreadable-count")
    return int(value)
