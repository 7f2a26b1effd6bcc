"""The program that JupyterLab runs in: it reads the settings of its run alone, and ends with the command.

What keeps it to its keeper alone is said in full, so that nothing depends on what another program left out.
"""

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

PROGRAM = "from analysis.lab.serving import serve; serve()"
UNLOCKED = 3  # the exit code where a lock is open
ORDERLY_S = 6  # for kernels that are asked to end; what is left then is cut off
_PROVIDER, _FILES = "PasswordIdentityProvider", "AsyncLargeFileManager"


def locks(token: str) -> dict[str, dict[str, Any]]:
    """The settings that nothing may change, by the class in use: this machine only, one key, no pages of others."""
    server = {
        "ip": "127.0.0.1",
        "sock": "",
        "base_url": "/",
        "identity_provider_class": f"jupyter_server.auth.identity.{_PROVIDER}",
        "contents_manager_class": f"jupyter_server.services.contents.largefilemanager.{_FILES}",
        "allow_unauthenticated_access": False,
        "allow_remote_access": False,
        "allow_origin": "",
        "allow_origin_pat": "",
        "allow_credentials": False,
        "disable_check_xsrf": False,
        "trust_xheaders": False,
        "terminals_enabled": False,
    }
    key = {"token": token, "hashed_password": "", "password_required": False, "allow_password_change": False}
    return {"ServerApp": server, _PROVIDER: key, _FILES: {"allow_hidden": False}}


def _open_locks(server: Any, token: str) -> list[str]:
    """The settings of a server that is about to start which are not as `locks` has them: `ServerApp.allow_origin`."""
    in_use = {"ServerApp": server, _PROVIDER: server.identity_provider, _FILES: server.contents_manager}
    return [
        f"{section}.{name}"
        for section, values in locks(token).items()
        for name, value in values.items()
        if _named(getattr(in_use[section], name, value)) != value
    ]


def _named(value: Any) -> Any:
    return f"{value.__module__}.{value.__qualname__}" if isinstance(value, type) else value


def serve() -> None:
    """Run JupyterLab until it is shut down, or until the other end of the standard input is closed.

    The other end belongs to the command `season lab`, and is closed however that ends; it says by one byte that
    `write_run` has written the folder of the run, the last argument. That folder is removed in the end.
    """
    run, pipe = Path(sys.argv.pop()), os.dup(0)
    os.dup2(os.open(os.devnull, os.O_RDONLY), 0)  # nothing else in this process reads what tells that the command ends
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
    if found := _open_locks(server, token):
        logging.getLogger(__name__).error("open: %s", ", ".join(found))
        sys.exit(UNLOCKED)
    return server


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
