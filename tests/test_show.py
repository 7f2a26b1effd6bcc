"""What a cell shows: which bundle, and that text stays text in it."""

import io
import json
from contextlib import redirect_stdout
from html.parser import HTMLParser

import altair as alt
import pandas as pd
import pytest
from widths import table, widths_of_the_typeface

from analysis import show
from analysis.show.fonts import WIDTHS, advances
from analysis.show.still import LIVE, MIME, chart_bundle, still

HARD = "#let x = 1 $x$ <script>alert(1)</script> *b* [l](u) @ref \\ ' \" =1+1 🐣"


class _Words(HTMLParser):
    """Text and tags of an HTML piece, as a browser would take them."""

    def __init__(self, piece):
        super().__init__()
        self.words, self.tags, self.attributes = [], [], []
        self.feed(piece)

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [value for _, value in attrs]

    def handle_data(self, data):
        self.words.append(data)


def _spec(**more):
    frame = pd.DataFrame({"chick": ["K01", "K02"], "mass_g": [12.0, 14.5]})
    chart = alt.Chart(frame).mark_bar(clip=True).encode(x="mass_g:Q", y="chick:N")
    return chart.properties(description="Two chicks.", usermeta={"caption": "Weights."}, **more).to_dict()


DISPLAYS = {
    "table": show.table(pd.DataFrame({HARD: [HARD]}), caption=HARD, note=HARD, name="hard"),
    "numbers": show.numbers((HARD, HARD, HARD)),
    "attention": show.attention((HARD, HARD)),
    "warning": show.warning((HARD, HARD)),
    "prose": show.prose(HARD),
    "cover": show.cover(title=HARD, aviary=HARD, line=HARD, season=HARD, as_of=HARD),
}


@pytest.mark.parametrize("kind", DISPLAYS)
def test_a_display_carries_exactly_three_forms(kind):
    bundle = DISPLAYS[kind]._repr_mimebundle_()
    assert set(bundle) == {MIME, "text/html", "text/plain"}
    assert bundle[MIME]["kind"] == kind
    assert json.loads(json.dumps(bundle)) == bundle


@pytest.mark.parametrize("kind", DISPLAYS)
def test_text_is_text_in_html(kind):
    read = _Words(DISPLAYS[kind].html)
    assert HARD in " ".join(read.words)
    assert not {"script", "a", "em", "b "} & set(read.tags)
    assert "$" not in DISPLAYS[kind].html  # nothing for a mathematics renderer to find


def test_a_chart_carries_exactly_the_five_forms_of_the_design():
    bundle = chart_bundle(_spec())
    assert set(bundle) == {LIVE, "image/svg+xml", "text/markdown", "text/plain", MIME}
    assert LIVE == "application/vnd.vegalite.v5+json"
    assert bundle[LIVE]["$schema"] == "https://vega.github.io/schema/vega-lite/v5.json"
    assert "usermeta" not in bundle[LIVE]
    assert bundle["text/plain"] == "Two chicks."
    assert bundle[MIME] == {"kind": "chart", "alt": "Two chicks.", "caption": "Weights."}


def test_the_caption_shows_below_the_live_chart_and_in_html_but_not_in_the_still():
    bundle = chart_bundle(_spec())
    assert bundle[LIVE]["title"]["text"] == ["Weights."]
    assert bundle[LIVE]["title"]["orient"] == "bottom"
    read = _Words(bundle["text/markdown"])
    assert read.tags == ["figure", "img", "figcaption"]
    assert "Two chicks." in read.attributes
    assert read.words == ["Weights."]
    assert "Weights." not in bundle["image/svg+xml"]


def test_a_chart_with_a_title_keeps_it():
    title = chart_bundle(_spec(title="Nursery"))[LIVE]["title"]
    assert (title["text"], title["subtitle"]) == ("Nursery", ["Weights."])


def test_text_is_text_in_a_chart():
    frame = pd.DataFrame({"chick": [HARD], "mass_g": [1.0]})
    chart = alt.Chart(frame).mark_bar().encode(x="mass_g:Q", y="chick:N")
    bundle = chart_bundle(chart.properties(description=HARD, usermeta={"caption": HARD}).to_dict())
    read = _Words(bundle["text/markdown"])
    assert HARD in read.attributes
    assert read.words == [HARD]
    assert "<script" not in bundle["image/svg+xml"]
    assert "[hatching chick]" in bundle["image/svg+xml"]


def test_the_same_chart_gives_the_same_still():
    spec = _spec(params=[{"name": "p", "select": "interval"}])
    first = still(spec)
    assert "clip_" in first
    assert still(spec) == first


def test_a_label_that_looks_like_an_id_is_left_alone():
    spec = _spec()
    next(iter(spec["datasets"].values()))[0]["chick"] = 'id="clip7"'
    assert 'id="clip7"' in still(spec).replace("&quot;", '"')


def test_a_still_fetches_nothing():
    with pytest.raises(ValueError, match="not allowed"):
        still({"data": {"url": "https://example.org/a.csv"}, "mark": "point"})


def test_tables_show_plain_values_and_keep_the_rest_for_the_file():
    frame = pd.DataFrame(
        {
            "chick": ["K01", None],
            "mass_g": [91.123456789, float("nan")],
            "seen": [pd.Timestamp("2031-05-01"), pd.Timestamp("2031-05-02 07:30")],
            "kept": [True, False],
        },
        index=pd.Index([3, 4], name="row"),
    )
    data = show.table(frame, caption="All.", formats={"mass_g": lambda grams: f"{grams:.0f} g"}, name="all").data
    assert data["rows"] == [["3", "K01", "91 g", "2031-05-01", "yes"], ["4", "", "", "2031-05-02 07:30", "no"]]
    assert data["align"] == ["right", "left", "right", "left", "left"]
    assert data["csv"].splitlines()[1].startswith("3,K01,91.123456789,")


def test_heads_must_match_the_columns():
    with pytest.raises(ValueError, match="heads has 1 entries for 2 columns: a, b"):
        show.table(pd.DataFrame({"a": [1], "b": [2]}), caption="", heads=["A"])


def test_half_a_character_does_not_stop_the_kernel():
    json.dumps(show.prose("K01 \ud83d")._repr_mimebundle_(), ensure_ascii=False).encode()


def test_ready_dresses_charts_and_bare_frames():
    from IPython.core.interactiveshell import InteractiveShell

    shell = InteractiveShell.instance()
    try:
        show.ready()
        assert alt.renderers.active == "season"
        assert alt.theme.active == "season"
        data, _ = shell.display_formatter.format(pd.DataFrame({"n": range(100)}))
        assert data[MIME]["note"] == "The first 60 of 100 rows."
    finally:
        InteractiveShell.clear_instance()
        alt.renderers.enable("default")
        alt.theme.enable("default")
        alt.data_transformers.enable("default")


def raised(source):
    """What a cell prints that goes wrong, in a shell that a chapter has made ready."""
    from IPython.core.interactiveshell import InteractiveShell

    from analysis import show

    shell = InteractiveShell.instance()
    try:
        show.ready()
        with redirect_stdout(io.StringIO()) as said:
            shell.run_cell(source)
    finally:
        InteractiveShell.clear_instance()
    return said.getvalue().rstrip("\n")


def test_what_goes_wrong_in_our_rooms_is_a_sentence_and_no_traceback():
    said = raised("from analysis import chapters\nchapters.logs.rows(3)")
    assert said.startswith("Something went wrong in the program (AttributeError: ")
    assert "Traceback" not in said
    assert "Run All Cells" in said


def test_a_cell_run_before_the_first_says_where_to_begin():
    assert raised("season.eggs").startswith("A part above is missing or was not run. Run the chapter from the top: Run")
    assert raised("raise KeyboardInterrupt") == "Stopped. Run the chapter from the top: Run, then Run All Cells."


def test_a_keepers_own_code_shows_its_own_traceback():
    assert "ZeroDivisionError" in raised("1 / 0")
    assert "NameError" in raised("my_own_name")


def test_the_widths_are_those_of_the_typeface():
    assert advances() == widths_of_the_typeface()
    assert WIDTHS.read_text(encoding="utf-8") == table(), "written by tests/widths.py"
