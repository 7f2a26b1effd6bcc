"""Chicks with their fate and who reared them, and the losses, as they stood on the last day."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from analysis.logs import Ledger, Row
from analysis.logs.names import same
from analysis.season.causes import cause_group
from analysis.season.clutches import begun
from analysis.season.dates import Rows, age_d
from analysis.season.eggs import Hatch
from analysis.season.frames import sorted_by_name, typed_frame
from analysis.season.nest import Nest
from analysis.season.pairs import Aviary
from analysis.season.vocabulary import is_brooder, is_hand, says_only_brooder

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
    "brooder": "str",
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


def read_losses(rows: Rows, nest: Nest, ledger: Ledger) -> pd.DataFrame:
    """Return one row a loss of a chick or an egg that the hatches know."""
    first: dict[tuple[str, str], Row] = {}
    found = []
    for row in rows["losses"]:
        column = "chick" if row["chick"] else "egg"
        h = (nest.chick(row["chick"]) if row["chick"] else None) or nest.egg(row[column])
        if h is None:
            nest.not_found(row, column, ledger, f"unknown-{column}")
            continue
        who = (h.chick, "" if h.chick else h.row["egg"])
        if _seen_before(row, (h.chick, "" if h.chick else h.label), first, ledger):
            continue
        age = age_d(row["found_on"], False, h.row["hatched_at"], False)
        if age < -(h.row["sure_to_days"] or 0):
            ledger.drop("loss-before-hatch", row.place, "found_on", f"{row['found_on']:%Y-%m-%d}")
            continue
        first[h.chick, "" if h.chick else h.label] = row
        found.append(_loss(row, who, age, ledger))
    rows["losses"][:] = [row for row in rows["losses"] if ledger.is_used(row)]
    return typed_frame(found, LOSSES).sort_values(["found_on", "row"], ignore_index=True)


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
    hatches: list[Hatch],
    losses: pd.DataFrame,
    aviary: Aviary,
    nest: Nest,
    today: pd.Timestamp | None,
    ledger: Ledger,
) -> pd.DataFrame:
    """Return one row a chick, by name."""
    lost = dict(zip(losses["chick"], losses["found_on"], strict=True))
    brooders = {same(h.row["brooder"]) for h in hatches if h.row["brooder"]}
    found = [_chick(h, lost.get(h.chick), aviary, nest, today, brooders, ledger) for h in hatches if h.chick]
    return sorted_by_name(typed_frame(found, CHICKS), ["chick"])


def _chick(
    h: Hatch,
    lost_on: pd.Timestamp | None,
    aviary: Aviary,
    nest: Nest,
    today: pd.Timestamp | None,
    brooders: set[str],
    ledger: Ledger,
) -> dict[str, Any]:
    row = h.row
    weaned_on, left_on = row["weaned_on"], row["left_on"]
    if weaned_on is not None and lost_on is not None and weaned_on > lost_on:
        ledger.say("weaned-after-loss", row.place, "weaned_on", f"{weaned_on:%Y-%m-%d}")
        weaned_on = None
    ended = min((day for day in (weaned_on, lost_on, left_on, today) if day is not None), default=None)
    written = aviary.pair(row["reared_by"])
    moved = nest.moved_to(h, row["hatched_at"], ended)
    nest_of = nest.sat_on_by(h)  # an egg moved into a pair's nest is reared there, unless something else is written
    fostered = nest_of if nest_of in aviary.book else ""
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
        "reared_by": moved or written or fostered or h.pair,
        "brooder": _brooder(row["brooder"] or "", moved, written, brooders),
        "weaned_on": weaned_on,
        "lost_on": lost_on,
        "fate": _fate(weaned_on, lost_on, left_on),
        "file": row.place.file,
        "row": row.place.row,
    }


def _brooder(own: str, moved: str, written: str, known: set[str]) -> str:
    """Which brooder a chick is in: the one it was moved to last, else the one written; none once it went elsewhere."""
    if not moved:
        return own or (written if is_brooder(written) else "")
    if says_only_brooder(moved):
        return own or moved
    if is_brooder(moved) or same(moved) in known:
        return moved
    return own if is_hand(moved) else ""


def _fate(weaned_on: pd.Timestamp | None, lost_on: pd.Timestamp | None, left_on: pd.Timestamp | None) -> str:
    """A death after weaning is weaned; of leaving and loss the earlier one counts."""
    if weaned_on is not None:
        return "weaned"
    if lost_on is not None and (left_on is None or lost_on <= left_on):
        return "lost"
    return "left" if left_on is not None else "being reared"
