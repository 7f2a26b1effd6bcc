"""Rings: what two spellings of one have in common, and one ring on two birds."""

import re
from collections.abc import Iterator
from typing import NamedTuple

import pandas as pd

from analysis.logs import Ledger, Row
from analysis.logs.headings import same
from analysis.season.days import Rows

LEAST = 4  # letters and digits; a number such as 7 or C1 is no ring by which a bird is known elsewhere
_SURE_D = 7  # practice: a chick that was kept, and bears another name in the birds log, hatched on about the same day


class _Ringed(NamedTuple):
    """A bird or chick with a ring, and where it was written."""

    name: str
    hatched_on: pd.Timestamp | None
    row: Row


def ring_key(ring: str) -> str:
    """Return what two spellings of one ring have in common: letters and digits; blank where no digit is in it.

    Examples
    --------
    >>> ring_key("AB 26-07"), ring_key("ab2607"), ring_key("blue")
    ('ab2607', 'ab2607', '')
    """
    plain = re.sub(r"[\W_]+", "", str(ring).casefold())
    return plain if re.search(r"\d", plain) else ""


def check_rings(rows: Rows, ledger: Ledger) -> None:
    """Note each ring that two birds or chicks bear, at the second of them, with both named.

    A chick that was kept is in both logs, under one name or with one day of hatch, and is one bird.
    """
    first: dict[str, list[_Ringed]] = {}
    for one in _ringed(rows):
        key = ring_key(one.row["ring"])
        known = first.setdefault(key, [])
        other = next((other for other in known if not _is_one(one, other, key)), None)
        if key and other is not None and not any(same(one.name) == same(each.name) for each in known):
            facts = {"names": [other.name, one.name]}
            ledger.say("ring-twice", one.row.place, "ring", one.row["ring"], **facts)
        known.append(one)


def _ringed(rows: Rows) -> Iterator[_Ringed]:
    for row in rows["hatches"]:
        if row["ring"]:
            yield _Ringed(row["chick"] or row["ring"], row["hatched_at"], row)
    for row in rows["birds"]:
        if row["ring"]:
            yield _Ringed(row["bird"], row["hatched_on"], row)


def _is_one(one: _Ringed, other: _Ringed, key: str) -> bool:
    """Whether two that bear a ring are one bird, as far as can be told."""
    if one.row.place.log == other.row.place.log:
        return same(one.name) == same(other.name)
    days = [each.hatched_on for each in (one, other) if each.hatched_on is not None]
    return (
        len(key) < LEAST
        or same(one.name) == same(other.name)
        or (len(days) == 2 and abs((days[0] - days[1]).days) <= _SURE_D)
    )
