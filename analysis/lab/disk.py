"""Files in the season folder that are written whole or not at all, and plain words for what a disk may answer."""

import errno
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from analysis.errors import SeasonError
from analysis.say import say

_FULL = {errno.ENOSPC, errno.EDQUOT}


@contextmanager
def plain_words(folder: Path) -> Iterator[None]:
    """Turn what the disk refuses into one sentence and what to do.

    Examples
    --------
    >>> with plain_words(Path("my_season")):  # doctest: +ELLIPSIS
    ...     raise PermissionError
    Traceback (most recent call last):
    ...
    analysis.errors.SeasonError: Nothing may be written in my_season, where the chapters belong. Copy the folder ...
    """
    try:
        yield
    except OSError as wrong:
        if wrong.errno in _FULL:
            raise SeasonError(say("lab.no-room", folder=folder)) from None
        raise SeasonError(say("lab.not-writable", folder=folder)) from None


def write_whole(path: Path, content: bytes, *, mode: int = 0o644) -> None:
    """Write a file whole or not at all; its folder is made if missing."""
    path.parent.mkdir(parents=True, exist_ok=True)
    waiting = path.with_name(f".{path.name}.{os.getpid()}")
    try:
        with open(os.open(waiting, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, mode), "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(waiting, path)
    finally:
        waiting.unlink(missing_ok=True)


def write_json(path: Path, content: Any, *, mode: int = 0o644) -> None:
    """Write a small file that a program reads."""
    write_whole(path, json.dumps(content, indent=1).encode(), mode=mode)


def read_json(path: Path) -> dict[str, Any]:
    """What `write_json` wrote; empty where there is nothing, or nothing that can be read."""
    try:
        content = json.loads(path.read_bytes())
    except (OSError, ValueError):
        return {}
    return content if isinstance(content, dict) else {}
