"""The one typeface: where its files lie, what it draws, how wide it runs."""

import json
from functools import cache
from importlib.util import find_spec
from pathlib import Path

from analysis.say import say

WIDTHS = Path(__file__).with_name("widths.json")  # thousandths of an em to characters; written by tests/widths.py


def font_folder() -> str:
    """Folder of the typeface's files, one `.ttf` for each weight and slope, found without importing its package.

    Raises FileNotFoundError where the package `fontpkg-fira-sans` is not installed.
    """
    found = find_spec("fontpkg_fira_sans")
    if found is None or found.origin is None:
        raise FileNotFoundError(say("report.no-typeface"))
    return str(Path(found.origin).parent / "files")


@cache
def advances() -> dict[str, float]:
    """Width of every character that the typeface draws, in em (a fraction of the type size); figures are tabular."""
    kept = json.loads(WIDTHS.read_text(encoding="utf-8"))
    return {sign: int(width) / 1000 for width, signs in kept.items() for sign in signs}


def width_em(text: str) -> float:
    """Width of a line of text in em; characters of the fallback face count 0.6 em, as in any monospace.

    >>> width_em("♀")
    0.6
    """
    known = advances()
    return sum(known.get(sign, 0.6) for sign in text)
