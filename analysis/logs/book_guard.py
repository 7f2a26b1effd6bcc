"""Whether a workbook file may be opened at all: whole, not locked, no bomb, no declarations in its XML."""

import re
import struct
import zlib
from collections.abc import Iterator
from copy import copy
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

MOST_BYTES = 600_000_000
"""The most that all parts of a workbook may hold once unpacked."""
MOST_PARTS = 5_000
"""The most parts a workbook may have."""
MOST_CELLS = 30_000_000
"""The most cells in the rectangle from A1 to the last cell in use; a stray cell far off makes it large."""
RATIO, RATIO_FROM_BYTES = 200, 50_000_000
"""A part of `RATIO_FROM_BYTES` or more that was packed more than `RATIO` to one is a bomb."""

OLE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
PIECE = 1 << 20
_TAIL = 32
_LOCKED_OLE = re.compile("EncryptedPackage".encode("utf-16-le") + b"|" + "EncryptionInfo".encode("utf-16-le"))
# A zero byte may stand between the letters: the same mark in UTF-16.
_DECLARES = re.compile(rb"<\0?!\0?(?:D\0?O\0?C\0?T\0?Y\0?P\0?E|E\0?N\0?T\0?I\0?T\0?Y)")


class BookError(ValueError):
    """A workbook that cannot be read; the message is the code of a rule.

    Codes: ``workbook-broken``, ``workbook-locked``, ``workbook-too-big``, ``workbook-unsafe``.

    Examples
    --------
    >>> raise BookError("workbook-locked")
    Traceback (most recent call last):
    ...
    analysis.logs.book_guard.BookError: workbook-locked
    """


def refuse_locked_ole(raw: bytes) -> None:
    """Refuse a workbook that its password turned into another kind of file.

    Examples
    --------
    >>> refuse_locked_ole(OLE + "EncryptedPackage".encode("utf-16-le"))
    Traceback (most recent call last):
    ...
    analysis.logs.book_guard.BookError: workbook-locked
    """
    if _LOCKED_OLE.search(raw):
        raise BookError("workbook-locked")


def opened(raw: bytes) -> ZipFile:
    """The parts of a workbook, each unpacked once in pieces of 1 MB and checked before anything is understood.

    The sizes that the file claims are not believed: every part is counted while it is unpacked, and its
    length and checksum must be what the file says.

    Parameters
    ----------
    raw
        The whole file.

    Raises
    ------
    BookError
        ``workbook-broken``, ``workbook-locked``, ``workbook-too-big`` or ``workbook-unsafe``.

    Examples
    --------
    >>> opened(b"not a workbook")
    Traceback (most recent call last):
    ...
    analysis.logs.book_guard.BookError: workbook-broken
    """
    try:
        archive = ZipFile(BytesIO(raw))
        _check_parts(archive)
        _refuse_locked(archive)
    except (BadZipFile, zlib.error, struct.error, EOFError, OSError, NotImplementedError, UnicodeDecodeError) as error:
        raise BookError("workbook-broken") from error
    return archive


def _check_parts(archive: ZipFile) -> None:
    parts = archive.infolist()
    if len(parts) > MOST_PARTS:
        raise BookError("workbook-too-big")
    if any(part.flag_bits & 1 for part in parts):
        raise BookError("workbook-locked")
    left = MOST_BYTES
    for part in parts:
        left -= _check_part(archive, part, left)


def _check_part(archive: ZipFile, part: ZipInfo, left: int) -> int:
    """The unpacked size of a part, in bytes."""
    size, tail, is_xml = 0, b"", None
    for piece in _unpacked(archive, part):
        size += len(piece)
        if size > left or (size > RATIO_FROM_BYTES and size > RATIO * part.compress_size):
            raise BookError("workbook-too-big")
        is_xml = _is_xml(part.filename, piece) if is_xml is None else is_xml
        if is_xml and _declares(tail + piece[:_TAIL], piece):
            raise BookError("workbook-unsafe")
        tail = piece[-_TAIL:]
    if size != part.file_size:
        raise BookError("workbook-broken")
    return size


def _unpacked(archive: ZipFile, part: ZipInfo) -> Iterator[bytes]:
    """A part in pieces, whatever size it claims: zipfile itself would stop there."""
    if part.compress_type not in (ZIP_STORED, ZIP_DEFLATED):
        raise BookError("workbook-broken")
    unlimited = copy(part)
    unlimited.file_size = MOST_BYTES + PIECE
    with archive.open(unlimited) as stream:
        while piece := stream.read(PIECE):
            yield piece


def _is_xml(name: str, start: bytes) -> bool:
    """Whether a part is XML that a reader may follow; pictures are not."""
    if name.lower().endswith((".xml", ".rels", ".vml")):
        return True
    return start.lstrip(b"\xef\xbb\xbf\xff\xfe\0 \t\r\n").startswith(b"<") and not name.lower().endswith(".svg")


def _declares(*pieces: bytes) -> bool:
    return any((b"<!" in piece or b"<\0!" in piece) and _DECLARES.search(piece) for piece in pieces)


def _refuse_locked(archive: ZipFile) -> None:
    """Refuse an OpenDocument file with a password: its list of parts says which are locked."""
    names = set(archive.namelist())
    if "encrypted-package" in names:
        raise BookError("workbook-locked")
    if "META-INF/manifest.xml" in names and b"encryption-data" in archive.read("META-INF/manifest.xml"):
        raise BookError("workbook-locked")
