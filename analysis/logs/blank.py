"""Blank logs to fill in, made from the log definitions."""

import csv
import os
from io import StringIO
from pathlib import Path

from analysis.disk import plain_words, put_new
from analysis.finding import Words, found
from analysis.guard import guarded
from analysis.logs.settings import SETTINGS
from analysis.logs.tables import LOGS, SMALL_FORM, Log, either
from analysis.say import in_words, say

GUIDE = "how_to_fill_in.md"
_HOW_TO = ("blank.how-to-1", "blank.how-to-2", "blank.how-to-3")


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
    with plain_words("blank-logs", folder):
        missing = {path: text for path, text in files.items() if not any(folder.glob(f"{path.stem}.*"))}
        if not os.path.lexists(folder / GUIDE):
            missing[folder / GUIDE] = _guide(logs).encode()
        put_new(missing)
    return list(missing)


def _form(log: Log, every: bool) -> tuple[Log, list[str]]:
    return log, [c.name for c in log.columns if every or c.small]


def _blank(log: Log, columns: list[str]) -> bytes:
    rows = [columns]
    if log.name == "settings":
        rows += [[s.name, "", s.default, in_words(s.reason)] for s in SETTINGS.values()]
    # a mark at the start of the file is what makes spreadsheets read it as UTF-8
    text = StringIO(newline="")
    csv.writer(text).writerows([guarded(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")


def _guide(logs: list[tuple[Log, list[str]]]) -> str:
    lines = [f"# {say('blank.how-to')}", "", *map(say, _HOW_TO)]
    for log, columns in logs:
        lines += ["", f"## {log.name}", "", say("blank.row-is", what=log.row_is), ""]
        lines += [f"| {say('blank.column')} | {say('blank.what-to-write')} |", "|---|---|"]
        lines += [f"| {in_words(_named(name, log))} | {in_words(_to_write(name, log))} |" for name in columns]
    return "\n".join(lines) + "\n"


def _named(name: str, log: Log) -> Words:
    groups = [group for group in log.needs if name in group]
    others = [other for group in groups for other in group if other != name]
    if others:
        return found("blank.needed-this-or", name=name, others=either(others))
    return found("blank.needed", name=name) if groups else name


def _to_write(name: str, log: Log) -> Words:
    column = log.column(name)
    assert column is not None
    choices = found("blank.choices", choices=column.choices) if column.choices else ""
    return found("blank.write", meaning=log.meaning(name), choices=choices)
