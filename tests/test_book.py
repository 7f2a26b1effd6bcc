"""Workbooks read cell by cell. The oracle for ordinary cells is openpyxl, which wrote them."""

import io
import struct
import zipfile
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from analysis.logs import book_excel, book_guard, book_ods
from analysis.logs.book import read_book
from analysis.logs.book_guard import BookError
from analysis.logs.sheets import Exact, Sheet, Unworked
from analysis.say import in_words

ODS_HEAD = (
    '<office:document-content xmlns:office="o" xmlns:table="t" xmlns:text="x" xmlns:calcext="c">'
    "<office:body><office:spreadsheet>"
)
ODS_TAIL = "</office:spreadsheet></office:body></office:document-content>"
MANIFEST = '<manifest:manifest xmlns:manifest="m"/>'
ODS_PARTS: dict[str, str | bytes] = {
    "mimetype": "application/vnd.oasis.opendocument.spreadsheet",
    "META-INF/manifest.xml": MANIFEST,
}
FILLED_ACROSS = '<c r="A1"><f t="shared" ref="A1:B1" si="0">C5*2</f></c><c r="B1"><f t="shared" si="0"/></c>'
COVERED = (
    '<table:covered-table-cell office:value-type="float" office:value="7"><text:p>7</text:p></table:covered-table-cell>'
)


def excel(tmp_path: Path, cells: dict[str, Any], change: Any = None) -> list[Sheet]:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for address, value in cells.items():
        sheet[address] = value
        if isinstance(value, str) and value in openpyxl.cell.cell.ERROR_CODES:
            sheet[address].data_type = "e"
    if change:
        change(book)
    book.save(tmp_path / "season.xlsx")
    return read_book(tmp_path / "season.xlsx")


def cell(value: str, kind: str = "string", more: str = "") -> str:
    name = {"string": "", "date": "office:date-value", "time": "office:time-value", "boolean": "office:boolean-value"}
    held = name.get(kind, "office:value")
    kept = f' {held}="{value}"' if held else ""
    return f'<table:table-cell office:value-type="{kind}"{kept}{more}><text:p>{value}</text:p></table:table-cell>'


def table(*rows: str, name: str = "weights") -> str:
    return f'<table:table table:name="{name}">' + "".join(rows) + "</table:table>"


def row(*cells: str, times: int = 1) -> str:
    return f'<table:table-row table:number-rows-repeated="{times}">' + "".join(cells) + "</table:table-row>"


def blank(times: int) -> str:
    return f'<table:table-cell table:number-columns-repeated="{times}"/>'


def ods(tmp_path: Path, *tables: str, manifest: str = MANIFEST, name: str = "season.ods") -> Path:
    content = ODS_HEAD + "".join(tables) + ODS_TAIL
    return packed(tmp_path / name, ODS_PARTS | {"content.xml": content, "META-INF/manifest.xml": manifest})


def packed(path: Path, parts: dict[str, str | bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return path


def parts_of(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def sheet_xml(tmp_path: Path, rows: str) -> list[Sheet]:
    """A workbook whose one sheet has these rows, written by hand."""
    excel(tmp_path, {"A1": "x"})
    parts = parts_of(tmp_path / "season.xlsx")
    main = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    parts["xl/worksheets/sheet1.xml"] = f'<worksheet xmlns="{main}"><sheetData>{rows}</sheetData></worksheet>'.encode()
    return read_book(packed(tmp_path / "season.xlsx", dict(parts)))


def code(path: Path) -> str:
    with pytest.raises(BookError) as error:
        read_book(path)
    return str(error.value)


@pytest.mark.parametrize(
    ("value", "text", "exact"),
    [
        (date(2026, 4, 3), "2026-04-03", True),
        (datetime(2026, 4, 3, 6, 30), "2026-04-03 06:30", True),
        (datetime(2026, 4, 3, 6, 30, 15), "2026-04-03 06:30:15", True),
        (time(6, 30), "06:30", False),
        (timedelta(hours=30, minutes=5), "30:05", False),
        (12, "12", True),
        (12.0, "12", True),
        (1.234, "1.234", True),
        (0.1 + 0.2, "0.3", True),
        (0.00001, "0.00001", True),
        (-0.5, "-0.5", True),
        (9780000123456, "9780000123456", True),
        (True, "TRUE", False),
        (False, "FALSE", False),
        ("  01 ", "01", False),
        ("1.234", "1.234", False),
        ("3.4.26", "3.4.26", False),
        ("a\nb", "a\nb", False),
    ],
)
def test_a_cell_becomes_its_text_and_only_what_the_spreadsheet_knows_is_exact(tmp_path, value, text, exact):
    ((number, cells),) = excel(tmp_path, {"A1": value})[0].rows
    assert (number, cells, isinstance(cells[0], Exact)) == (1, (text,), exact)


def test_yes_and_no_are_not_taken_for_one_and_nought(tmp_path):
    assert excel(tmp_path, {"A1": 1, "B1": True, "C1": 0, "D1": False})[0].rows == ((1, ("1", "TRUE", "0", "FALSE")),)


def test_every_date_from_1900_on_is_the_one_openpyxl_wrote(tmp_path):
    days = [date(1900, 3, 1) + timedelta(days=397 * n) for n in range(150)]
    sheet = excel(tmp_path, {f"A{n}": day for n, day in enumerate(days, 1)})[0]
    assert [cells[0] for _, cells in sheet.rows] == [day.isoformat() for day in days]


def test_a_workbook_that_counts_from_1904_gives_the_same_dates(tmp_path):
    book = openpyxl.Workbook()
    book.epoch = CALENDAR_MAC_1904
    book.active["A1"], book.active["B1"] = date(2026, 4, 3), datetime(2026, 4, 3, 6, 30)
    book.save(tmp_path / "mac.xlsx")
    # 3 April 2026 is day 46115 from 1900 and, 1462 days fewer, 44653 from 1904.
    assert b"<v>44653</v>" in parts_of(tmp_path / "mac.xlsx")["xl/worksheets/sheet1.xml"]
    assert read_book(tmp_path / "mac.xlsx")[0].rows == ((1, ("2026-04-03", "2026-04-03 06:30")),)


def test_every_sheet_is_given_in_its_order_also_empty_and_hidden_ones(tmp_path):
    def more(book):
        book.create_sheet("empty")
        hidden = book.create_sheet("hidden", 0)
        hidden.sheet_state, hidden["A1"] = "hidden", "x"
        book.create_sheet("deep").sheet_state = "veryHidden"
        book.create_chartsheet("chart")
        book.create_sheet("Küken & <Ringe>")["A1"] = "=1/0"

    sheets = excel(tmp_path, {"A1": "y"}, more)
    assert [sheet.name for sheet in sheets] == ["hidden", "Sheet", "empty", "deep", "chart", "Küken & <Ringe>"]
    assert [len(sheet.rows) for sheet in sheets] == [1, 1, 0, 0, 0, 1]
    assert [in_words(sheet.how) for sheet in sheets[:2]] == ["Excel workbook, hidden sheet", "Excel workbook"]
    assert {sheet.file for sheet in sheets} == {"season.xlsx"}


def test_rows_and_columns_are_where_the_spreadsheet_has_them(tmp_path):
    rows = excel(tmp_path, {"C5": "chick", "D5": "weight", "C9": "K1", "D9": 12.5})[0].rows
    assert rows == ((5, ("", "", "chick", "weight")), (9, ("", "", "K1", "12.5")))


def test_hidden_rows_and_columns_count(tmp_path):
    def hide(book):
        book.active.row_dimensions[2].hidden = True
        book.active.column_dimensions["B"].hidden = True

    assert excel(tmp_path, {"A1": "a", "B2": "b", "C3": "c"}, hide)[0].rows[1] == (2, ("", "b", ""))


def test_a_merged_title_stands_in_its_top_left_alone(tmp_path):
    rows = excel(tmp_path, {"B1": "Weights", "A3": "chick"}, lambda book: book.active.merge_cells("B1:D2"))[0].rows
    assert rows == ((1, ("", "Weights")), (3, ("chick", "")))


def test_what_a_merged_cell_covers_is_not_read(tmp_path):
    excel(tmp_path, {"A1": "title", "C3": "x"}, lambda book: book.active.merge_cells("A1:B2"))
    parts = parts_of(tmp_path / "season.xlsx")
    sheet = parts["xl/worksheets/sheet1.xml"].replace(
        b'<row r="3">', b'<row r="2"><c r="B2"><v>7</v></c></row><row r="3">'
    )
    parts["xl/worksheets/sheet1.xml"] = sheet
    assert b"<v>7</v>" in sheet
    assert [number for number, _ in read_book(packed(tmp_path / "m.xlsx", dict(parts)))[0].rows] == [1, 3]


@pytest.mark.parametrize("error", ["#DIV/0!", "#N/A", "#REF!", "#VALUE!", "#NAME?", "#NUM!", "#NULL!"])
def test_an_error_is_never_a_blank(tmp_path, error):
    rows = excel(tmp_path, {"A1": "chick", "C4": error, "D9": error})[0].rows
    assert [(number, [(at, text) for at, text in enumerate(cells) if text]) for number, cells in rows] == [
        (1, [(0, "chick")]),
        (4, [(2, error)]),
        (9, [(3, error)]),
    ]


def test_a_formula_whose_result_was_never_stored_is_the_formula(tmp_path):
    rows = excel(tmp_path, {"A1": 1, "B3": "=A1+B2", "E7": '="x"&"<"'})[0].rows
    assert [(number, [text for text in cells if text]) for number, cells in rows] == [
        (1, ["1"]),
        (3, ["=A1+B2"]),
        (7, ['="x"&"<"']),
    ]
    assert rows[2][1][4] == '="x"&"<"'
    assert isinstance(rows[1][1][1], Unworked)
    assert not isinstance(excel(tmp_path, {"A1": "#N/A"})[0].rows[0][1][0], Unworked)


@pytest.mark.parametrize(
    ("xml", "texts"),
    [
        ('<c r="A1"><f>1+1</f><v>2</v></c>', ("2",)),
        ('<c r="A1" t="str"><f>""</f><v></v></c><c r="B1"><v>1</v></c>', ("", "1")),
        ('<c r="B1" t="e"><f>1/0</f><v>#DIV/0!</v></c>', ("", "#DIV/0!")),
        ("<c><v>1</v></c><c t='e'><v>#N/A</v></c><c><f>A1</f></c>", ("1", "#N/A", "=A1")),
        ("<c r='B1' t='e'><v>#N/A</v></c>", ("", "#N/A")),
        ('<x:c xmlns:x="y" r="B1" t="e"><x:v>#N/A</x:v></x:c>', ("", "#N/A")),
        (
            '<c r="A1"><f t="shared" ref="A1:B1" si="0">C5*2</f></c><c r="B1"><f t="shared" si="0"/></c>',
            ("=C5*2", "=D5*2"),
        ),
        ('<c r="A1" t="inlineStr"><is><t>&lt;f&gt; t="e"</t></is></c>', ('<f> t="e"',)),
    ],
    ids=["stored", "stored blank", "stored error", "no addresses", "other quotes", "prefix", "filled across", "text"],
)
def test_cells_as_other_programs_write_them(tmp_path, xml, texts):
    assert sheet_xml(tmp_path, f'<row r="1">{xml}</row>')[0].rows == ((1, texts),)


@pytest.mark.parametrize(
    "row_attribute", ['spans="1:3"', 'note="e"', 'note="&lt;c &quot;e&quot;"'], ids=["plain", "e", "escaped"]
)
def test_only_the_cells_concerned_are_walked_and_stay_where_they_are(tmp_path, monkeypatch, row_attribute):
    first = (
        '<row r="1"><c r="A1"><v>1</v></c><c r="B1" s="0"/><c r="C1" t="e"><v>#N/A</v></c><c r="D1"><v>5</v></c></row>'
    )
    second = f'<row r="3" {row_attribute}><c r="A3" t="inlineStr"><is><t>"e"</t></is></c><c r="B3"><f>A1</f></c></row>'
    wanted = ((1, ("1", "", "#N/A", "5")), (3, ('"e"', "=A1", "", "")))
    assert sheet_xml(tmp_path, first + second)[0].rows == wanted
    monkeypatch.setattr(book_excel, "spreads_far", lambda sheet: True)
    assert sheet_xml(tmp_path, first + second)[0].rows == wanted


def test_a_row_without_a_number_is_the_next_one(tmp_path):
    rows = "<row><c><v>1</v></c></row><row r='4'><c t='e'><v>#N/A</v></c></row><row><c><f>A1</f></c></row>"
    assert sheet_xml(tmp_path, rows)[0].rows == ((1, ("1",)), (4, ("#N/A",)), (5, ("=A1",)))


def test_a_clock_that_the_spreadsheet_rounded_is_set_right(tmp_path):
    # 06:30 as LibreOffice writes it, ten digits after the point: 3 millionths of a second off.
    excel(tmp_path, {"A1": datetime(2026, 4, 3, 6, 30)})
    parts = parts_of(tmp_path / "season.xlsx")
    sheet = parts["xl/worksheets/sheet1.xml"]
    parts["xl/worksheets/sheet1.xml"] = sheet.replace(b"46115.27083333334", b"46115.2708333333")
    assert read_book(packed(tmp_path / "l.xlsx", dict(parts)))[0].rows == ((1, ("2026-04-03 06:30",)),)


def test_opendocument_cells(tmp_path):
    cells = (
        cell("2026-04-03", "date"),
        cell("2026-04-03T06:30:00", "date"),
        cell("PT06H30M00S", "time"),
        cell("12.50", "float"),
        cell("12", "float"),
        cell("true", "boolean"),
        cell(" 1,5 "),
        cell("PT30H05M00S", "time"),
    )
    ((number, texts),) = read_book(ods(tmp_path, table(row(*cells))))[0].rows
    wanted = ("2026-04-03", "2026-04-03 06:30", "06:30", "12.5", "12", "TRUE", "1,5", "30:05")
    assert (number, texts) == (1, wanted)
    assert [isinstance(text, Exact) for text in texts] == [True, True, False, True, True, False, False, False]


def test_opendocument_rows_and_columns_are_where_the_spreadsheet_has_them(tmp_path):
    rest = row(blank(16384), times=1_048_000)
    path = ods(
        tmp_path,
        table(row(blank(16384), times=4), row(blank(2), cell("a"), blank(16381)), row(cell("b"), times=3), rest),
        table(row(blank(16384), times=1_048_576), name="empty"),
    )
    sheets = read_book(path)
    assert sheets[0].rows == ((5, ("", "", "a")), *((number, ("b", "", "")) for number in (6, 7, 8)))
    assert (sheets[1].name, sheets[1].rows, in_words(sheets[1].how)) == ("empty", (), "OpenDocument workbook")


@pytest.mark.parametrize(
    ("xml", "text"),
    [
        (cell("#DIV/0!", more=' table:formula="of:=1/0" office:string-value="" calcext:value-type="error"'), "#DIV/0!"),
        (cell("#N/A", more=' calcext:value-type="error" office:string-value=""'), "#N/A"),
        (
            '<table:table-cell table:formula="of:=1/0" office:value-type="float" office:value="0">'
            "<text:p>#DIV/0!</text:p></table:table-cell>",
            "#DIV/0!",
        ),
        (
            '<table:table-cell table:formula="of:=LOG(0)" office:value-type="float" office:value="0">'
            "<text:p>Err:502</text:p></table:table-cell>",
            "Err:502",
        ),
        ('<table:table-cell table:formula="of:=[.A1]+[.B2]"/>', "=[.A1]+[.B2]"),
        (
            '<table:table-cell table:formula="of:=1+1" office:value-type="float" office:value="2">'
            "<text:p>2</text:p></table:table-cell>",
            "2",
        ),
        ('<table:table-cell table:formula="of:=&quot;&quot;"><text:p/></table:table-cell>', ""),
        (
            COVERED,
            "",
        ),
    ],
    ids=["error", "typed error", "older", "number", "no result", "result", "blank result", "covered"],
)
def test_opendocument_cells_that_calamine_leaves_out(tmp_path, xml, text):
    note = "<office:annotation><text:p>#REF!</text:p></office:annotation>"
    before, after = xml.replace("<text:p>", note + "<text:p>", 1), xml.replace("</text:p>", "</text:p>" + note, 1)
    for written in (xml, before, after):
        path = ods(
            tmp_path,
            table(row(cell("x"))),
            table(row(blank(9), times=3), row(blank(2), written, cell("z")), name="two"),
        )
        assert read_book(path)[1].rows == ((4, ("", "", text, "z")),)


@pytest.mark.parametrize("name", ["random.xlsx", "random.ods", "random.xls", "random.xlsm"])
def test_bytes_that_are_no_workbook_are_broken(tmp_path, name):
    noise = bytes((n * n * 31 + n) % 251 for n in range(5000))
    for start in (b"", b"PK\x03\x04", book_guard.OLE):
        (tmp_path / name).write_bytes(start + noise)
        assert code(tmp_path / name) == "workbook-broken"


def test_an_empty_file_is_broken(tmp_path):
    (tmp_path / "a.xlsx").write_bytes(b"")
    assert code(tmp_path / "a.xlsx") == "workbook-broken"


def test_a_workbook_cut_short_anywhere_is_broken(tmp_path):
    excel(tmp_path, {f"A{n}": n for n in range(1, 200)})
    whole = (tmp_path / "season.xlsx").read_bytes()
    for share in (0.1, 0.5, 0.9, 0.999):
        (tmp_path / "cut.xlsx").write_bytes(whole[: int(share * len(whole))])
        assert code(tmp_path / "cut.xlsx") == "workbook-broken"


def test_a_damaged_part_is_broken(tmp_path):
    excel(tmp_path, {f"A{n}": n for n in range(1, 200)})
    raw = bytearray((tmp_path / "season.xlsx").read_bytes())
    with zipfile.ZipFile(tmp_path / "season.xlsx") as archive:
        at = archive.getinfo("xl/worksheets/sheet1.xml").header_offset + 100
    raw[at] ^= 0xFF
    (tmp_path / "season.xlsx").write_bytes(bytes(raw))
    assert code(tmp_path / "season.xlsx") == "workbook-broken"


def test_a_part_that_claims_to_be_packed_smaller_is_broken_and_waits_for_nothing(tmp_path):
    excel(tmp_path, {f"A{n}": n for n in range(1, 200)})
    with zipfile.ZipFile(tmp_path / "season.xlsx") as archive:
        packed_bytes = archive.getinfo("xl/worksheets/sheet1.xml").compress_size
    raw = (tmp_path / "season.xlsx").read_bytes()
    (tmp_path / "season.xlsx").write_bytes(raw.replace(struct.pack("<I", packed_bytes), struct.pack("<I", 99)))
    assert code(tmp_path / "season.xlsx") == "workbook-broken"


@pytest.mark.parametrize(
    "missing",
    ["xl/workbook.xml", "xl/_rels/workbook.xml.rels", "xl/worksheets/sheet1.xml"],
    ids=["book", "links", "sheet"],
)
def test_a_workbook_with_a_missing_part_is_broken(tmp_path, missing):
    excel(tmp_path, {"A1": 1})
    parts = parts_of(tmp_path / "season.xlsx")
    del parts[missing]
    assert code(packed(tmp_path / "m.xlsx", dict(parts))) == "workbook-broken"


@pytest.mark.parametrize("cut", [ODS_TAIL, "</table:table>" + ODS_TAIL, "</table:table-row></table:table>" + ODS_TAIL])
def test_an_opendocument_table_without_an_end_is_broken_and_read_no_further(tmp_path, cut):
    whole = ODS_HEAD + table(row(cell("x"))) + ODS_TAIL
    parts = ODS_PARTS | {"content.xml": whole.removesuffix(cut)}
    if cut == ODS_TAIL:
        parts["content.xml"] = ODS_HEAD + '<table:table table:name="a"><!-- </table:table> -->' + ODS_TAIL
    assert code(packed(tmp_path / "cut.ods", parts)) == "workbook-broken"


@pytest.mark.parametrize("kind", ["<!DOCTYPE x>", '<!DOCTYPE x [<!ENTITY e "boo">]>', "<!ENTITY"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-16-le", "utf-16"])
def test_declarations_in_any_part_are_unsafe(tmp_path, kind, encoding):
    excel(tmp_path, {"A1": 1})
    parts = parts_of(tmp_path / "season.xlsx")
    padding = " " * (book_guard.PIECE - 5)  # the mark lies across two pieces
    for name, text in (("docProps/app.xml", kind), ("xl/odd.bin", "<a/>" + padding + kind)):
        changed = parts | {name: text.encode(encoding)}
        assert code(packed(tmp_path / "e.xlsx", dict(changed))) == "workbook-unsafe"


def test_a_cell_may_speak_of_a_doctype(tmp_path):
    assert excel(tmp_path, {"A1": "<!DOCTYPE"})[0].rows == ((1, ("<!DOCTYPE",)),)


def test_a_file_with_a_password_is_locked(tmp_path):
    (tmp_path / "a.xlsx").write_bytes(book_guard.OLE + bytes(900) + "EncryptedPackage".encode("utf-16-le") + bytes(99))
    locked = '<manifest:manifest xmlns:manifest="m"><manifest:file-entry><manifest:encryption-data/>'
    closed = locked + "</manifest:file-entry></manifest:manifest>"
    assert code(tmp_path / "a.xlsx") == "workbook-locked"
    assert code(ods(tmp_path, table(row(cell("x"))), manifest=closed)) == "workbook-locked"


def test_a_zip_file_with_a_password_is_locked(tmp_path):
    excel(tmp_path, {"A1": 1})
    raw = bytearray((tmp_path / "season.xlsx").read_bytes())
    raw[raw.index(b"PK\x01\x02") + 8] |= 1
    (tmp_path / "season.xlsx").write_bytes(bytes(raw))
    assert code(tmp_path / "season.xlsx") == "workbook-locked"


def test_a_bomb_is_found_by_what_it_unpacks_to(tmp_path, monkeypatch):
    excel(tmp_path, {"A1": 1})
    bomb = packed(tmp_path / "bomb.xlsx", parts_of(tmp_path / "season.xlsx") | {"xl/media/big.bin": bytes(3_000_000)})
    assert read_book(bomb)[0].rows == ((1, ("1",)),)
    monkeypatch.setattr(book_guard, "RATIO_FROM_BYTES", 1_000_000)
    assert code(bomb) == "workbook-too-big"
    monkeypatch.setattr(book_guard, "RATIO_FROM_BYTES", 10_000_000)
    monkeypatch.setattr(book_guard, "MOST_BYTES", 2_000_000)
    assert code(bomb) == "workbook-too-big"


def test_a_bomb_that_claims_to_be_small_is_counted_all_the_same(tmp_path, monkeypatch):
    excel(tmp_path, {"A1": 1})
    path = packed(tmp_path / "bomb.xlsx", parts_of(tmp_path / "season.xlsx") | {"xl/media/big.bin": bytes(3_000_000)})
    lied = path.read_bytes().replace((3_000_000).to_bytes(4, "little"), (3_000).to_bytes(4, "little"))
    path.write_bytes(lied)
    assert code(path) == "workbook-broken"
    monkeypatch.setattr(book_guard, "MOST_BYTES", 2_000_000)
    assert code(path) == "workbook-too-big"


def test_more_parts_than_any_workbook_has_are_too_big(tmp_path, monkeypatch):
    excel(tmp_path, {"A1": 1})
    monkeypatch.setattr(book_guard, "MOST_PARTS", 5)
    assert code(tmp_path / "season.xlsx") == "workbook-too-big"


def test_one_stray_cell_at_the_far_corner_is_too_big(tmp_path):
    with pytest.raises(BookError, match="workbook-too-big"):
        excel(tmp_path, {"A1": 1, "XFD1048576": 1})
    with pytest.raises(BookError, match="workbook-too-big"):
        sheet_xml(tmp_path, "<row><c><v>1</v></c></row><row r='1048576'><c r='XFD1048576'><v>1</v></c></row>")


@pytest.mark.slow
def test_a_stray_cell_far_down_or_far_right_is_read(tmp_path):
    assert tuple(excel(tmp_path, {"A1": 1, "A1048576": 2})[0].rows) == ((1, ("1",)), (1_048_576, ("2",)))
    assert excel(tmp_path, {"XFD1": 2})[0].rows[0][1][-1] == "2"


def test_borders_down_to_the_corner_are_no_cells(tmp_path):
    corner = '<row r="1048576"><c r="XFD1048576" s="0"/></row>'
    assert sheet_xml(tmp_path, '<row r="1"><c r="A1"><v>1</v></c></row>' + corner)[0].rows == ((1, ("1",)),)


@pytest.mark.parametrize(
    "rows",
    [
        row(cell("1", "float", ' table:number-columns-repeated="16384"'), times=1_048_576),
        row(cell("x")) + row(blank(16383), times=1_048_000) + row(blank(16383), cell("x")),
        row('<table:table-cell table:formula="of:=1" table:number-columns-repeated="16384"/>', times=200_000),
        row(
            cell("x").replace("cell office", "cell table:number-columns-repeated = '16384' office", 1), times=1_048_576
        ),
    ],
    ids=["all filled", "two corners", "formulas", "other quotes"],
)
def test_repeats_that_fill_the_sheet_are_too_big(tmp_path, rows):
    assert code(ods(tmp_path, table(rows))) == "workbook-too-big"


def test_the_quick_search_and_the_walk_agree(tmp_path, monkeypatch):
    """A file that needs no walk gives the same when every sheet is walked."""
    cells = {f"{letter}{n}": n / 2 for letter in "BCD" for n in range(3, 40)}
    quick = excel(tmp_path, cells)
    path = ods(
        tmp_path,
        table(row(blank(3), times=7), row(cell("x"), blank(4), cell("y"), blank(16000)), row(cell("z"), times=9)),
    )
    quick_ods = read_book(path)
    monkeypatch.setattr(book_excel, "spreads_far", lambda sheet: True)
    monkeypatch.setattr(book_ods, "spreads_far", lambda content: True)
    assert (excel(tmp_path, cells), read_book(path)) == (quick, quick_ods)


def record(kind: int, body: bytes) -> bytes:
    return struct.pack("<HH", kind, len(body)) + body


def old_excel(path: Path, cells: bytes, extra: bytes = b"", stream_bytes: int = 4608) -> Path:
    """An .xls of one sheet, from Microsoft's description of the format ([MS-CFB], [MS-XLS]) by hand."""
    start, end = record(0x0809, struct.pack("<HHHHII", 0x0600, 5, 0, 1997, 0, 6)), record(0x000A, b"")
    name = b"\x07\x00weights"

    def globals_part(at: int) -> bytes:
        return start + extra + record(0x0085, struct.pack("<IBB", at, 0, 0) + name) + end

    book = globals_part(len(globals_part(0)))
    book += record(0x0809, struct.pack("<HHHHII", 0x0600, 16, 0, 1997, 0, 6)) + cells + end
    book = book.ljust(stream_bytes, b"\0")
    sectors = stream_bytes // 512
    free, last = 0xFFFFFFFF, 0xFFFFFFFE
    table = [0xFFFFFFFD, last, *range(3, sectors + 2), last]
    head = book_guard.OLE + bytes(16) + struct.pack("<HHHHH", 0x3E, 3, 0xFFFE, 9, 6) + bytes(6)
    head += struct.pack("<IIIIIIIIII", 0, 1, 1, 0, 4096, last, 0, last, 0, 0)[: 4 * 9] + struct.pack("<I", 0)
    head += struct.pack("<I", free) * 108

    def entry(title: str, kind: int, child: int, first: int, size: int) -> bytes:
        text = title.encode("utf-16-le")
        links = struct.pack("<HBBIII", len(text) + 2 if text else 0, kind, 1, free, free, child)
        return text.ljust(64, b"\0") + links + bytes(36) + struct.pack("<IQ", first, size)

    directory = (
        entry("Root Entry", 5, 1, last, 0) + entry("Workbook", 2, free, 2, stream_bytes) + 2 * entry("", 0, free, 0, 0)
    )
    path.write_bytes(head + struct.pack("<128I", *table, *[free] * (128 - len(table))) + directory + book)
    return path


def test_an_old_excel_workbook_and_its_errors(tmp_path):
    number = record(0x0203, struct.pack("<HHHd", 2, 1, 0, 12.5))
    typed = record(0x0205, struct.pack("<HHHBB", 3, 1, 0, 0x2A, 1))
    yes = record(0x0205, struct.pack("<HHHBB", 3, 2, 0, 1, 0))
    worked = record(0x0006, struct.pack("<HHHBBBBBBHHIH", 4, 3, 0, 2, 0, 7, 0, 0, 0, 0xFFFF, 0, 0, 0))
    (sheet,) = read_book(old_excel(tmp_path / "a.xls", number + typed + yes + worked))
    assert (sheet.name, in_words(sheet.how)) == ("weights", "old Excel workbook")
    assert [(at, [text for text in cells if text]) for at, cells in sheet.rows] == [
        (3, ["12.5"]),
        (4, ["#N/A", "TRUE"]),
        (5, ["#DIV/0!"]),
    ]
    assert sheet.rows[2][1][3] == "#DIV/0!"


def test_an_old_excel_workbook_with_a_password_is_locked(tmp_path):
    assert code(old_excel(tmp_path / "a.xls", b"", extra=record(0x002F, bytes(6)))) == "workbook-locked"


def test_an_old_excel_workbook_whose_sectors_go_round_is_broken(tmp_path):
    path = old_excel(tmp_path / "a.xls", b"")
    raw = bytearray(path.read_bytes())
    for sector, follows in ((1, 1), (4, 2), (4, 7000)):  # of the directory; of the workbook; beyond the end
        broken = raw.copy()
        broken[512 + 4 * sector : 516 + 4 * sector] = follows.to_bytes(4, "little")
        path.write_bytes(bytes(broken))
        assert code(path) == "workbook-broken"


def test_an_old_excel_workbook_with_cells_beyond_its_format_is_broken(tmp_path):
    size = record(0x0200, struct.pack("<IIHHH", 0, 0x7FFFFFFF, 0, 9, 0))
    far = record(0x0203, struct.pack("<HHHd", 0, 300, 0, 12.5))
    turned = record(0x0200, struct.pack("<IIHHH", 9, 2, 0, 9, 0))
    for cells in (size, far, turned):
        assert code(old_excel(tmp_path / "a.xls", cells)) == "workbook-broken"


def test_old_excel_workbooks_that_calamine_cannot_read_are_broken_not_an_unknown_error(tmp_path):
    (tmp_path / "a.xls").write_bytes(book_guard.OLE + bytes(2048))
    assert code(tmp_path / "a.xls") == "workbook-broken"


def test_a_workbook_is_known_by_what_is_in_it(tmp_path):
    (sheet,) = read_book(ods(tmp_path, table(row(cell("x"))), name="season.xlsx"))
    assert in_words(sheet.how) == "OpenDocument workbook"


def test_a_zip_that_is_no_workbook_is_broken(tmp_path):
    assert code(packed(tmp_path / "a.xlsx", {"a.txt": "x"})) == "workbook-broken"
    stream = io.BytesIO()
    zipfile.ZipFile(stream, "w").close()
    (tmp_path / "b.ods").write_bytes(stream.getvalue())
    assert code(tmp_path / "b.ods") == "workbook-broken"


def test_a_missing_file_is_the_reader_s_matter(tmp_path):
    with pytest.raises(FileNotFoundError):
        read_book(tmp_path / "none.xlsx")


def test_a_cell_that_shows_per_cent_holds_a_share(tmp_path):
    from analysis import open_season

    made = openpyxl.Workbook()
    made.active.title = "readings"
    made.active.append(["place", "read_at", "temperature", "humidity_pct"])
    made.active.append(["room", datetime(2026, 4, 3), 21, 0.55])
    made.active.append(["room", datetime(2026, 4, 4), 21, 55])
    made.save(tmp_path / "season.xlsx")
    season = open_season(tmp_path)
    assert season.logs["readings"]["humidity_pct"].tolist() == pytest.approx([55, 55])
    assert season.problems.query("code == 'share'")["row"].tolist() == [2]
