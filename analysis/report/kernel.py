"""The kernel of a report: the very Python that runs the command, whatever kernels a machine has installed.

It loads while the command still loads papermill, so this module takes little at the top. While it works, the command
works out ahead what the record says of pairs, which needs nothing but the logs, and hands it over by a file. Where
there is none, or it is damaged, the kernel works that out where it is asked for; it is the same.
"""

import copyreg
import logging
import os
import pickle
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

import analysis
from analysis.ending import not_now, undone

if TYPE_CHECKING:
    from analysis.season import Season

NAME = "python3"
KERNEL_PROGRAM = "from analysis.report.kernel import run_kernel; run_kernel()"
# No history file in the home folder; the kernel's own log is no news to a keeper.
KERNEL_OPTIONS = ["-f", "{connection_file}", "--HistoryManager.hist_file=:memory:", "--IPKernelApp.log_level=40"]
# The same seed for the hashes of text, so that a set is written in the same order every time. Matrices here are small:
# threads of the linear algebra library would only wait for each other.
_ENVIRONMENT = {"PYTHONHASHSEED": "0", "PYTHONUTF8": "1", "OPENBLAS_NUM_THREADS": "1"}
VARIABLE = "SEASON_WORKED_AHEAD"  # the file of the hand-over, set for the kernel of a report
_LONGEST_S, _LOOK_S = 60.0, 0.01


def this_python(program: str) -> list[str]:
    """The command that runs a line of Python in this very Python, with this very package."""
    root = str(Path(analysis.__file__).resolve().parents[1])
    here = "import sys; root = sys.argv.pop(1); root in sys.path or sys.path.insert(0, root);"
    return [sys.executable, "-P", "-c", here + program, root]


@contextmanager
def running_kernel(scratch: Path, cwd: Path, **environment: str) -> Iterator[Any]:
    """A started kernel (`AsyncKernelManager`) that loads in the background; it is ended with the block.

    It runs in `cwd`, so that relative paths of a notebook mean what they mean in JupyterLab, with these variables
    beside those of this process; its connection file lies in `scratch`.
    """
    from jupyter_client.manager import AsyncKernelManager
    from jupyter_core.utils import run_sync

    manager = AsyncKernelManager(
        kernel_name=NAME, kernel_spec_manager=_specs(environment), connection_file=str(scratch / "kernel.json")
    )

    def kill() -> None:
        process = getattr(manager.provisioner, "process", None)
        if process is not None:
            process.kill()
            with suppress(ChildProcessError, AttributeError):
                os.waitpid(process.pid, 0)

    with undone(kill):
        with not_now():  # or one would go on that nobody knows of yet, and make its folder again
            run_sync(manager.start_kernel)(cwd=str(cwd))
        try:
            yield manager
        finally:
            if manager.has_kernel:
                run_sync(manager.shutdown_kernel)(now=True)


def _specs(environment: dict[str, str]) -> Any:
    """Answers every question for a kernel with the running interpreter."""
    from jupyter_client.kernelspec import KernelSpec, KernelSpecManager

    from analysis.show.still import LATER

    specs: Any = KernelSpecManager()
    specs.get_kernel_spec = lambda kernel_name: KernelSpec(
        argv=[*this_python(KERNEL_PROGRAM), *KERNEL_OPTIONS],
        display_name="Python 3",
        language="python",
        env=_ENVIRONMENT | {LATER: "1"} | environment,
    )
    return specs


def run_kernel() -> None:
    """The kernel's own program: what the chapters need is loaded while the parent still loads papermill."""
    load_jsonschema()
    import altair  # noqa: F401
    from ipykernel.kernelapp import launch_new_instance

    from analysis.pairs import of_season

    of_season.handed_over = worked_ahead
    logging.getLogger("IPKernelApp").addFilter(_end_unanswered)
    launch_new_instance()


def load_jsonschema() -> None:
    """Import jsonschema without its grammar of addresses; does nothing where either is loaded already.

    To check the format of international addresses it loads `rfc3987_syntax`, which builds a grammar at import, a
    second of altair's and papermill's start; neither of them asks. jsonschema itself takes that module for optional
    (it is imported under `suppress(ImportError)`), so the check is simply not registered here. Never done as a side
    effect of `import analysis`: other people's programs keep the check, and a later import works as ever.
    """
    if "jsonschema" in sys.modules or "rfc3987_syntax" in sys.modules:
        return
    sys.modules["rfc3987_syntax"] = None  # type: ignore[assignment]
    try:
        import jsonschema  # type: ignore[import-untyped]  # noqa: F401
    finally:
        del sys.modules["rfc3987_syntax"]


def _end_unanswered(record: logging.LogRecord) -> bool:
    """End where the kernel itself failed on a request (for want of memory): it lives on, and never answers that one."""
    if record.exc_info and "message handler" in str(record.msg):
        os._exit(1)
    return True


def key_of(season: "Season") -> tuple[Any, ...]:
    """What tells two seasons apart whose record may differ: their logs, and the day they are looked at."""
    return tuple((one.fingerprint, str(one.as_of)) for one in (season, *season.earlier))


def work_ahead(season: "Season", file: Path, work: "Callable[[Season], Any]") -> None:
    """Do a piece of work on a season beside whatever else goes on, and put what it gives into a file."""

    def hand_over() -> None:
        try:
            content = pickle.dumps((key_of(season), work(season)))
        except Exception:  # whoever asks for it works it out, and meets what is wrong where it can be said
            content = pickle.dumps((key_of(season), None))
        waiting = file.with_suffix(".part")
        with suppress(OSError):  # the run is over, and its folder gone
            waiting.write_bytes(content)
            os.replace(waiting, file)

    threading.Thread(target=hand_over, daemon=True).start()


def worked_ahead(season: "Season") -> Any:
    """What was worked out ahead for this season, waited for; None where there is nothing."""
    if not (name := os.environ.get(VARIABLE)):
        return None
    file, until = Path(name), time.monotonic() + _LONGEST_S
    while not file.exists():
        if time.monotonic() > until or not file.parent.is_dir():
            return None
        time.sleep(_LOOK_S)
    try:
        key, result = pickle.loads(file.read_bytes())
    except Exception:  # a hand-over that is damaged is none
        return None
    return result if key == key_of(season) else None


def _frozen(plain: dict[Any, Any]) -> MappingProxyType[Any, Any]:
    return MappingProxyType(plain)


copyreg.pickle(MappingProxyType, lambda frozen: (_frozen, (dict(frozen),)))  # a season's logs are frozen
