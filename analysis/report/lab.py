"""JupyterLab on the chapters, on this machine only, pointed at a season folder."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

from analysis.errors import SeasonError
from analysis.report.render import notebooks_folder
from analysis.season import open_season
from analysis.workbook import FOLDER_VARIABLE

WORKBOOK = "workbook"
FIRST = "00_start_here.ipynb"
SETTINGS = ".settings"
_QUIET = {"fetchNews": "false", "checkForUpdates": False}


def copy_chapters(folder: Path) -> Path:
    """Copy the chapters that are not there yet into the season folder; what is there is never touched.

    JupyterLab is told there to fetch no news.

    Parameters
    ----------
    folder
        The season folder.

    Returns
    -------
    Path
        The folder `workbook` inside it.

    Raises
    ------
    SeasonError
        The folder cannot be written to.
    """
    workbook = folder / WORKBOOK
    try:
        quiet = workbook / SETTINGS / "@jupyterlab" / "apputils-extension" / "notification.jupyterlab-settings"
        quiet.parent.mkdir(parents=True, exist_ok=True)
        if not quiet.exists():
            quiet.write_text(json.dumps(_QUIET))
        for chapter in sorted(notebooks_folder().glob("*.ipynb")):
            if not (workbook / chapter.name).exists():
                shutil.copyfile(chapter, workbook / chapter.name)
    except OSError as wrong:
        raise SeasonError(
            f"The chapters cannot be copied to {workbook} ({wrong.strerror}). Check who may write there."
        ) from None
    return workbook


def lab_command(workbook: Path, *, port: int, browser: bool) -> list[str]:
    """Return the command that starts JupyterLab: this machine only, no news, no look-ups outside.

    JupyterLab's own settings are kept in the workbook, so that those of other work stay as they are.
    """
    as_root = hasattr(os, "geteuid") and os.geteuid() == 0
    return [
        *(sys.executable, "-m", "jupyterlab"),
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.port={port}",
        f"--ServerApp.root_dir={workbook}",
        f"--ServerApp.open_browser={browser}",
        f"--LabApp.default_url=/lab/tree/{FIRST}",
        f"--ServerApp.allow_root={as_root}",
        f"--LabApp.user_settings_dir={workbook / SETTINGS}",
        "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
        "--LabApp.extension_manager=readonly",
    ]


def open_lab(folder: Path | None, *, port: int = 8888, browser: bool = True) -> int:
    """Start JupyterLab on a season folder (the current one by default) and wait until it ends.

    Returns
    -------
    int
        0 when it was ended with Ctrl-C, otherwise its own exit code.

    Raises
    ------
    SeasonError
        The folder holds no logs, or cannot be written to.
    """
    chosen = (folder or Path()).resolve()
    open_season(chosen)
    workbook = copy_chapters(chosen)
    command = lab_command(workbook, port=port, browser=browser)
    try:
        return subprocess.run(command, env={**os.environ, FOLDER_VARIABLE: str(chosen)}, check=False).returncode
    except KeyboardInterrupt:
        return 0
