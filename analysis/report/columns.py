"""How wide each column of a printed table is, so that no cell runs over its neighbour or the page.

Where the rows fit on one line each, columns are as wide as they need. Where they do not, every column keeps its
longest word, the narrow ones their longest line, and the wide ones share the rest by need. Where even the words do
not fit, the table is printed in pieces, each beginning with the first column.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from analysis.report.pictures import TEXT_WIDTH_PT
from analysis.show.fonts import width_em

TYPE_PT = 8.5
GAP_PT = 12.4  # 2 mm on both sides of a cell, and 1 pt to spare (the tabular % is wider)
NAME_PT = 96.4  # the column of names, 34 mm
LONGEST = 600  # characters of a cell that are printed
_SHORT_LINE_EM, _LONG_WORD_EM, _LONG_LINE_EM, _LOOSE_EM = 6.5, 11.0, 60.0, 5.0
_SLACK, _SEMIBOLD = 1.03, 1.06
_KEPT_WHOLE_ROWS, _KEPT_WHOLE_LETTERS = 14, 1500


@dataclass(frozen=True)
class Needs:
    """What a column needs, in pt: `least` for its longest word, `natural` for its longest line."""

    least: float
    natural: float


def printed_table(block: dict[str, Any]) -> list[dict[str, Any]]:
    """A table as the page prints it, in one or more pieces.

    Parameters
    ----------
    block
        caption, heads, align, rows (text), note, name.

    Returns
    -------
    list of dict
        heads, align, rows, caption, note, widths (pt, one a column), whole (True: kept on one page).

    Examples
    --------
    >>> block = {"caption": "Pairs", "heads": ["pair", "eggs"], "align": ["left", "right"],
    ...          "rows": [["P01", "12"]], "note": "", "name": ""}
    >>> [piece["widths"][0] for piece in printed_table(block)]
    [96.4]
    """
    place = "the tables folder" if block.get("name") else "the notebook"
    rows = [[_cut(value, place) for value in row] for row in block["rows"]]
    if not block["heads"]:
        return []
    needs = [_needs(head, [row[at] for row in rows]) for at, head in enumerate(block["heads"])]
    groups = _groups([need.least for need in needs])
    return [_piece(block, rows, needs, group, len(groups) > 1) for group in groups]


def shared_widths(needs: Sequence[Needs], align: Sequence[str]) -> list[float]:
    """Width of each column in pt; together never more than the page where the longest words fit.

    Examples
    --------
    >>> sum(shared_widths([Needs(50, 400), Needs(50, 400)], ["left", "left"])) <= TEXT_WIDTH_PT
    True
    """
    natural = [need.natural for need in needs]
    if align[0] == "left" and sum(natural) - natural[0] + NAME_PT <= TEXT_WIDTH_PT:
        natural[0] = max(natural[0], NAME_PT)
    spare = TEXT_WIDTH_PT - sum(natural)
    if spare >= 0:
        return [round(width, 2) for width in _spread(natural, spare, align)]
    return [round(width, 2) for width in _shared(needs)]


def _shared(needs: Sequence[Needs]) -> list[float]:
    """Columns within an even share of the page keep their longest line, the others divide the rest by need."""
    even = TEXT_WIDTH_PT / len(needs)
    least = [need.natural if need.natural <= even else need.least for need in needs]
    if sum(least) > TEXT_WIDTH_PT:
        least = [need.least for need in needs]
    wish = [need.natural - low for need, low in zip(needs, least, strict=True)]
    part = max(0.0, TEXT_WIDTH_PT - sum(least)) / max(1e-9, sum(wish))
    return [low + more * min(1.0, part) for low, more in zip(least, wish, strict=True)]


def _spread(natural: list[float], spare: float, align: Sequence[str]) -> list[float]:
    """What is left over goes to a last column of text, otherwise a little to each column after the first."""
    if align[-1] == "left" and len(natural) > 1:
        return [*natural[:-1], natural[-1] + spare]
    others = len(natural) - 1
    each = min(spare / others, _LOOSE_EM * TYPE_PT) if others else 0.0
    return [natural[0], *(width + each for width in natural[1:])]


def _needs(head: str, values: Sequence[str]) -> Needs:
    lines = {line for value in values for line in value.splitlines()}

    def width(pieces: Callable[[str], Sequence[str]], cap_em: float) -> float:
        bold = max(map(width_em, pieces(head)), default=0.0) * _SEMIBOLD
        plain = max((width_em(piece) for line in lines for piece in pieces(line)), default=0.0)
        return min(cap_em, max(bold, plain)) * TYPE_PT * _SLACK + GAP_PT

    return Needs(width(_unbroken, _LONG_WORD_EM), width(lambda line: [line], _LONG_LINE_EM))


def _unbroken(line: str) -> Sequence[str]:
    """What of a line must stay together: its words, or all of a short one ("75 %", "9 of 12")."""
    return [line] if width_em(line) <= _SHORT_LINE_EM else line.split()


def _groups(least: Sequence[float]) -> list[list[int]]:
    """Columns of each piece; every piece begins with the first column."""
    groups, used = [[0]], least[0]
    for at, width in enumerate(least[1:], start=1):
        if used + width > TEXT_WIDTH_PT and len(groups[-1]) > 1:
            groups.append([0])
            used = least[0]
        groups[-1].append(at)
        used += width
    return groups


def _piece(
    block: dict[str, Any], rows: list[list[str]], needs: Sequence[Needs], group: list[int], parted: bool
) -> dict[str, Any]:
    align = [block["align"][at] for at in group]
    caption = block["caption"]
    if parted:
        caption = f"{caption} (columns {group[1] + 1} to {group[-1] + 1} of {len(needs)})".strip()
    letters = sum(len(value) for row in rows for value in row)
    return {
        "heads": [block["heads"][at] for at in group],
        "align": align,
        "rows": [[row[at] for at in group] for row in rows],
        "widths": shared_widths([needs[at] for at in group], align),
        "caption": caption,
        "note": block["note"],
        "whole": len(rows) <= _KEPT_WHOLE_ROWS and letters <= _KEPT_WHOLE_LETTERS,
    }


def _cut(value: str, place: str) -> str:
    return value if len(value) <= LONGEST else f"{value[:LONGEST].rstrip()} … (cut; whole in {place})"
