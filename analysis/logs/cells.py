"""One cell: blank marks, error marks, choices, and `BadCell`, which names the rule that a cell breaks."""

import re
from collections.abc import Iterable
from difflib import get_close_matches

from analysis.logs.columns import Column
from analysis.logs.headings import choice_meant
from analysis.logs.sheets import Unworked

NOT_WRITTEN = frozenset(
    (
        "?",
        "??",
        "???",
        "-",
        "--",
        "---",
        "–",
        "—",
        "_",
        "/",
        "n/a",
        "n.a.",
        "n. a.",
        "unknown",
        "not known",
        "unbekannt",
        "inconnu",
        "inconnue",
        "desconocido",
        "desconocida",
        "onbekend",
        "k.a.",
        "s/d",
        "nvt",
        "n.v.t.",
    )
)
_YES = frozenset(["yes", "y", "ja", "j", "oui", "o", "si", "sí", "x", "✓", "✔", "true", "1"])
_NO = frozenset(["no", "n", "nein", "non", "nee", "false", "0"])
_ERROR = re.compile(
    r"#(DIV/0!|N/A|REF!|VALUE!|NAME\?|NUM!|NULL!|SPILL!|CALC!|WERT!|BEZUG!|VALEUR!)|Err:\d{3}", re.IGNORECASE
)
_FORMULA = re.compile(r"=\s*[\w(+\-\"'{$\[]")


class BadCell(ValueError):
    """A cell that cannot be read; the message is the code of a rule in `rules.toml`."""


def is_blank_mark(text: str) -> bool:
    """Tell whether a keeper wrote that nothing is known: a dash, a question mark, n/a.

    Examples
    --------
    >>> is_blank_mark("n/a"), is_blank_mark("?"), is_blank_mark("K1")
    (True, True, False)
    """
    return text.casefold() in NOT_WRITTEN


def yes_or_no(text: str) -> bool | None:
    """Tell a yes from a no, in five languages; None for anything else.

    Examples
    --------
    >>> yes_or_no("Ja"), yes_or_no("no"), yes_or_no("perhaps")
    (True, False, None)
    """
    plain = text.casefold()
    return True if plain in _YES else False if plain in _NO else None


def refuse_broken(text: str, *, text_too: bool = True) -> None:
    """Refuse what a spreadsheet writes where it could work nothing out.

    Parameters
    ----------
    text
        The cell.
    text_too
        False where the column holds text, which may begin with = as it likes in a text file.

    Raises
    ------
    BadCell
        An error such as ``#DIV/0!``, or a formula that was never worked out.
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
    if meant is not None:
        return meant
    if column.free:
        return text.strip()
    raise BadCell("unknown-choice")


_LONGEST_NAME = 60  # no name is longer, and comparing takes the square of the length


def near(word: str, words: Iterable[str]) -> str:
    """Return the closest of some known words; blank where none is close.

    Examples
    --------
    >>> near("wieghts", ["weights", "losses"])
    'weights'
    """
    by_fold = {w.casefold(): w for w in words}
    close = get_close_matches(word.casefold()[:_LONGEST_NAME], list(by_fold), n=1, cutoff=0.75)
    return by_fold[close[0]] if close else ""
