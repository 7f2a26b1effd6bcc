"""Blank logs to fill in, made from the log definitions."""

import csv
from pathlib import Path

from analysis.errors import SeasonError
from analysis.guard import guarded
from analysis.logs.columns import Log
from analysis.logs.settings import SETTINGS
from analysis.logs.tables import LOGS, SMALL_FORM

GUIDE = "how_to_fill_in.md"


def write_blank_logs(folder: Path, *, every: bool = False) -> list[Path]:
    """Write blank logs and a page that says what each column means.

    Parameters
    ----------
    folder
        Where to; made if it is not there.
    every
        Every log with every column; otherwise the small form of five logs.

    Returns
    -------
    list of Path
        The files written. A file that is there already is never touched, and is not in the list.

    Raises
    ------
    SeasonError
        The folder cannot be made or written to.
    """
    logs = [_form(LOGS[name], every) for name in (LOGS if every else SMALL_FORM)]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        written = [_write_log(folder, log, columns) for log, columns in logs]
        guide = folder / GUIDE
        if not guide.exists():
            guide.write_text(_guide(logs), encoding="utf-8")
            written.append(guide)
    except OSError as wrong:
        raise SeasonError(
            f"Blank logs cannot be written to {folder} ({wrong.strerror}). Choose a folder of your own."
        ) from None
    return [path for path in written if path is not None]


def _form(log: Log, every: bool) -> tuple[Log, list[str]]:
    return log, [c.name for c in log.columns if every or c.small]


def _write_log(folder: Path, log: Log, columns: list[str]) -> Path | None:
    path = folder / f"{log.name}.csv"
    if any(folder.glob(f"{log.name}.*")):
        return None
    rows = [columns]
    if log.name == "settings":
        rows += [[s.name, "", s.default, s.reason] for s in SETTINGS.values()]
    # a mark at the start of the file is what makes spreadsheets read it as UTF-8
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        csv.writer(file).writerows([guarded(cell) for cell in row] for row in rows)
    return path


def _guide(logs: list[tuple[Log, list[str]]]) -> str:
    lines = [
        "# How to fill in these logs",
        "",
        "Write little and as it happens. Dates as 2026-04-03; with the time, 2026-04-03 06:30.",
        "In settings, write in the column value; where it is blank, the default holds.",
        "A blank cell is unknown, never no. You may add columns of your own; they are left alone.",
    ]
    for log, columns in logs:
        lines += [
            "",
            f"## {log.name}",
            "",
            f"One row is {log.row_is}.",
            "",
            "| column | what to write |",
            "|---|---|",
        ]
        for name in columns:
            column = log.column(name)
            assert column is not None
            groups = [group for group in log.needs if name in group]
            others = [other for group in groups for other in group if other != name]
            needed = f" (this or {' or '.join(others)})" if others else " (needed)" if groups else ""
            words = f": {', '.join(column.choices)}" if column.choices else ""
            lines.append(f"| {name}{needed} | {column.meaning}{words} |")
    return "\n".join(lines) + "\n"
