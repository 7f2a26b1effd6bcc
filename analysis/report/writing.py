"""Files that are written whole or not at all, and plain words for what a disk may answer."""

import errno
import os
import re
import shutil
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import count
from pathlib import Path
from tempfile import TemporaryDirectory

from analysis.errors import SeasonError

_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)
_BESIDE = re.compile(r"(.+) \(\d+\)(\.\w+)")
_SCRATCH = ".season_report_"
_LEFT_OVER_S = 3600


@contextmanager
def plain_disk_words(place: Path) -> Iterator[None]:
    """Turn what the disk refuses into one sentence and what to do.

    Examples
    --------
    >>> with plain_disk_words(Path("out")):
    ...     raise NotADirectoryError
    Traceback (most recent call last):
    ...
    analysis.errors.SeasonError: out is a file, not a folder. Choose another folder for the report.
    """
    try:
        yield
    except (FileExistsError, NotADirectoryError) as trouble:
        raise SeasonError(f"{place} is a file, not a folder. Choose another folder for the report.") from trouble
    except PermissionError as trouble:
        raise SeasonError(
            f"The report may not be written to {place}. Close it where it is open, or choose another folder."
        ) from trouble
    except OSError as trouble:
        if trouble.errno in {errno.ENOSPC, errno.EDQUOT}:
            raise SeasonError(f"There is no room left on the disk of {place}. Make room and run again.") from trouble
        reason = trouble.strerror or "the disk refused"
        raise SeasonError(
            f"The report could not be written to {place} ({reason.lower()}). Choose another folder."
        ) from trouble


def reports_folder(season: Path, out: Path | None) -> Path:
    """Where what is made of a season goes: `out`, or by default `reports/` and the season folder's name.

    Examples
    --------
    >>> reports_folder(Path("my_season"), None).as_posix()
    'reports/my_season'
    """
    return out if out is not None else Path("reports") / season.resolve().name


@contextmanager
def scratch_folder(target: Path) -> Iterator[Path]:
    """A temporary folder inside `target` (made if missing), gone at the end of the block.

    It lies on the same disk, so that a finished file moves to its place in one step.
    """
    with plain_disk_words(target):
        target.mkdir(parents=True, exist_ok=True)
        _clear_left_over(target)
        held = TemporaryDirectory(dir=target, prefix=_SCRATCH, ignore_cleanup_errors=True)
    with held as name:
        yield Path(name)


def _clear_left_over(target: Path) -> None:
    """Remove what a run that was ended from outside left an hour ago or more."""
    for left in target.glob(f"{_SCRATCH}*"):
        if time.time() - left.stat().st_mtime > _LEFT_OVER_S:
            shutil.rmtree(left, ignore_errors=True)


def put(content: bytes, path: Path, scratch: Path) -> Path:
    """Write a file whole or not at all: to `scratch`, flushed to the disk, then moved over the old one.

    Returns
    -------
    Path
        `path`, or, where another program holds the old file open, the first free name beside it: `report (2).pdf`.
    """
    waiting = scratch / path.name
    with plain_disk_words(path.parent):
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(waiting, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        try:
            os.replace(waiting, path)
        except PermissionError:  # Windows lends an open file to nobody
            if not path.is_file():
                raise
            path = next(free for free in _beside(path) if not free.exists())
            os.replace(waiting, path)
    return path


def _beside(path: Path) -> Iterator[Path]:
    return (path.with_name(f"{path.stem} ({number}){path.suffix}") for number in count(2))


def held_open(paths: Iterable[Path | None]) -> list[str]:
    """One sentence for each file that `put` had to write beside the one that was open.

    Examples
    --------
    >>> held_open([Path("out/report (2).pdf"), Path("out/tables.csv"), None])
    ['report.pdf is open in another program, so the new one is report (2).pdf beside it.']
    """
    written = ((path, _BESIDE.fullmatch(path.name)) for path in paths if path is not None)
    return [
        f"{''.join(found.groups())} is open in another program, so the new one is {path.name} beside it."
        for path, found in written
        if found
    ]


def file_name(name: str) -> str:
    """A name that every system takes for a file: letters, digits, `-` and `_`.

    Examples
    --------
    >>> file_name("pairs & cages/2031"), file_name("nul"), file_name("")
    ('pairs_cages_2031', 'nul_', 'table')
    """
    safe = re.sub(r"[^\w-]+", "_", name).strip("_")[:80] or "table"
    return safe + "_" if _RESERVED.fullmatch(safe) else safe
