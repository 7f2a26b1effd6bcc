"""Files that come whole or not at all, or plain words why not; scratch folders that a later run clears away.

A scratch folder is locked by its process for as long as that lives, whatever becomes of it; so a folder whose lock is
free is certainly of a process that is gone.
"""

import errno
import json
import os
import secrets
import shutil
import stat
import tempfile
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from functools import partial
from io import BytesIO
from pathlib import Path
from typing import Any

from analysis.ending import not_now, undone
from analysis.errors import FULL, SeasonError
from analysis.say import say
from analysis.say.voice import sentences

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

SCRATCH, _MAKING = ".season_scratch_", ".season_making_"
_NO_LINKS = frozenset({errno.EPERM, errno.ENOTSUP, errno.EOPNOTSUPP, errno.ENOSYS, errno.EMLINK})
_NO_DOUBT_S, _MADE_S = 86_400, 60  # where no lock can tell: no run takes a day, none takes a minute to lock a folder


@contextmanager
def scratch_in(parent: Path) -> Iterator[Path]:
    """A folder of this run alone inside `parent` (made if missing), gone at the end of the block, however it ends.

    It lies on the same disk, so that a finished file moves to its place in one step. What was left by a process that
    was killed is cleared first. OSError: as the disk has it.
    """
    parent = parent.absolute()
    missing = [one for one in (parent, *parent.parents) if not one.exists()]
    name = secrets.token_hex(6)
    making, folder = parent / f"{_MAKING}{name}", parent / f"{SCRATCH}{name}"

    def remove() -> None:
        for one in (making, folder):
            _remove(one)
        for one in missing:
            with suppress(OSError):
                one.rmdir()  # only while there is nothing in it

    with undone(remove):
        lock = None
        try:
            parent.mkdir(parents=True, exist_ok=True)
            _clear_left(parent)
            making.mkdir(mode=0o700)
            lock = _locked(making)
            os.rename(making, folder)
            yield folder
        finally:
            remove()
            if lock is not None:
                os.close(lock)


def stage(content: bytes, path: Path, *, mode: int = 0o666) -> None:
    """Write a file in a scratch folder, down to the disk."""
    with open(path, "wb", opener=partial(os.open, mode=mode)) as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def write_whole(path: Path, content: bytes, *, mode: int = 0o666) -> None:
    """Write a file whole or not at all in the place of what is there, a link too; its folder is made if missing."""
    with scratch_in(path.parent) as scratch:
        stage(content, scratch / path.name, mode=mode)
        os.replace(scratch / path.name, path)


def write_json(path: Path, content: Any, *, mode: int = 0o666) -> None:
    """Write a small file that a program reads, as `write_whole` does."""
    write_whole(path, json.dumps(content, indent=1).encode(), mode=mode)


def read_json(path: Path) -> dict[str, Any]:
    """What `write_json` wrote; empty where there is nothing, or nothing that can be read."""
    with suppress(OSError, ValueError):
        if isinstance(content := json.loads(path.read_bytes()), dict):
            return content
    return {}


def put_new(files: Mapping[Path, bytes]) -> None:
    """Write files that are not there yet: all of them whole, or none.

    FileExistsError: one of them has come to be there meanwhile; it is as it was. OSError: as the disk has it.
    """
    for parent in {path.parent for path in files}:
        with scratch_in(parent) as scratch:
            here = [(path, scratch / str(at)) for at, path in enumerate(files) if path.parent == parent]
            for path, waiting in here:
                stage(files[path], waiting)
            done: list[Path] = []
            with not_now():
                try:
                    for path, waiting in here:
                        _move_new(waiting, path)
                        done.append(path)
                except OSError:
                    for path in done:
                        path.unlink(missing_ok=True)
                    raise


def _move_new(waiting: Path, path: Path) -> None:
    """Move a file to where none is; a link is made in one step, and never over a file."""
    if os.name == "posix":
        try:
            return os.link(waiting, path)
        except OSError as wrong:
            if wrong.errno not in _NO_LINKS:  # some memory cards know no links
                raise
    if os.path.lexists(path):
        raise FileExistsError(errno.EEXIST, os.strerror(errno.EEXIST), str(path))
    os.rename(waiting, path)


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Wait until no other run changes the files of a folder; where the disk knows no locks, nobody waits."""
    lock = None
    with suppress(OSError):
        lock = _locked(folder, wait=True)
    try:
        yield
    finally:
        if lock is not None:
            os.close(lock)


def book_bytes(book: Any, folder: Path) -> bytes:
    """Save an openpyxl workbook; the passing files that it makes of its sheets lie in a scratch folder of `folder`."""
    content = BytesIO()
    with scratch_in(folder) as scratch:
        before, tempfile.tempdir = tempfile.tempdir, str(scratch)
        try:
            book.save(content)
        finally:
            tempfile.tempdir = before
    return content.getvalue()


@contextmanager
def plain_words(what: str, place: Path) -> Iterator[None]:
    """Turn what the disk refuses (an OSError) into one sentence and what to do (a SeasonError).

    `what` is written to a folder: "report", "chapters", "blank-logs", "blank-workbook" or "marked-copy".
    """
    try:
        yield
    except OSError as wrong:
        kind = "may-not-write" if isinstance(wrong, PermissionError) else "not-written"
        if file := next((one for one in (place, *place.parents) if os.path.isfile(one)), None):
            place, kind = file, "is-a-file"
        kind = "no-room" if wrong.errno in FULL else kind
        code = next(one for one in (f"{what}-{kind}", kind, f"{what}-not-written") if one in sentences("disk"))
        why = wrong.strerror or ""
        raise SeasonError(say(f"disk.{code}", place=place, why=why, why_within=why.lower())) from wrong


def _locked(folder: Path, *, wait: bool = False) -> int | None:
    """A handle that holds the lock of a folder; None where the disk knows no locks. BlockingIOError: it is held."""
    if fcntl is None:
        return None
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
    except BlockingIOError:
        os.close(handle)
        raise
    except OSError:
        os.close(handle)
        return None
    return handle


def _clear_left(parent: Path) -> None:
    """Remove the scratch folders of processes that were killed, and nothing else."""
    with suppress(OSError):
        for left in parent.glob(f"{SCRATCH}*"):
            with suppress(OSError):
                if _is_left(left):
                    _remove(left)
        for left in parent.glob(f"{_MAKING}*"):
            with suppress(OSError):
                if is_ours(left.lstat()) and time.time() - left.lstat().st_mtime > _MADE_S:
                    left.rmdir()


def _is_left(folder: Path) -> bool:
    found = folder.lstat()
    if not is_ours(found):
        return False
    try:
        lock = _locked(folder)
    except BlockingIOError:
        return False
    if lock is None:
        return time.time() - found.st_mtime > _NO_DOUBT_S
    os.close(lock)
    return True


def is_ours(found: Any) -> bool:
    """Tell whether what `lstat` found is a folder of whoever runs this."""
    return stat.S_ISDIR(found.st_mode) and (not hasattr(os, "getuid") or found.st_uid == os.getuid())


def _remove(folder: Path) -> None:
    for _ in range(3):  # a process that is being ended may still write into it
        if not os.path.lexists(folder):
            return
        shutil.rmtree(folder, ignore_errors=True)
