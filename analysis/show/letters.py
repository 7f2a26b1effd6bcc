"""Text that a page can print: what the typeface lacks is named in brackets, what nobody sees is dropped.

An accessible PDF may not hold a character without a glyph, and a few mixtures of such characters stop the
typesetter. So every text goes through `printable` first. Nothing disappears that a reader could see.
"""

import html
import re
import unicodedata
from collections.abc import Callable
from itertools import groupby
from typing import Any

from analysis.say import say
from analysis.show.fonts import advances

# Drawn by the typesetter's own fallback face, one by one tried in tests/test_typeset.py.
ALSO_DRAWN = "♀♂⚥⚲□■▲△▼▽●○◆◇★☆✓✗✔✘☐☑☒⚠☀☁☂☎✉♥♦♠♣❤➜⇒⇐℃℉♪♫①②‣◦▪▫✦"
_ALIKE = str.maketrans(
    {"\u2010": "-", "\u2011": "-", "\u2015": "—", "\u2028": "\n", "\u2029": "\n", "\u202f": "\xa0", "\t": " "}
)
_INVISIBLE = {"Cc", "Cf"}
_VARIATION = re.compile("[\ufe00-\ufe0f\U000e0100-\U000e01ef\u20e3]")
_BROKEN = re.compile("[\ud800-\udfff]")
_NUMBERED = re.compile(r"&#(?:x([0-9a-fA-F]{1,6})|([0-9]{1,7}));")


def whole(text: str) -> str:
    """Replace halves of characters (lone surrogates), which no file can hold, by U+FFFD.

    >>> whole("K0\\ud83d") == "K0\\ufffd"
    True
    """
    return _BROKEN.sub("\ufffd", text)


def _kind(sign: str, also: str) -> str:
    category = unicodedata.category(sign)
    if sign != "\n" and category in _INVISIBLE:  # the typeface has a glyph for some of them
        return "invisible"
    if sign == "\n" or sign in advances() or sign in also:
        return "drawn"
    if category == "Zs":
        return "space"
    return "letters" if category[0] in "LM" else "sign"


def _letters(run: list[str]) -> str:
    """Letters of a script the typeface lacks, each by name, so that two birds stay two birds."""
    names = [unicodedata.name(sign, f"character {ord(sign):x}").lower().split() for sign in run]
    script = names[0][0]
    rest = (name[1:] if name[0] == script else name for name in names)
    words = [word.removeprefix("ideograph-") for name in rest for word in name if word not in {"letter", "unified"}]
    return f"[{script} {' '.join(words)}]"


def _sign(sign: str) -> str:
    if sign == "\ufffd":
        return say("report.unreadable-character")
    return f"[{unicodedata.name(sign, f'character {ord(sign):X}').lower()}]"


_WRITE: dict[str, Callable[[list[str]], str]] = {
    "drawn": "".join,
    "space": lambda run: " " * len(run),
    "invisible": lambda run: "",
    "letters": _letters,
    "sign": lambda run: "".join(map(_sign, run)),
}


def _loose_marks(text: str) -> str:
    """Drop accents that stand on nothing: they have no meaning, and stop the typesetter."""
    kept: list[str] = []
    for sign in text:
        stands = kept and kept[-1] in advances() and unicodedata.category(kept[-1])[0] in "LM"
        if stands or unicodedata.category(sign)[0] != "M":
            kept.append(sign)
    return "".join(kept)


def printable(text: str, *, also: str = ALSO_DRAWN) -> str:
    """Text in characters that a page can print.

    Characters that nobody sees (bidirectional and other format controls, control characters, variation
    selectors) are dropped; symbols that the typeface lacks are named in brackets, letters of another script
    letter by letter; line breaks stay. The text is then in composed form (NFC). `also` are characters beyond the
    typeface that the page draws; in a picture there are none, as one would change the face of the whole label.

    >>> printable("K03 🐣 out")
    'K03 [hatching chick] out'
    >>> printable("P01\\u202e Łucja ♀")
    'P01 Łucja ♀'
    >>> printable("中文")
    '[cjk 4e2d 6587]'
    """
    if text.isascii() and text.isprintable():
        return text
    text = unicodedata.normalize("NFC", whole(text).replace("\r\n", "\n").replace("\r", "\n"))
    text = _VARIATION.sub("", text.translate(_ALIKE))
    written = (_WRITE[kind](list(run)) for kind, run in groupby(text, key=lambda sign: _kind(sign, also)))
    return _loose_marks("".join(written))


def printable_markup(svg: str) -> str:
    """The same for the text and attributes of an SVG picture; its tags stay as they are.

    >>> printable_markup("<text>5 &lt; 6 &#x1F423;</text>")
    '<text>5 &lt; 6 [hatching chick]</text>'
    """

    def sign(match: re.Match[str]) -> str:
        code = int(match[1], 16) if match[1] else int(match[2])
        return html.escape(chr(code) if 0 < code < 0x110000 else "\ufffd")

    def clean(part: re.Match[str]) -> str:
        return printable(_NUMBERED.sub(sign, part[0]), also="")

    return re.sub(r"[^<>]+", clean, svg)


def every_text(value: Any, change: Callable[[str], str], *, leave: frozenset[str] = frozenset()) -> Any:
    """Apply `change` to every text in nested lists and dictionaries, keys too, except under the keys in `leave`.

    >>> every_text({"a": ["x"], "url": "x"}, str.upper, leave=frozenset({"url"}))
    {'A': ['X'], 'url': 'x'}
    """
    if isinstance(value, str):
        return change(value)
    if isinstance(value, list | tuple):
        return [every_text(one, change, leave=leave) for one in value]
    if isinstance(value, dict):
        kept = {key: inside for key, inside in value.items() if key in leave}
        changed = {key: inside for key, inside in value.items() if key not in leave}
        return {change(key): every_text(inside, change, leave=leave) for key, inside in changed.items()} | kept
    return value
