"""A season folder → sheets of text. No heading and no value is understood here, but for one setting."""

import codecs
import csv
import io
import re
import stat
from collections import Counter
from pathlib import Path

from analysis.errors import SeasonError
from analysis.finding import Finding, found
from analysis.logs.book import read_book
from analysis.logs.book_guard import BookError
from analysis.logs.headings import folded
from analysis.logs.ledger import Ledger, Place
from analysis.logs.sheets import STRAY, Sheet, TextRows, by_column, is_binary, with_stray, without_stray
from analysis.logs.understand import settings_sheets
from analysis.say import say

TEXT_FILES = (".csv", ".tsv", ".txt")
WORKBOOKS = (".xlsx", ".xlsm", ".xls", ".ods")
LARGE = 50_000_000
"""Bytes of a text file that is read only where the settings say so: a million weighings are 24 MB, and a file of
nonsense takes 16 times its size in memory (tests/prove_hostile.py)."""
_SAMPLE = 1_000_000  # bytes by which the lines of a large file are judged
_KINDS = (
    (stat.S_ISDIR, found("problems.a-folder")),
    (stat.S_ISFIFO, found("problems.a-pipe")),
    (stat.S_ISSOCK, found("problems.a-socket")),
)
DELIMITERS = {",": found("logs.comma"), ";": found("logs.semicolon"), "\t": found("logs.tab"), "|": found("logs.bar")}
_SLIPS = found("logs.utf-8-and-1252")
_LONGEST_CELL = 50_000_000
_LOOK_AT = 50  # lines are enough to tell the delimiter
_NOT_IN_1252 = bytes.fromhex("81 8d 8f 90 9d")
# letters with accents in Mac Roman that are signs or rare capitals in Windows-1252
_MAC_LETTERS = bytes.fromhex("80 83 85 86 87 88 89 8a 8b 8e 91 92 93 94 95 96 97 98 99 9a 9f")
_MOST_BEYOND = 0.3  # of the bytes of a western text are beyond ASCII


def read_folder(folder: Path, ledger: Ledger) -> list[Sheet]:
    """Read every file of a season folder that may hold logs, in the order of their names, then of the sheets.

    The ledger is told of every file that could not be read. Raises `SeasonError` where there is no folder, or no log.
    """
    paths = _files(folder)
    large = [path for path in paths if _is_large(path)]
    sheets = [sheet for path in paths if path not in large for sheet in _read_file(path, ledger)]
    if not large:
        return sheets
    if _large_wanted(sheets):
        sheets += [sheet for path in large for sheet in _read_file(path, ledger)]
        order = [path.name for path in paths]
        return sorted(sheets, key=lambda sheet: order.index(sheet.file))
    for path in large:
        ledger.refuse("large-log", path.name, _lines_about(path))
    return sheets


def _files(folder: Path) -> list[Path]:
    try:
        if not folder.exists():
            raise SeasonError(say("logs.no-folder", folder=str(folder)))
        if not folder.is_dir():
            raise SeasonError(say("logs.no-folder-but-a-file", folder=str(folder)))
        there = sorted(p for p in folder.iterdir() if not p.name.startswith(("~$", ".")))
    except OSError as wrong:
        raise SeasonError(say("logs.folder-closed", folder=str(folder), why=wrong.strerror)) from None
    files = [p for p in there if p.suffix.casefold() in TEXT_FILES + WORKBOOKS]
    if not files:
        raise SeasonError(say("logs.no-logs", folder=str(folder)))
    return files


def _read_file(path: Path, ledger: Ledger) -> list[Sheet]:
    whole = Place(path.stem, path.name, "", None)
    if what := _no_file(path):
        ledger.refuse("no-plain-file", path.name, what=what)
        return []
    try:
        if path.suffix.casefold() in WORKBOOKS:
            sheets = read_book(path)
            for refused in [sheet for sheet in sheets if sheet.refused]:
                ledger.refuse(refused.refused, path.name, sheet=refused.name)
            return [sheet for sheet in sheets if not sheet.refused]
        sheet, codes = read_text(path.read_bytes(), path.name)
    except OSError:
        ledger.refuse("cannot-open", path.name)
    except NotText:
        ledger.refuse("not-text", path.name, _lines_about(path))
    except BookError as wrong:
        ledger.refuse(str(wrong), path.name)
    else:
        for code in codes:
            ledger.say(code, whole)
        return [sheet]
    return []


def _no_file(path: Path) -> Finding | None:
    """Return what something is that is no plain file, and would never end or never begin; None where it is one."""
    try:
        mode = path.stat().st_mode
    except OSError:
        return found("problems.a-dead-link") if path.is_symlink() else None
    device = found("problems.a-device")
    return None if stat.S_ISREG(mode) else next((what for is_so, what in _KINDS if is_so(mode)), device)


def _is_large(path: Path) -> bool:
    try:
        return path.suffix.casefold() in TEXT_FILES and path.stat().st_size > LARGE
    except OSError:
        return False


def _large_wanted(sheets: list[Sheet]) -> bool:
    """Tell whether the settings say yes to large logs; they are read for good once all sheets are there."""
    rows = (list(map(folded, cells)) for sheet in settings_sheets(sheets) for _, cells in sheet.rows)
    return any("large logs" in cells and "yes" in cells for cells in rows)


def _lines_about(path: Path) -> int | None:
    """Return how many lines that hold something a file seems to have, by its first megabyte; None if it is gone."""
    try:
        with path.open("rb") as file:
            start = file.read(_SAMPLE)
        return round(sum(map(bool, start.splitlines())) * path.stat().st_size / max(len(start), 1))
    except OSError:
        return None


class NotText(ValueError):
    """The bytes are no text."""


def read_text(data: bytes, file: str) -> tuple[Sheet, list[str]]:
    """Read a text file of any make; also return codes about the whole file: "open-quote", "mixed-encodings".

    Raises `NotText` where the file is no text.
    """
    text, encoding = _decode(data)
    plain, text = text, with_stray(text)
    if STRAY in text and (is_binary(plain) or not text.replace(STRAY, "").strip()):
        raise NotText(file)
    codes = ["mixed-encodings"] if encoding == _SLIPS else []
    named = re.match(r"sep=(.)(?:\r\n|\r|\n)", text, re.IGNORECASE)  # a first line that spreadsheets do not show
    text = text[named.end() :] if named else text
    delimiter = named[1] if named else delimiter_of(text)
    # an odd number of quotes leaves one open, and it would swallow every row below it
    open_quote = text.count('"') % 2 == 1
    codes += ["open-quote"] if open_quote else []
    rows = _records(text, delimiter, csv.QUOTE_NONE if open_quote else csv.QUOTE_MINIMAL)
    if '"' in text and not open_quote and _swallowed_rows(rows, delimiter):
        codes.append("open-quote")
        rows = _records(text, delimiter, csv.QUOTE_NONE)
    how = found("logs.text", encoding=encoding, sign=DELIMITERS.get(delimiter, delimiter))
    rows, marred = without_stray(rows)
    return Sheet(file, "", rows, how, marred), codes


def _swallowed_rows(rows: TextRows, delimiter: str) -> bool:
    """Tell whether two stray quotes made one cell of the rows between them: a line in a cell is as long as a row."""
    widths = Counter(len(cells) for _, cells in rows[:_LOOK_AT])
    width = max(widths, key=lambda n: (widths[n], -n), default=0)
    cells = (text for column in rows.columns for text in column.texts)
    broken = (cell.splitlines() for cell in cells if "\n" in cell or "\r" in cell)
    return width > 1 and any(line.count(delimiter) >= width - 1 for lines in broken for line in lines[1:])


def _decode(data: bytes) -> tuple[str, Finding]:
    try:
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return data.decode("utf-16", errors="stray"), found("logs.utf-16")
        if b"\x00" in data and (order := _utf_16_order(data)):
            return data.decode(order, errors="stray"), found("logs.utf-16-unmarked")
        return data.decode("utf-8-sig"), found("logs.utf-8")
    except UnicodeDecodeError:
        pass
    return _utf_8_with_slips(data) or _eight_bit(data)


def _utf_16_order(data: bytes) -> str:
    """Every second byte of western text is zero; which one tells the order of the bytes. Blank where it is not so."""
    head = data[:2000]
    zeros = (head[0::2].count(0), head[1::2].count(0))
    if max(zeros) < 0.4 * len(head) / 2 or min(zeros) > 0.05 * len(head) / 2:
        return ""
    return "utf-16-le" if zeros[1] > zeros[0] else "utf-16-be"


def _utf_8_with_slips(data: bytes) -> tuple[str, Finding] | None:
    """Where most letters beyond ASCII are UTF-8, the few bytes that are not were pasted from elsewhere."""
    strict = data.decode("utf-8", errors="ignore")
    good = sum(not c.isascii() for c in strict)
    bad = len(data) - len(strict.encode("utf-8"))
    if bad >= good:
        return None
    return data.decode("utf-8-sig", errors="byte_by_byte"), _SLIPS


def _one_byte(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeDecodeError)
    byte = error.object[error.start : error.start + 1]
    return byte.decode("cp1252", errors="replace"), error.start + 1


def _as_stray(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeDecodeError)
    return STRAY, error.end


codecs.register_error("byte_by_byte", _one_byte)
codecs.register_error("stray", _as_stray)


def _eight_bit(data: bytes) -> tuple[str, Finding]:
    """Windows-1252, unless only Mac Roman can be meant: bytes that Windows lacks, or old Mac line ends and letters."""
    old_mac = b"\r" in data and b"\n" not in data
    letters = sum(data.count(bytes((byte,))) for byte in _MAC_LETTERS)
    beyond = sum(byte > 0x7F for byte in data)
    lacks = any(byte in data for byte in _NOT_IN_1252)
    if lacks and beyond > _MOST_BEYOND * len(data):
        raise NotText
    if lacks or (old_mac and letters > beyond / 2):
        return data.decode("mac_roman"), found("logs.mac-roman")
    return data.decode("cp1252"), found("logs.windows-1252")


def delimiter_of(text: str) -> str:
    """Choose by what parts the first rows most evenly; a decimal comma must not win over a semicolon."""
    head = re.sub(r'"[^"]*"', "", text[:100_000])
    lines = [line for line in re.split(r"\r\n|\r|\n", head)[:_LOOK_AT] if line.strip() and not line.startswith("#")]
    counts = {d: Counter(line.count(d) for line in lines) for d in ("\t", ";", "|", ",")}
    steady = {d: max((n for n in c if n), key=lambda n: (c[n], n), default=0) for d, c in counts.items()}
    return max(counts, key=lambda d: (steady[d] > 0, counts[d][steady[d]] if steady[d] else 0))


def _records(text: str, delimiter: str, quoting: int) -> TextRows:
    csv.field_size_limit(_LONGEST_CELL)
    rows = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, quoting=quoting)  # type: ignore[arg-type]
    return by_column(rows, most_rows=max(map(text.count, "\r\n")) + 1)
