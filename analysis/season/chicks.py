"""Chicks with their fate and who reared them, and the losses, as they stood on the last day."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from analysis.logs import Ledger, Row
from analysis.logs.cells import near
from analysis.logs.names import NameBook, same
from analysis.season.causes import cause_group
from analysis.season.clutches import begun
from analysis.season.dates import Rows, age_d
from analysis.season.eggs import Hatch, egg_book
from analysis.season.frames import sorted_by_name, typed_frame
from analysis.season.pairs import Aviary

CHICKS = {
    "chick": "str",
    "ring": "str",
    "sex": "str",
    "egg": "str",
    "pair": "str",
    "clutch": "str",
    "cage": "str",
    "species": "str",
    "hatched_at": "datetime64[us]",
    "hatched_at_timed": "bool",
    "sure_to_days": "float64",
    "reared_by": "str",
    "arrived_on": "datetime64[us]",
    "weaned_on": "datetime64[us]",
    "left_on": "datetime64[us]",
    "lost_on": "datetime64[us]",
    "fate": "str",
    "file": "str",
    "row": "Int64",
}
LOSSES = {
    "chick": "str",
    "egg": "str",
    "found_on": "datetime64[us]",
    "last_seen_well_on": "datetime64[us]",
    "age_d": "float64",
    "cause": "str",
    "cause_group": "str",
    "examined": "str",
    "event": "str",
    "file": "str",
    "row": "Int64",
}


def chick_book(hatches: list[Hatch]) -> NameBook:
    """Return the names chicks go by; a ring leads to its chick, and so does the number of its egg."""
    book = NameBook(h.chick for h in hatches if h.chick)
    for h in hatches:
        if h.chick and h.row["ring"]:
            book.add(h.row["ring"], leads_to=h.chick)
    return book


def read_losses(rows: Rows, hatches: list[Hatch], book: NameBook, ledger: Ledger) -> pd.DataFrame:
    """Return one row a loss of a chick or an egg that the hatches know."""
    by_chick = {h.chick: h for h in hatches if h.chick}
    eggs, twice = egg_book(hatches)
    first: dict[tuple[str, str], Row] = {}
    found = []
    for row in rows["losses"]:
        who = _who_was_lost(row, hatches, book, eggs, twice, ledger)
        if who is None or _seen_before(row, who, first, ledger):
            continue
        hatch = by_chick.get(who[0])
        age = float("nan")
        if hatch is not None:
            age = age_d(row["found_on"], False, hatch.row["hatched_at"], False)
            if age < -(hatch.row["sure_to_days"] or 0):
                ledger.drop("loss-before-hatch", row.place, "found_on", f"{row['found_on']:%Y-%m-%d}")
                continue
        first[who] = row
        found.append(_loss(row, who, age, ledger))
    rows["losses"][:] = [row for row in rows["losses"] if ledger.is_used(row)]
    return typed_frame(found, LOSSES).sort_values(["found_on", "row"], ignore_index=True)


def _who_was_lost(
    row: Row, hatches: list[Hatch], book: NameBook, eggs: NameBook, twice: set[str], ledger: Ledger
) -> tuple[str, str] | None:
    """Return (chick, egg), one of them blank; None where no log knows the name."""
    if row["chick"]:
        chick = book.find(row["chick"]) or ""
        if not chick:
            ledger.drop("unknown-chick", row.place, "chick", row["chick"], near=near(row["chick"], book))
        return (chick, "") if chick else None
    egg = eggs.find(row["egg"])
    if egg is None or same(egg) in twice:
        code = "unknown-egg" if egg is None else "egg-in-two-clutches"
        ledger.drop(code, row.place, "egg", row["egg"], near=near(row["egg"], eggs))
        return None
    chick = next((h.chick for h in hatches if h.row["egg"] == egg), "")
    return (chick, "") if chick else ("", egg)


def _seen_before(row: Row, who: tuple[str, str], first: Mapping[tuple[str, str], Row], ledger: Ledger) -> bool:
    if who not in first:
        return False
    earlier = first[who].place
    code = "repeated-row" if earlier.cells == row.place.cells else "second-loss"
    ledger.drop(code, row.place, "chick", row["chick"] or row["egg"], first=earlier.row)
    return True


def _loss(row: Row, who: tuple[str, str], age: float, ledger: Ledger) -> dict[str, Any]:
    seen = row["last_seen_well_on"]
    if seen is not None and seen > row["found_on"]:
        ledger.say("seen-well-after-found", row.place, "last_seen_well_on", f"{seen:%Y-%m-%d}")
        seen = None
    return {
        "chick": who[0],
        "egg": who[1],
        "found_on": row["found_on"],
        "last_seen_well_on": seen,
        "age_d": age,
        "cause": row["cause"] or "",
        "cause_group": cause_group(row["cause"] or ""),
        "examined": row["examined"] or "",
        "event": "",
        "file": row.place.file,
        "row": row.place.row,
    }


def chicks_frame(
    hatches: list[Hatch], losses: pd.DataFrame, aviary: Aviary, today: pd.Timestamp | None, ledger: Ledger
) -> pd.DataFrame:
    """Return one row a chick, by name."""
    lost = dict(zip(losses["chick"], losses["found_on"], strict=True))
    found = [_chick(h, lost.get(h.chick), aviary, today, ledger) for h in hatches if h.chick]
    return sorted_by_name(typed_frame(found, CHICKS), ["chick"])


def _chick(
    h: Hatch, lost_on: pd.Timestamp | None, aviary: Aviary, today: pd.Timestamp | None, ledger: Ledger
) -> dict[str, Any]:
    row = h.row
    weaned_on, left_on = row["weaned_on"], row["left_on"]
    if weaned_on is not None and lost_on is not None and weaned_on > lost_on:
        ledger.say("weaned-after-loss", row.place, "weaned_on", f"{weaned_on:%Y-%m-%d}")
        weaned_on = None
    ended = min((day for day in (weaned_on, lost_on, left_on, today) if day is not None), default=None)
    written = aviary.pair(row["reared_by"])
    moved = aviary.moved_to(h.chick, ended, row["hatched_at"])
    if moved and written and same(moved) != same(written):
        ledger.say("moves-disagree", row.place, "reared_by", row["reared_by"], move=moved)
    return {name: row[name] for name in ("hatched_at", "sure_to_days", "arrived_on", "left_on")} | {
        "chick": h.chick,
        "ring": row["ring"] or "",
        "sex": row["sex"] or "",
        "egg": row["egg"] or "",
        "pair": h.pair,
        "clutch": h.clutch,
        "cage": aviary.cage(h.pair, begun(row)) or row["cage"] or "",
        "species": row["species"] or aviary.species(h.pair),
        "hatched_at_timed": bool(row["hatched_at_timed"]),
        "reared_by": moved or written or h.pair,
        "weaned_on": weaned_on,
        "lost_on": lost_on,
        "fate": _fate(weaned_on, lost_on, left_on),
        "file": row.place.file,
        "row": row.place.row,
    }


def _fate(weaned_on: pd.Timestamp | None, lost_on: pd.Timestamp | None, left_on: pd.Timestamp | None) -> str:
    """A death after weaning is weaned; of leaving and loss the earlier one counts."""
    if weaned_on is not None:
        return "weaned"
    if lost_on is not None and (left_on is None or lost_on <= left_on):
        return "lost"
    return "left" if left_on is not None else "being reared"
