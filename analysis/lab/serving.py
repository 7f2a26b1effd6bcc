"""The program that JupyterLab runs in: it reads the settings of its run alone, and ends with the command."""

import logging
import os
import shutil
import signal
import sys
import time
from contextlib import suppress
from pathlib import Path
from threading import Thread
from typing import Any

from analysis.disk import read_json
from analysis.lab.locks import open_locks

PROGRAM = "from analysis.lab.serving import serve; serve()"
UNLOCKED = 3  # the exit code where a lock is open
ORDERLY_S = 6  # for kernels that are asked to end; what is left then is cut off


def serve() -> None:
    """Run JupyterLab until it is shut down, or until the other end of the standard input is closed.

    The other end belongs to the command `season lab`, and is closed however that ends; it says by one byte that
    `write_run` has written the folder of the run, the last argument. That folder is removed in the end.
    """
    run, pipe = Path(sys.argv.pop()), _other_end()
    running: list[Any] = []
    if not os.read(pipe, 1):
        return _remove(run)
    os.chdir(run)
    Thread(target=_end_with_the_command, args=(pipe, run, running), daemon=True).start()
    server = _locked(run)
    running.append(server)
    try:
        server.start()
    finally:
        _remove(run)


def _locked(run: Path) -> Any:
    """A server that is about to start; whatever is written for Jupyter elsewhere on this machine is not read."""
    from jupyter_core import paths

    paths.jupyter_config_path = lambda: [str(run / "config")]  # before anything else imports it
    from jupyterlab.labapp import LabApp

    server = LabApp.initialize_server(argv=[])
    token = read_json(run / "config" / "jupyter_server_config.json")["PasswordIdentityProvider"]["token"]
    if found := open_locks(server, token):
        logging.getLogger(__name__).error("open: %s", ", ".join(found))
        sys.exit(UNLOCKED)
    return server


def _other_end() -> int:
    """What tells that the command is gone; nothing else in this process reads it."""
    pipe = os.dup(0)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)
    return pipe


def _end_with_the_command(pipe: int, run: Path, running: list[Any]) -> None:
    with suppress(OSError):
        while os.read(pipe, 1):
            pass
    for server in running:
        server.io_loop.add_callback(server.stop)
        time.sleep(ORDERLY_S)  # the whole process ends meanwhile
        _cut_off_kernels(server.kernel_manager)
    _remove(run)
    os._exit(1)


def _remove(run: Path) -> None:
    for _ in range(20):
        shutil.rmtree(run, ignore_errors=True)
        if not run.exists():
            return
        time.sleep(0.05)  # something was just being written there


def _cut_off_kernels(kernels: Any) -> None:
    for name in kernels.list_kernel_ids():
        with suppress(OSError, KeyError, TypeError, AttributeError):  # one that is gone, or has not begun
            os.kill(kernels.get_kernel(name).provisioner.pid, getattr(signal, "SIGKILL", signal.SIGTERM))
