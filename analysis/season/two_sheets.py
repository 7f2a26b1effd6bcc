"""Eggs in one sheet and chicks in another → one row an egg, so that none is counted twice."""

from collections import Counter
from collections.abc import Iterator

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs import Ledger, Row
from analysis.logs.headings import same
from analysis.season.days import Rows

_APART_D = 3  # practice: two notes of one hatch differ by no more; a number that comes again later is another egg's
_NO_NUMBER_D = 1  # practice: where the day alone tells, it may have been written the morning after
_MAY_DIFFER = ("chick", "egg", "pair", "clutch", "hatched_at", "hatched_at_timed", "cage", "notes")
_ID = ("chick", "ring")


def one_row_an_egg(rows: Rows, ledger: Ledger) -> tuple[Rows, tuple[Finding, ...]]:
    """Read a chick's row as that of its egg, where the egg stands in another sheet or file and names no chick.

    They are of one egg where number, pair and clutch agree and the days of hatching are near; where a row of chicks
    numbers no egg, by its pair and the day. A number that fits several eggs is left alone. What both say and the egg's
    row says otherwise is noted with the code "two-sheets-differ". Also returns how the sheets were read.
    """
    hatches = rows["hatches"]
    if len({_sheet(row) for row in hatches}) < 2:
        return rows, ()
    eggs = [row for row in hatches if row["egg"] and not any(row[name] for name in _ID)]
    chicks = [row for row in hatches if any(row[name] for name in _ID) and row["arrived_on"] is None]
    egg_of: dict[int, Row] = {}  # by the place of a chick's row among these
    for numbered in (True, False):
        asked = [at for at, chick in enumerate(chicks) if bool(chick["egg"]) is numbered]
        egg_of |= dict(_matches(asked, chicks, [egg for egg in eggs if egg not in egg_of.values()]))
    joined = {egg.place: _joined(egg, chicks[at], ledger) for at, egg in egg_of.items()}
    gone = {chicks[at].place for at in egg_of}
    left = [joined.get(row.place, row) for row in hatches if row.place not in gone]
    counts = Counter((_sheet(chicks[at]), _sheet(egg)) for at, egg in egg_of.items())
    said = [found("logs.two-sheets", count=n, file=_name(of), other=_name(to)) for (of, to), n in counts.items()]
    return rows.but({"hatches": left}), tuple(said)


def _sheet(row: Row) -> tuple[str, str]:
    return row.place.file, row.place.sheet


def _name(sheet: tuple[str, str]) -> str:
    return ", ".join(filter(None, sheet))


def _matches(asked: list[int], chicks: list[Row], eggs: list[Row]) -> Iterator[tuple[int, Row]]:
    """Pair chicks with eggs, the nearest days first; a chick whose number fits several eggs equally well with none."""
    near = {at: [(d, egg) for egg in eggs if (d := _days_apart(egg, chicks[at])) is not None] for at in asked}
    taken: set[int] = set()
    for at in sorted(asked, key=lambda one: min((d for d, _ in near[one]), default=_APART_D)):
        free = [(d, egg) for d, egg in near[at] if id(egg) not in taken]
        best = [egg for d, egg in free if d == min(free, key=lambda one: one[0])[0]]
        if best and (len(best) == 1 or not chicks[at]["egg"]):
            taken.add(id(best[0]))
            yield at, best[0]


def _days_apart(egg: Row, chick: Row) -> float | None:
    """Days between what two rows say of a hatch, if they may be of one egg; so many as may be where one says none."""
    if _sheet(egg) == _sheet(chick) or not all(_agree(egg[name], chick[name]) for name in ("pair", "clutch", "egg")):
        return None
    days = [row["hatched_at"] for row in (egg, chick)]
    apart = float(_APART_D) if None in days else abs((days[0].normalize() - days[1].normalize()).days)
    if chick["egg"]:
        return apart if apart <= _APART_D else None
    same_pair = egg["pair"] and chick["pair"] and None not in days
    return apart if same_pair and apart <= _NO_NUMBER_D else None


def _agree(one: str | None, other: str | None) -> bool:
    return not one or not other or same(one) == same(other)


def _joined(egg: Row, chick: Row, ledger: Ledger) -> Row:
    """The egg's row with what the chick's row says beside; where both speak the egg's own."""
    cells = {column: cell for column, cell in chick.values.items() if egg[column] is None}
    both = [name for name in chick.values if name not in cells and name not in _MAY_DIFFER]
    for name in (one for one in both if _as_text(egg[one]) != _as_text(chick[one])):
        facts = {"file": _name(_sheet(chick)), "row": chick.place.row, "other": _as_text(chick[name])}
        ledger.say("two-sheets-differ", egg.place, name, _as_text(egg[name]), **facts)
    notes = list(dict.fromkeys(row["notes"] for row in (egg, chick) if row["notes"]))
    if notes:
        cells["notes"] = "; ".join(notes)
    if egg["hatched_at"] is not None and chick["hatched_at_timed"] and not egg["hatched_at_timed"]:
        cells |= {name: chick[name] for name in ("hatched_at", "hatched_at_timed")}
    return egg.but(**cells)


def _as_text(value: object) -> str:
    return f"{value:%Y-%m-%d}" if isinstance(value, pd.Timestamp) else same(str(value))
