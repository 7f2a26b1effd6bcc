"""What calamine leaves out of an Excel sheet: error cells, and formulas whose result was never stored."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any
from xml.parsers import expat

from analysis.logs.book_guard import MOST_CELLS, BookError


def walk_xml(
    xml: bytes,
    start: Callable[[str, dict[str, str]], Any],
    characters: Callable[[str], Any],
    end: Callable[[str], Any],
) -> None:
    """Call `start`, `characters` and `end` for every element, its text and its end.

    Raises `BookError`: ``workbook-unsafe`` where the XML declares a document type; ``workbook-broken`` where it is not
    whole.
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


Gaps = dict[tuple[int, int], str]
"""(row, column) from 0, and what the cell holds."""

_ENDS_NAME = (b">", b" ", b"/", b"\n", b"\t", b"\r")
_COLUMN = re.compile(rb' r="([A-Z]+)[0-9]')
_REFERENCE = re.compile(rb' r="([A-Z]*)([0-9]+)"')
_FAR_DOWN = re.compile(rb' r="[A-Z]*[0-9]{7}')


def excel_gaps(sheet: bytes) -> Gaps:
    """Cells of a sheet that calamine hands on as blank although something is there.

    An error cell gives its error; a formula without a stored result gives the formula. Only the cells that a quick
    search finds are walked; the whole XML only where the used cells may spread too far. Raises `BookError`:
    ``workbook-too-big`` where the cells in use spread over more than `MOST_CELLS`; ``workbook-broken``.
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
    width = max(map(column_number, set(letters)), default=0)
    height = 10**7 if _FAR_DOWN.search(sheet) else 10**6
    if width * height <= MOST_CELLS:
        return False
    return width * max((int(row) for _, row in _REFERENCE.findall(sheet)), default=0) > MOST_CELLS


def column_number(letters: bytes) -> int:
    """A column's number from 1."""
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
            self.row, self.column = int(address[len(letters) :]), column_number(letters.encode())
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
