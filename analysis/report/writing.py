"""Files of a run that arrive together, over ours and never over a keeper's."""

import errno
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from analysis.disk import alone_in, plain_words, scratch_in, stage
from analysis.ending import not_now
from analysis.errors import SeasonError
from analysis.report.record import RECORD, Record
from analysis.say import say

_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)
_BESIDE = re.compile(r"(.+) \(\d+\)(\.\w+)")


def reports_folder(season: Path, out: Path | None) -> Path:
    """Where what is made of a season goes: `out`, or by default `reports/` and the season folder's name.

    Where another season's reports lie there already (`2025/logs` and `2026/logs`), the names of the folders above
    are set before it: `reports/2026_logs`.

    Examples
    --------
    >>> reports_folder(Path("my_season"), None).as_posix()
    'reports/my_season'
    """
    if out is not None:
        return out
    whole = season.resolve()
    names = [part for part in whole.parts if part != whole.anchor] or ["season"]
    tried = [Path("reports") / "_".join(names[-many:]) for many in range(1, len(names) + 1)]
    return next((one for one in tried if _owner(one) in ("", str(whole))), tried[-1])


def _owner(folder: Path) -> str:
    """The season folder whose reports lie in a folder; blank where it is gone."""
    season = Record.of(folder).season
    return season if season and Path(season).is_dir() else ""


def claim(target: Path, season: Path) -> None:
    """Write down whose reports lie in a folder, if nobody's did."""
    with suppress(OSError), alone_in(target), scratch_in(target) as scratch:
        record = Record.of(target)
        if not _owner(target):
            record.season = str(season.resolve())
            record.write(scratch)


@contextmanager
def scratch_folder(target: Path) -> Iterator[Path]:
    """A temporary folder inside `target`, as `analysis.disk.scratch_in` makes it, with plain words where it cannot."""
    with ExitStack() as held:
        with plain_words("report", target):
            scratch = held.enter_context(scratch_in(target))
        yield scratch


@contextmanager
def passing_folder() -> Iterator[Path]:
    """The same in the system's folder for passing files, which only this account can read."""
    try:
        place = Path(tempfile.gettempdir())
    except FileNotFoundError as trouble:
        raise SeasonError(say("report.no-passing-folder")) from trouble
    with scratch_folder(place) as scratch:
        yield scratch


def put(content: bytes, path: Path, scratch: Path) -> Path:
    """Write one file as `put_all` does; return where it is."""
    return put_all({path: content}, path.parent, scratch)[0]


def put_all(files: Mapping[Path, bytes], folder: Path, scratch: Path, *, replaces: Iterable[str] = ()) -> list[Path]:
    """Write the files of one run: first to `scratch`, down to the disk, then all at once over the old ones.

    A file that is not as a command left it is a keeper's and stays. Where the disk refuses one of the moves, all are
    taken back; a run that is killed between two of them is seen and told by the next one (`said_of`).

    Parameters
    ----------
    files
        Path to content; below `folder`.
    folder
        Where the record of these files is.
    scratch
        A folder on the same disk.
    replaces
        How the names of files below `folder` begin that belong to this set: those of an earlier run that are still
        as they were left, and are not written now, go.

    Returns
    -------
    list of Path
        Where they are, in order: beside a file that is a keeper's, or that another program holds open, the first free
        name: `report (2).pdf`.
    """
    with plain_words("report", folder):
        staged = [(path, content, scratch / f"new_{at}") for at, (path, content) in enumerate(files.items())]
        for _, content, waiting in staged:
            stage(content, waiting)
        with alone_in(folder), not_now():
            move = _Moves(Record.of(folder), scratch)
            try:
                return move.all(staged, tuple(replaces))
            except OSError:
                move.take_back()
                raise


class _Moves:
    """The moment in which the files change places, and how it is taken back."""

    def __init__(self, record: Record, scratch: Path) -> None:
        self._record, self._scratch = record, scratch
        self._kept: list[tuple[Path, Path | None]] = []

    def all(self, staged: list[tuple[Path, bytes, Path]], replaces: tuple[str, ...]) -> list[Path]:
        """Move every file to its place; the record says beforehand what is about to come, and at the end what came."""
        record, before = self._record, dict(self._record.files)
        self._keep(record.folder / RECORD)
        for path, content, _ in staged:
            record.note(next(record.places(path, content)), content)
        record.moving = sorted({*record.moving, *(record.name(path) for path, _, _ in staged)})
        record.write(self._scratch)
        places = [self._move(*one) for one in staged]
        gone = list(self._clear(replaces, places))
        record.files = before  # where one was held open, nothing of ours has come to its name
        record.settle(((place, content) for place, (_, content, _) in zip(places, staged, strict=True)), gone)
        done = {record.name(path) for path, _, _ in staged}
        record.moving = [name for name in record.moving if name not in done and not name.startswith(replaces)]
        record.write(self._scratch)
        return places

    def _move(self, path: Path, content: bytes, waiting: Path) -> Path:
        for place in self._record.places(path, content):
            self._keep(place)
            place.parent.mkdir(exist_ok=True)
            try:
                os.replace(waiting, place)
            except PermissionError:  # Windows lends an open file to nobody
                if not place.is_file():
                    raise
            else:
                return place
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT), str(path))

    def _clear(self, replaces: tuple[str, ...], places: list[Path]) -> Iterator[str]:
        """Remove what an earlier run of this set wrote and this one did not; what a keeper changed stays."""
        now = {self._record.name(place) for place in places}
        for name in [name for name in self._record.files if name not in now and name.startswith(replaces)]:
            path = self._record.folder / name
            if not self._record.is_hers(path):
                self._keep(path)
                with suppress(PermissionError):  # open elsewhere, on Windows
                    path.unlink(missing_ok=True)
                    yield name

    def _keep(self, path: Path) -> None:
        """Keep what is there, to have it back: by a second link, or a copy where the disk knows no links."""
        kept = self._scratch / f"old_{len(self._kept)}"
        if not os.path.lexists(path):
            self._kept.append((path, None))
            return
        try:
            os.link(path, kept)
        except OSError:
            shutil.copyfile(path, kept)
        self._kept.append((path, kept))

    def take_back(self) -> None:
        """Have every file again as it was."""
        for path, kept in reversed(self._kept):
            with suppress(OSError):
                if kept is None:
                    path.unlink(missing_ok=True)
                    if path.parent != self._record.folder:
                        path.parent.rmdir()  # only while it is empty
                elif not (path.exists() and path.samefile(kept)):
                    os.replace(kept, path)


def said_of(paths: Iterable[Path | None]) -> list[str]:
    """What must be said of files that were put: why some lie beside others, and what an earlier run left half done.

    Examples
    --------
    >>> said_of([Path("out/report (2).pdf"), Path("out/tables.csv"), None])
    ['report.pdf is open in another program, so the new one is report (2).pdf beside it.']
    """
    written = [path for path in paths if path is not None]
    said: list[str] = []
    changed: list[tuple[str, str]] = []
    for path in written:
        if found := _BESIDE.fullmatch(path.name):
            wanted = path.with_name("".join(found.groups()))
            if Record.about(path).is_hers(wanted):
                changed.append((wanted.name, path.name))
            else:
                said.append(say("report.open-elsewhere", old=wanted.name, new=path.name))
    if changed:
        old, new = ([pair[at] for pair in changed] for at in (0, 1))
        said.append(say("report.changed-one" if len(changed) == 1 else "report.changed-several", old=old, new=new))
    half = Record.about(written[0]).moving if written else []
    if half:
        said.append(say("report.half-written", files=half))
    return said


def file_name(name: str) -> str:
    """A name that every system takes for a file: letters, digits, `-` and `_`.

    Examples
    --------
    >>> file_name("pairs & cages/2031"), file_name("nul"), file_name("")
    ('pairs_cages_2031', 'nul_', 'table')
    """
    safe = re.sub(r"[^\w-]+", "_", name).strip("_")[:80] or "table"
    return safe + "_" if _RESERVED.fullmatch(safe) else safe
