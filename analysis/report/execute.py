"""Notebook and parameters → executed notebook, or one plain sentence about where it stopped."""

import threading
from collections.abc import Callable
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.errors import SeasonError, is_no_memory
from analysis.finding import Words, found
from analysis.report import quick
from analysis.report.kernel import NAME, running_kernel
from analysis.report.typeset import warm_page
from analysis.say import say

if TYPE_CHECKING:
    from analysis.report.run import Progress, Run

_INJECTED = "injected-parameters"


def execute(
    source: Path,
    parameters: dict[str, Any],
    scratch: Path,
    *,
    progress: "Progress | None" = None,
    keep_stopped: Callable[[Any], Path],
    kernel: Any = None,
) -> Any:
    """Run a notebook in a kernel of this very Python.

    The kernel starts first and loads while this process loads papermill.

    Parameters
    ----------
    source
        An absolute path; the notebook runs in its folder.
    parameters
        Values for names of its cell tagged `parameters`.
    scratch
        A folder for what the run needs and nobody keeps.
    progress
        Called with (cells done, cells in all, chapter).
    keep_stopped
        Called with the notebook as far as it came; returns where it was written.
    kernel
        A kernel manager that has been started; left out, a kernel is started here.

    Returns
    -------
    notebook
        As nbformat reads it, without papermill's own records (times and paths of this machine).

    Raises
    ------
    SeasonError
        An unknown parameter; a chapter that could not be finished, by its heading, and the reason.
    """
    with nullcontext(kernel) if kernel else running_kernel(scratch, source.parent) as started:
        quick.load_jsonschema()
        from analysis.report.run import Run

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
    papermill.execute_notebook(
        str(source),
        None,
        parameters,
        engine_name="season",
        kernel_name=NAME,
        language="python",
        progress_bar=False,
        kernel=kernel,
        run=run,
    )


def _explained(trouble: Exception, run: "Run", kept: Path) -> SeasonError:
    from analysis.report.run import chapter

    where = chapter(run.notebook.cells, run.at)
    code = "report.stopped-in-chapter" if where else "report.stopped-before-chapters"
    return SeasonError(say(code, chapter=where, why=_why(trouble, run), kept=kept))


def _why(trouble: Exception, run: "Run") -> Words:
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
    if is_no_memory(kind, f"{whole}\n{_shown(run)}"):
        return found("command.no-memory")
    return found("report.program-wrong", kind=kind, said=said)


def _shown(run: "Run") -> str:
    """All that its cells printed, and their tracebacks: what a library words anew stands only there."""
    shown = [one for cell in run.notebook.cells for one in cell.get("outputs", ())]
    return "\n".join(line for one in shown for line in (one.get("text", ""), *one.get("traceback", ())))


def _tidy(notebook: Any) -> None:
    """Without papermill's records, the same logs give the same notebook."""
    notebook.metadata.pop("papermill", None)
    for cell in notebook.cells:
        cell.metadata.pop("papermill", None)
        if _INJECTED in cell.metadata.get("tags", ()):
            cell["id"] = _INJECTED
