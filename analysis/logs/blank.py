"""Blank logs to fill in, made from the log definitions."""

import csv
import os
from io import StringIO
from pathlib import Path

from analysis.disk import put_new, unwritable
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
        The files written: all, or none where there is an error. A file that is there already is never touched, and is
        not in the list.

    Raises
    ------
    SeasonError
        The folder cannot be made or written to.
    """
    logs = [_form(LOGS[name], every) for name in (LOGS if every else SMALL_FORM)]
    files = {folder / f"{log.name}.csv": _blank(log, columns) for log, columns in logs}
    try:
        missing = {path: text for path, text in files.items() if not any(folder.glob(f"{path.stem}.*"))}
        if not os.path.lexists(folder / GUIDE):
            missing[folder / GUIDE] = _guide(logs).encode()
        put_new(missing)
    except OSError as wrong:
        raise SeasonError(unwritable("blank-logs", folder, wrong)) from None
    return list(missing)


def _form(log: Log, every: bool) -> tuple[Log, list[str]]:
    return log, [c.name for c in log.columns if every or c.small]


def _blank(log: Log, columns: list[str]) -> bytes:
    rows = [columns]
    if log.name == "settings":
        rows += [[s.name, "", s.default, s.reason] for s in SETTINGS.values()]
    # a mark at the start of the file is what makes spreadsheets read it as UTF-8
    text = StringIO(newline="")
    csv.writer(text).writerows([guarded(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")


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
