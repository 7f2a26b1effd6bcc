"""Rows → the CSV files of a season folder, as a keeper keeps them. A folder with anything in it is never touched."""

import csv
from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.errors import SeasonError
from analysis.guard import guarded
from analysis.logs.tables import LOGS
from analysis.names import DIED_IN_EGG, GONE
from analysis.simulate.assumptions import HAND, Assumptions, PairPlan

Row = dict[str, Any]
Logs = dict[str, list[Row]]

_UNWELL = ("crop slow the days before", "thin, went light", "weak")
_SUDDEN = ("found dead in the box", "", "not known")


def keepers_logs(
    plan: Sequence[PairPlan], eggs: pd.DataFrame, chicks: pd.DataFrame, weights: pd.DataFrame, a: Assumptions
) -> Logs:
    """Each log's rows. A blank is None or an empty text; days are dates, weights numbers in grams."""
    logs: Logs = {
        "settings": [{"setting": "aviary", "value": "Simulated"}, {"setting": "season", "value": str(a.year)}],
        "pairs": [_pair(p, a) for p in plan],
        "cages": [{"cage": cage} for cage in sorted({c.cage for p in plan for c in p.clutches})],
    }
    if a.eggs_as == "counts":
        return logs | {"clutches": _counts(eggs), "moves": _pair_moves(plan)}
    of_egg = {(c.pair, c.clutch, c.egg): c for c in chicks.itertuples()}
    rows = [_hatch(e, of_egg.get((e.pair, e.clutch, e.egg)), a) for e in eggs.itertuples()]
    logs["hatches"] = sorted(rows, key=lambda r: (r["laid_on"], r["pair"], r["egg"]))
    logs["weights"] = [
        {"chick": w.chick, "weighed_at": w.weighed_at, "weight": w.mass_g, "crop": w.crop} for w in weights.itertuples()
    ]
    lost = sorted((c for c in chicks.itertuples() if c.fate == "lost"), key=lambda c: (c.ends_on, c.chick))
    logs["losses"] = [_loss(c, number) for number, c in enumerate(lost)]
    logs["moves"] = sorted([*_pair_moves(plan), *_chick_moves(chicks, a)], key=lambda m: m["on"])
    return logs


def _pair(p: PairPlan, a: Assumptions) -> Row:
    return {
        "pair": p.pair,
        "species": a.kind(p.species).name,
        "kind": "" if p.kind == "pair" else p.kind,
        "cock": p.cock,
        "hen": p.hen,
        "cage": p.clutches[0].cage,
        "put_up_on": p.put_up_on or min(c.first_egg_on for c in p.clutches) - timedelta(days=30),
    }


def _pair_moves(plan: Sequence[PairPlan]) -> list[Row]:
    return [
        {"what": p.pair, "on": after.first_egg_on - timedelta(days=8), "to": after.cage}
        for p in plan
        for before, after in pairwise(p.clutches)
        if before.cage != after.cage
    ]


def _hatch(egg: Any, chick: Any, a: Assumptions) -> Row:
    names = ("pair", "clutch", "egg", "laid_on", "set_on", "candled", "candled_on", "outcome", "incubated_by")
    row: Row = {name: getattr(egg, name) for name in names}
    row["candled_on"] = egg.candled_on if egg.candled else None
    row["incubated_by"] = "" if egg.incubated_by == egg.pair else egg.incubated_by
    if chick is None:
        return row
    from_the_egg = chick.reared_by if chick.incubated_by != chick.pair else ""  # else a move says who, and since when
    return row | {
        "hatched_at": chick.hatched_on,
        "sure_to_days": 1,
        "chick": chick.chick,
        "ring": f"{a.year % 100:02d}-{chick.chick[1:]}",
        "reared_by": from_the_egg,
        "weaned_on": chick.ends_on if chick.fate == "weaned" else None,
    }


def _loss(chick: Any, number: int) -> Row:
    causes = ("found cold, all of them",) if chick.together else _UNWELL if chick.stall_d >= 0 else _SUDDEN
    return {
        "chick": chick.chick,
        "found_on": chick.ends_on,
        "last_seen_well_on": chick.ends_on - timedelta(days=1) if chick.ends_on > chick.hatched_on else None,
        "cause": causes[number % len(causes)],
    }


def _chick_moves(chicks: pd.DataFrame, a: Assumptions) -> list[Row]:
    moves: list[Row] = []
    for c in chicks.itertuples():
        hatched_by_its_own = c.incubated_by == c.pair
        if c.reared_by == HAND and hatched_by_its_own and 0 < a.hand_from_d < c.ends_d:
            moves.append({"what": c.chick, "on": c.hatched_on + timedelta(days=a.hand_from_d), "to": HAND})
        if c.fostered_to:
            moves.append({"what": c.chick, "on": c.hatched_on + timedelta(days=min(3, c.ends_d)), "to": c.fostered_to})
    return moves


def _counts(eggs: pd.DataFrame) -> list[Row]:
    """A row a clutch, in the order of their first eggs."""
    outcomes = {"clear": ["clear"], "died_in_egg": DIED_IN_EGG, "broken_or_gone": GONE, "hatched": ["hatched"]}
    came_to = {name: eggs["outcome"].isin(some) for name, some in outcomes.items()}
    by = eggs["incubated_by"].where(eggs["incubated_by"] != eggs["pair"], "")
    clutches = eggs.assign(**came_to, incubated_by=by).groupby(["pair", "clutch"])
    rows = clutches.agg(eggs=("egg", "size"), first_egg_on=("laid_on", "min"))
    rows = rows.join(clutches[list(outcomes)].sum()).join(clutches["incubated_by"].first()).reset_index()
    return list(rows.sort_values(["first_egg_on", "pair"], kind="stable").to_dict("records"))


def write_logs(folder: str | Path, logs: Logs, *, weights_as: str = "list") -> None:
    """Write a season folder: a CSV a log, with the columns that hold something.

    Weights may be a "list", or a "grid": a row a morning and a column a chick, which has no room for crop and notes. A
    SeasonError where the folder holds something already, is a file, or cannot be written.
    """
    folder = Path(folder)
    _make_empty(folder)
    for log, rows in logs.items():
        if rows and log == "weights" and weights_as == "grid":
            chicks = sorted({row["chick"] for row in rows})
            written = {(row["weighed_at"], row["chick"]): _text(row["weight"]) for row in rows}
            days = sorted({row["weighed_at"] for row in rows})
            grid = [[day.isoformat(), *(written.get((day, chick), "") for chick in chicks)] for day in days]
            _write(folder / f"{log}.csv", [["date", *chicks], *grid])
        elif rows:
            names = [c.name for c in LOGS[log].columns if any(_text(row.get(c.name)) for row in rows)]
            _write(folder / f"{log}.csv", [names, *([_text(row.get(name)) for name in names] for row in rows)])


def _make_empty(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        holds = sorted(path.name for path in folder.iterdir())
    except FileExistsError:
        raise SeasonError(f"{folder} is a file. Name a folder for the season instead.") from None
    except OSError as wrong:
        raise SeasonError(f"The folder {folder} cannot be made ({wrong.strerror}). Choose another place.") from None
    if holds:
        raise SeasonError(f"{folder} already holds {holds[0]}. Nothing was written; name a new or empty folder.")


def _text(value: Any) -> str:
    """Write a value as it stands in a spreadsheet."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        return f"{value:%Y-%m-%d %H:%M}"
    return f"{value:g}" if isinstance(value, float) else str(value)


def _write(path: Path, records: list[list[str]]) -> None:
    try:
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file, lineterminator="\n").writerows([guarded(cell) for cell in record] for record in records)
    except OSError as wrong:
        raise SeasonError(f"{path} cannot be written ({wrong.strerror}). Choose another place.") from None
