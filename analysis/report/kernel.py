"""The kernel of a report: the very Python that runs the command, whatever kernels a machine has installed."""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import analysis
from analysis.ending import not_now, undone
from analysis.show.still import LATER

NAME = "python3"
KERNEL_PROGRAM = "from analysis.report.quick import run_kernel; run_kernel()"
# The same seed for the hashes of text, so that a set is written in the same order every time. Matrices here are small:
# threads of the linear algebra library would only wait for each other.
_ENVIRONMENT = {"PYTHONHASHSEED": "0", "PYTHONUTF8": "1", "OPENBLAS_NUM_THREADS": "1", LATER: "1"}
# No history file in the home folder; the kernel's own log is no news to a keeper.
KERNEL_OPTIONS = ["-f", "{connection_file}", "--HistoryManager.hist_file=:memory:", "--IPKernelApp.log_level=40"]


def this_python(program: str) -> list[str]:
    """The command that runs a line of Python in this very Python, with this very package."""
    root = str(Path(analysis.__file__).resolve().parents[1])
    here = "import sys; root = sys.argv.pop(1); root in sys.path or sys.path.insert(0, root);"
    return [sys.executable, "-P", "-c", here + program, root]


@contextmanager
def running_kernel(scratch: Path, cwd: Path, **environment: str) -> Iterator[Any]:
    """A kernel that starts at once and loads in the background; it is ended with the block.

    Parameters
    ----------
    scratch
        Where its connection file is written.
    cwd
        The folder it runs in, so that relative paths of a notebook mean what they mean in JupyterLab.
    environment
        Variables set for it, beside those of this process.

    Yields
    ------
    jupyter_client.AsyncKernelManager
        Already started.
    """
    from jupyter_client.manager import AsyncKernelManager
    from jupyter_core.utils import run_sync

    manager = AsyncKernelManager(
        kernel_name=NAME, kernel_spec_manager=_specs(environment), connection_file=str(scratch / "kernel.json")
    )
    with undone(lambda: _kill(manager)):
        with not_now():  # or one would go on that nobody knows of yet, and make its folder again
            run_sync(manager.start_kernel)(cwd=str(cwd))
        try:
            yield manager
        finally:
            if manager.has_kernel:
                run_sync(manager.shutdown_kernel)(now=True)


def _kill(manager: Any) -> None:
    """End a kernel there and then."""
    process = getattr(manager.provisioner, "process", None)
    if process is not None:
        process.kill()
        with suppress(ChildProcessError, AttributeError):
            os.waitpid(process.pid, 0)


def _specs(environment: dict[str, str]) -> Any:
    from jupyter_client.kernelspec import KernelSpec, KernelSpecManager

    spec = KernelSpec(
        argv=[*this_python(KERNEL_PROGRAM), *KERNEL_OPTIONS],
        display_name="Python 3",
        language="python",
        env=_ENVIRONMENT | environment,
    )

    class ThisPython(KernelSpecManager):
        """Answers every question for a kernel with the running interpreter."""

        def get_kernel_spec(self, kernel_name: str) -> KernelSpec:
            return spec

    return ThisPython()
