"""How wide each column of a printed table is, so that no cell runs over its neighbour or the page.

Where the rows fit on one line each, columns are as wide as they need. Where they do not, every column keeps its
longest word, the narrow ones their longest line, and the wide ones share the rest by need: first for four rows of
five, so that one long name does not fold all the others, then for all, small wishes first. Where even the words do not
fit, the table is printed in pieces, each beginning with the first column.
"""

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple

from analysis.report.press import TEXT_WIDTH_PT
from analysis.say import say
from analysis.show.fonts import width_em

_TYPE_PT = 8.5
_GAP_PT = 12.4  # 2 mm on both sides of a cell, and 1 pt to spare (the tabular % is wider)
_NAME_PT = 96.4  # the column of names, 34 mm
_LONGEST = 600  # characters of a cell that are printed
_SHORT_LINE_EM, _LONG_WORD_EM, _LONG_LINE_EM, _LOOSE_EM = 6.5, 22.0, 60.0, 5.0
_BREAKS_ANYWHERE = 25  # characters of a word, as season.typ has it
_PIECE = 8
_SLACK, _SEMIBOLD = 1.03, 1.06
_MOST = 0.8
_KEPT_WHOLE_ROWS, _KEPT_WHOLE_LETTERS = 14, 1500


class _Needs(NamedTuple):
    """What a column needs, in pt: `least` for its longest word, `usual` for four rows of five, `natural` for all."""

    least: float
    usual: float
    natural: float


def printed_table(block: dict[str, Any]) -> list[dict[str, Any]]:
    """A table (caption, heads, align, rows of text, note, name) as the page prints it, in one or more pieces.

    Of each piece: heads, align, rows, caption, note, widths (pt, one a column), whole (kept on one page).
    """
    if not block["heads"]:
        return []
    place = "tables" if block.get("name") else "notebook"
    rows = [[_cut(value, place) for value in row] for row in block["rows"]]
    needs = [_needs(head, [row[at] for row in rows]) for at, head in enumerate(block["heads"])]
    groups = _groups([need.least for need in needs])
    return [_piece(block, rows, needs, group, len(groups) > 1) for group in groups]


def _cut(value: str, place: str) -> str:
    return value if len(value) <= _LONGEST else say(f"report.cut-in-{place}", start=value[:_LONGEST].rstrip())


def _widths(needs: Sequence[_Needs], align: Sequence[str]) -> list[float]:
    """Width of each column in pt; together never more than the page where the longest words fit."""
    natural = [need.natural for need in needs]
    if align[0] == "left" and sum(natural) - natural[0] + _NAME_PT <= TEXT_WIDTH_PT:
        natural[0] = max(natural[0], _NAME_PT)
    spare = TEXT_WIDTH_PT - sum(natural)
    widths = _spread(natural, spare, align) if spare >= 0 else _shared(needs)
    return [int(100 * width) / 100 for width in widths]  # never up: together they may fill the page to its edge


def _shared(needs: Sequence[_Needs]) -> list[float]:
    """Columns within an even share of the page keep their longest line, the others divide the rest by need."""
    even = TEXT_WIDTH_PT / len(needs)
    widths = [need.natural if need.natural <= even else need.least for need in needs]
    if sum(widths) > TEXT_WIDTH_PT:
        widths = [need.least for need in needs]
    spare = max(0.0, TEXT_WIDTH_PT - sum(widths))
    wish = [max(0.0, need.usual - width) for need, width in zip(needs, widths, strict=True)]
    part = min(1.0, spare / max(1e-9, sum(wish)))
    widths = [width + more * part for width, more in zip(widths, wish, strict=True)]
    # what is left over, an even part for each, and what one does not need for those that need more
    spare = max(0.0, TEXT_WIDTH_PT - sum(widths))
    order = sorted(range(len(widths)), key=lambda at: needs[at].natural - widths[at])
    for left, at in zip(range(len(order), 0, -1), order, strict=True):
        more = min(max(0.0, needs[at].natural - widths[at]), spare / left)
        widths[at] += more
        spare -= more
    return widths


def _spread(natural: list[float], spare: float, align: Sequence[str]) -> list[float]:
    """What is left over goes to a last column of text, otherwise a little to each column after the first."""
    if align[-1] == "left" and len(natural) > 1:
        return [*natural[:-1], natural[-1] + spare]
    others = len(natural) - 1
    each = min(spare / others, _LOOSE_EM * _TYPE_PT) if others else 0.0
    return [natural[0], *(width + each for width in natural[1:])]


def _needs(head: str, values: Sequence[str]) -> _Needs:
    lines = sorted(width_em(line) for value in values for line in value.splitlines())
    words = [width_em(word) for line in {*"\n".join(values).splitlines()} for word in _unbroken(line)]
    most = lines[: int(_MOST * (len(lines) - 1)) + 1]
    least = _width_pt(words, max(map(width_em, _unbroken(head)), default=0.0), _LONG_WORD_EM)
    usual, natural = (_width_pt(some, width_em(head), _LONG_LINE_EM) for some in (most, lines))
    return _Needs(least, max(least, usual), natural)


def _width_pt(widths_em: Iterable[float], head_em: float, cap_em: float) -> float:
    widest = max(max(widths_em, default=0.0), head_em * _SEMIBOLD)
    return min(cap_em, widest) * _TYPE_PT * _SLACK + _GAP_PT


def _unbroken(line: str) -> Sequence[str]:
    """What of a line must stay together: its words, or all of a short one ("75 %", "9 of 12")."""
    if width_em(line) <= _SHORT_LINE_EM:
        return [line]
    return [word if len(word) < _BREAKS_ANYWHERE else word[:_PIECE] for word in line.split()]


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
    block: dict[str, Any], rows: list[list[str]], needs: Sequence[_Needs], group: list[int], parted: bool
) -> dict[str, Any]:
    align, caption = [block["align"][at] for at in group], block["caption"]
    if parted:
        facts = {"first": group[1] + 1, "last": group[-1] + 1, "columns": len(needs)}
        caption = say("report.columns-of", caption=caption, **facts).strip()
    letters = sum(len(value) for row in rows for value in row)
    return {
        "heads": [block["heads"][at] for at in group],
        "align": align,
        "rows": [[row[at] for at in group] for row in rows],
        "widths": _widths([needs[at] for at in group], align),
        "caption": caption,
        "note": block["note"],
        "whole": len(rows) <= _KEPT_WHOLE_ROWS and letters <= _KEPT_WHOLE_LETTERS,
    }
