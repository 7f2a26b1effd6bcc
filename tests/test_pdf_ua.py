"""The pages for a reader who does not see them: PDF/UA-1 by an independent checker, and the tag tree read here.

`pdfua` (0.1.3) decides 16 of the profile's 106 rules, by its own count; with pikepdf 10 its rule on empty headings
cannot run. So headings, tables, lists, fonts, bookmarks and the order of reading are read from the tag tree
(`pdf_tags`).
"""

import io
from functools import cache
from typing import Any

import nbformat.v4 as v4
import pandas as pd
import pdfua
import pikepdf
import pytest
from pdf_tags import faults, of, tags

from analysis import show
from analysis.report.round_page import round_page
from analysis.report.typeset import typeset
from support import demo_round

HARD = r"""$x$ #let x = 1 @ref <script> \ * _ ` 🐣 שלום Жар-птица ♀ x̂"""
LONG, SPACED = "W" * 60, "Old bird of the back room with a very long name, and a ring"
NOT_RUN_BY_PDFUA = {"UA-14-001"}  # stumbles over pikepdf 10; `pdf_tags` looks at the same
SVG = "<svg xmlns='http://www.w3.org/2000/svg' width='{}' height='{}'><rect width='9' height='9'/></svg>"


def cells(*parts: Any) -> Any:
    """Strings are Markdown cells, displays and bundles outputs of code cells."""
    made = []
    for part in parts:
        if isinstance(part, str):
            made.append(v4.new_markdown_cell(part))
            continue
        bundle = part if isinstance(part, dict) else part._repr_mimebundle_()
        made.append(v4.new_code_cell("x", outputs=[v4.new_output("display_data", data=bundle)]))
    return v4.new_notebook(cells=made)


def chart(alt: str = "Eggs of each pair.", caption: str = "Pairs by name.", size: tuple[int, int] = (642, 300)):
    return {"image/svg+xml": SVG.format(*size), show.MIME: {"kind": "chart", "alt": alt, "caption": caption}}


@cache
def adversarial(paper: str = "A4") -> bytes:
    """Everything that a season or a remark may hold."""
    many = pd.DataFrame(
        {"chick": [f"K{n}" for n in range(300)], "weight": range(300), "state": [HARD] + ["fine"] * 299}
    )
    pairs = pd.DataFrame({"pair": [LONG, SPACED, HARD, *(f"P{n}" for n in range(57))], "rate": ["9 of 12"] * 60})
    remark = pd.DataFrame({"row": [1], "remark": ["a long remark " * 215]})
    rows = "|" + LONG + "|b|\n|-|-:|\n" + "|1|2|\n" * 70
    return typeset(
        cells(
            show.cover(title="Season " + HARD, aviary=SPACED, season="2031", last_day="2031-09-30", paper=paper),
            "# One page",
            show.numbers(
                ("144", "eggs laid", ""), ("43 %", LONG, SPACED), ("1", "a", "b"), ("2", "a", "b"), ("3", "a", "b")
            ),
            show.attention(*((who, HARD) for who in ("P1", LONG, SPACED, HARD))),
            chart(),
            "# Empty chapter",
            "# " + SPACED + "\n\n##### Skips levels " + HARD,
            show.table(many, caption="Every chick " + HARD, note="A note."),
            show.table(pairs, caption="", name="pairs"),
            show.table(remark, caption="Remarks."),
            show.table(pd.DataFrame([["a bird " * 3] * 14] * 3), caption="Wide."),
            show.table(many.head(0), caption="None."),
            "- a\n  1. b\n- " + LONG + "\n\n> quote\n\n[a page](https://example.org)\n\n```\ncode\n```\n\n" + rows,
            chart(size=(642, 3000)),
            chart(alt="", caption=""),
            show.prose(HARD + " word" * 600),
        )
    )


@cache
def written_round() -> bytes:
    return round_page(demo_round("2026-05-20"))


PAGES = {"adversarial": adversarial, "Letter": lambda: adversarial("US Letter"), "round": written_round}


@pytest.fixture(params=PAGES)
def pdf(request):
    return PAGES[request.param]()


# -- the independent checker


def found(content: bytes, folder) -> list[str]:
    path = folder / "pages.pdf"
    path.write_bytes(content)
    report = pdfua.validate(str(path))
    skipped = {outcome.rule_id for outcome in report.skipped}
    assert skipped <= NOT_RUN_BY_PDFUA
    return [f"{finding.rule_id} {finding.message}" for finding in report.findings]


def test_the_checker_finds_nothing(pdf, tmp_path):
    assert found(pdf, tmp_path) == []


# -- the tag tree


def test_nothing_is_missed_by_ear(pdf):
    assert faults(pdf) == []


def test_the_tags_are_there_to_be_looked_at():
    with pikepdf.open(io.BytesIO(adversarial())) as document:
        assert len(of(document, "Table")) >= 5
        assert len(of(document, "TR")) >= 300 + 60 + 70
        assert len(of(document, "Figure")) == 3
        assert len(of(document, "H1")) == 3
        assert [str(tag.S) for tag in of(document, "H1", "H2", "H3")] == ["/H1"] * 3 + ["/H2"]
        assert {"/Lbl", "/LBody", "/Code", "/BlockQuote", "/Link"} <= {
            str(t.S) for t in tags(document.Root.StructTreeRoot)
        }


# -- each check sees what it is for


def _without(name, *roles):
    def change(document):
        for tag in of(document, *roles):
            del tag[name]

    return change


def _renamed(role, other):
    def change(document):
        of(document, role)[0].S = pikepdf.Name("/" + other)

    return change


def _emptied(role):
    def change(document):
        of(document, role)[0].K = pikepdf.Array()

    return change


def _no_scope(document):
    for owner in of(document, "TH")[0].A:
        if "/Scope" in owner:
            del owner["/Scope"]


def _turned(document):
    top = next(tag for tag in tags(document.Root.StructTreeRoot) if tag.S == "/Document")
    top.K = pikepdf.Array(reversed(list(top.K)))


def _no_face(document):
    for _, font in document.pages[0].resources.Font.items():
        del font.DescendantFonts[0].FontDescriptor[
            "/FontFile3" if "/FontFile3" in font.DescendantFonts[0].FontDescriptor else "/FontFile2"
        ]


def _no_bookmark(document):
    del document.Root["/Outlines"]


def _unmarked(document):
    document.Root.MarkInfo["/Marked"] = False


def _no_language(document):
    del document.Root["/Lang"]


def _hidden_title(document):
    document.Root.ViewerPreferences["/DisplayDocTitle"] = False


BROKEN = {
    "figures: not described": _without("/Alt", "Figure"),
    "figures: empty caption": _emptied("Caption"),
    "headings: /H3 after H1": _renamed("H2", "H3"),
    "headings: empty": _emptied("H1"),
    "tables: no heads": _renamed("THead", "TBody"),
    "tables: head of nothing": _no_scope,
    "tables: head without words": _emptied("TH"),
    "tables: cell without a head": _without("/A", "TD"),
    "tables: rows of unequal length": _emptied("TR"),
    "lists: item without words": _emptied("LBody"),
    "lists: empty label": _emptied("Lbl"),
    "order: not as it stands": _turned,
    "document: not marked": _unmarked,
    "document: no language": _no_language,
    "document: title not shown": _hidden_title,
    "bookmarks: are not the headings": _no_bookmark,
}


def broken(change) -> bytes:
    with pikepdf.open(io.BytesIO(adversarial())) as document:
        change(document)
        out = io.BytesIO()
        document.save(out)
    return out.getvalue()


@pytest.mark.parametrize("fault", BROKEN)
def test_a_tag_that_is_missing_is_seen(fault):
    assert fault in faults(broken(BROKEN[fault]))


def test_a_face_that_is_missing_is_seen():
    assert any(fault.endswith("is not in the file") for fault in faults(broken(_no_face))), faults(broken(_no_face))


@pytest.mark.parametrize("change", [_without("/Alt", "Figure"), _unmarked, _no_language, _hidden_title])
def test_the_checker_sees_it_too(change, tmp_path):
    assert found(broken(change), tmp_path) != []
