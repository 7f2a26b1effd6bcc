"""Notebook and parameters → the season report (PDF, executed notebook, tables), or one sentence about where it stopped.

papermill is loaded while the kernel starts, and what sets the pages while the chapters run.
"""

import threading
from collections.abc import Callable, Mapping
from contextlib import nullcontext, suppress
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import analysis
from analysis.errors import SeasonError, is_no_memory
from analysis.finding import Words, found
from analysis.report.kernel import NAME, load_jsonschema, running_kernel
from analysis.report.writing import Record, file_name, put_all, scratch_folder
from analysis.say import say

if TYPE_CHECKING:
    import pandas as pd

    from analysis.report.run import Progress, Run

_PDF, _NOTEBOOK, _STOPPED = "season_report.pdf", "season_report.ipynb", "season_report_stopped.ipynb"
_TABLES = "tables"
_INJECTED = "injected-parameters"


@dataclass(frozen=True)
class Report:
    """Where a finished report lies."""

    pdf: Path
    notebook: Path
    tables: tuple[Path, ...]


def notebooks_folder() -> Path:
    """The folder of the chapters: inside the installed package, or the checkout's own."""
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

    `parameters` are values for the names of the cell tagged `parameters`; paths must be absolute, as the notebook runs
    in its own folder. `progress`, `kernel`: as `execute` takes them; `timestamp`, `leave_out_empty`: as `typeset` does.
    `extra_tables` (name to frame) are written beside those that the notebook names. `last_look` is called with the
    executed notebook before a file changes its place. SeasonError: a name that no parameter has, a chapter that could
    not be finished (and why), a folder that cannot be written, or what `last_look` raises.

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

        def keep_stopped(so_far: Any) -> Path:
            return put_all({target / _STOPPED: _notebook_bytes(so_far)}, target, scratch)[0]

        asked = dict(parameters or {})
        executed = execute(
            source.absolute(), asked, scratch, progress=progress, keep_stopped=keep_stopped, kernel=kernel
        )
        from analysis.report.typeset import typeset

        pdf = typeset(executed, timestamp=timestamp, leave_out_empty=leave_out_empty)
        if last_look is not None:
            last_look(executed)
        return _write(executed, pdf, target, scratch, extra_tables or {})


def execute(
    source: Path,
    parameters: dict[str, Any],
    scratch: Path,
    *,
    progress: "Progress | None" = None,
    keep_stopped: Callable[[Any], Path],
    kernel: Any = None,
) -> Any:
    """Run a notebook (an absolute path) in a kernel of this very Python; return it without papermill's own records.

    `progress` is called with (cells done, cells in all, chapter) as each cell begins, and at the end; `keep_stopped`
    with the notebook as far as it came, and returns where it was written. `kernel`, a manager that has been started,
    is used where given. SeasonError: an unknown parameter; a chapter that could not be finished, and the reason.
    """
    with nullcontext(kernel) if kernel else running_kernel(scratch, source.parent) as started:
        load_jsonschema()
        from analysis.report.run import Run
        from analysis.report.typeset import warm_page

        threading.Thread(target=warm_page, daemon=True).start()
        run = Run(progress)
        _refuse_unknown(source, parameters)
        try:
            _run(source, parameters, started, run)
        except Exception as trouble:
            if run.notebook is None:
                raise SeasonError(say("report.not-started", notebook=source.name, why=trouble)) from trouble
            _tidy(run.notebook)
            raise _explained(trouble, run, keep_stopped(run.notebook)) from trouble
    _tidy(run.notebook)
    if progress is not None:
        progress(len(run.notebook.cells), len(run.notebook.cells), say("report.setting-the-pages"))
    return run.notebook


def _refuse_unknown(source: Path, parameters: dict[str, Any]) -> None:
    """papermill runs an unknown parameter without a word."""
    from papermill.inspection import inspect_notebook

    known = list(inspect_notebook(str(source)))
    for name in parameters:
        if name not in known:
            code = "report.no-parameter" if known else "report.no-parameter-at-all"
            raise SeasonError(say(code, notebook=source.name, name=name, known=known))


def _run(source: Path, parameters: dict[str, Any], kernel: Any, run: "Run") -> None:
    import papermill
    from papermill.engines import papermill_engines

    from analysis.report.engine import SeasonEngine

    papermill_engines.register("season", SeasonEngine)
    ours = {"engine_name": "season", "kernel_name": NAME, "language": "python", "kernel": kernel, "run": run}
    papermill.execute_notebook(str(source), None, parameters, progress_bar=False, **ours)


def _explained(trouble: Exception, run: "Run", kept: Path) -> SeasonError:
    from analysis.report.run import chapter

    where = chapter(run.notebook.cells, run.at)
    code = "report.stopped-in-chapter" if where else "report.stopped-before-chapters"
    return SeasonError(say(code, chapter=where, why=_why(trouble, run.notebook), kept=kept))


def _why(trouble: Exception, notebook: Any) -> Words:
    """Why a run stopped, as a sentence that follows a colon."""
    from nbclient.exceptions import DeadKernelError
    from papermill.exceptions import PapermillExecutionError

    kind, whole = type(trouble).__name__, str(trouble)
    said = whole
    if isinstance(trouble, PapermillExecutionError):
        kind, whole = trouble.ename, trouble.evalue
        said = str((whole.strip() or kind).split("\n")[0])
        if kind == SeasonError.__name__:
            return said
    elif isinstance(trouble, DeadKernelError) or "Kernel died" in whole:
        return found("report.program-ended")
    # all that its cells printed, and their tracebacks: what a library words anew stands only there
    shown = [one for cell in notebook.cells for one in cell.get("outputs", ())]
    lines = (line for one in shown for line in (one.get("text", ""), *one.get("traceback", ())))
    if is_no_memory(kind, "\n".join([whole, *lines])):
        return found("command.no-memory")
    return found("report.program-wrong", kind=kind, said=said)


def _tidy(notebook: Any) -> None:
    """Without papermill's records (times and paths of this machine) the same logs give the same notebook."""
    notebook.metadata.pop("papermill", None)
    for cell in notebook.cells:
        cell.metadata.pop("papermill", None)
        if _INJECTED in cell.metadata.get("tags", ()):
            cell["id"] = _INJECTED


def _write(
    executed: Any, pdf: bytes, target: Path, scratch: Path, extra_tables: "Mapping[str, pd.DataFrame]"
) -> Report:
    tables = {  # with a byte order mark: without it spreadsheets misread the ü of a name
        target / _TABLES / f"{name}.csv": text.encode("utf-8-sig")
        for name, text in _tables(executed, extra_tables).items()
    }
    files = {**tables, target / _NOTEBOOK: _notebook_bytes(executed), target / _PDF: pdf}
    *written, kept, page = put_all(files, target, scratch, replaces=("season_report", f"{_TABLES}/"))
    with suppress(PermissionError):  # Windows locks a file that is open elsewhere
        if not Record.of(target).is_hers(target / _STOPPED):
            (target / _STOPPED).unlink(missing_ok=True)
    return Report(page, kept, tuple(written))


def _tables(executed: Any, extra: "Mapping[str, pd.DataFrame]") -> dict[str, str]:
    """File name (without ending) to CSV text; where two tables share a name, the second is numbered."""
    from analysis.report.blocks import season_displays
    from analysis.show.displays import csv_text

    named = [(b["name"], b["csv"]) for b in season_displays(executed) if b.get("name")]
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
