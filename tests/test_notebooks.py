"""The chapters: short cells, no outputs committed, one cell to change; each runs by papermill on the demo.

A chapter opens with its question and answers it under *In short*; then what the answer rests on, *How sure is that?*,
*What to do next*, and, folded, *How this was worked out*. Every code cell is hidden.

nbval runs them too, as plain notebooks (`--nbval-lax` in pyproject.toml), and a browser (`in_browser`,
`prove_browser`); the kernels turn warnings into errors.
"""

import nbformat
import papermill
import pytest

from analysis import chapters
from analysis.names import FOLDER_VARIABLE
from analysis.report.render import notebooks_folder
from support import ROOT

CHAPTERS = sorted(notebooks_folder().glob("[0-9]*.ipynb"))  # the recipes are no chapter: tests/test_recipes.py
ODD = ROOT / "tests" / "odd"
PARAMETERS = {"folder": "str", "earlier": "list", "up_to": "str"}
MORE = {"08_pair_sheet": {"pair": "str"}, "09_one_chick": {"chick": "str"}}


@pytest.fixture(params=CHAPTERS, ids=[path.stem for path in CHAPTERS])
def path(request):
    return request.param


def test_chapters_are_the_checkouts():
    assert notebooks_folder() == ROOT / "notebooks"
    assert [path.stem[:2] for path in CHAPTERS] == [f"{n:02d}" for n in range(len(CHAPTERS))]


def test_prose_first_short_cells_no_outputs(path):
    cells = nbformat.read(path, as_version=4).cells
    assert cells[0].cell_type == "markdown"
    for cell in cells:
        if cell.cell_type == "code":
            assert not cell.outputs
            assert cell.execution_count is None
            assert len(cell.source.splitlines()) <= (4 if "parameters" in cell.metadata.get("tags", ()) else 3)
    if "report" not in path.stem:
        prose = "\n".join(cell.source for cell in cells if cell.cell_type == "markdown")
        assert "\n## What to do next\n" in prose


def test_python_is_folded_away_and_how_it_was_made_too(path):
    cells = nbformat.read(path, as_version=4).cells
    assert [cell for cell in cells if cell.cell_type == "code" and not cell.metadata.jupyter.source_hidden] == []
    if "report" not in path.stem:
        last = [cell for cell in cells if cell.cell_type == "markdown" and cell.source.startswith("## ")][-1]
        assert last.source in (
            "## How this was worked out",
            "## Words used in every chapter",
        )  # alone: it folds the rest
        assert last.metadata["jp-MarkdownHeadingCollapsed"] is True


def test_one_cell_to_change(path):
    known = papermill.inspect_notebook(str(path))
    expected = PARAMETERS | MORE.get(path.stem, {})
    assert {name: facts["inferred_type_name"] for name, facts in known.items()} == expected
    assert [name for name, facts in known.items() if not facts["help"]] == []


def test_every_chapter_is_in_the_map_of_the_first():
    first = "".join(cell.source for cell in nbformat.read(CHAPTERS[0], as_version=4).cells)
    assert [path for path in CHAPTERS[1:] if f"]({path.name})" not in first] == []


def test_links_lead_somewhere(path):
    import re

    for cell in nbformat.read(path, as_version=4).cells:
        for target in re.findall(r"\]\(([^)#]+\.ipynb)\)", cell.source):
            assert (path.parent / target).is_file()


# nbval runs every chapter on a small season (see conftest.py), a browser on the demo
@pytest.mark.parametrize(
    ("name", "folder", "up_to"),
    [("07_season_report", ROOT / "tests" / "odd" / "only_hatches", "2026-05-05")],
)
@pytest.mark.slow
def test_runs_by_papermill_and_shows_something(name, folder, up_to, tmp_path):
    path = notebooks_folder() / f"{name}.ipynb"
    done = papermill.execute_notebook(
        str(path),
        str(tmp_path / path.name),
        {"folder": str(folder), "up_to": up_to},
        kernel_name="python3",
        progress_bar=False,
        cwd=str(tmp_path),
    )
    shown = [out for cell in done.cells for out in cell.get("outputs", ()) if out.output_type == "display_data"]
    assert shown
    streams = [out.text for cell in done.cells for out in cell.get("outputs", ()) if out.output_type == "stream"]
    assert streams == []


@pytest.mark.slow
def test_a_warning_in_a_chapter_is_an_error(tmp_path):
    book = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("import warnings; warnings.warn('old')")])
    nbformat.write(book, tmp_path / "warns.ipynb")
    with pytest.raises(papermill.PapermillExecutionError, match="UserWarning"):
        papermill.execute_notebook(
            str(tmp_path / "warns.ipynb"), None, kernel_name="python3", progress_bar=False, cwd=str(tmp_path)
        )


@pytest.mark.slow
def test_a_season_error_is_one_sentence_in_a_notebook(tmp_path):
    with pytest.raises(papermill.PapermillExecutionError) as told:
        papermill.execute_notebook(
            str(CHAPTERS[0]), None, {"folder": str(tmp_path / "no")}, kernel_name="python3", progress_bar=False
        )
    assert told.value.traceback == [
        f"There is no folder {tmp_path / 'no'}. Check the spelling, or make one with: season new {tmp_path / 'no'}"
    ]


def test_a_folder_that_was_moved_is_a_sentence_with_the_next_step(monkeypatch, tmp_path):
    from analysis import SeasonError

    monkeypatch.setenv(FOLDER_VARIABLE, str(tmp_path / "moved"))
    with pytest.raises(SeasonError, match=r"moved is no longer there. Was it moved\? Close this and open it with"):
        chapters.begin()


def test_the_round_can_be_of_today_and_of_the_first_day(open_logs, set_clock):
    from datetime import date

    set_clock("2026-05-20 06:50")
    first, last = chapters.days(open_logs(hatches="chick,hatched_at\nK1,2026-04-01\n"))
    assert (first, last) == (date(2026, 4, 1), date(2026, 5, 20))
