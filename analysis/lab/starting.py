"""`season lab`: what is checked first, what is said, and how it ends."""

import re
import time
import webbrowser
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from typing import Any

from analysis.disk import plain_words, read_json, write_json
from analysis.lab.chapters import SETTINGS, WORKBOOK, copy_chapters, set_damaged_aside
from analysis.lab.jupyter_settings import FIRST, RECIPES, write_look
from analysis.lab.server import Asked, Lab, noting_stops, running_lab
from analysis.report.render import notebooks_folder
from analysis.say import say

_OPEN, _LOG = "open.json", "lab.log"
_PAUSE_S = 0.1
Tell = Callable[[str], Any]


def open_lab(
    folder: Path | None, *, port: int = 8888, browser: bool = True, recipes: bool = False, tell: Tell = print
) -> None:
    """Open the chapters of a season folder (the current one by default), and wait until they are closed.

    Where they are open already, that address is opened again and nothing is started. `port` is the first to try, the
    next free one is taken; `recipes` opens on the recipes for those who know pandas, which lie beside the chapters;
    `tell` is called with each line for the keeper. SeasonError: the folder holds no logs, or cannot be written to;
    JupyterLab did not start.
    """
    chosen = (folder or Path()).resolve()
    workbook = chosen / WORKBOOK
    note, page = workbook / SETTINGS / _OPEN, RECIPES if recipes else FIRST
    if lab := _open_already(note):
        tell(say("lab.open-already", season=chosen.name))
        _show(lab.address(page), browser, tell)
        tell(say("lab.to-end"))
        return
    from analysis.season import open_season

    open_season(chosen)
    with noting_stops() as asked:
        _bring_chapters(chosen, workbook, tell)
        with plain_words("chapters", chosen):
            log = note.with_name(_LOG).open("wb")
        with log, running_lab(chosen, workbook, log, port=port, asked=asked) as (lab, process):
            if lab.port != port:
                tell(say("lab.port-in-use", wanted=port, port=lab.port))
            tell(say("lab.your-logs", folder=chosen))
            tell(say("lab.your-chapters", folder=workbook))
            _show(lab.address(page), browser, tell)
            tell(say("lab.leave-open"))
            _stay_open(lab, process, note, asked)
        with suppress(OSError):  # the terminal may be gone
            tell(say("lab.closed"))


def _bring_chapters(folder: Path, workbook: Path, tell: Tell) -> None:
    for name in set_damaged_aside(notebooks_folder(), folder):
        tell(say("lab.damaged", file=name))
    for name in copy_chapters(notebooks_folder(), folder):
        tell(say("lab.newer", file=name))
    write_look(folder, workbook)


def _stay_open(lab: Lab, process: Any, note: Path, asked: Asked) -> None:
    write_json(note, {"url": lab.url, "token": lab.token}, mode=0o600)
    try:
        while process.poll() is None and not asked():
            time.sleep(_PAUSE_S)
    finally:
        note.unlink(missing_ok=True)


def _show(address: str, browser: bool, tell: Tell) -> None:
    tell(address)
    opened = not browser
    with suppress(webbrowser.Error):
        opened = opened or webbrowser.open(address)
    if not opened:
        tell(say("lab.no-browser"))


def _open_already(note: Path) -> Lab | None:
    found = read_json(note)
    lab = Lab(str(found.get("url")), str(found.get("token")))
    here = re.fullmatch(r"http://127\.0\.0\.1:\d+/", lab.url)  # a folder may come from someone else
    return lab if here and lab.answers() else None
