"""One run of a notebook's cells: in this very Python, saved once, with news of each cell."""

import re
from collections.abc import Callable, Sequence
from contextlib import ExitStack
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from papermill.clientwrap import PapermillNotebookClient
from papermill.engines import NotebookExecutionManager

from analysis.report.drawing import MANY, Draw, Still, drawing
from analysis.report.kernel import running_kernel
from analysis.report.writing import passing_folder
from analysis.show.still import left_undrawn, put_still

Progress = Callable[[int, int, str], None]
_HEADING = re.compile(r"^#{1,6}[ \t]+(.+?)[ \t#]*$", re.MULTILINE)
_MARKS = re.compile(r"[*_`]+")


@dataclass
class Run:
    """What the caller gives a run (`progress`) and what it leaves behind, finished or not.

    `notebook` is the notebook so far, `at` the index of the cell it came to.
    """

    progress: Progress | None = None
    notebook: Any = None
    at: int = 0


def chapter(cells: Sequence[Any], index: int) -> str:
    """The last Markdown heading at or above a cell, "" where there is none.

    Examples
    --------
    >>> from types import SimpleNamespace as Cell
    >>> chapter([Cell(cell_type="markdown", source="# Eggs\\n## *In* the nursery"), Cell(cell_type="code")], 1)
    'In the nursery'
    """
    for cell in reversed(cells[: index + 1]):
        if cell.cell_type == "markdown" and (headings := _HEADING.findall(cell.source)):
            return _MARKS.sub("", headings[-1])
    return ""


class _SavesOnce(NotebookExecutionManager):  # type: ignore[misc]  # papermill has no types
    """papermill's record of a run, saved at its end and not around every cell."""

    run = Run()
    draw: Draw
    drawn: list[tuple[dict[str, Any], Still]]

    def save(self, **kwargs: Any) -> None:
        """Save when the run is over, whether it finished or not."""
        if self.end_time is not None:
            super().save(**kwargs)

    def cell_complete(self, cell: Any, cell_index: int | None = None, **kwargs: Any) -> None:
        """Draw the still pictures of a cell's charts beside the cells that follow."""
        super().cell_complete(cell, cell_index, **kwargs)
        for output in cell.get("outputs", ()):
            if spec := left_undrawn(output.get("data", {})):
                self.drawn.append((output["data"], self.draw(spec)))

    def cell_start(self, cell: Any, cell_index: int | None = None, **kwargs: Any) -> None:
        """Tell the caller which cell begins, and in which chapter."""
        super().cell_start(cell, cell_index, **kwargs)
        self.run.at = cell_index or 0
        if self.run.progress is not None:
            self.run.progress(self.run.at, len(self.nb.cells), chapter(self.nb.cells, self.run.at))


def run_cells(
    notebook: Any,
    kernel_name: str,
    output_path: str | None = None,
    *,
    run: Run | None = None,
    kernel: Any = None,
    start_timeout: int = 60,
    progress_bar: bool | dict[str, Any] = False,
) -> Any:
    """Run a notebook's cells one after the other, up to the first that fails; return it with its outputs.

    The kernel is always this very Python, whatever its name: `kernel` where one has been started, else its own. `run`
    keeps the notebook for the caller even where the run stops. papermill wants it saved at `output_path`, if anywhere.
    """
    manager = _SavesOnce(notebook, output_path, progress_bar=progress_bar, autosave_cell_every=0)
    manager.run = run or Run()
    manager.run.notebook = notebook
    manager.drawn = []
    manager.notebook_start()
    try:
        with drawing(MANY) as manager.draw, ExitStack() as ended:
            if not kernel:
                scratch = ended.enter_context(passing_folder())
                kernel = ended.enter_context(running_kernel(scratch, Path.cwd()))
            client = PapermillNotebookClient(
                manager,
                km=kernel,
                kernel_name=kernel_name,
                startup_timeout=start_timeout,
                timeout=None,
                record_timing=False,
                shutdown_kernel="immediate",
            )
            client.execute(cleanup_kc=True)
            for bundle, picture in manager.drawn:
                put_still(bundle, picture())
    finally:
        manager.cleanup_pbar()
        manager.notebook_complete()
    return manager.nb
