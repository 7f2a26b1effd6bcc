"""A season folder → raw text tables: files, encodings, delimiters, headings. No value is read here."""

import csv
import io
import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from analysis.errors import SeasonError
from analysis.logs.cells import near
from analysis.logs.ledger import Ledger, Place
from analysis.logs.tables import LOGS

TEXT_FILES = (".csv", ".tsv", ".txt")
WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".ods")
GRIDS = ("weights", "egg_weights")
_LONGEST_CELL = 50_000_000


@dataclass(frozen=True)
class RawTable:
    """A log as text. `headings` are plain names where the log knows them, else as written.

    `rows` are (row number as the spreadsheet counts, cells as many as were written); blank rows are left out.
    Where no row names a column, `headings` is empty and every row is in `rows`.
    """

    log: str
    file: str
    sheet: str
    headings: tuple[str, ...]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    assumed: str

    def place(self, number: int, cells: tuple[str, ...], column: str = "") -> Place:
        """Return where a row, or a cell of a grid, was written, with its raw cells."""
        return Place(self.log, self.file, self.sheet, number, " | ".join(cells), column)


def plain_heading(text: str) -> str:
    """Write a heading the way columns are named.

    Examples
    --------
    >>> plain_heading(" Hatched at ")
    'hatched_at'
    """
    return re.sub(r"[\s\-]+", "_", text.strip()).casefold()


def read_folder(folder: Path, ledger: Ledger) -> list[RawTable]:
    """Read every log of a season folder.

    Parameters
    ----------
    folder
        The season folder.
    ledger
        Told of every file that could not be read.

    Returns
    -------
    list of RawTable
        In the order of the logs, then of the files' names.

    Raises
    ------
    SeasonError
        There is no such folder, or no log in it.
    """
    tables = [t for path in _files(folder) if (t := _read_file(path, ledger)) is not None]
    order = list(LOGS)
    return sorted(tables, key=lambda t: (order.index(t.log), t.file))


def _files(folder: Path) -> list[Path]:
    try:
        if not folder.exists():
            raise SeasonError(f"There is no folder {folder}. Check the spelling, or make one with: season new {folder}")
        if not folder.is_dir():
            raise SeasonError(f"{folder} is a file. Name the folder that your logs are in.")
        found = sorted(p for p in folder.iterdir() if p.is_file() and not p.name.startswith(("~$", ".")))
    except OSError as wrong:
        raise SeasonError(f"The folder {folder} cannot be opened ({wrong.strerror}). Check who may read it.") from None
    files = [p for p in found if p.suffix.casefold() in TEXT_FILES + WORKBOOKS]
    if not files:
        raise SeasonError(f"There are no logs in {folder}. Make blank ones to fill in with: season new {folder}")
    return files


def _read_file(path: Path, ledger: Ledger) -> RawTable | None:
    log = plain_heading(path.stem)
    whole = Place(log, path.name, "", None)
    if path.suffix.casefold() in WORKBOOKS:
        ledger.say("workbook-not-read", whole)
    elif log not in LOGS:
        part = next((f" Did you mean {name}?" for name in LOGS if name in log), "")
        ledger.say("unknown-log", whole, logs=", ".join(LOGS), near=near(log, LOGS) or part)
    else:
        return _read_text(path, log, ledger, whole)
    return None


def _read_text(path: Path, log: str, ledger: Ledger, whole: Place) -> RawTable | None:
    try:
        data = path.read_bytes()
    except OSError:
        ledger.say("cannot-open", whole)
        return None
    try:
        text, encoding = _decode(data)
    except UnicodeDecodeError:
        ledger.say("not-text", whole)
        return None
    delimiter = _delimiter(text)
    # an odd number of quotes leaves one open, and it would swallow every row below it
    open_quote = text.count('"') % 2 == 1
    if open_quote:
        ledger.say("open-quote", whole)
    records = _records(text, delimiter, csv.QUOTE_NONE if open_quote else csv.QUOTE_MINIMAL)
    if not records:
        ledger.say("empty-file", whole)
        return None
    name = {"\t": "tab", ",": "comma", ";": "semicolon"}[delimiter]
    how = f"{path.name}: {encoding}, columns parted by {name}"
    top = _heading_row(records, log)
    if top is None:
        return RawTable(log, path.name, "", (), tuple(records), f"{how}, no headings found")
    headings = _headings(records[top][1], log)
    if not records[top + 1 :]:
        ledger.say("no-rows", whole)
    return RawTable(
        log, path.name, "", headings, tuple(records[top + 1 :]), f"{how}, headings in row {records[top][0]}"
    )


def _decode(data: bytes) -> tuple[str, str]:
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return data.decode("utf-16"), "UTF-16"
    if b"\x00" in data:
        raise UnicodeDecodeError("utf-8", b"", 0, 1, "binary")
    try:
        return data.decode("utf-8-sig"), "UTF-8"
    except UnicodeDecodeError:
        return data.decode("cp1252"), "Windows-1252"


def _delimiter(text: str) -> str:
    """Choose by what parts the first rows most evenly; a decimal comma must not win over a semicolon."""
    lines = [line for line in text.splitlines()[:20] if line.strip()]
    counts = {d: Counter(line.count(d) for line in lines) for d in ("\t", ";", ",")}
    steady = {d: max((n for n in c if n), key=lambda n: (c[n], n), default=0) for d, c in counts.items()}
    return max(counts, key=lambda d: (steady[d] > 0, counts[d][steady[d]] if steady[d] else 0))


def _records(text: str, delimiter: str, quoting: int) -> list[tuple[int, tuple[str, ...]]]:
    """Split into rows that hold something, numbered as a spreadsheet counts them."""
    csv.field_size_limit(_LONGEST_CELL)
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, quoting=quoting)  # type: ignore[arg-type]
    numbered = ((n, tuple(cell.strip() for cell in cells)) for n, cells in enumerate(rows, start=1))
    return [(n, cells) for n, cells in numbered if any(cells)]


def _heading_row(records: list[tuple[int, tuple[str, ...]]], log: str) -> int | None:
    """Find the row that names most columns; a title may stand above it.

    Where no row names any, it is the first with more than one cell; unless a date or a number stands in it, which
    only the headings of a grid may have.
    """
    known = {c.name for c in LOGS[log].columns} | {"date", "day"}
    named = [len(known & {plain_heading(c) for c in cells}) for _, cells in records[:10]]
    if max(named) > 0:
        return named.index(max(named))
    first = next((at for at, (_, cells) in enumerate(records[:10]) if sum(map(bool, cells)) > 1), 0)
    if log not in GRIDS and any(_is_value(cell) for cell in records[first][1]):
        return None
    return first


def _is_value(cell: str) -> bool:
    """Tell a date or a number, which no heading is."""
    return bool(re.match(r"\d{4}-\d|[\d.,]+$", cell))


def _headings(cells: tuple[str, ...], log: str) -> tuple[str, ...]:
    known = {c.name for c in LOGS[log].columns}
    return tuple(plain if (plain := plain_heading(c)) in known else c for c in cells)
