"""A workbook as sheets of text: every sheet, every row, every cell where the spreadsheet has it."""

from collections.abc import Callable
from io import BytesIO
from pathlib import Path, PurePosixPath
from posixpath import normpath
from typing import Any
from xml.etree import ElementTree
from zipfile import ZipFile

from analysis.finding import found
from analysis.logs.book_excel import Gaps, excel_gaps, xls_gaps
from analysis.logs.book_guard import MOST_BYTES, OLE, BookError, opened
from analysis.logs.book_ods import as_text, ods_gaps
from analysis.logs.sheets import Sheet, TextRows, Unworked, by_column, with_stray, without_stray

_FLAG = {True: "TRUE", False: "FALSE"}
_WORKSHEETS = ("WorkSheet", "MacroSheet")


def read_book(path: Path) -> list[Sheet]:
    """Read every sheet of a workbook, in its order, also those that are empty or hidden.

    A cell is text without outer blanks. Numbers and dates that the spreadsheet knows as such are `Exact`: "12",
    "12.5", "2026-04-03", "2026-04-03 06:30". A time or a length of time is "06:30", yes and no are "TRUE" and
    "FALSE", an error is "#DIV/0!", a formula whose result was never stored is the formula, "=A1+B2". Otherwise a
    formula gives its last result. Of a merged cell the value stands in the top left. Hidden rows and columns count.

    What the file is, is known by what is in it. One of several sheets that spreads too far to be laid out is `refused`
    as ``sheet-too-large``. Raises `BookError`: ``workbook-broken``, ``workbook-locked``, ``workbook-too-big``,
    ``workbook-unsafe``.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BookError("workbook-too-big")
        return _read(path.name, path.read_bytes())
    except (BookError, OSError):
        raise
    except BaseException as error:
        # calamine is Rust: where it gives up, what comes is no Exception, and its class cannot be imported.
        if isinstance(error, Exception) or type(error).__name__ == "PanicException":
            raise BookError("workbook-broken") from error
        raise


def _read(file: str, raw: bytes) -> list[Sheet]:
    if raw.startswith(OLE):
        return _sheets(file, raw, "logs.old-excel", _listed(xls_gaps(raw)))
    archive = opened(raw)
    names = {name.lower(): name for name in archive.namelist()}
    if "xl/workbook.xml" in names:
        parts = _sheet_parts(archive)
        return _sheets(file, raw, "logs.excel", lambda at: excel_gaps(archive.read(names[parts[at].lower()])))
    if "content.xml" in names:
        return _sheets(file, raw, "logs.open-document", _listed(ods_gaps(archive.read("content.xml"))))
    raise BookError("workbook-broken")


def _listed(gaps: list[Gaps]) -> Callable[[int], Gaps]:
    return lambda at: gaps[at] if gaps else {}


def _sheet_parts(archive: ZipFile) -> list[str]:
    """Where the XML of each sheet is, in the workbook's order."""
    targets = {
        link.get("Id"): link.get("Target", "")
        for link in ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
    }
    book = ElementTree.fromstring(archive.read("xl/workbook.xml"))
    links = [
        next(value for key, value in sheet.attrib.items() if key.endswith("}id"))
        for sheet in book.findall("{*}sheets/{*}sheet")
    ]
    return [normpath(str(PurePosixPath("/xl", targets[link]))).lstrip("/") for link in links]


def _sheets(file: str, raw: bytes, how: str, gaps: Callable[[int], Gaps]) -> list[Sheet]:
    from python_calamine import CalamineWorkbook, SheetVisibleEnum

    book = CalamineWorkbook.from_filelike(BytesIO(raw))
    made = []
    for at, about in enumerate(book.sheets_metadata):
        rows = by_column([])
        refused = ""
        if str(about.typ).rpartition(".")[2] in _WORKSHEETS:
            try:
                missed = gaps(at)  # before calamine: it also refuses a sheet too large to lay out
                rows = _rows(book.get_sheet_by_index(at), missed)
            except BookError as wrong:
                if str(wrong) != "workbook-too-big" or len(book.sheet_names) == 1:
                    raise
                refused = "sheet-too-large"
        as_it_is = found(how, hidden=about.visible != SheetVisibleEnum.Visible)
        rows, marred = without_stray(rows)
        made.append(Sheet(file, about.name, rows, as_it_is, marred, refused))
    return made


def _rows(sheet: Any, gaps: Gaps) -> TextRows:
    values = sheet.to_python(skip_empty_area=False) if sheet.start else []
    for (top, left), (bottom, right) in sheet.merged_cell_ranges or []:
        for row in values[top : bottom + 1]:
            covered = row[left : right + 1]
            keep = covered[:1] if row is values[top] else []
            row[left : right + 1] = keep + [""] * (len(covered) - len(keep))
    for (row, column), text in gaps.items():
        while len(values) <= row:
            values.append([])
        values[row].extend([""] * (column + 1 - len(values[row])))
        values[row][column] = Unworked(text) if text.startswith(("=", "of:=")) else text
    return by_column(map(_without_flags, values), _text, len(values))


def _without_flags(values: list[Any]) -> list[Any]:
    """Write yes and no as text: they equal 1 and 0."""
    has_flags = bool in map(type, values)
    return [_FLAG[value] if value.__class__ is bool else value for value in values] if has_flags else values


def _text(value: Any) -> str:
    if isinstance(value, Unworked):
        return value
    return with_stray(value).strip() if isinstance(value, str) else as_text(value)
