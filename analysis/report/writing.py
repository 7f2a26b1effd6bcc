"""Files of a run that arrive together, over ours and never over a keeper's; a record in their folder knows which."""

import errno
import hashlib
import json
import os
import re
import shutil
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

from analysis.disk import alone_in, plain_words, read_json, scratch_in, stage
from analysis.ending import not_now
from analysis.errors import SeasonError
from analysis.say import say

RECORD = ".season_files.json"
# nobody types into these: where no record knows one, it is an older one of ours
_NEVER_TYPED_INTO = (".pdf", "season_report_stopped.ipynb")
_MOST = 4  # fingerprints kept of a file: more than two only where runs were killed one after the other
_RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)", re.IGNORECASE)
_BESIDE = re.compile(r"(.+) \(\d+\)(\.\w+)")


def reports_folder(season: Path, out: Path | None) -> Path:
    """Where what is made of a season goes: `out`, or by default `reports/` and the season folder's name.

    Where another season's reports lie there already (`2025/logs` and `2026/logs`), the names of the folders above
    are set before it: `reports/2026_logs`.
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


@dataclass
class Record:
    """What the commands wrote into a folder of reports.

    `files` gives each file's path below the folder and the fingerprints of what was last written there, `moving` the
    files that a run was putting in their places, `season` the season folder whose reports these are.
    """

    folder: Path
    files: dict[str, list[str]] = field(default_factory=dict)
    moving: list[str] = field(default_factory=list)
    season: str = ""

    @classmethod
    def of(cls, folder: Path) -> "Record":
        """Read the record of a folder; an empty one where there is none, or it cannot be read."""
        try:
            found = read_json(folder / RECORD)
            files = {str(name): [str(mark) for mark in marks] for name, marks in found["files"].items()}
            return cls(folder, files, [str(name) for name in found["moving"]], str(found["season"]))
        except (TypeError, KeyError, AttributeError):
            return cls(folder)

    @classmethod
    def about(cls, path: Path) -> "Record":
        """Read the record that knows a file: of its own folder, or of the one above."""
        return cls.of(next((one for one in path.parents[:2] if (one / RECORD).is_file()), path.parent))

    def write(self, scratch: Path) -> None:
        """Write it whole or not at all."""
        content = {"season": self.season, "files": self.files, "moving": self.moving}
        stage(json.dumps(content, indent=1, sort_keys=True).encode(), scratch / RECORD)
        os.replace(scratch / RECORD, self.folder / RECORD)

    def name(self, path: Path) -> str:
        """What a file is called here."""
        return path.relative_to(self.folder).as_posix()

    def is_hers(self, path: Path, content: bytes | None = None) -> bool:
        """Tell whether a file is not as a command left it, nor the same as `content`: then it is never touched."""
        if not os.path.lexists(path):
            return False
        try:
            mark = _mark_of(path.read_bytes()) if path.is_file() and not path.is_symlink() else ""
        except OSError:
            return True
        marks = self.files.get(self.name(path))
        ours = path.name.endswith(_NEVER_TYPED_INTO) if marks is None else mark in marks
        return not ours and (content is None or _mark_of(content) != mark)

    def places(self, path: Path, content: bytes) -> Iterator[Path]:
        """Where a file may be put: at its own name, or the first free one beside it: `report (2).pdf`."""
        beside = (path.with_name(f"{path.stem} ({number}){path.suffix}") for number in count(2))
        if not self.is_hers(path, content):
            yield path
        for place in beside:
            if not os.path.lexists(place) or (self.name(place) in self.files and not self.is_hers(place, content)):
                yield place


def _mark_of(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()[:32]


def put_all(files: Mapping[Path, bytes], folder: Path, scratch: Path, *, replaces: Iterable[str] = ()) -> list[Path]:
    """Write the files of one run: first to `scratch`, down to the disk, then all at once over the old ones.

    A file that is not as a command left it is a keeper's and stays. Where the disk refuses one of the moves, all are
    taken back; a run that is killed between two of them is seen and told by the next one (`said_of`).

    The paths are below `folder`, where the record of them is; `scratch` is on the same disk. `replaces` is how the
    names of files begin that belong to this set: those of an earlier run that are still as they were left, and are not
    written now, go. Returns where the files are, in order: beside a file that is a keeper's, or that another program
    holds open, the first free name.
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
        for path, content, _ in staged:  # what a file will be, beside what it may still be
            name = record.name(next(record.places(path, content)))
            record.files[name] = list(dict.fromkeys([_mark_of(content), *record.files.get(name, ())]))[:_MOST]
        record.moving = sorted({*record.moving, *(record.name(path) for path, _, _ in staged)})
        record.write(self._scratch)
        places = [self._move(*one) for one in staged]
        gone = set(self._clear(replaces, places))
        # where one was held open, nothing of ours has come to its name
        record.files = {name: marks for name, marks in before.items() if name not in gone}
        record.files |= {
            record.name(place): [_mark_of(content)] for place, (_, content, _) in zip(places, staged, strict=True)
        }
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
    """What must be said of files that were put: why some lie beside others, and what an earlier run left half done."""
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
        old, new = zip(*changed, strict=True)
        said.append(say("report.changed-one" if len(changed) == 1 else "report.changed-several", old=old, new=new))
    half = Record.about(written[0]).moving if written else []
    return [*said, say("report.half-written", files=half)] if half else said


def item_lines(items: Iterable[tuple[str, str]]) -> list[str]:
    """Write items (what or who, the sentence) a line each, as a command prints them."""
    return [say("report.line", what=what, said=sentence) for what, sentence in items]


def file_name(name: str) -> str:
    """A name that every system takes for a file: letters, digits, `-` and `_`.

    Examples
    --------
    >>> file_name("pairs & cages/2031"), file_name("nul"), file_name("")
    ('pairs_cages_2031', 'nul_', 'table')
    """
    safe = re.sub(r"[^\w-]+", "_", name).strip("_")[:80] or "table"
    return safe + "_" if _RESERVED.fullmatch(safe) else safe
