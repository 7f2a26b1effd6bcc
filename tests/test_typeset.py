"""The pages: text is text, accessible, the same bytes twice, and nothing runs over the edge."""

import io
import time

import nbformat.v4 as v4
import pandas as pd
import pypdf
import pytest

from analysis import show
from analysis.report.columns import printed_table
from analysis.report.press import TEXT_WIDTH_PT
from analysis.report.typeset import typeset
from analysis.show.displays import csv_text
from analysis.show.letters import ALSO_DRAWN, printable
from analysis.show.still import MIME

HARD = r"""#let x = 1 $x$ <script>alert(1)</script> =1+1 *b* [l](u) @ref \ ' " K03"""
PHOTO = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="


def _notebook(*cells):
    """Strings are Markdown cells, displays and bundles are outputs of code cells."""
    made = []
    for number, cell in enumerate(cells):
        if isinstance(cell, str):
            made.append(v4.new_markdown_cell(cell, id=f"c{number}"))
            continue
        bundle = cell if isinstance(cell, dict) else cell._repr_mimebundle_()
        output = v4.new_output("display_data", data=bundle)
        made.append(v4.new_code_cell("secret_source = 1", outputs=[output], id=f"c{number}"))
    return v4.new_notebook(cells=made)


def _read(pdf):
    return pypdf.PdfReader(io.BytesIO(pdf))


def _words(pdf):
    return " ".join(" ".join(page.extract_text() for page in _read(pdf).pages).split())


COVER = show.cover(
    title="Season report 2031",
    aviary="Alder Lane Aviary",
    season="2031",
    as_of="30 September 2031",
    last_day="2031-09-30",
    fingerprint="3f9a",
    version="0.1.0",
    language="en-GB",
)


def test_the_pdf_says_it_is_accessible():
    reader = _read(typeset(_notebook(COVER, "# The season\n\nWords.")))
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en-GB"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata.title == "Season report 2031"
    assert b"pdfuaid:part" in root["/Metadata"].get_data()
    assert reader.metadata.creation_date.isoformat() == "2031-09-30T00:00:00+00:00"


def test_the_foot_stands_on_every_page_and_the_fingerprint_on_the_last():
    first, last = _read(typeset(_notebook(COVER, "# One", "word " * 400, "# Two"))).pages
    for number, page in enumerate((first, last), start=1):
        words = " ".join(page.extract_text().split())
        assert "Alder Lane Aviary · Season 2031 · as of 30 September 2031" in words
        assert f"page {number} of 2" in words
    assert "logs 3f9a · workbook 0.1.0" not in first.extract_text()
    assert "logs 3f9a · workbook 0.1.0" in last.extract_text()


@pytest.mark.parametrize(
    "display",
    [
        show.table(pd.DataFrame({HARD: [HARD]}), caption="c"),
        show.table(pd.DataFrame({"a": [1]}), caption=HARD),
        show.table(pd.DataFrame({"a": [1]}), caption="c", note=HARD),
        show.attention(("who", HARD)),
        show.numbers(("1", "what", HARD)),
        show.prose(HARD),
        show.cover(title="Title", aviary=HARD),
        {"image/svg+xml": "<svg width='9' height='9'></svg>", MIME: {"kind": "chart", "alt": "a", "caption": HARD}},
        {"text/plain": HARD},
    ],
)
def test_text_is_text_on_the_page(display):
    assert HARD in _words(typeset(_notebook("# H", display)))


def test_markdown_is_read_and_what_only_looks_like_typesetting_is_text():
    remark = "### Late\n\n*Slow* **growth** `a#b` $x$ #let @ref &lt;i&gt; <b>x</b>\n\n1. one\n   - two\n\n"
    words = _words(typeset(_notebook(remark + "|a|b|\n|-|-:|\n|1|2|")))
    assert "Late Slow growth a#b $x$ #let @ref <i> <b>x</b> 1. one • two a b 1 2" in words


ODD_MARKDOWN = ["# \u202e", "#", "######", "- " * 40 + "deep", "> " * 60 + "deep", "![](a.png)", "[l](javascript:x)"]


@pytest.mark.parametrize("source", ODD_MARKDOWN)
def test_odd_markdown_is_set(source):
    assert typeset(_notebook(source, "## then"))


def test_a_pasted_photo_is_on_the_page_with_or_without_a_description():
    notebook = _notebook("![](attachment:a.png)")
    notebook.cells[0]["attachments"] = {"a.png": {"image/png": PHOTO}}
    assert b"Picture added by the keeper" in _unpacked(typeset(notebook))
    notebook.cells[0]["attachments"] = {"a.png": {"image/png": "bm90IGEgcGhvdG8="}}
    assert "picture not in this notebook" in _words(typeset(notebook))


def _unpacked(pdf):
    """Every alternative text of a PDF."""
    found = []

    def walk(node, depth=0):
        node = node.get_object()
        if isinstance(node, dict) and depth < 40:
            found.append(str(node.get("/Alt", "")).encode())
            kids = node.get("/K", [])
            for kid in kids if isinstance(kids, list) else [kids]:
                if not isinstance(kid, int):
                    walk(kid, depth + 1)

    walk(_read(pdf).trailer["/Root"]["/StructTreeRoot"])
    return b"\n".join(found)


def test_a_chart_without_a_description_is_described_by_its_heading():
    assert b"Chart without a description. Losses" in _unpacked(
        typeset(_notebook("# Losses", {"image/svg+xml": "<svg width='9' height='9'></svg>"}))
    )


def test_emoji_are_named_and_marks_of_direction_dropped():
    words = _words(typeset(_notebook(show.prose("K03 🐣 and \u202eP01\u200f 👩\u200d🌾 \x07 ♀ x\ufe0f"))))
    assert "K03 [hatching chick] and P01 [woman][ear of rice] ♀ x" in words


def test_every_symbol_of_the_fallback_face_is_drawn():
    assert printable(ALSO_DRAWN) == ALSO_DRAWN
    assert ALSO_DRAWN in _words(typeset(_notebook(show.prose(ALSO_DRAWN))))


SCRIPTS = ["שלום", "नमस्ते", "\ud83d", "\ue000", "\U000e0041"]
LOOSE_MARKS = ["q\u0301\u0301\u0301", "\u0301", "a\u200d", "♀\u0301", "<\u0338"]


@pytest.mark.parametrize("text", SCRIPTS + LOOSE_MARKS)
def test_no_letter_stops_the_page(text):
    label = text.replace("<", "&lt;")
    svg = f'<svg xmlns="http://www.w3.org/2000/svg" width="90" height="20"><text y="15">{label}</text></svg>'
    notebook = _notebook(f"# {text}\n\n`{text}`", show.attention((text, text)), {"image/svg+xml": svg})
    assert typeset(notebook)


def test_two_birds_in_another_script_stay_two_birds():
    assert printable("文") != printable("中")


def test_same_notebook_same_bytes():
    notebook = _notebook(COVER, "# H", show.table(pd.DataFrame({"a": [1.5]}), caption="c"))
    assert typeset(notebook) == typeset(notebook)
    assert typeset(notebook, timestamp=1) != typeset(notebook, timestamp=2)


def test_source_hidden_cells_and_what_was_printed_stay_off_the_paper():
    notebook = _notebook("# H", show.prose("shown"), show.prose("removed"), show.prose("hidden"), "a remark")
    notebook.cells[2].metadata["tags"] = ["remove-cell"]
    notebook.cells[3].metadata["tags"] = ["hide-cell"]
    notebook.cells[1].outputs.append(v4.new_output("stream", name="stderr", text="FutureWarning: printed"))
    words = _words(typeset(notebook))
    assert "shown" in words
    assert "a remark" in words
    assert [word for word in ("removed", "hidden", "secret_source", "FutureWarning") if word in words] == []


def test_letter_paper_keeps_the_same_width_of_text():
    page = _read(typeset(_notebook(show.cover(title="T", paper="Letter"), "# H"))).pages[0]
    assert [float(side) for side in page.mediabox[2:]] == [612, 792]


def test_a_huge_cell_is_cut_on_paper_and_takes_no_time():
    table = show.table(pd.DataFrame({"note": ["x" * 100_000], "n": [1]}), caption="Huge.", name="huge")
    began = time.process_time()
    pdf = typeset(_notebook("# H", table))
    assert time.process_time() - began < 5
    assert len(_read(pdf).pages) == 1
    assert "(cut; whole in the tables folder)" in _words(pdf)
    assert "x" * 100_000 in csv_text(pd.DataFrame({"note": ["x" * 100_000]}))


def test_a_long_word_breaks_at_the_edge_of_the_page():
    lines = _read(typeset(_notebook("# H", show.prose("x" * 3000)))).pages[0].extract_text().splitlines()
    long = [len(line) for line in lines if set(line) == {"x"}]
    assert sum(long) == 3000
    assert 90 < max(long) < 120  # 170 mm hold about 110 of them


def test_a_long_table_repeats_its_head():
    frame = pd.DataFrame({"chick": [f"K{n}" for n in range(1200)], "mass_g": range(1200)})
    began = time.process_time()
    pages = _read(typeset(_notebook(show.table(frame, caption="All.", heads=["Chick", "Weight (g)"])))).pages
    assert time.process_time() - began < 5
    assert len(pages) > 10
    assert [n for n, page in enumerate(pages) if "Weight (g)" not in page.extract_text()] == []


WIDE = [(3, "a few words"), (8, "many words " * 20), (40, "100000"), (30, "w" * 40)]


@pytest.mark.parametrize(("columns", "cell"), WIDE)
def test_no_table_is_wider_than_the_text(columns, cell):
    display = show.table(pd.DataFrame([[cell] * columns] * 3), caption="Wide.")
    pieces = printed_table(dict(display.data))
    assert [piece for piece in pieces if not sum(piece["widths"]) <= TEXT_WIDTH_PT + 0.1] == []
    shown = {head for piece in pieces for head in piece["heads"]}
    assert shown == {str(number) for number in range(columns)}


def test_a_short_cell_is_not_broken():
    frame = pd.DataFrame(
        {"n": ["9 of 12"], "%": ["75 %"], "remark": ["many words " * 30], "advice": ["many words " * 30]}
    )
    words = _read(typeset(_notebook("# H", show.table(frame, caption="")))).pages[0].extract_text()
    assert "9 of 12" in words
    assert "75 %" in words


def _sheets(pdf):
    """The words of each page without its foot."""
    return [" ".join(page.extract_text().split()).partition(" page ")[0] for page in _read(pdf).pages]


def test_one_long_name_does_not_fold_the_other_rows():
    frame = pd.DataFrame(
        {"pair": ["P1", "W" * 60, *["P2"] * 13]} | {f"rate {n}": ["10 of 11, 100 % (72–100)"] * 15 for n in range(4)}
    )
    (piece,) = printed_table(dict(show.table(frame, caption="").data))
    assert min(piece["widths"][1:]) > 100  # such a rate is 99 pt wide, with its gap


@pytest.mark.parametrize("rows", range(53, 58))
def test_no_row_stands_alone_on_a_page(rows):
    frame = pd.DataFrame({"chick": [f"K{n:03d}" for n in range(rows)], "mass_g": 1})
    last = _sheets(typeset(_notebook("# H", show.table(frame, caption="All."))))[-1]
    assert last.count("K0") != 1
    assert f"K{rows - 1:03d}" in last


def test_a_row_is_not_torn_between_two_pages():
    frame = pd.DataFrame({"a": ["first " * 45 + "last"] * 20, "b": ["begin " * 45 + "end"] * 20})
    for sheet in _sheets(typeset(_notebook(show.table(frame, caption="", align=["left", "left"])))):
        assert sheet.count("last") == sheet.count("end") == sheet.count("first") / 45 == sheet.count("begin") / 45


@pytest.mark.parametrize("lines", range(41, 47))
def test_no_heading_stands_alone_at_the_foot(lines):
    notebook = _notebook(
        "# H", *(show.prose(f"Line {n}.") for n in range(lines)), "## Head", show.prose("Words. " * 60)
    )
    assert [sheet for sheet in _sheets(typeset(notebook)) if sheet.endswith("Head")] == []


def test_a_chapter_begins_a_page_unless_most_of_it_is_free():
    short, long = "Few words.", "Many words. " * 400
    assert len(_sheets(typeset(_notebook("# One\n\n" + short, "# Two\n\n" + short)))) == 1
    assert len(_sheets(typeset(_notebook("# One", "# Two", "# Three")))) == 1
    first, second = _sheets(typeset(_notebook("# One\n\n" + long, "# Two\n\n" + short)))
    assert "Two" not in first
    assert second.startswith("Two")


def test_every_sheet_of_a_pile_begins_a_page():
    pile = _notebook(
        show.cover(aviary="A", season="2031", name="Sheets 2031"), "# P1\n\nFew words.", "# P2\n\nFew words."
    )
    assert _read(typeset(pile)).metadata.title == "Sheets 2031"
    assert _sheets(typeset(pile)) == ["P1 Few words. A · Season 2031", "P2 Few words. A · Season 2031"]


def test_a_range_and_its_sign_stay_on_one_line():
    text = "".join("x" * n + " 8–50 % " for n in range(1, 24)) * 4
    lines = _read(typeset(_notebook(show.prose(text)))).pages[0].extract_text().splitlines()
    assert len(lines) > 10
    assert [line for line in lines if line.startswith(("%", "50"))] == []


def test_a_spreadsheet_takes_text_for_text_and_numbers_for_numbers():
    frame = pd.DataFrame({"=head": ["=1+1", "+a", "-1+a", "@a", "\ta", "\ra", "fine"], "n": [-1.0, 2, 3, 4, 5, 6, 7]})
    back = pd.read_csv(io.StringIO(csv_text(frame)))
    assert list(back.columns) == ["'=head", "n"]
    assert [text[0] for text in back["'=head"]] == ["'"] * 6 + ["f"]
    assert back["'=head"][5] == "'\na"
    assert back["n"].tolist() == frame["n"].tolist()


def test_a_number_is_written_at_full_precision():
    third = 1 / 3
    assert float(csv_text(pd.DataFrame({"n": [third]})).split()[1]) == third
