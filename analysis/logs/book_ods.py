"""What calamine leaves out of an OpenDocument workbook: error cells, formulas without a result, covered cells."""

import re
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal

from analysis.logs.book_excel import Gaps
from analysis.logs.book_guard import MOST_CELLS, BookError, walk_xml
from analysis.logs.sheets import Exact

MOST_ROWS, MOST_COLUMNS = 1_048_576, 16_384
_CELLS = ("table:table-cell", "table:covered-table-cell")
_VALUES = ("office:value", "office:string-value", "office:date-value", "office:time-value", "office:boolean-value")
_SHOWS_ERROR = re.compile(r"#[A-Z][A-Z0-9_/]*[!?]?|#N/A|Err:\d+")
_WORTH_A_WALK = (b"table:formula=", b'value-type="error"', b"<!")
_COVERED = re.compile(rb"<table:covered-table-cell[^>]*value")
_LONG_TIME = re.compile(r"(-?)PT(\d+)H(\d+)M([\d.]+)S")
_HAS_LONG_TIME = re.compile(rb'office:time-value="(?:-|PT(?:2[4-9]|[3-9]\d|\d{3,})H)')
_PERHAPS_WORTH_A_WALK = ((b"<table:covered", _COVERED), (b"office:time-value", _HAS_LONG_TIME))
_ROWS_REPEATED = re.compile(rb"""table:number-rows-repeated\s*=\s*["'](\d+)["']""")
_COLUMNS_REPEATED = re.compile(rb"""table:number-columns-repeated\s*=\s*["'](\d+)["']""")
_TABLE = re.compile(rb"<table:table[\s>]")


def as_text(value: float | date | time | timedelta) -> str:
    """A value that a spreadsheet knows, as text; whole seconds, and 15 digits as a spreadsheet shows them."""
    if isinstance(value, (int, float)):
        if value == int(value) and abs(value) < 1e16:
            return Exact(int(value))
        text = f"{value:.15g}"
        return Exact(f"{Decimal(text):f}" if "e" in text and 1e-15 < abs(value) < 1e21 else text)
    if isinstance(value, datetime):
        value = (value + timedelta(milliseconds=500)).replace(microsecond=0)
        smallest = "seconds" if value.second else "minutes"
        day_time = "" if value.time() == time() else " " + value.time().isoformat(smallest)
        return Exact(value.date().isoformat() + day_time)
    if isinstance(value, date):
        return Exact(value.isoformat())
    if isinstance(value, time):
        seconds = round(3600 * value.hour + 60 * value.minute + value.second + value.microsecond / 1e6)
        return clock(seconds % 86400)
    return clock(round(value.total_seconds()))


def clock(seconds: int) -> str:
    """A time of day or a length of time, without seconds where they are 0."""
    minutes, second = divmod(abs(seconds), 60)
    text = f"{minutes // 60:02d}:{minutes % 60:02d}" + (f":{second:02d}" if second else "")
    return f"-{text}" if seconds < 0 else text


def ods_gaps(content: bytes) -> list[Gaps]:
    """For every sheet the cells that calamine hands on as blank, or as a number that is none.

    An error cell gives its error, a formula without a stored result gives the formula as OpenDocument writes it, a cell
    that a merged cell covers gives a blank. Walked only where a quick search finds any of these. Raises `BookError`.
    """
    if not (
        spreads_far(content)
        or any(mark in content for mark in _WORTH_A_WALK)
        or any(mark in content and where.search(content) for mark, where in _PERHAPS_WORTH_A_WALK)
    ):
        return []
    walk = _Walk()
    walk_xml(content, walk.start, walk.characters, walk.end)
    if walk.area > MOST_CELLS:
        raise BookError("workbook-too-big")
    return walk.sheets


def spreads_far(content: bytes) -> bool:
    """Tell whether the rectangles of cells may be too large together: never wrongly no."""
    area = 0
    for table in _TABLE.finditer(content):
        end = content.find(b"</table:table>", table.end())
        if end < 0:  # calamine would look for the end for ever
            raise BookError("workbook-broken")
        area += _area(content, table.end(), end)
    return area > MOST_CELLS


def _area(content: bytes, start: int, table_end: int) -> int:
    """The cells of a table from A1 to the last one in use, or more. Searched in place: a copy takes as long."""
    rows = last = widest = 0
    row = content.find(b"<table:table-row", start, table_end)
    while row >= 0:
        after = content.find(b"<table:table-row", row + 16, table_end)
        end = after if after >= 0 else table_end
        rows += _row_times(content, row, end)
        if _filled(content, row, end):
            last = rows
            widest = max(widest, _width(content, row, end))
        row = after
    return last * widest


def _row_times(content: bytes, start: int, end: int) -> int:
    end = content.find(b"<", start + 1, end)
    if content.find(b"rows-repeated", start, end) < 0:
        return 1
    times = _ROWS_REPEATED.search(content, start, end)
    return int(times[1]) if times else MOST_ROWS


def _filled(content: bytes, start: int, end: int) -> bool:
    """Whether any cell from `start` to `end` holds something."""
    find = content.find
    return find(b"office:", start, end) >= 0 or find(b":formula", start, end) >= 0 or find(b"<text", start, end) >= 0


def _width(content: bytes, start: int, end: int) -> int:
    """A row's width or more: its elements, and the repeats but for the blank rest up to the sheet's edge."""
    tail = content.rfind(b"<table:table-cell", start, end)
    if tail >= 0 and not _filled(content, tail, end):
        end = tail
    if content.find(b"columns-repeated", start, end) < 0:
        return content.count(b"<", start, end)
    repeats = _COLUMNS_REPEATED.findall(content, start, end)
    if len(repeats) < content.count(b"columns-repeated", start, end):
        return MOST_COLUMNS
    return content.count(b"<", start, end) + sum(map(int, repeats))


@dataclass
class _Walk:
    sheets: list[Gaps] = field(default_factory=list)
    area: int = 0
    row: int = 0
    row_times: int = 1
    column: int = 0
    last: int = 0
    widest: int = 0
    cell: dict[str, str] | None = None
    cell_name: str = ""
    texts: list[str] = field(default_factory=list)
    skip: int = 0
    row_gaps: list[tuple[int, int, str]] = field(default_factory=list)

    def start(self, name: str, attributes: dict[str, str]) -> None:
        if self.skip or name == "office:annotation":
            self.skip += 1
        elif name == "table:table":
            self.sheets.append({})
            self.row = self.last = self.widest = 0
        elif name == "table:table-row":
            self.row_times = _times(attributes, "table:number-rows-repeated", MOST_ROWS - self.row)
            self.column, self.row_gaps = 0, []
        elif name in _CELLS and self.sheets:
            self.cell, self.cell_name, self.texts = attributes, name, []
        elif name == "text:p":
            self.texts.append("")

    def characters(self, text: str) -> None:
        if self.texts and not self.skip:
            self.texts[-1] += text

    def end(self, name: str) -> None:
        if self.skip:
            self.skip -= 1
        elif name in _CELLS and self.cell is not None:
            self._end_cell(self.cell)
            self.cell = None
        elif name == "table:table-row":
            self._end_row()
        elif name == "table:table":
            self.area += self.last * self.widest
            if self.area > MOST_CELLS:
                raise BookError("workbook-too-big")

    def _end_cell(self, cell: dict[str, str]) -> None:
        times = _times(cell, "table:number-columns-repeated", MOST_COLUMNS - self.column)
        filled = bool(self.texts) or "table:formula" in cell or any(key in cell for key in _VALUES)
        if filled:
            self.last, self.widest = self.row + self.row_times, max(self.widest, self.column + times)
            gap = "" if self.cell_name == _CELLS[1] else _gap(cell, self.texts)
            if gap is not None:
                self.row_gaps.append((self.column, times, gap))
        self.column += times

    def _end_row(self) -> None:
        if sum(times for _, times, _ in self.row_gaps) * self.row_times > MOST_CELLS // 10:
            raise BookError("workbook-too-big")
        for column, times, gap in self.row_gaps:
            for row in range(self.row, self.row + self.row_times):
                self.sheets[-1].update(((row, at), gap) for at in range(column, column + times))
        self.row += self.row_times


def _times(attributes: dict[str, str], name: str, most: int) -> int:
    return max(0, min(int(attributes.get(name, "1")), most))


def _gap(cell: dict[str, str], texts: list[str]) -> str | None:
    """What a filled cell holds where calamine gets it wrong; None where it is right."""
    text, formula = "\n".join(texts).strip(), cell.get("table:formula", "")
    if cell.get("calcext:value-type") == "error":
        return text or "#N/A"
    if formula and _SHOWS_ERROR.fullmatch(text):
        return text
    long = _LONG_TIME.fullmatch(cell.get("office:time-value", ""))
    if long and (long[1] or int(long[2]) >= 24):
        return long[1] + clock(3600 * int(long[2]) + 60 * int(long[3]) + round(float(long[4])))
    if formula and not texts and not any(key in cell for key in _VALUES):
        return formula[formula.find("=") :]
    return None
