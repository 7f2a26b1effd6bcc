"""Rows → the CSV files of a season folder, as a keeper keeps them. A folder with anything in it is never touched."""

import csv
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.errors import SeasonError
from analysis.guard import guarded
from analysis.logs.tables import LOGS
from analysis.simulate.assumptions import HAND, Assumptions, PairPlan

Row = dict[str, Any]
Logs = dict[str, list[Row]]

_UNWELL = ("crop slow the days before", "thin, went light", "weak")
_SUDDEN = ("found dead in the box", "", "not known")


def keepers_logs(
    plan: Sequence[PairPlan], eggs: pd.DataFrame, chicks: pd.DataFrame, weights: pd.DataFrame, a: Assumptions
) -> Logs:
    """Return each log's rows. A blank is None or an empty text; days are dates, weights numbers in grams."""
    logs: Logs = {
        "settings": [{"setting": "aviary", "value": "Simulated"}, {"setting": "season", "value": str(a.year)}],
        "pairs": [_pair(p, a) for p in plan],
        "cages": [{"cage": cage} for cage in sorted({c.cage for p in plan for c in p.clutches})],
    }
    if a.eggs_as == "counts":
        return logs | {"clutches": _counts(plan, eggs), "moves": _pair_moves(plan)}
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
    first = min(c.first_egg_on for c in p.clutches)
    return {
        "pair": p.pair,
        "species": a.kind(p.species).name,
        "kind": "" if p.kind == "pair" else p.kind,
        "cock": p.cock,
        "hen": p.hen,
        "cage": p.clutches[0].cage,
        "put_up_on": p.put_up_on or first - timedelta(days=30),
    }


def _pair_moves(plan: Sequence[PairPlan]) -> list[Row]:
    found = []
    for p in plan:
        for before, after in zip(p.clutches, p.clutches[1:], strict=False):
            if before.cage != after.cage:
                found.append({"what": p.pair, "on": after.first_egg_on - timedelta(days=8), "to": after.cage})
    return found


def _hatch(egg: Any, chick: Any, a: Assumptions) -> Row:
    row = {
        "pair": egg.pair,
        "clutch": egg.clutch,
        "egg": egg.egg,
        "laid_on": egg.laid_on,
        "set_on": egg.set_on,
        "candled": egg.candled,
        "candled_on": egg.candled_on if egg.candled else None,
        "outcome": egg.outcome,
        "incubated_by": "" if egg.incubated_by == egg.pair else egg.incubated_by,
    }
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
    found: list[Row] = []
    for c in chicks.itertuples():
        age = 0 if c.incubated_by != c.pair else a.hand_from_d
        if c.reared_by == HAND and age and age < c.ends_d:
            found.append({"what": c.chick, "on": c.hatched_on + timedelta(days=age), "to": HAND})
        if c.fostered_to:
            found.append({"what": c.chick, "on": c.hatched_on + timedelta(days=min(3, c.ends_d)), "to": c.fostered_to})
    return found


def _counts(plan: Sequence[PairPlan], eggs: pd.DataFrame) -> list[Row]:
    found: list[tuple[date, Row]] = []
    for (pair, clutch), laid in eggs.groupby(["pair", "clutch"], sort=True):
        outcome = laid["outcome"]
        hatched, clear = int((outcome == "hatched").sum()), int((outcome == "clear").sum())
        gone = int(outcome.isin(["broken", "missing", "abandoned"]).sum())
        by = laid["incubated_by"].iloc[0]
        first = laid["laid_on"].min()
        row = {
            "pair": pair,
            "clutch": clutch,
            "eggs": len(laid),
            "first_egg_on": first,
            "clear": clear,
            "died_in_egg": len(laid) - hatched - clear - gone,
            "broken_or_gone": gone,
            "hatched": hatched,
            "incubated_by": "" if by == pair else by,
        }
        found.append((first, row))
    return [row for _, row in sorted(found, key=lambda f: (f[0], f[1]["pair"]))]


def write_logs(folder: str | Path, logs: Logs, *, weights_as: str = "list") -> None:
    """Write a season folder: a CSV a log, with the columns that hold something.

    Parameters
    ----------
    folder
        A new or empty folder.
    logs
        By log: its rows, each a dict from column to value. Days are dates, times datetimes.
    weights_as
        "list", or "grid": a row a morning and a column a chick; grids have no room for crop and notes.

    Raises
    ------
    SeasonError
        The folder holds something already, is a file, or cannot be written.
    """
    folder = Path(folder)
    _empty(folder)
    for name, rows in logs.items():
        if rows:
            grid = name == "weights" and weights_as == "grid"
            _write(folder / f"{name}.csv", _grid(rows) if grid else _listed(name, rows))


def _empty(folder: Path) -> None:
    """Make the folder, or see that it is there and empty."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        holds = sorted(path.name for path in folder.iterdir())
    except FileExistsError:
        raise SeasonError(f"{folder} is a file. Name a folder for the season instead.") from None
    except OSError as wrong:
        raise SeasonError(f"The folder {folder} cannot be made ({wrong.strerror}). Choose another place.") from None
    if holds:
        raise SeasonError(f"{folder} already holds {holds[0]}. Nothing was written; name a new or empty folder.")


def _listed(log: str, rows: list[Row]) -> list[list[str]]:
    names = [c.name for c in LOGS[log].columns if any(_text(row.get(c.name)) for row in rows)]
    return [names, *([_text(row.get(name)) for name in names] for row in rows)]


def _grid(rows: list[Row]) -> list[list[str]]:
    chicks = sorted({row["chick"] for row in rows})
    cells: dict[date, dict[str, str]] = {}
    for row in rows:
        cells.setdefault(row["weighed_at"], {})[row["chick"]] = _text(row["weight"])
    days = [[day.isoformat(), *(cells[day].get(chick, "") for chick in chicks)] for day in sorted(cells)]
    return [["date", *chicks], *days]


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
