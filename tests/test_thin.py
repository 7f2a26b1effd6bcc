"""Pages of a season that has only begun: empty sections are left out and listed, and nothing else is."""

import nbformat.v4 as v4
import pytest

from analysis import chapters, open_season
from analysis.report.blocks import page_blocks
from analysis.report.markdown import words
from analysis.report.press import Pictures
from analysis.say import say
from analysis.show import Display, nothing, prose

FIVE = "pair,outcome,hatched_at,chick\n" + "".join(f"P1,hatched,2026-04-0{n},K{n}\n" for n in range(1, 6))


def page(*cells, leave_out_empty=True):
    """Blocks of a notebook: text is a Markdown cell, a list of displays a code cell that was run."""
    made = []
    for cell in cells:
        if isinstance(cell, str):
            made.append(v4.new_markdown_cell(cell))
        else:
            outputs = [v4.new_output("display_data", one._repr_mimebundle_()) for one in cell]
            made.append(v4.new_code_cell("x", outputs=outputs, execution_count=1))
    return page_blocks(v4.new_notebook(cells=made), Pictures("A4"), leave_out_empty=leave_out_empty)


def headings(blocks):
    return [words([node]).strip() for b in blocks for node in b.get("nodes", ()) if node["type"] == "heading"]


def test_an_empty_section_is_left_out_and_listed_with_its_chapter():
    blocks = page("# One", "## Full\n\nProse.", [prose("Here.")], "## Empty\n\nIts prose.", [nothing("No eggs.")])
    assert headings(blocks) == ["One", "Full", say("report.nothing-yet")]
    assert "Its prose." not in str(blocks)
    assert blocks[-1] == {"kind": "attention", "items": [["One", "No eggs."]]}


def test_an_empty_chapter_is_left_out_whole_but_the_first():
    blocks = page("# One", [nothing("None.")], "# Two\n\nText.", [nothing("No eggs.")], "## More", [nothing("No day.")])
    assert headings(blocks) == ["One", say("report.nothing-yet")]
    assert blocks[-1]["items"] == [["One", "None."], ["Two", "No eggs. No day."]]


def test_a_section_that_shows_something_beside_stays_with_its_sentence():
    blocks = page("# One", "## Both", [nothing("No eggs."), prose("But this.")])
    assert headings(blocks) == ["One", "Both"]
    assert [block["paragraphs"] for block in blocks if block["kind"] == "prose"] == [["No eggs."], ["But this."]]


def test_a_remark_and_a_section_of_words_alone_stay():
    blocks = page("# One", "## My own words\n\nFed late.", "## Empty", [nothing("No eggs.")], "My remark.")
    assert "Fed late." in str(blocks)
    assert "My remark." in str(blocks)


def test_in_a_chapter_of_her_own_every_section_stays_with_its_sentence():
    blocks = page("# One", "## Empty\n\nHer prose.", [nothing("No eggs.")], leave_out_empty=False)
    assert headings(blocks) == ["One", "Empty"]
    assert blocks[-1] == {"kind": "prose", "paragraphs": ["No eggs."]}


def test_nothing_is_plain_text_for_every_reader():
    shown: Display = nothing("No <b>eggs</b>.")
    assert shown.text == "No <b>eggs</b>."
    assert "&lt;b&gt;" in shown.html


def test_five_rows_give_ages_and_what_to_write_next(open_logs):
    season = open_logs(hatches=FIVE)
    shown = chapters.first_page.next_steps(season)
    assert shown[0]["text/markdown"] == "## What comes next"
    assert shown[1].data["rows"][0] == ["K5", "P1", "5 April 2026", "0"]
    assert shown[1].data["rows"][-1] == ["K1", "P1", "1 April 2026", "4"]
    assert [what for what, _ in shown[2].data["items"]] == ["Growth", "Weaning", "Species", "Hatching", "Then"]


@pytest.mark.parametrize(("weighings", "begun"), [(19, True), (20, False)])
def test_twenty_weighings_are_more_than_a_beginning(open_logs, weighings, begun):
    days = "".join(f"K1,2026-04-{day:02d},{day}\n" for day in range(6, 6 + weighings))
    season = open_logs(hatches=FIVE, weights="chick,weighed_at,weight\n" + days)
    assert bool(chapters.first_page.next_steps(season)) is begun


def test_a_whole_season_is_not_told_how_to_begin():
    assert chapters.first_page.next_steps(open_season("data_demo/season_2026")) == []


def test_a_chick_without_a_day_of_hatch_is_listed_too(open_logs):
    season = open_logs(hatches=FIVE + "P1,hatched,,K6\n")
    rows = chapters.first_page.next_steps(season)[1].data["rows"]
    assert rows[-1] == ["K6", "P1", "not written", ""]


def test_a_name_alone_is_listed(open_logs):
    season = open_logs(hatches="chick\nK1\n")
    assert chapters.first_page.next_steps(season)[1].data["rows"] == [["K1", "", "not written"]]
