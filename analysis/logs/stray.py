"""Control characters in what was written: what a damaged file, a wrong key or an old program leaves behind."""

import re

import numpy as np

from analysis.logs.sheets import Held, HeldRows, Rows, without_blank_rows

STRAY = "\x00"
"""What stands in the place of every control character until its row is known; no blank at the end of a cell."""
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f]")  # all of C0 but tab and line ends; DEL; C1
_FEW, _MOST, _HALF = 3, 0.05, 0.5  # characters, share of them, share of lines (practice; tests/prove_hostile.py)
_LINE_END = re.compile(r"\r\n|\r|\n")


def with_stray(text: str) -> str:
    """Write every control character as `STRAY`; the text itself where it holds none.

    Examples
    --------
    >>> with_stray("K1\\x1b,5\\n") == f"K1{STRAY},5\\n"
    True
    """
    return _CONTROL.sub(STRAY, text)


def is_binary(text: str) -> bool:
    """Tell whether a text with control characters is mostly no text: in many lines, and many of them.

    One or two never make it so, and neither does a stretch of them in one line, as a crash leaves it.

    Examples
    --------
    >>> is_binary("chick\\nK1\\x00\\n"), is_binary("\\x00\\x01K\\n\\x02\\n")
    (False, True)
    """
    controls = sum(1 for _ in _CONTROL.finditer(text))
    if controls < _FEW or controls <= _MOST * len(text):
        return False
    lines = [line for line in _LINE_END.split(text) if line]
    return sum(bool(_CONTROL.search(line)) for line in lines) >= _HALF * len(lines)


def without_stray(rows: Rows) -> tuple[Rows, frozenset[int]]:
    """Drop `STRAY` from cells.

    Parameters
    ----------
    rows
        Rows in which control characters are written as `STRAY`.

    Returns
    -------
    rows, marred
        The rows that still hold something, and the number of every row that held one.

    Examples
    --------
    >>> without_stray(((1, ("K1", "5")), (2, (f"K{STRAY}1", "6")), (3, (STRAY,))))
    (((1, ('K1', '5')), (2, ('K1', '6'))), frozenset({2, 3}))
    """
    if isinstance(rows, HeldRows):
        return _without_stray_held(rows)
    marred = frozenset(number for number, cells in rows if any(STRAY in cell for cell in cells))
    clean = ((n, tuple(map(_clean, cells)) if n in marred else cells) for n, cells in rows)
    return tuple(row for row in clean if any(row[1])), marred


def _without_stray_held(rows: HeldRows) -> tuple[Rows, frozenset[int]]:
    marred = np.zeros(len(rows), dtype=bool)
    columns = []
    for column in rows.columns:
        marred |= column.map(lambda text: STRAY in text, bool, False)
        columns.append(Held(column.codes, np.array([_clean(text) for text in column.texts], dtype=object)))
    return without_blank_rows(HeldRows(rows.numbers, columns)), frozenset(rows.numbers[marred].tolist())


def _clean(cell: str) -> str:
    return cell.replace(STRAY, "").strip() if STRAY in cell else cell
