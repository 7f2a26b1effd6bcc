"""Notebook and parameters → the season report: PDF, executed notebook, tables."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import analysis
from analysis.errors import SeasonError
from analysis.report.record import Record
from analysis.report.writing import file_name, put, put_all, scratch_folder
from analysis.say import say

if TYPE_CHECKING:
    import pandas as pd

    from analysis.report.run import Progress

PDF = "season_report.pdf"
NOTEBOOK = "season_report.ipynb"
STOPPED = "season_report_stopped.ipynb"
TABLES = "tables"
_BYTE_ORDER_MARK = b"\xef\xbb\xbf"  # without it spreadsheets misread the ü of a name


@dataclass(frozen=True)
class Report:
    """Where a finished report lies."""

    pdf: Path
    notebook: Path
    tables: tuple[Path, ...]


def notebooks_folder() -> Path:
    """The folder of the chapters: inside the installed package, or the checkout's own.

    Examples
    --------
    >>> notebooks_folder().name
    'notebooks'
    """
    package = Path(analysis.__file__).resolve().parent
    inside = package / "notebooks"
    return inside if inside.is_dir() else package.parent / "notebooks"


def render_report(
    notebook: str | Path,
    out: str | Path,
    parameters: Mapping[str, Any] | None = None,
    *,
    timestamp: int | date | None = None,
    progress: "Progress | None" = None,
    extra_tables: "Mapping[str, pd.DataFrame] | None" = None,
    kernel: Any = None,
    leave_out_empty: bool = False,
    last_look: Callable[[Any], None] | None = None,
) -> Report:
    """Run a notebook and write `season_report.pdf`, `season_report.ipynb` and `tables/*.csv` into a folder.

    They arrive together or not at all; tables of an earlier run that are no longer made go. A file in which a keeper
    wrote is left alone, and the new one comes beside it. Where the run stops, the last good report stays as it is and
    `season_report_stopped.ipynb` shows how far it came.

    Parameters
    ----------
    notebook
        A notebook with a cell tagged `parameters`.
    out
        The folder of the report; it is made if missing.
    parameters
        Values for the names in that cell; paths must be absolute, as the notebook runs in its own folder.
    timestamp
        The PDF's own date (seconds since 1970, or a day); left out, the `last_day` of the notebook's cover.
    progress
        Called with (cells done, cells in all, chapter) as each cell begins, and at the end.
    extra_tables
        Name to frame, written beside the tables that the notebook names.
    kernel
        A kernel manager that has been started; left out, a kernel is started here.
    leave_out_empty
        As `typeset` takes it: for a notebook of ours alone.
    last_look
        Called with the executed notebook before a file changes its place; raises SeasonError where it must not.

    Returns
    -------
    Report
        The paths that were written.

    Raises
    ------
    SeasonError
        A name no parameter has, a chapter that could not be finished (and why), a folder that cannot be written.

    Examples
    --------
    >>> render_report("no_such_chapter.ipynb", "reports/season_2031")
    Traceback (most recent call last):
    ...
    analysis.errors.SeasonError: There is no notebook no_such_chapter.ipynb. Check the spelling.
    """
    source, target = Path(notebook), Path(out).absolute()
    if not source.is_file():
        raise SeasonError(say("report.no-notebook", path=source))
    with scratch_folder(target) as scratch:
        from analysis.report.execute import execute

        def keep_stopped(so_far: Any) -> Path:
            return put(_notebook_bytes(so_far), target / STOPPED, scratch)

        executed = execute(
            source.absolute(),
            dict(parameters or {}),
            scratch,
            progress=progress,
            keep_stopped=keep_stopped,
            kernel=kernel,
        )
        pdf = _pages(executed, timestamp, leave_out_empty=leave_out_empty)
        if last_look is not None:
            last_look(executed)
        return _write(executed, pdf, target, scratch, extra_tables or {})


def _pages(executed: Any, timestamp: int | date | None, *, leave_out_empty: bool) -> bytes:
    from analysis.report.typeset import typeset

    return typeset(executed, timestamp=timestamp, leave_out_empty=leave_out_empty)


def _write(
    executed: Any, pdf: bytes, target: Path, scratch: Path, extra_tables: "Mapping[str, pd.DataFrame]"
) -> Report:
    tables = {
        target / TABLES / f"{name}.csv": _BYTE_ORDER_MARK + text.encode()
        for name, text in _tables(executed, extra_tables).items()
    }
    files = {**tables, target / NOTEBOOK: _notebook_bytes(executed), target / PDF: pdf}
    *written, kept, page = put_all(files, target, scratch, replaces=("season_report", f"{TABLES}/"))
    with suppress(PermissionError):  # Windows locks a file that is open elsewhere
        if not Record.of(target).is_hers(target / STOPPED):
            (target / STOPPED).unlink(missing_ok=True)
    return Report(page, kept, tuple(written))


def _tables(executed: Any, extra: "Mapping[str, pd.DataFrame]") -> dict[str, str]:
    """File name (without ending) to CSV text; where two tables share a name, the second is numbered."""
    from analysis.report.blocks import season_displays

    named = [(b["name"], b["csv"]) for b in season_displays(executed) if b.get("name")]
    if extra:
        from analysis.show.displays import csv_text

        named += [(name, csv_text(frame)) for name, frame in extra.items()]
    texts: dict[str, str] = {}
    taken: set[str] = set()
    for name, text in named:
        base = free = file_name(name)
        number = 1
        while free.lower() in taken:
            number += 1
            free = f"{base}_{number}"
        taken.add(free.lower())
        texts[free] = text
    return texts


def _notebook_bytes(notebook: Any) -> bytes:
    import nbformat

    return str(nbformat.writes(notebook)).encode(errors="backslashreplace")
