"""The pictures of the growth chapter: what is marked where, in which words, and that no words lie on each other."""

import json
import re

import numpy as np
import pandas as pd
import pytest

from analysis import charts
from analysis.charts.flagged import AGES_PX, GAPS, HEAD_PX, HEIGHT_PX, LINE_PX, WIDTH_PX, beside_poles
from analysis.charts.weighings import AXIS_PX
from analysis.say import say
from analysis.theme import INK, NAME_PX, PAGE_PX, RED, altair_theme

DAYS = np.arange(0.0, 40.0, 2)
LINES = {"5 %": 0.8, "typical": 1.0, "95 %": 1.2}


def weights(chick="K1", kind="cockatiel", days=DAYS):
    return pd.DataFrame({"chick": chick, "kind": kind, "age_d": days, "mass_g": 4 + 2 * days})


def reference(kind="cockatiel"):
    shares = {0.05: 0.8, 0.25: 0.9, 0.5: 1.0, 0.75: 1.1, 0.95: 1.2}
    lines = [
        pd.DataFrame({"kind": kind, "age_d": DAYS, "share": share, "mass_g": times * (4 + 2 * DAYS)})
        for share, times in shares.items()
    ]
    frame = pd.concat(lines).sample(frac=1, random_state=1)
    return frame.assign(mass_low_g=frame["mass_g"] - 1, mass_high_g=frame["mass_g"] + 1)


def weight_table(source="a book", times=1.0, **ends):
    ends = {"low_g": np.nan, "high_g": np.nan} | ends
    frame = pd.DataFrame({"kind": "cockatiel", "age_d": DAYS[::5], "median_g": times * (4 + 2 * DAYS[::5])})
    return frame.assign(source=source, **ends)


def usual(kind="cockatiel"):
    return pd.DataFrame(
        {"kind": kind, "age_d": DAYS, "mass_g": 4 + 2 * DAYS, "low_g": 3 + DAYS, "high_g": 5 + 3 * DAYS}
    )


def flags(*rows):
    frame = pd.DataFrame(rows, columns=["chick", "age_d", "flag", "level"])
    return frame.assign(sentence=frame["flag"] + " was seen.")


def layers(chart, panel=None):
    """Layers of a chart as (mark, encoding, rows), of one of its panels where it has some."""
    spec = chart.to_dict()
    if "facet" not in spec:
        named = [(layer, layer.get("data", spec.get("data"))["name"]) for layer in spec["layer"]]
        return [(layer["mark"], layer["encoding"], spec["datasets"][name]) for layer, name in named]
    ((_, rows),) = spec["datasets"].items()
    rows = [row for row in rows if panel in (None, row["place"])]
    return [(own["mark"], own["encoding"], of_parts(own, rows)) for own in spec["spec"]["layer"]]


def of_parts(layer, rows):
    """Those rows that a layer of a panel lets through."""
    (transform,) = layer["transform"]
    parts = [test.removeprefix("datum.part == '").removesuffix("'") for test in transform["filter"].split(" || ")]
    return [row for row in rows if row["part"] in parts]


def drawn(chart, panel=None, **look):
    """Rows of those layers whose mark looks so and that have some, each as the list of its rows."""
    return [
        rows
        for mark, _, rows in layers(chart, panel)
        if rows and all(mark.get(key) == value for key, value in look.items())
    ]


def records(chart, part, panel=None):
    """Rows of a part of a chart of panels."""
    ((_, rows),) = chart.to_dict()["datasets"].items()
    return [row for row in rows if row["part"] == part and panel in (None, row["place"])]


def words(chart, panel=None, **look):
    """Rows of all words, without the white edges that lie beneath some."""
    texts = drawn(chart, panel, type="text", stroke=None, **look)
    return [row for rows in texts for row in rows if row.get("part") not in ("name", "kind")]


def looks(chart, part, mark, row):
    """What the conditions of a layer make of a row."""
    ((_, encoding, _),) = [
        own for own in layers(chart) if own[0]["type"] == mark and {row["part"] for row in own[2]} == {part}
    ]
    chosen = {}
    for channel, way in encoding.items():
        if "condition" in way:
            (condition,) = way["condition"]
            field, value = condition["test"].removeprefix("datum.").split(" == ")
            chosen[channel] = (condition if row[field] == value.strip("'") else way)["value"]
    return chosen


def picture(spec):
    """A chart's specification as SVG, in our dress."""
    import vl_convert

    bare = {key: value for key, value in spec.items() if key != "usermeta"}
    return vl_convert.vegalite_to_svg(bare | altair_theme(), vl_version="5.20")


def caption(chart):
    return chart.to_dict()["usermeta"]["caption"]


class TestReference:
    def test_three_lines_by_age_each_over_its_own_interval(self):
        chart = charts.growth_by_kind(weights(), reference())
        lines = {label: [row for row in records(chart, "curve") if row["label"] == label] for label in LINES}
        assert sum(map(len, lines.values())) == len(records(chart, "curve"))
        for label, times in LINES.items():
            assert [row["age_d"] for row in lines[label]] == DAYS.tolist()
            assert [row["mass_g"] for row in lines[label]] == pytest.approx(times * (4 + 2 * DAYS))
            assert [row["mass_high_g"] - row["mass_low_g"] for row in lines[label]] == pytest.approx([2.0] * len(DAYS))
        own = {mark["type"]: encoding for mark, encoding, rows in layers(chart) if rows == records(chart, "curve")}
        assert {type_: encoding["detail"]["field"] for type_, encoding in own.items()} == dict.fromkeys(own, "label")
        assert (own["area"]["y"]["field"], own["area"]["y2"]["field"]) == ("mass_low_g", "mass_high_g")
        assert own["line"]["y"]["field"] == "mass_g"

    def test_the_typical_line_is_dashed_and_the_heavier_one(self):
        svg = picture(charts.growth_by_kind(weights(), reference()).to_dict())
        paths = re.findall(f'<path [^>]*stroke="{INK}" stroke-width="([0-9.]+)" stroke-dasharray="([0-9,]+)"', svg)
        assert sorted(paths) == [("0.9", "1,0"), ("0.9", "1,0"), ("1.8", "5,3")]

    def test_every_line_is_labelled_at_its_end(self):
        chart = charts.growth_by_kind(weights(), reference())
        labels = {row["label"]: row for row in words(chart)}
        assert {name: row["mass_g"] for name, row in labels.items()} == pytest.approx(
            {"5 %": 64.0, "typical": 80.0, "95 %": 96.0}
        )
        assert {row["age_d"] for row in labels.values()} == {38.0}
        places = {row["label"]: mark["baseline"] for mark, _, rows in layers(chart) for row in rows if mark.get("dy")}
        assert places == {"5 %": "top", "typical": "bottom", "95 %": "bottom"}

    def test_kinds_with_and_without_one_stand_beside_each_other(self):
        both = pd.concat([weights(), weights("Z1", kind="zebra finch")])
        chart = charts.growth_by_kind(both, reference())
        assert [row["kind"] for row in records(chart, "kind")] == ["cockatiel", "zebra finch"]
        assert [{row["chick"] for row in records(chart, "weight", panel)} for panel in (0, 1)] == [{"K1"}, {"Z1"}]
        assert [bool(records(chart, "curve", panel)) for panel in (0, 1)] == [True, False]
        assert chart.to_dict()["resolve"]["scale"] == {"x": "independent", "y": "independent"}
        assert chart.description == (
            "Weight against age: cockatiel, 1 chick, 20 weighings from day 0 to day 38, 4 g to 80 g, of chicks that "
            "did well on day 38 5 % below 64 g, typical 80 g, 95 % below 96 g; "
            "zebra finch, 1 chick, 20 weighings from day 0 to day 38, 4 g to 80 g."
        )

    def test_what_is_not_there_has_no_layer(self):
        types = [mark["type"] for mark, _, _ in layers(charts.growth_by_kind(weights()))]
        assert types == ["text", "line", "point"]  # the heading, and the weights

    def test_a_weight_that_is_not_a_number_is_left_out(self):
        chart = charts.growth_by_kind(weights(), reference().assign(mass_low_g=np.nan))
        assert json.loads(json.dumps(chart.to_dict(), allow_nan=False))
        assert [row for row in records(chart, "curve") if "mass_low_g" in row] == []

    def test_pointing_brings_a_chick_forward(self):
        spec = charts.growth_by_kind(pd.concat([weights(), weights("Z1", kind="zebra finch")])).to_dict()
        (hover,) = [param for param in spec["params"] if param["name"] == "hover"]
        assert hover["select"]["on"] == "pointerover"
        hover["value"] = [{"chick": "Z1"}]
        lines = re.findall(r'<path [^>]*stroke-width="([0-9.]+)" opacity="([0-9.]+)"/>', picture(spec))
        assert {line for line in lines if line[0] != "6"} == {("1.5", "0.3"), ("2.5", "1")}  # 6: around a point

    def test_the_caption_says_what_each_is_where_it_is_there(self):
        plain = "Each line is one chick. Each kind has its own scales."
        assert caption(charts.growth_by_kind(weights())) == plain
        assert caption(charts.growth_by_kind(weights(), reference("zebra finch"))) == plain
        assert "Dashed: the typical chick" in caption(charts.growth_by_kind(weights(), reference()))
        assert "diamonds" not in caption(charts.growth_by_kind(weights(), reference()))


class TestWeightTable:
    def test_dotted_with_open_diamonds_and_its_source(self):
        chart = charts.growth_by_kind(weights(), reference(), weight_table())
        (points,) = drawn(chart, type="point", shape="diamond", fill="white")
        (dotted,) = drawn(chart, type="line", strokeDash=[1, 3])
        assert points == dotted
        assert [row["mass_g"] for row in points] == [4, 24, 44, 64]
        labels = {row["label"] for row in words(chart)}
        assert labels == {"a book", "5 %", "typical", "95 %"}
        assert caption(chart).endswith("Dotted with diamonds: a weight table from elsewhere (a book).")
        assert chart.description.endswith(", a book 64 g on day 30.")

    def test_its_range_where_it_gives_one(self):
        chart = charts.growth_by_kind(weights(), table=weight_table(low_g=3.0))
        assert {(row["end"], row["mass_g"]) for row in records(chart, "range")} == {("low_g", 3.0)}
        assert caption(chart).endswith("Thin and dotted: the range it gives.")
        chart = charts.growth_by_kind(weights(), table=weight_table(low_g=3.0, high_g=90.0))
        assert {row["mass_g"] for row in records(chart, "range")} == {3.0, 90.0}
        ends, whole = drawn(chart, type="line", strokeDash=[1, 3])
        assert (whole, ends) == (records(chart, "table"), records(chart, "range"))
        (encoding,) = [encoding for _, encoding, rows in layers(chart) if rows == ends]
        assert [one["field"] for one in encoding["detail"]] == ["source", "end"]  # a line each

    @pytest.mark.parametrize("source", [None, "", np.nan])
    def test_without_a_source(self, source):
        chart = charts.growth_by_kind(weights(), table=weight_table(source))
        assert {row["label"] for row in words(chart)} == {say("charts.weight-table")}
        assert caption(chart).endswith("Dotted with diamonds: a weight table from elsewhere.")

    def test_its_source_stands_on_the_side_where_the_chicks_are_not(self):
        sides = {}
        for times in (0.9, 1.0, 1.5):
            chart = charts.growth_by_kind(weights(), reference(), weight_table(times=times))
            texts = [(mark, rows) for mark, _, rows in layers(chart) if mark["type"] == "text"]
            sides[times] = {mark["align"] for mark, rows in texts if rows[0].get("label") == "a book"}
        assert sides == {0.9: {"left"}, 1.0: {"left"}, 1.5: {"right"}}

    def test_of_another_kind_is_not_drawn(self):
        chart = charts.growth_by_kind(weights(kind="zebra finch"), table=weight_table())
        assert chart.to_dict() == charts.growth_by_kind(weights(kind="zebra finch")).to_dict()
        assert "diamonds" not in caption(chart)


class TestFlagged:
    def test_marks_stand_at_the_weights_of_their_days(self):
        found = flags(("K1", 8.0, "slip", "look"), ("K1", 10.0, "stall", "act"))
        (chart,) = charts.flagged_chicks(weights(), found, usual())
        slip, stall = records(chart, "flag")
        assert [slip[key] for key in ("flag", "level", "age_d", "mass_g")] == ["slip", "look", 8.0, 20.0]
        assert [stall[key] for key in ("flag", "level", "age_d", "mass_g")] == ["stall", "act", 10.0, 24.0]
        assert stall["sentence"] == "stall was seen."

    def test_act_is_filled_and_bold_and_look_is_open_and_plain(self):
        found = flags(("K1", 8.0, "slip", "look"), ("K1", 30.0, "stall", "act"))
        (chart,) = charts.flagged_chicks(weights(), found, usual())
        slip, stall = (looks(chart, "flag", "point", row) for row in records(chart, "flag"))
        assert (slip["shape"], slip["fill"]) == ("circle", "transparent")
        assert (stall["shape"], stall["fill"]) == ("diamond", RED)
        bold = re.findall(r'font-size="10px"(?: font-weight="([0-9]*)")?[^>]*>(slip|stall)<', picture(chart.to_dict()))
        assert bold == [("400", "slip"), ("600", "stall")]

    def test_pointing_shows_the_sentence(self):
        (chart,) = charts.flagged_chicks(weights(), flags(("K1", 8.0, "slip", "look")), usual())
        tips = {
            mark["type"]: [tip["field"] for tip in encoding["tooltip"]]
            for mark, encoding, rows in layers(chart)
            if rows == records(chart, "flag") and "tooltip" in encoding
        }
        assert set(tips) == {"point", "text"}
        assert [part for part, fields in tips.items() if "sentence" not in fields] == []

    def test_a_flag_between_two_weighings_stands_at_the_nearer(self):
        (chart,) = charts.flagged_chicks(weights(), flags(("K1", 8.9, "slip", "look")), usual())
        (row,) = records(chart, "flag")
        assert (row["age_d"], row["mass_g"]) == (8.0, 20.0)

    def test_a_level_of_another_name_is_not_lost(self):
        (chart,) = charts.flagged_chicks(weights(), flags(("K1", 8.0, "slip", "")), usual())
        (row,) = records(chart, "flag")
        assert looks(chart, "flag", "point", row)["shape"] == "circle"

    def test_kinds_then_chicks_by_name_twelve_a_page(self):
        chicks = [(f"K{i}", "cockatiel") for i in range(12, 0, -1)] + [("A1", "Zebra finch"), ("B1", "budgerigar")]
        rows = pd.concat([weights(*chick) for chick in [*chicks, ("K99", "cockatiel")]])
        found = flags(*((chick, 8.0, "slip", "look") for chick, _ in chicks))
        pages = charts.flagged_chicks(rows, found, usual())
        titles = [[row["label"] for row in records(page, "name")] for page in pages]
        assert titles == [["B1", *(f"K{i}" for i in range(1, 12))], ["K12", "A1"]]
        assert [row["label"] for row in records(pages[1], "kind")] == ["cockatiel", "Zebra finch"]
        for page in pages:
            assert [row["place"] for row in records(page, "name")] == list(range(len(records(page, "name"))))
            assert {row["chick"]: row["place"] for row in records(page, "weight")} == {
                row["label"]: row["place"] for row in records(page, "name")
            }
        assert pages[1].description == (
            "Weight by age of flagged chicks: K12 (cockatiel), slip on day 8, look; "
            "A1 (Zebra finch), slip on day 8, look."
        )

    def test_panels_of_a_kind_share_their_scales_whatever_their_words(self):
        others = weights("Z1", kind="zebra finch", days=DAYS[:3])
        rows = pd.concat([weights("K1"), weights("K2", days=DAYS[:6]), weights("K3"), weights("K4"), others])
        found = flags(*((f"K{i}", 4.0, "stall", "act") for i in range(1, 5)), ("K1", 6.0, "unusual shape", "look"))
        found = pd.concat([found, flags(("Z1", 4.0, "stall", "act"))])
        (chart,) = charts.flagged_chicks(rows, found, usual())
        corners = [[*records(chart, "name", panel), *records(chart, "kind", panel)] for panel in range(5)]
        spans = [[(row["age_d"], row["mass_g"]) for row in own] for own in corners]
        assert spans[:4] == [spans[0]] * 4
        assert spans[4] != spans[0]
        for panel, ((first_d, least_g), (last_d, most_g)) in enumerate(spans):  # nothing widens a scale beyond them
            drawn_here = [row for part in ("weight", "usual", "flag") for row in records(chart, part, panel)]
            assert [row for row in drawn_here if not first_d <= row["age_d"] <= last_d] == []
            masses = [row[key] for row in drawn_here for key in ("mass_g", "low_g", "high_g") if key in row]
            assert least_g == 0 < max(masses) <= most_g
        scales = [encoding[axis].get("scale") for _, encoding, _ in layers(chart) for axis in "xy" if axis in encoding]
        assert [scale for scale in scales if scale and scale != {"nice": False, "zero": False}] == []
        assert chart.to_dict()["resolve"]["scale"] == {"x": "independent", "y": "independent"}

    def test_words_have_a_strip_as_high_as_the_fullest_of_their_row_needs(self):
        rows = pd.concat([weights(f"K{i}") for i in range(1, 5)])
        found = flags(*((f"K{i}", 4.0, "stall", "act") for i in range(1, 5)), ("K1", 6.0, "unusual shape", "look"))
        (chart,) = charts.flagged_chicks(rows, found, usual())
        for part in ("name", "kind"):
            heads = [row["top_px"] for row in records(chart, part)]
            assert heads == [-2 * LINE_PX - 2] * 3 + [-LINE_PX - 2]
        assert chart.to_dict()["spacing"]["row"] >= AGES_PX + HEAD_PX + 2 * LINE_PX + 2

    def test_words_stand_above_the_weights_and_below_the_name(self):
        found = flags(*(("K1", day, "unusual shape", "look") for day in (4.0, 6.0, 8.0, 38.0)))
        (chart,) = charts.flagged_chicks(weights(), found, usual())
        told = words(chart)
        assert len(told) == 4
        assert max(row["word_px"] for row in told) < 0  # the weights begin at nought
        assert min(row["top_px"] for row in told) >= records(chart, "name")[0]["top_px"]
        assert len({row["word_px"] for row in told}) == 4

    def test_a_pole_begins_at_its_weight(self):
        (chart,) = charts.flagged_chicks(weights(), flags(("K1", 38.0, "slip", "look")), usual()[:0])
        (row,) = records(chart, "flag")
        assert row["at_px"] == pytest.approx(HEIGHT_PX * (1 - 1 / 1.04))  # the heaviest, and 4 % above it
        (y,) = [encoding["y"] for mark, encoding, _ in layers(chart) if mark["type"] == "rule"]
        assert (y["field"], y["scale"]) == ("at_px", None)

    def test_a_kind_without_a_usual_band(self):
        rows = pd.concat([weights(), weights("Z1", kind="zebra finch")])
        found = flags(("K1", 8.0, "slip", "look"), ("Z1", 8.0, "slip", "look"))
        (chart,) = charts.flagged_chicks(rows, found, usual())
        assert [len(drawn(chart, panel, type="area")) for panel in (0, 1)] == [1, 0]
        assert "Without grey there is no curve of the kind yet: zebra finch." in caption(chart)
        (alone,) = charts.flagged_chicks(rows, found, usual()[:0])
        assert "nine in ten" not in caption(alone)

    def test_a_long_name_is_cut_at_its_panel(self):
        (chart,) = charts.flagged_chicks(weights("x" * 60), flags(("x" * 60, 8.0, "slip", "look")), usual())
        limits = [mark["limit"] for mark, _, rows in layers(chart) if rows in (records(chart, "name"),)]
        assert limits == [WIDTH_PX + AXIS_PX]

    @pytest.mark.parametrize("found", [flags(), flags(("K9", 8.0, "slip", "look")), flags(("K1", np.nan, "slip", ""))])
    def test_nothing_is_not_drawn(self, found):
        with pytest.raises(ValueError, match="nothing to draw: no flagged chicks"):
            charts.flagged_chicks(weights(), found, usual())

    def test_three_panels_are_as_wide_as_the_page(self):
        width = 3 * (WIDTH_PX + AXIS_PX) + 2 * GAPS["column"]
        assert PAGE_PX - 5 <= width <= PAGE_PX


@pytest.mark.parametrize("seed", range(200))
def test_no_word_lies_on_a_word_and_no_pole_crosses_one(seed):
    random = np.random.default_rng(seed)
    poles = np.sort(random.choice(np.linspace(0, WIDTH_PX, 60), size=random.integers(1, 9))).tolist()
    widths = random.choice([24.0, 35.0, 60.0, 82.0], size=len(poles)).tolist()
    places = beside_poles(poles, widths)
    assert len(places) == len(poles)
    spans = [
        (pole - width, pole) if turned else (pole, pole + width)
        for pole, width, (_, turned) in zip(poles, widths, places, strict=True)
    ]
    assert [end for _, end in spans if end > WIDTH_PX] == []
    into_the_panel_before = [start for start, _ in spans if start < -AXIS_PX - GAPS["column"]]
    assert into_the_panel_before == []
    lines = [line for line, _ in places]
    for i, (start, end) in enumerate(spans):
        for k, pole in enumerate(poles):
            if i != k and lines[i] == lines[k]:
                assert end < spans[k][0] or spans[k][1] < start
            if start < pole < end and not (places[k][1] and poles[i] < widths[i]):  # or else the word is on top
                assert lines[k] < lines[i]  # a pole ends beneath a word that it would cross


class TestPairs:
    TABLE = pd.DataFrame(
        {"pair": ["P10", "P2", "P1"], "chicks": [7, 3, 12], "share": [0.93, 1.02, 1.0], "low": [0.88, 0.7, 0.95]}
        | {"high": [0.98, 1.13, 1.05], "enough": [True, False, True]}
    )

    def test_rows_by_name_with_their_counts(self):
        chart = charts.pair_growth_chart(self.TABLE)
        assert [(row["name"], row["told"]) for row in words(chart, align="right")] == [
            ("P1", "12 chicks"),
            ("P2", "few chicks (3)"),
            ("P10", "7 chicks"),
        ]
        names = [encoding["y"] for mark, encoding, _ in layers(chart) if "axis" in encoding.get("y", {})]
        assert [y for y in names if y["scale"]["domain"] != ["P1", "P2", "P10"]] == []
        assert [y for y in names if y["axis"]["minExtent"] != NAME_PX] == []
        assert chart.description == (
            "Weight of each pair's chicks beside the typical chick, with 95 % intervals: P1, 12 chicks, as heavy "
            "(5 % lighter to 5 % heavier); P2, few chicks (3), 2 % heavier (30 % lighter to 13 % heavier); "
            "P10, 7 chicks, 7 % lighter (12 % lighter to 2 % lighter)."
        )

    def test_few_chicks_are_open_and_paler(self):
        chart = charts.pair_growth_chart(self.TABLE)
        looks = [mark for mark, _, _ in layers(chart) if mark["type"] == "point"]
        (few,), (enough,) = ([mark for mark in looks if (mark["fill"] == "white") is white] for white in (True, False))
        assert few["stroke"] > enough["stroke"]  # of "#8f8f8f" and "#004488", each of the three is lighter
        assert [row["name"] for rows in drawn(chart, **few) for row in rows] == ["P2"]
        assert [row["name"] for rows in drawn(chart, **enough) for row in rows] == ["P1", "P10"]
        assert "Open and pale: too few chicks to judge by." in caption(chart)
        assert "Open and pale" not in caption(charts.pair_growth_chart(self.TABLE[self.TABLE["enough"]]))

    def test_intervals_in_percent_and_the_typical_chick_at_nought(self):
        chart = charts.pair_growth_chart(self.TABLE)
        row = next(row for rows in drawn(chart, type="point") for row in rows if row["name"] == "P10")
        assert [row[column] for column in ("share", "low", "high")] == pytest.approx([-7, -12, -2])
        ((typical,),) = drawn(chart, type="rule", strokeDash=[2, 2])
        assert typical == {"share": 0.0, "label": "typical chick"}

    def test_the_axis_holds_every_interval_and_ten_percent_to_either_side(self):
        for table in (self.TABLE, self.TABLE[:1], self.TABLE.assign(high=[0.98, 1.5, 1.05])):
            chart = charts.pair_growth_chart(table)
            (x,) = {
                json.dumps(encoding["x"])
                for mark, encoding, _ in layers(chart)
                if mark["type"] == "point" and "axis" in encoding["x"]
            }
            left, right = json.loads(x)["scale"]["domain"]
            ticks = json.loads(x)["axis"]["values"]
            assert left < min(-10, 100 * table["low"].min() - 100)
            assert right > 1.15 * max(10, 100 * table["high"].max() - 100)
            assert 0 in ticks
            assert ticks == sorted(ticks)
            assert left <= ticks[0] < 0 < ticks[-1] <= right

    def test_a_pair_without_a_name_or_a_number(self):
        table = self.TABLE.assign(pair=["P10", None, "P1"], share=[0.93, np.nan, 1.0])
        description = charts.pair_growth_chart(table).description
        assert description.endswith("; not written, few chicks (3).")
        assert "nan" not in description
