"""Any chapter as a PDF from the export menu: not run, stopped, with a keeper's own cells; and files open elsewhere."""

import base64
import io
import os
import subprocess
import sys
from pathlib import Path

import nbformat
import nbformat.v4 as v4
import pandas as pd
import pypdf
import pytest
from pdf_tags import faults

from analysis import SeasonError, show
from analysis.report import writing
from analysis.report.exporter import SeasonPDF
from analysis.report.foreign import foreign_blocks
from analysis.report.render import Report
from analysis.report.round_page import morning_round
from analysis.report.season_report import SeasonReport
from analysis.report.typeset import typeset
from analysis.report.writing import RECORD
from analysis.say import say
from analysis.show.still import chart_bundle

PHOTO = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
CONTROL = {show.MIME: {"kind": "control"}, "text/plain": "", "text/html": "<b>never on paper</b>"}
WIDGET = {"application/vnd.jupyter.widget-view+json": {"model_id": "a"}, "text/plain": "Dropdown(options=('P1',))"}


def chapter(*outputs, above="# Growth of *K1*", ran=1):
    code = v4.new_code_cell("x = never_on_paper", outputs=list(outputs), execution_count=ran, id="b")
    return v4.new_notebook(cells=[v4.new_markdown_cell(above, id="a"), code])


def shown(data):
    return v4.new_output("display_data", data=data)


def words(pdf):
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())


# -- what stands on the page


def test_the_first_heading_is_the_title_and_the_export_is_what_typeset_makes():
    notebook = chapter(shown({"text/plain": "7"}))
    pdf, _ = SeasonPDF().from_notebook_node(notebook)
    assert pdf == typeset(notebook)
    assert pypdf.PdfReader(io.BytesIO(pdf)).metadata.title == "Growth of K1"
    assert faults(pdf) == []


@pytest.mark.slow
def test_the_command_line_gives_the_same_bytes_in_another_process(tmp_path):
    notebook = chapter(
        shown({"text/plain": "7"}), shown(show.table(pd.DataFrame({"a": [1]}), caption="c")._repr_mimebundle_())
    )
    nbformat.write(notebook, tmp_path / "mine.ipynb")
    command = [sys.executable, "-m", "nbconvert", "--to", "SeasonPDF", "mine.ipynb"]
    subprocess.run(command, cwd=tmp_path, check=True, capture_output=True, env=_quiet())
    assert (tmp_path / "mine.pdf").read_bytes() == typeset(nbformat.read(tmp_path / "mine.ipynb", as_version=4))


def _quiet():
    """Without the test run's own filter: nbconvert may warn about itself."""
    return {name: value for name, value in os.environ.items() if name != "PYTHONWARNINGS"}


def test_a_chapter_that_was_not_run_says_so_once_below_its_heading():
    text = words(typeset(chapter(ran=None, above="# Growth\n\nEach chick by itself.")))
    assert text.count(say("report.not-run")) == 1
    assert text.index("Growth") < text.index(say("report.not-run"))
    assert say("report.nothing") not in text


def test_a_chapter_of_words_alone_or_with_cells_that_show_nothing_was_run():
    only = v4.new_notebook(cells=[v4.new_markdown_cell("# Words", id="a")])
    assert say("report.not-run") not in words(typeset(only))
    text = words(typeset(chapter()))
    assert say("report.not-run") not in text
    assert say("report.nothing") in text


def test_a_heading_with_something_below_it_is_left_alone():
    for notebook in (chapter(shown({"text/plain": "7"})), chapter(above="# Growth\n\nSome words.")):
        assert say("report.nothing") not in words(typeset(notebook))


@pytest.mark.parametrize(
    ("name", "said", "printed"),
    [
        ("NameError", "name 'season' is not defined", say("report.part-stopped")),
        ("FileNotFoundError", "[Errno 2] No such file or directory: '/home/jane/x.csv'", say("report.part-stopped")),
        ("SeasonError", "", say("report.part-stopped")),
        (
            "SeasonError",
            "There is no folder /home/jane/birds/season_2031. Check it.",
            "no folder season_2031. Check it.",
        ),
        ("SeasonError", r"There is no folder C:\Users\jane\season_2031. Check it.", "no folder season_2031. Check it."),
        ("SeasonError", "3/4/26 can be read in two ways.", "3/4/26 can be read in two ways."),
    ],
)
def test_a_cell_that_stopped_is_a_plain_sentence(name, said, printed):
    output = v4.new_output("error", ename=name, evalue=said, traceback=["Traceback (most recent call last)"])
    text = words(typeset(chapter(output)))
    assert "This part could not be made" in text
    assert printed in text
    assert [part for part in ("jane", "Traceback", "Errno", "is not defined") if part in text] == []


BARE = pd.DataFrame({"mass": [1.5, None], "who": ["K1", "K2"]})
WAYS = [
    ({"text/plain": "array([1, 2])"}, "array([1, 2])"),
    ({"text/html": BARE._repr_html_(), "text/plain": str(BARE)}, "row mass who 0 1.5 K1 1 NaN K2"),
    ({"text/html": "<h3>A</h3><p>b <b>&amp;</b><script>no()</script>", "text/plain": "<HTML object>"}, "A b &"),
    ({"text/latex": "$x^2$", "text/plain": "<IPython.core.display.Math object>"}, "$x^2$"),
    ({"text/latex": "$x^2$", "text/plain": "x**2"}, "x**2"),
    ({"text/plain": ["two", " parts"]}, "two parts"),
    ({"text/markdown": "*slow*"}, "slow"),
    (
        {"image/gif": "R0lGODlhAQABAAAAACw=", "text/plain": "<IPython.core.display.Image object>"},
        say("report.no-picture"),
    ),
    ({"image/png": base64.b64encode(b"no photo" * 9).decode()}, say("report.no-picture")),
    ({"image/svg+xml": "<svg width='3'"}, say("report.no-picture")),
    ({"image/svg+xml": "<svg xmlns='http://www.w3.org/2000/svg' width='0' height='0'/>"}, say("report.no-picture")),
    ({"text/plain": "a line\n" * 5000}, "… (cut; whole in the notebook)"),
]  # fmt: skip


@pytest.mark.parametrize(("data", "printed"), WAYS)
def test_what_a_keepers_own_cell_shows_is_on_the_page(data, printed):
    pdf = typeset(chapter(shown(data)))
    assert printed in words(pdf)
    assert "no()" not in words(pdf)
    assert faults(pdf) == []
    assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) <= 2


SILENT = [
    CONTROL,
    WIDGET,
    {"text/plain": "<Figure size 640x480 with 1 Axes>"},
    {"application/javascript": "no()", "text/plain": "<IPython.core.display.Javascript object>"},
]


@pytest.mark.parametrize("data", SILENT)
def test_what_lives_on_the_screen_alone_is_left_out(data):
    assert words(typeset(chapter(shown(data), shown({"text/plain": "seven"})))) == "Growth of K1 seven page 1 of 1"


def test_a_control_alone_leaves_nothing_to_show():
    assert words(typeset(chapter(shown(CONTROL)))) == f"Growth of K1 {say('report.nothing')} page 1 of 1"


def test_a_pictures_own_name_is_not_printed_below_it():
    text = words(typeset(chapter(shown({"image/png": PHOTO, "text/plain": "<Figure size 640x480 with 1 Axes>"}))))
    assert text == "Growth of K1 page 1 of 1"


def test_heads_over_heads_and_cells_over_cells_keep_their_places():
    index = pd.MultiIndex.from_tuples([("P1", "K1"), ("P1", "K2"), ("P2", "K3")], names=["pair", "chick"])
    columns = pd.MultiIndex.from_product([["mass"], ["first", "last"]])
    frame = pd.DataFrame([[1, 2], [3, 4], [5, 6]], index=index, columns=columns)
    (table,) = foreign_blocks({"text/html": frame._repr_html_()}, {}, dict)
    assert table["heads"] == ["pair", "chick", "mass first", "mass last"]
    assert table["rows"] == [["P1", "K1", "1", "2"], ["", "K2", "3", "4"], ["P2", "K3", "5", "6"]]
    assert table["align"] == ["left", "left", "right", "right"]


# -- the HTML export


def test_the_html_export_has_charts_with_their_words_and_tables_with_their_heads():
    from nbconvert.exporters import HTMLExporter

    spec = {"mark": "point", "data": {"values": []}, "description": "Eggs of P1.", "usermeta": {"caption": "Pairs."}}
    table = show.table(pd.DataFrame({"pair": ["P1"]}), caption="Every pair.")._repr_mimebundle_()
    page, _ = HTMLExporter().from_notebook_node(chapter(shown(chart_bundle(spec)), shown(table), shown(CONTROL)))
    assert 'alt="Eggs of P1."' in page
    assert "data:image/svg+xml;base64," in page
    assert ">Pairs.</figcaption>" in page
    assert ">Every pair.</caption>" in page
    assert 'scope="col"' in page


# -- files that are open elsewhere, and a run that is ended


def locked(monkeypatch, *names):
    """As Windows has it: a file that another program holds open cannot be replaced."""
    move = writing.os.replace

    def refuse(source, target):
        if Path(target).name in names:
            raise PermissionError(13, "Permission denied")
        move(source, target)

    monkeypatch.setattr(writing.os, "replace", refuse)


def test_a_report_that_is_open_gets_a_neighbour_and_a_sentence(tmp_path, monkeypatch):
    for name in ("season_report.pdf", "season_report (2).pdf"):
        (tmp_path / name).write_bytes(b"old")
    locked(monkeypatch, "season_report.pdf")
    with writing.scratch_folder(tmp_path) as scratch:
        path = writing.put_all({tmp_path / "season_report.pdf": b"new"}, tmp_path, scratch)[0]
    assert path.read_bytes() == b"new"
    assert path.name == "season_report (3).pdf"
    assert sorted(one.name for one in tmp_path.iterdir()) == [
        RECORD,
        "season_report (2).pdf",
        "season_report (3).pdf",
        "season_report.pdf",
    ]
    lines = SeasonReport(Report(path, tmp_path / "season_report.ipynb", ()), ()).lines()
    said = "season_report.pdf is open in another program, so the new one is season_report (3).pdf beside it."
    assert said in lines
    whole = SeasonReport(Report(tmp_path / "season_report.pdf", tmp_path / "season_report.ipynb", ()), ())
    assert not [line for line in whole.lines() if "another program" in line]


@pytest.fixture
def small(write_logs, tmp_path):
    """A season folder, and a folder that holds the round of a day already."""
    out = tmp_path / "out"
    out.mkdir()
    (out / "round_2026-05-20.pdf").write_bytes(b"last good one")
    return write_logs(hatches="pair,clutch,hatched_at,chick,reared_by\nP1,1,2026-05-10,K1,hand\n"), out


def test_a_round_that_is_open_too(small, monkeypatch):
    folder, out = small
    locked(monkeypatch, "round_2026-05-20.pdf")
    made = morning_round(folder, out, on="2026-05-20")
    assert made.pdf.name == "round_2026-05-20 (2).pdf"
    assert "open in another program" in " ".join(made.lines())
    assert (out / "round_2026-05-20.pdf").read_bytes() == b"last good one"


def test_a_folder_that_refuses_everything_is_still_said(tmp_path, monkeypatch):
    (tmp_path / "a.pdf").write_bytes(b"old")
    locked(monkeypatch, "a.pdf", "a (2).pdf")
    with writing.scratch_folder(tmp_path) as scratch, pytest.raises(SeasonError, match="may not be written"):
        writing.put_all({tmp_path / "a.pdf": b"new"}, tmp_path, scratch)


def test_ended_in_the_middle_of_the_pages_leaves_the_old_ones(small, monkeypatch):
    folder, out = small

    def ended(*arguments, **options):
        raise KeyboardInterrupt

    monkeypatch.setattr("typst.compile", ended)
    with pytest.raises(KeyboardInterrupt):
        morning_round(folder, out, on="2026-05-20")
    assert [path.name for path in out.iterdir()] == ["round_2026-05-20.pdf"]
    assert (out / "round_2026-05-20.pdf").read_bytes() == b"last good one"
