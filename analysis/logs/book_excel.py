"""What calamine leaves out of an Excel workbook: error cells, and formulas whose result was never stored.

Of an old one (.xls) the errors only: xlrd finds them in a third of the lines, but refuses some whole files, and lets
cells through on which calamine ends the whole process.

Source: Microsoft, [MS-CFB] for the file around an old one, [MS-XLS] 2.4.24 BoolErr and 2.4.127 Formula for its cells.
"""

import re
import struct
from collections.abc import Iterator
from dataclasses import dataclass, field

from analysis.logs.book_guard import MOST_CELLS, BookError, walk_xml

Gaps = dict[tuple[int, int], str]
"""(row, column) from 0, and what the cell holds."""

_ENDS_NAME = (b">", b" ", b"/", b"\n", b"\t", b"\r")
_COLUMN = re.compile(rb' r="([A-Z]+)[0-9]')
_REFERENCE = re.compile(rb' r="([A-Z]*)([0-9]+)"')
_FAR_DOWN = re.compile(rb' r="[A-Z]*[0-9]{7}')
# an old workbook: what its error cells hold, the kinds of its records, and its sectors
_ERRORS = {0: "#NULL!", 7: "#DIV/0!", 15: "#VALUE!", 23: "#REF!", 29: "#NAME?", 36: "#NUM!", 42: "#N/A"}
_FORMULA, _END, _PASSWORD, _SHEET, _BOOL_OR_ERROR, _START = 0x0006, 0x000A, 0x002F, 0x0085, 0x0205, 0x0809
_SIZE, _MANY_NUMBERS = 0x0200, 0x00BD
_CELLS = (_FORMULA, _BOOL_OR_ERROR, _MANY_NUMBERS, 0x00D6, 0x00FD, 0x0203, 0x0204, 0x027E)
_SMALL_STREAM = 4096
_LOCKED = re.compile("EncryptedPackage".encode("utf-16-le") + b"|" + "EncryptionInfo".encode("utf-16-le"))
_RESERVED, _LAST = 0xFFFFFFFA, 0xFFFFFFFE


def excel_gaps(sheet: bytes) -> Gaps:
    """Cells of a sheet that calamine hands on as blank although something is there.

    An error cell gives its error; a formula without a stored result gives the formula. Only the cells that a quick
    search finds are walked; the whole XML only where the used cells may spread too far, which is ``workbook-too-big``.
    """
    if not spreads_far(sheet):
        try:
            return _walked(b"<row>" + b"".join(_concerned(sheet)) + b"</row>").gaps
        except BookError:
            pass  # an unusual order of things, or damage: the whole sheet tells which
    walk = _walked(sheet)
    if walk.last_row * walk.last_column > MOST_CELLS:
        raise BookError("workbook-too-big")
    return walk.gaps


def _concerned(sheet: bytes) -> Iterator[bytes]:
    """The XML of each cell that may hold an error or a formula."""
    done = 0
    for at in _marks(sheet):
        start = sheet.rfind(b"<c ", done, at)
        end = sheet.find(b"</c>", at) + 4
        if start >= 0 and end >= 4:
            yield sheet[start:end]
            done = end


def _marks(sheet: bytes) -> Iterator[int]:
    """Where an error or a formula may be, in order."""
    error, formula = sheet.find(b'"e"'), sheet.find(b"<f")
    while error >= 0 or formula >= 0:
        if formula < 0 or 0 <= error < formula:
            yield error
            error = sheet.find(b'"e"', error + 3)
        else:
            if sheet[formula + 2 : formula + 3] in _ENDS_NAME:
                yield formula
            formula = sheet.find(b"<f", formula + 2)


def spreads_far(sheet: bytes) -> bool:
    """Tell whether the rectangle of cells may be too large: never wrongly no."""
    letters = _COLUMN.findall(sheet)
    if len(letters) != sheet.count(b"<c ") + sheet.count(b"<c>"):
        return True  # cells without an address, names with a prefix, other quotes: only a walk tells
    width = max(map(_column_number, set(letters)), default=0)
    height = 10**7 if _FAR_DOWN.search(sheet) else 10**6
    if width * height <= MOST_CELLS:
        return False
    return width * max((int(row) for _, row in _REFERENCE.findall(sheet)), default=0) > MOST_CELLS


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = 26 * number + letter - 64
    return number


@dataclass
class _Walk:
    gaps: Gaps = field(default_factory=dict)
    last_row: int = 0
    last_column: int = 0
    row: int = 0
    column: int = 0
    kind: str = ""
    inside: str = ""
    formula: dict[str, str] | None = None
    text: dict[str, str] = field(default_factory=dict)
    shared: dict[str, tuple[str, int, int]] = field(default_factory=dict)

    def start(self, name: str, attributes: dict[str, str]) -> None:
        name = name.rpartition(":")[2]
        if name == "row":
            self.row, self.column = int(attributes.get("r", self.row + 1)), 0
        elif name == "c":
            self._start_cell(attributes)
        elif name in ("v", "f", "is"):
            self.inside, self.text[name] = name, ""
            if name == "f":
                self.formula = attributes

    def _start_cell(self, attributes: dict[str, str]) -> None:
        address = attributes.get("r", "")
        self.column += 1
        if address:
            letters = address.rstrip("0123456789")
            self.row, self.column = int(address[len(letters) :]), _column_number(letters.encode())
        self.kind, self.text, self.formula = attributes.get("t", ""), {}, None

    def characters(self, text: str) -> None:
        if self.inside:
            self.text[self.inside] += text

    def end(self, name: str) -> None:
        name = name.rpartition(":")[2]
        if name in ("v", "f", "is"):
            self.inside = ""
        elif name == "c":
            self._end_cell()

    def _end_cell(self) -> None:
        if self.text:
            self.last_row, self.last_column = max(self.last_row, self.row), max(self.last_column, self.column)
        formula = self._formula() if self.formula is not None else ""
        value = self.text.get("v", "").strip()
        here = self.row - 1, self.column - 1
        if self.kind == "e":
            self.gaps[here] = value or formula or "#N/A"
        elif formula and not value and self.kind != "str":  # "str" with nothing in it: the result is no text
            self.gaps[here] = formula

    def _formula(self) -> str:
        assert self.formula is not None
        text, key = self.text.get("f", "").strip(), self.formula.get("si", "")
        if self.formula.get("t") == "shared" and text:
            self.shared[key] = text, self.row, self.column
        elif not text and key in self.shared:
            return _moved(*self.shared[key], self.row, self.column)
        return "=" + text


def _moved(text: str, from_row: int, from_column: int, row: int, column: int) -> str:
    """A formula filled down or across, as it reads where it stands."""
    from openpyxl.formula.translate import Translator
    from openpyxl.utils import get_column_letter

    origin, here = f"{get_column_letter(from_column)}{from_row}", f"{get_column_letter(column)}{row}"
    return str(Translator("=" + text, origin=origin).translate_formula(here))


def _walked(sheet: bytes) -> _Walk:
    walk = _Walk()
    walk_xml(sheet, walk.start, walk.characters, walk.end)
    return walk


def xls_gaps(raw: bytes) -> list[Gaps]:
    """For every sheet of an old workbook its error cells. Raises `BookError`."""
    if _LOCKED.search(raw):
        raise BookError("workbook-locked")
    try:
        book = _stream(raw)
        about = list(_records(book, 0))
        if any(kind == _PASSWORD for kind, _ in about):
            raise BookError("workbook-locked")
        starts = [int.from_bytes(body[:4], "little") for kind, body in about if kind == _SHEET]
        return [_errors(book, start) for start in starts]
    except (struct.error, IndexError) as error:
        raise BookError("workbook-broken") from error


def _errors(book: bytes, start: int) -> Gaps:
    gaps: Gaps = {}
    for kind, body in _records(book, start):
        _refuse_far_cells(kind, body)
        if kind == _BOOL_OR_ERROR:
            row, column, _, value, is_error = struct.unpack_from("<HHHBB", body)
        elif kind == _FORMULA:
            row, column, _, what, _, value, mark = struct.unpack_from("<HHHBBB3xH", body)
            is_error = mark == 0xFFFF and what == 2
        else:
            continue
        if is_error:
            gaps[row, column] = _ERRORS.get(value, "#N/A")
    return gaps


def _refuse_far_cells(kind: int, body: bytes) -> None:
    """A place beyond the format's 65536 rows and 256 columns is damage, and calamine would make room for it."""
    if kind == _SIZE:
        first, rows, _, columns = struct.unpack_from("<IIHH" if len(body) == 14 else "<HHHH", body)
        far = rows > 65536 or columns > 256 or first > rows
    elif kind in _CELLS:
        many = (len(body) - 6) // 6 if kind == _MANY_NUMBERS else 1
        far = struct.unpack_from("<2xH", body)[0] + many > 256
    else:
        return
    if far:
        raise BookError("workbook-broken")


def _records(book: bytes, at: int) -> Iterator[tuple[int, bytes]]:
    """The records of one sheet, or of the workbook's own part at 0; a chart inside a sheet is passed over."""
    depth = 0
    while at + 4 <= len(book):
        kind, length = struct.unpack_from("<HH", book, at)
        depth += (kind == _START) - (kind == _END)
        if depth <= 0:
            return
        if depth == 1:
            yield kind, book[at + 4 : at + 4 + length]
        at += 4 + length


def _stream(raw: bytes) -> bytes:
    """The workbook inside the file around it, put together from its sectors; calamine follows the same ones."""
    file = _Sectors(raw)
    entry = file.entries.get("Workbook") or file.entries.get("Book")
    if entry is None:
        raise BookError("workbook-broken")
    first, length = entry
    pieces, small = file.small()
    if length >= _SMALL_STREAM:
        return file.whole(first)[:length]
    return b"".join(small[64 * piece : 64 * piece + 64] for piece in _chain(first, pieces))[:length]


class _Sectors:
    """A compound file: a table says which sector follows which, a directory where each stream begins."""

    def __init__(self, raw: bytes) -> None:
        self.raw = raw
        shift = struct.unpack_from("<H", raw, 30)[0]
        if shift not in (9, 12) or struct.unpack_from("<I", raw, 44)[0] > len(raw) >> shift:
            raise BookError("workbook-broken")
        self.size = 512 if shift == 9 else 4096
        self.count = len(raw) // self.size
        self.follows = _numbers(b"".join(self.sector(number) for number in self._table_sectors()))
        self.entries = self._entries(self.whole(struct.unpack_from("<I", raw, 48)[0]))

    def sector(self, number: int) -> bytes:
        return self.raw[(number + 1) * self.size : (number + 2) * self.size]

    def whole(self, first: int) -> bytes:
        return b"".join(map(self.sector, _chain(first, self.follows)))

    def small(self) -> tuple[list[int], bytes]:
        """What follows what in the stream that holds the small streams, 64 bytes a piece, and that stream."""
        first, sectors = struct.unpack_from("<II", self.raw, 60)
        if not sectors:
            return [], b""
        return _numbers(self.whole(first)), self.whole(next(iter(self.entries.values()))[0])

    def _table_sectors(self) -> list[int]:
        """Where the table is: the first 109 sectors stand in the head, more in sectors that follow each other."""
        listed, more = _numbers(self.raw[76:512]), struct.unpack_from("<I", self.raw, 68)[0]
        while more < _RESERVED:
            if more >= self.count or len(listed) > self.count + 256:
                raise BookError("workbook-broken")
            *some, more = _numbers(self.sector(more))
            listed += some
        return [number for number in listed if number < self.count]

    @staticmethod
    def _entries(directory: bytes) -> dict[str, tuple[int, int]]:
        entries: dict[str, tuple[int, int]] = {}
        for at in range(0, len(directory) - 127, 128):
            length = max(0, struct.unpack_from("<H", directory, at + 64)[0] - 2)
            name = directory[at : at + length].decode("utf-16-le", "replace")
            entries.setdefault(name, struct.unpack_from("<II", directory, at + 116))
        return entries


def _numbers(data: bytes) -> list[int]:
    return list(struct.unpack(f"<{len(data) // 4}I", data[: len(data) // 4 * 4]))


def _chain(number: int, follows: list[int]) -> Iterator[int]:
    """The numbers from one on; a chain that bites its tail would have calamine fill all memory."""
    for _ in range(len(follows) + 1):
        if number == _LAST:
            return
        if number >= len(follows):
            break
        yield number
        number = follows[number]
    raise BookError("workbook-broken")
