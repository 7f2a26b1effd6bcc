"""Whether a workbook file may be opened at all: whole, not locked, no bomb, no declarations in its XML."""

import re
import struct
import zlib
from collections.abc import Callable, Iterator
from copy import copy
from io import BytesIO
from typing import Any
from xml.parsers import expat
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
# A zero byte may stand between the letters: the same mark in UTF-16.
_DECLARES = re.compile(rb"<\0?!\0?(?:D\0?O\0?C\0?T\0?Y\0?P\0?E|E\0?N\0?T\0?I\0?T\0?Y)")


class BookError(ValueError):
    """A workbook that cannot be read; the message is the code of a rule.

    One of ``workbook-broken``, ``workbook-locked``, ``workbook-too-big``, ``workbook-unsafe``.
    """


def opened(raw: bytes) -> ZipFile:
    """The parts of a workbook, each unpacked once in pieces of 1 MB and checked before anything is understood.

    The sizes that the file claims are not believed: every part is counted while it is unpacked, and its
    length and checksum must be what the file says. Raises `BookError`.
    """
    try:
        archive = ZipFile(BytesIO(raw))
        _check_parts(archive)
        names = archive.namelist()
        # an OpenDocument file with a password: its list of parts says which are locked
        locked = "META-INF/manifest.xml" in names and b"encryption-data" in archive.read("META-INF/manifest.xml")
    except (BadZipFile, zlib.error, struct.error, EOFError, OSError, NotImplementedError, UnicodeDecodeError) as error:
        raise BookError("workbook-broken") from error
    if locked or "encrypted-package" in names:
        raise BookError("workbook-locked")
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
        across = tail + piece[:_TAIL]
        if is_xml and any(_DECLARES.search(text) for text in (across, piece) if b"<!" in text or b"<\0!" in text):
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


def walk_xml(
    xml: bytes,
    start: Callable[[str, dict[str, str]], Any],
    characters: Callable[[str], Any],
    end: Callable[[str], Any],
) -> None:
    """Call `start`, `characters` and `end` for every element, its text and its end.

    Raises `BookError` where the XML declares a document type (``workbook-unsafe``) or is not whole.
    """
    parser = expat.ParserCreate()
    parser.buffer_text = True
    parser.StartElementHandler, parser.CharacterDataHandler, parser.EndElementHandler = start, characters, end
    parser.StartDoctypeDeclHandler = _refuse
    try:
        parser.Parse(xml, True)
    except (expat.ExpatError, ValueError) as error:
        raise error if isinstance(error, BookError) else BookError("workbook-broken") from error


def _refuse(*_: object) -> None:
    raise BookError("workbook-unsafe")
