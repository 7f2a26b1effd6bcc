"""Walks the XML of a workbook part; anything but plain elements and text is refused."""

from collections.abc import Callable
from typing import Any
from xml.parsers import expat

from analysis.logs.book_guard import BookError


def walk_xml(
    xml: bytes,
    start: Callable[[str, dict[str, str]], Any],
    characters: Callable[[str], Any],
    end: Callable[[str], Any],
) -> None:
    """Call `start`, `characters` and `end` for every element, its text and its end.

    Raises
    ------
    BookError
        ``workbook-unsafe`` where the XML declares a document type; ``workbook-broken`` where it is not whole.

    Examples
    --------
    >>> walk_xml(b"<a><b/>text</a>", lambda name, attributes: print(name), print, lambda name: print("/", name))
    a
    b
    / b
    text
    / a
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
