"""The keeper's own copies of the chapters: kept up to date, and never written over once she has changed them."""

import hashlib
import json
from pathlib import Path
from typing import Any

from analysis.disk import plain_words, read_json, write_json, write_whole

WORKBOOK = "workbook"
SETTINGS = ".settings"
_COPIED = "chapters.json"  # file name → the fingerprint of what was copied there last


def copy_chapters(source: Path, folder: Path) -> list[str]:
    """Bring the chapters in a season folder up to date; return the names of those that were laid beside hers.

    A chapter that is missing is copied. One that she left as it was is replaced by a newer one: to run it is no
    change, a word in it is. Beside one that she changed, the newer one is laid as `04_growth (new).ipynb`, once.
    SeasonError: the folder cannot be written to.
    """
    workbook = folder / WORKBOOK
    memory = workbook / SETTINGS / _COPIED
    copied = read_json(memory)
    before = dict(copied)
    with plain_words("chapters", folder):
        laid = [_bring(chapter, workbook, copied) for chapter in sorted(source.glob("*.ipynb"))]
        if copied != before:
            write_json(memory, copied)
    return [name for name in laid if name]


def set_damaged_aside(source: Path, folder: Path) -> list[str]:
    """Rename chapters of hers whose files are no notebooks any more, so that a fresh one takes their place.

    Return their new names, such as `04_growth (damaged).ipynb`; what is in them is as it was. SeasonError: the folder
    cannot be written to.
    """
    with plain_words("chapters", folder):
        renamed = [_set_aside(folder / WORKBOOK / chapter.name) for chapter in sorted(source.glob("*.ipynb"))]
    return [name for name in renamed if name]


def fingerprint(notebook: bytes) -> str:
    """What a keeper can change in a notebook: the text of its cells, their tags and pictures; not their outputs.

    Blank for what is no notebook.

    Examples
    --------
    >>> plain, run = b'{"cells": [{"source": "1 + 1"}]}', b'{"cells": [{"source": ["1 ", "+ 1"], "outputs": [2]}]}'
    >>> fingerprint(plain) == fingerprint(run), fingerprint(b"no notebook")
    (True, '')
    """
    kept: list[Any] = []
    try:
        for cell in json.loads(notebook)["cells"]:
            tags = sorted(cell.get("metadata", {}).get("tags", ()))
            kept.append([cell.get("cell_type"), "".join(cell["source"]), tags, cell.get("attachments") or {}])
    except (ValueError, KeyError, TypeError, AttributeError):
        return ""
    return hashlib.sha256(json.dumps(kept, sort_keys=True).encode()).hexdigest()


def _set_aside(path: Path) -> str:
    """Rename a file that is no notebook any more; return its new name, blank where there is none."""
    if not path.exists() or fingerprint(path.read_bytes()):
        return ""
    free = next(beside for name in _names_beside(path, "damaged") if not (beside := path.with_name(name)).exists())
    path.rename(free)
    return free.name


def _names_beside(path: Path, what: str) -> list[str]:
    """`04_growth (new).ipynb`, `04_growth (new 2).ipynb`, …"""
    return [f"{path.stem} ({what}{number}).ipynb" for number in ("", *(f" {n}" for n in range(2, 100)))]


def _bring(chapter: Path, workbook: Path, copied: dict[str, Any]) -> str:
    """Lay one chapter where it does no harm; return its name where that is beside hers."""
    ours = chapter.read_bytes()
    mark = fingerprint(ours)
    names = [chapter.name, *_names_beside(chapter, "new")]
    if (workbook / chapter.name).exists() and mark in (copied.get(name) for name in names):
        return ""  # she has had this one
    for name in names:
        path = workbook / name
        hers = fingerprint(path.read_bytes()) if path.exists() else None
        if hers in (None, mark, copied.get(name)):
            if hers != mark:
                write_whole(path, ours)
            copied[name] = mark
            return name if name != chapter.name and hers != mark else ""
    return ""
