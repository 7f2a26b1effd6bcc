"""The error cells of an old Excel workbook (.xls), which calamine leaves out.

xlrd finds them in a third of the lines, but refuses some whole files, and lets cells through on which calamine ends the
whole process.

Source: Microsoft, [MS-CFB] for the file around it, [MS-XLS] 2.4.24 BoolErr and 2.4.127 Formula for the cells.
"""

import struct
from collections.abc import Iterator

from analysis.logs.book_guard import BookError
from analysis.logs.book_xlsx import Gaps

_ERRORS = {0: "#NULL!", 7: "#DIV/0!", 15: "#VALUE!", 23: "#REF!", 29: "#NAME?", 36: "#NUM!", 42: "#N/A"}
_FORMULA, _END, _PASSWORD, _SHEET, _BOOL_OR_ERROR, _START = 0x0006, 0x000A, 0x002F, 0x0085, 0x0205, 0x0809
_SIZE, _MANY_NUMBERS = 0x0200, 0x00BD
_CELLS = (_FORMULA, _BOOL_OR_ERROR, _MANY_NUMBERS, 0x00D6, 0x00FD, 0x0203, 0x0204, 0x027E)
_SMALL_STREAM = 4096
_RESERVED, _LAST = 0xFFFFFFFA, 0xFFFFFFFE


def xls_gaps(raw: bytes) -> list[Gaps]:
    """For every sheet, in the workbook's order, its error cells.

    Parameters
    ----------
    raw
        The whole file.

    Raises
    ------
    BookError
        ``workbook-locked`` (a password), ``workbook-broken``.

    Examples
    --------
    >>> xls_gaps(b"not a workbook")
    Traceback (most recent call last):
    ...
    analysis.logs.book_guard.BookError: workbook-broken
    """
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
            first, size = struct.unpack_from("<II", directory, at + 116)
            entries.setdefault(name, (first, size))
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
