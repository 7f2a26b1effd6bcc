"""What the commands wrote into a folder of reports: so that a file in which a keeper wrote is known from ours."""

import hashlib
import json
import os
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import count
from pathlib import Path

from analysis.disk import read_json, stage

RECORD = ".season_files.json"
# nobody types into these: where no record knows one, it is an older one of ours
_NEVER_TYPED_INTO = (".pdf", "season_report_stopped.ipynb")
_MOST = 4  # fingerprints kept of a file: more than two only where runs were killed one after the other


@dataclass
class Record:
    """The record of a folder.

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
            found = mark_of(path.read_bytes()) if path.is_file() and not path.is_symlink() else ""
        except OSError:
            return True
        known = self.files.get(self.name(path))
        if known is None:
            return not path.name.endswith(_NEVER_TYPED_INTO) and (content is None or mark_of(content) != found)
        return found not in known and (content is None or mark_of(content) != found)

    def places(self, path: Path, content: bytes) -> Iterator[Path]:
        """Where a file may be put: at its own name, or the first free one beside it: `report (2).pdf`."""
        beside = (path.with_name(f"{path.stem} ({number}){path.suffix}") for number in count(2))
        if not self.is_hers(path, content):
            yield path
        for place in beside:
            if not os.path.lexists(place) or (self.name(place) in self.files and not self.is_hers(place, content)):
                yield place

    def note(self, path: Path, content: bytes) -> None:
        """Write down what a file will be, beside what it may still be."""
        marks = [mark_of(content), *self.files.get(self.name(path), ())]
        self.files[self.name(path)] = list(dict.fromkeys(marks))[:_MOST]

    def settle(self, written: Iterable[tuple[Path, bytes]], gone: Iterable[str]) -> None:
        """Write down what the files are, now that all have arrived."""
        for path, content in written:
            self.files[self.name(path)] = [mark_of(content)]
        for name in gone:
            self.files.pop(name, None)


def mark_of(content: bytes) -> str:
    """The fingerprint of a file."""
    return hashlib.sha256(content).hexdigest()[:32]
