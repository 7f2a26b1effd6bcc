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
from analysis.lab.server import Asked, Lab, noting_stops, running_lab
from analysis.lab.settings import FIRST, RECIPES, write_look
from analysis.report.render import notebooks_folder
from analysis.say import say

OPEN, LOG = "open.json", "lab.log"
_PAUSE_S = 0.1
Tell = Callable[[str], Any]


def open_lab(
    folder: Path | None, *, port: int = 8888, browser: bool = True, recipes: bool = False, tell: Tell = print
) -> None:
    """Open the chapters of a season folder (the current one by default), and wait until they are closed.

    Where they are open already, that address is opened again and nothing is started.

    Parameters
    ----------
    folder
        The season folder.
    port
        The first to try; the next free one is taken.
    browser
        Also open them in the browser.
    recipes
        Open on the recipes for those who know pandas, which lie beside the chapters, and not on the first chapter.
    tell
        Called with each line for the keeper.

    Raises
    ------
    SeasonError
        The folder holds no logs, or cannot be written to; JupyterLab did not start.

    Examples
    --------
    >>> open_lab(Path("no_such_season"))  # doctest: +ELLIPSIS
    Traceback (most recent call last):
    ...
    analysis.errors.SeasonError: There is no folder ...no_such_season. Check the spelling, ...
    """
    chosen = (folder or Path()).resolve()
    workbook = chosen / WORKBOOK
    note, page = workbook / SETTINGS / OPEN, RECIPES if recipes else FIRST
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
            log = note.with_name(LOG).open("wb")
        with log, running_lab(chosen, workbook, log, port=port, asked=asked) as (lab, process):
            _say_where(lab, chosen, workbook, port, tell)
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


def _say_where(lab: Lab, folder: Path, workbook: Path, wanted: int, tell: Tell) -> None:
    if lab.port != wanted:
        tell(say("lab.port-in-use", wanted=wanted, port=lab.port))
    tell(say("lab.your-logs", folder=folder))
    tell(say("lab.your-chapters", folder=workbook))


def _stay_open(lab: Lab, process: Any, note: Path, asked: Asked) -> None:
    write_json(note, {"url": lab.url, "token": lab.token}, mode=0o600)
    try:
        while process.poll() is None and not asked():
            time.sleep(_PAUSE_S)
    finally:
        note.unlink(missing_ok=True)


def _show(address: str, browser: bool, tell: Tell) -> None:
    tell(address)
    if browser and not _in_browser(address):
        tell(say("lab.no-browser"))


def _in_browser(address: str) -> bool:
    try:
        return webbrowser.open(address)
    except webbrowser.Error:
        return False


def _open_already(note: Path) -> Lab | None:
    found = read_json(note)
    lab = Lab(str(found.get("url")), str(found.get("token")))
    here = re.fullmatch(r"http://127\.0\.0\.1:\d+/", lab.url)  # a folder may come from someone else
    return lab if here and lab.answers() else None
