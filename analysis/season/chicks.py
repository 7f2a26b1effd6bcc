"""Chicks with their fate and who reared them, and the losses, as they stood on the last day."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from analysis.logs import Ledger, Row
from analysis.season.clutches import begun
from analysis.season.dates import Rows, age_d
from analysis.season.eggs import Hatch
from analysis.season.frames import sorted_by_name, typed_frame
from analysis.season.losses import cause_group
from analysis.season.nest import Nest
from analysis.season.pairs import Aviary
from analysis.season.rearing import Rearers

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
    "by_hand": "bool",
    "rearer_asked": "str",
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
    "event_found": "object",
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
        "event_found": "",
        "file": row.place.file,
        "row": row.place.row,
    }


def chicks_frame(
    hatches: list[Hatch],
    losses: pd.DataFrame,
    aviary: Aviary,
    nest: Nest,
    rearers: Rearers,
    today: pd.Timestamp | None,
    ledger: Ledger,
) -> pd.DataFrame:
    """Return one row a chick, by name; a word in `reared_by` that no log knows is asked about."""
    lost = dict(zip(losses["chick"], losses["found_on"], strict=True))
    found = []
    for h in hatches:
        if h.chick:
            ends = _ends(h.row, lost.get(h.chick), ledger)
            until = min((day for day in (*ends.values(), today) if day is not None), default=None)
            found.append(_chick(h, aviary) | ends | _reared(h, nest, until, rearers, ledger) | {"fate": _fate(**ends)})
    rearers.ask(ledger)
    return sorted_by_name(typed_frame(found, CHICKS), ["chick"])


def _ends(row: Row, lost_on: pd.Timestamp | None, ledger: Ledger) -> dict[str, pd.Timestamp | None]:
    """The days on which a chick was weaned, lost or left."""
    weaned_on = row["weaned_on"]
    if weaned_on is not None and lost_on is not None and weaned_on > lost_on:
        ledger.say("weaned-after-loss", row.place, "weaned_on", f"{weaned_on:%Y-%m-%d}")
        weaned_on = None
    return {"weaned_on": weaned_on, "lost_on": lost_on, "left_on": row["left_on"]}


def _chick(h: Hatch, aviary: Aviary) -> dict[str, Any]:
    row = h.row
    return {name: row[name] for name in ("hatched_at", "sure_to_days", "arrived_on")} | {
        "chick": h.chick,
        "ring": row["ring"] or "",
        "sex": row["sex"] or "",
        "egg": row["egg"] or "",
        "pair": h.pair,
        "clutch": h.clutch,
        "cage": aviary.cage(h.pair, begun(row)) or row["cage"] or "",
        "species": row["species"] or aviary.species(h.pair),
        "hatched_at_timed": bool(row["hatched_at_timed"]),
        "file": row.place.file,
        "row": row.place.row,
    }


def _reared(
    h: Hatch, nest: Nest, until: pd.Timestamp | None, rearers: Rearers, ledger: Ledger
) -> dict[str, str | bool]:
    """Who rears a chick: where it was moved to last, else who is written, else the nest that the egg was moved to."""
    row, move = h.row, nest.last_move(h, h.row["hatched_at"], until)
    written = row["reared_by"] or ""
    meant = rearers.meant(written or nest.fostered_to(h), h.pair)
    rearers.note(meant, h.chick, row.place, "reared_by")
    if move is not None:
        moved = rearers.meant(move["to"], h.pair)
        if written and not meant.asked and moved != meant:
            ledger.say("moves-disagree", row.place, "reared_by", written, move=move["to"])
        meant = moved
        rearers.note(meant, h.chick, move.place, "to")
    return {
        "reared_by": meant.name,
        "by_hand": meant.by_hand,
        "rearer_asked": meant.asked,
        "brooder": rearers.brooder(row["brooder"] or "", move["to"] if move else "", written),
    }


def _fate(*, weaned_on: pd.Timestamp | None, lost_on: pd.Timestamp | None, left_on: pd.Timestamp | None) -> str:
    """A death after weaning is weaned; of leaving and loss the earlier one counts."""
    if weaned_on is not None:
        return "weaned"
    if lost_on is not None and (left_on is None or lost_on <= left_on):
        return "lost"
    return "left" if left_on is not None else "being reared"
