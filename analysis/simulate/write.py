"""Rows → the CSV files of a season folder, as a keeper keeps them. A folder with anything in it is never touched."""

import csv
from datetime import date, datetime
from pathlib import Path
from typing import Any

from analysis.errors import SeasonError
from analysis.guard import guarded
from analysis.logs.tables import LOGS
from analysis.simulate.rows import Logs, Row


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
