"""Notebook → report folder: whole or not at all, and plain words when it stops."""

import json
import subprocess
import sys
from datetime import date
from pathlib import Path

import nbformat
import pandas as pd
import pypdf
import pytest

from analysis import SeasonError
from analysis.report import writing
from analysis.report.render import notebooks_folder, render_report
from analysis.report.writing import RECORD

HERE = Path(__file__).parent / "fixtures"


@pytest.fixture(scope="module")
def season(tmp_path_factory):
    out = tmp_path_factory.mktemp("season")
    heard = []
    extra = {"all pairs": pd.DataFrame({"pair": ["P01"], "note": ["=1+1"]})}
    report = render_report(
        HERE / "season.ipynb", out, {"paper": "Letter"}, progress=lambda *news: heard.append(news), extra_tables=extra
    )
    return report, heard


@pytest.fixture(scope="module")
def hard(tmp_path_factory):
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("PYTHONWARNINGS", raising=False)  # one of its cells warns on purpose
        return render_report(HERE / "hard_text.ipynb", tmp_path_factory.mktemp("hard"))


def test_the_report_is_a_pdf_the_executed_notebook_and_the_tables(season):
    report, _ = season
    out = report.pdf.parent
    found = sorted(path.relative_to(out).as_posix() for path in out.rglob("*") if path.is_file())
    tables = ["all_pairs", "counts", "pairs", "steps", "weights"]
    assert found == [RECORD, "season_report.ipynb", "season_report.pdf", *(f"tables/{name}.csv" for name in tables)]
    assert sorted(path.name for path in report.tables) == [f"{name}.csv" for name in tables]
    assert pypdf.PdfReader(report.pdf).metadata.title == "Season report 2031"
    assert float(pypdf.PdfReader(report.pdf).pages[0].mediabox[3]) == 792  # the parameter reached the notebook
    weights = pd.read_csv(out / "tables" / "weights.csv")
    assert len(weights) == 216
    assert (out / "tables" / "all_pairs.csv").read_bytes() == b"\xef\xbb\xbfpair,note\nP01,'=1+1\n"


def test_the_executed_notebook_holds_no_times_and_no_places(season):
    text = season[0].notebook.read_text(encoding="utf-8")
    assert "papermill" not in text
    assert str(HERE.parent) not in text
    assert nbformat.read(season[0].notebook, as_version=4)


def test_progress_names_the_chapter(season):
    _, heard = season
    assert heard[0] == (0, 27, "The season in one page")
    assert (18, 27, "Growth") in heard
    assert heard[-1] == (27, 27, "setting the pages")


@pytest.mark.slow
def test_the_same_run_gives_the_same_bytes(season, tmp_path):
    extra = {"all pairs": pd.DataFrame({"pair": ["P01"], "note": ["=1+1"]})}
    again = render_report(HERE / "season.ipynb", tmp_path, {"paper": "Letter"}, extra_tables=extra)
    for one, other in zip((season[0].pdf, season[0].notebook), (again.pdf, again.notebook), strict=True):
        assert one.read_bytes() == other.read_bytes()


def test_warnings_and_hidden_cells_do_not_reach_the_pages(hard):
    words = " ".join(page.extract_text() for page in pypdf.PdfReader(hard.pdf).pages)
    assert "[hatching chick]" in words
    assert "<script>alert(1)</script>" in words
    assert [
        text for text in ("a warning nobody prints", "a printed line", "never on paper", "import") if text in words
    ] == []


def test_text_is_text_in_the_html_export(hard):
    from nbconvert.exporters import HTMLExporter

    notebook = nbformat.read(hard.notebook, as_version=4)
    notebook.cells = [cell for cell in notebook.cells if cell.cell_type == "code"]
    page, _ = HTMLExporter(exclude_input=True).from_notebook_node(notebook)
    assert "<script>alert" not in page
    assert page.count("&lt;script&gt;alert(1)&lt;/script&gt;") > 10
    assert "<figcaption" in page


def test_jupyterlab_exports_the_same_bytes(hard):
    from analysis.report.exporter import SeasonPDF

    notebook = nbformat.read(hard.notebook, as_version=4)
    assert SeasonPDF().from_notebook_node(notebook)[0] == hard.pdf.read_bytes()


@pytest.mark.parametrize(
    ("how", "reason"),
    [
        ("season", "No chick has three weighings. Weigh again."),
        ("program", "something went wrong in the program (KeyError: 'mass')"),
        ("killed", "the program that runs it ended by itself"),
    ],
)
@pytest.mark.slow
def test_a_stopped_run_keeps_the_last_good_report_and_names_the_chapter(how, reason, tmp_path):
    (tmp_path / "season_report.pdf").write_bytes(b"last good report")
    with pytest.raises(SeasonError) as stopped:
        render_report(HERE / "stops.ipynb", tmp_path, {"how": how})
    said = str(stopped.value)
    assert "in the chapter “Chicks off the curve”" in said
    assert reason in said
    assert "Traceback" not in said
    assert (tmp_path / "season_report.pdf").read_bytes() == b"last good report"
    names = [RECORD, "season_report.pdf", "season_report_stopped.ipynb"]
    assert sorted(path.name for path in tmp_path.iterdir()) == names
    assert len(nbformat.read(tmp_path / "season_report_stopped.ipynb", as_version=4).cells) >= 5


def test_a_run_that_works_again_clears_the_stopped_one(tmp_path):
    (tmp_path / "season_report_stopped.ipynb").write_text("{}", encoding="utf-8")
    report = render_report(HERE / "stops.ipynb", tmp_path, {"how": "not at all"}, timestamp=date(2031, 9, 30))
    assert not (tmp_path / "season_report_stopped.ipynb").exists()
    assert pypdf.PdfReader(report.pdf).metadata.creation_date.date() == date(2031, 9, 30)


def test_an_unknown_parameter_is_refused(tmp_path):
    with pytest.raises(SeasonError, match=r"season\.ipynb has no parameter papr\. It has: paper\."):
        render_report(HERE / "season.ipynb", tmp_path, {"papr": "A4"})
    assert not list(tmp_path.iterdir())


def test_out_that_is_a_file_is_said(tmp_path):
    (tmp_path / "out").write_text("mine", encoding="utf-8")
    for out in (tmp_path / "out", tmp_path / "out" / "deeper"):
        with pytest.raises(SeasonError, match="is a file, not a folder"):
            render_report(HERE / "stops.ipynb", out)
    assert (tmp_path / "out").read_text(encoding="utf-8") == "mine"


def test_a_report_open_elsewhere_is_said_and_left_alone(tmp_path, monkeypatch):
    (tmp_path / "a.pdf").write_bytes(b"old")

    def refuse(*paths):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(writing.os, "replace", refuse)
    with writing.scratch_folder(tmp_path) as scratch, pytest.raises(SeasonError, match="Close it where it is open"):
        writing.put_all({tmp_path / "a.pdf": b"new"}, tmp_path, scratch)
    assert (tmp_path / "a.pdf").read_bytes() == b"old"


def test_a_full_disk_is_said(tmp_path, monkeypatch):
    def full(descriptor):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(writing.os, "fsync", full)
    with writing.scratch_folder(tmp_path) as scratch, pytest.raises(SeasonError, match="Make room"):
        writing.put_all({tmp_path / "a.pdf": b"new"}, tmp_path, scratch)
    assert not list(tmp_path.iterdir())


def test_the_kernel_is_this_very_python(tmp_path):
    code = "import os, sys\nfrom analysis import show\nshow.prose(sys.executable + os.environ['PYTHONHASHSEED'])"
    parts = [nbformat.v4.new_code_cell(code, id="a")]
    notebook = nbformat.v4.new_notebook(
        cells=parts, metadata={"kernelspec": {"name": "elsewhere", "display_name": "x"}}
    )
    nbformat.write(notebook, tmp_path / "who.ipynb")
    report = render_report(tmp_path / "who.ipynb", tmp_path / "out")
    assert sys.executable + "0" in report.notebook.read_text(encoding="utf-8")


@pytest.mark.slow
def test_papermill_finds_the_engine_whichever_is_imported_first():
    for first, second in (("papermill", "analysis.report.run"), ("analysis.report.run", "papermill")):
        subprocess.run([sys.executable, "-c", f"import {first}, {second}"], check=True, capture_output=True)


def test_importing_analysis_leaves_jsonschema_alone():
    code = (
        "import sys, json, analysis, analysis.show; before = 'jsonschema' in sys.modules;"
        "from analysis.report.kernel import load_jsonschema; load_jsonschema(); import jsonschema;"
        "slow = 'rfc3987_syntax' in sys.modules; import rfc3987_syntax; print(json.dumps([before, slow]))"
    )
    ran = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert json.loads(ran.stdout) == [False, False]


def test_the_chapters_are_found():
    assert notebooks_folder().name == "notebooks"
