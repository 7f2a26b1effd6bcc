"""The pictures of the egg chapter: what is drawn where, in which words, and that no words lie on each other."""

import json
import re
from itertools import combinations

import altair as alt
import numpy as np
import pandas as pd
import pytest

from analysis import charts
from analysis.charts.readings import MOST
from analysis.charts.water_loss import LINE_PX, Frame, Label, names_at_ends
from analysis.charts.weighings import AXIS_PX
from analysis.theme import PAGE_PX, altair_theme

# The lines to 13 and 17 % at pip: Duerr & Gage, Hand-Rearing Birds, 2nd ed., 2020, p. 65.
LOW, HIGH = 0.13, 0.17
RATES = {"K1": (0.15, "leave"), "K2": (0.20, "much"), "K3": (0.10, "little"), "K4": (0.18, "")}
PARTS = (0.0, 0.3, 0.6)


@pytest.fixture(autouse=True)
def dressed():
    before = alt.theme.active
    alt.theme.register("season_test", enable=True)(altair_theme)
    yield
    alt.theme.enable(before)


def weighings(rates=None, group="drawer", parts=PARTS):
    rows = [
        {"group": group, "egg": egg, "part": part, "lost": rate * part, "mass_g": 7 * (1 - rate * part), "word": word}
        for egg, (rate, word) in (rates or RATES).items()
        for part in parts
    ]
    return pd.DataFrame(rows).assign(when="2026-05-01", doubt="")


def readings(temperatures, place="drawer", start="2026-06-01 07:30", freq="D"):
    times = pd.date_range(start, periods=len(temperatures), freq=freq)
    return pd.DataFrame({"place": place, "read_at": times, "temperature": temperatures})


def in_range(frame):
    return charts.readings_chart(frame, 36.9, 37.8)


def records(chart, part, panel=None):
    ((_, rows),) = chart.to_dict()["datasets"].items()
    return [row for row in rows if row["part"] == part and panel in (None, row["place"])]


def layers(chart, part):
    """Layers of a part, as (mark, encoding, the other test that a row must pass)."""
    found = []
    for layer in chart.to_dict()["spec"]["layer"]:
        first, *others = [transform["filter"] for transform in layer["transform"]]
        if f"'{part}'" in first:
            found.append((layer["mark"], layer["encoding"], others))
    return found


def caption(chart):
    return chart.to_dict()["usermeta"]["caption"]


def picture(chart):
    import vl_convert

    spec = chart.to_dict()
    return vl_convert.vegalite_to_svg({key: spec[key] for key in spec if key != "usermeta"}, vl_version="5.20")


class TestWaterLoss:
    def test_a_line_an_egg_and_two_dashed_lines_with_their_shares(self):
        (chart,) = charts.water_loss_chart(weighings())
        drawn = [(row["egg"], row["way"], row["lost"]) for row in records(chart, "weight")]
        assert drawn == [(egg, part, rate * part) for egg, (rate, _) in RATES.items() for part in PARTS]
        guides = [(row["way"], row["lost"]) for row in records(chart, "guide")]
        assert guides == [(0, 0), (1, LOW), (0, 0), (1, HIGH)]
        assert [(row["lost"], row["label"]) for row in records(chart, "end")] == [(LOW, "13 %"), (HIGH, "17 %")]
        ((mark, encoding, _),) = layers(chart, "guide")
        assert mark["strokeDash"]
        assert encoding["detail"]["field"] == "egg"  # or the two would be one line

    def test_other_lines_when_asked(self):
        (chart,) = charts.water_loss_chart(weighings(), guides=(0.12, 0.2))
        assert [row["label"] for row in records(chart, "end")] == ["12 %", "20 %"]
        assert "12 % and 20 %" in caption(chart)
        assert "above the line of 20 %: none; below the line of 12 %: 1 (K3)" in chart.description

    def test_the_lines_ends_stand_behind_an_egg_that_lies_on(self):
        late = charts.water_loss_chart(weighings(parts=(0.0, 1.2)))[0]
        assert {row["way"] for row in records(late, "end")} == {1.2}
        assert {row["way"] for row in records(late, "guide")} == {0, 1}
        for_weeks = charts.water_loss_chart(weighings(parts=(0.0, 9.0)))[0]
        assert {row["way"] for row in records(for_weeks, "end")} == {1.5}

    def test_meaning_is_in_shape_width_and_word_beside_colour(self):
        (chart,) = charts.water_loss_chart(weighings())
        looks = {}
        for mark, _, (test,) in layers(chart, "weight"):
            word = test.removeprefix("datum.word == '").removesuffix("'")
            looks.setdefault(word, {})[mark["type"]] = mark
        assert {word: look["point"]["shape"] for word, look in looks.items()} == {
            "": "circle",
            "little": "triangle-down",
            "much": "triangle-up",
        }
        widths = {word: look["line"]["strokeWidth"] for word, look in looks.items()}
        assert widths["little"] == widths["much"] > widths[""]
        assert {row["egg"]: row["word"] for row in records(chart, "weight")} == {
            **dict.fromkeys(("K1", "K4"), ""),
            "K2": "much",
            "K3": "little",
        }
        assert [row["label"] for row in records(chart, "label")] == ["K2\ntoo much", "K3\ntoo little"]
        assert ">too much<" in picture(chart)

    def test_a_doubtful_weighing_is_open_joined_to_none_and_widens_no_scale(self):
        rows = weighings()
        plain = charts.water_loss_chart(rows)[0].to_dict()["spec"]
        slip = rows.iloc[[1]].assign(part=0.4, lost=-9.0, doubt="gained")
        (chart,) = charts.water_loss_chart(pd.concat([rows, slip]))
        assert chart.to_dict()["spec"] == plain
        ((mark, encoding, _),) = layers(chart, "doubt")
        assert (mark["type"], mark["fill"], encoding["y"]["scale"]["clamp"]) == ("point", "white", True)
        assert [row["doubt"] for row in records(chart, "doubt")] == ["gained"]
        assert -9.0 not in [row["lost"] for row in records(chart, "weight")]
        assert caption(chart).endswith("Open: a weighing in doubt.")
        assert "doubt" not in caption(charts.water_loss_chart(rows)[0])

    def test_nothing_but_doubt_is_drawn_too(self):
        (chart,) = charts.water_loss_chart(weighings().assign(doubt="gained"))
        assert "4 eggs in 1 group. Last weighed above the line of 17 %: none;" in chart.description
        assert not records(chart, "label")
        assert picture(chart)

    def test_told_by_the_last_weighing_that_is_not_in_doubt(self):
        rows = pd.concat([weighings(), weighings({"Z1": (0.11, "")}, group="still")])
        slip = rows[rows["egg"] == "K1"].tail(1).assign(part=0.7, lost=0.19, doubt="lost too fast")
        (chart,) = charts.water_loss_chart(pd.concat([rows, slip]).sample(frac=1, random_state=1))
        assert chart.description == (
            "Weight lost on the way to pipping: 5 eggs in 2 groups. Last weighed above the line of 17 %: 2 (K2; K4); "
            "below the line of 13 %: 2 (K3; Z1). On course to lose too much: K2; too little: K3."
        )

    def test_many_names_are_cut_in_the_alternative_text(self):
        many = weighings({f"K{i}": (0.2, "much") for i in range(1, 26)})
        (chart,) = charts.water_loss_chart(many)
        assert "17 %: 25 (K1; K2; K3;" in chart.description
        assert "K20; and 5 more). On" not in chart.description  # the line below 13 % comes between
        assert chart.description.endswith("K20; and 5 more; too little: none.")

    def test_groups_by_name_nine_a_chart_on_one_scale(self):
        rows = pd.concat([weighings(group=f"drawer {i}") for i in range(11, 0, -1)] + [weighings(group=None)])
        pages = charts.water_loss_chart(rows)
        titles = [[row["label"] for row in records(page, "group")] for page in pages]
        assert titles == [[f"drawer {i}" for i in range(1, 10)], ["drawer 10", "drawer 11", "not written"]]
        assert pages[0].to_dict()["spec"] == pages[1].to_dict()["spec"]
        assert [page.to_dict()["columns"] for page in pages] == [3, 3]
        assert "36 eggs in 9 groups" in pages[0].description
        assert "12 eggs in 3 groups" in pages[1].description

    def test_units_and_what_pointing_shows(self):
        (chart,) = charts.water_loss_chart(weighings())
        (mark, encoding, _), *_ = [own for own in layers(chart, "weight") if own[0]["type"] == "point"]
        assert (encoding["x"]["title"], encoding["y"]["title"]) == ("way to pipping (%)", "weight lost (%)")
        shown = [(tip["title"], tip.get("format")) for tip in encoding["tooltip"]]
        assert shown == [("egg", None), ("weighed", None), ("weight (g)", None), ("lost", ".1%")]
        assert mark["filled"]

    @pytest.mark.parametrize("groups", [1, 2, 3, 7])
    def test_as_wide_as_the_page(self, groups):
        (chart,) = charts.water_loss_chart(pd.concat([weighings(group=f"drawer {i}") for i in range(groups)]))
        width = float(picture(chart).split('width="', 1)[1].split('"', 1)[0])
        assert PAGE_PX - 6 <= width <= PAGE_PX + 5

    def test_the_caption_names_only_what_is_there(self):
        (chart,) = charts.water_loss_chart(weighings({"K1": (0.15, "leave")}))
        assert caption(chart) == "Each line is an egg; dashed: the ways to 13 % and 17 % at pipping."
        (chart,) = charts.water_loss_chart(weighings({"K2": (0.2, "much")}))
        assert "(up: too much)" in caption(chart)


@pytest.mark.parametrize("seed", range(40))
def test_no_name_lies_on_a_name_or_on_the_line_of_an_egg_it_names(seed):
    random = np.random.default_rng(seed)
    frame = Frame(1.0, 0.0, 0.25, int(random.choice([167, 275, 600])), 150)
    eggs = [
        (
            f"K{i}",
            float(random.uniform(0.15, 1)),
            *((0.2, "much") if random.random() < 0.5 else (0.1, "little")),
        )
        for i in range(random.integers(1, 25))
    ]
    rows = pd.DataFrame(eggs, columns=["egg", "way", "rate", "word"])
    rows = rows.assign(lost=rows["way"] * rows["rate"] * random.uniform(0.9, 1.1, len(rows)))
    labels = names_at_ends(rows, frame)
    assert sorted(name for label in labels for name in label.names) == sorted(rows["egg"])
    assert not [pair for pair in combinations(labels, 2) if pair[0].word == pair[1].word and pair[0].meets(pair[1])]
    for label in labels:
        left, top = label.corner_px
        assert left >= 0
        assert left + label.width_px <= frame.width_px
        assert 0 <= top <= frame.height_px - 2 * LINE_PX
        own = rows[rows["egg"].isin(label.names)]
        for way, lost in zip(own["way"], own["lost"], strict=True):
            for at in np.linspace(0, 1, 50):
                x, y = frame.px(at * way, at * lost)
                inside = left < x < left + label.width_px and top < y < top + 2 * LINE_PX
                assert not inside or top in (0, frame.height_px - 2 * LINE_PX)


def test_one_name_more_is_written_out_and_many_are_counted():
    frame = Frame(1.0, 0.0, 0.25, 275, 150)
    labels = [Label(tuple(f"K{i}" for i in range(count, 0, -1)), "much", 0.5, 0.1, frame) for count in (1, 2, 3, 4)]
    assert [label.text.split("\n")[0] for label in labels] == [
        "K1",
        "K1 and K2",
        "K1, K2 and K3",
        "K1, K2 and 2 more",
    ]


class TestReadings:
    def test_told_place_by_place(self):
        rows = pd.concat(
            [
                readings([37.4, 38.2, 38.4, 36.5, np.nan], place="drawer 10"),
                readings([36.9, 37.8], place="drawer 2"),
                readings([35.0, 38.5], place=None),
            ]
        )
        assert in_range(rows.sample(frac=1, random_state=1)).description == (
            "Temperature by day, range 36.9 to 37.8 °C: drawer 2, 2 readings, none out of range; "
            "drawer 10, 4 readings, 3 out of range, the worst 38.4 °C on 3 June 2026; "
            "not written, 2 readings, 2 out of range, the worst 35 °C on 1 June 2026."
        )

    def test_out_of_range_by_shape_and_only_the_worst_has_its_value(self):
        chart = in_range(readings([37.4, 38.2, 38.4, 36.5, 38.4]))
        assert [row["temperature"] for row in records(chart, "warm")] == [38.2, 38.4, 38.4]
        assert [row["temperature"] for row in records(chart, "cold")] == [36.5]
        assert [row["temperature"] for row in records(chart, "inside")] == [37.4]
        marks = {
            part: next(mark for mark, _, _ in layers(chart, part) if mark["type"] == "point")
            for part in ("warm", "cold", "inside")
        }
        assert [mark["shape"] for mark in marks.values()] == ["triangle-up", "triangle-down", "circle"]
        assert marks["warm"]["size"] == marks["cold"]["size"] > 3 * marks["inside"]["size"]
        (worst,) = records(chart, "worst-warm")
        assert (worst["label"], worst["when"]) == ("38.4 °C", "2026-06-03 07:30")
        assert not records(chart, "worst-cold")
        assert len(re.findall(">38.4 °C<", picture(chart))) == 2  # the word, and its white edge
        cold = in_range(readings([37.4, 30.0]))
        assert [row["label"] for row in records(cold, "worst-cold")] == ["30 °C"]

    def test_the_range_is_a_band_labelled_with_its_ends(self):
        chart = in_range(readings([37.4, 37.6]))
        assert records(chart, "range") == [{"place": 0, "part": "range", "low": 36.9, "high": 37.8}]
        ends = {part: records(chart, part)[0] for part in ("low", "high")}
        assert {part: (row["temperature"], row["label"]) for part, row in ends.items()} == {
            "low": (36.9, "36.9 °C"),
            "high": (37.8, "37.8 °C"),
        }
        assert caption(chart) == "Each point is a reading; band: the range."

    def test_each_place_has_its_own_scale_around_readings_and_range(self):
        chart = in_range(pd.concat([readings([37.4, 37.6], place="A"), readings([37.4, 30.0], place="B")]))
        spans = [[row["temperature"] for row in records(chart, "corner", panel)] for panel in (0, 1)]
        assert 36 < spans[0][0] < 36.9
        assert 37.8 < spans[0][1] < 39
        assert 27 < spans[1][0] < 30.0
        assert chart.to_dict()["resolve"]["scale"]["y"] == "independent"

    def test_times_are_drawn_as_written_wherever_they_are_read(self):
        chart = in_range(readings([37.4, 37.6], start="2026-06-01 00:00"))
        assert [row["day"] for row in records(chart, "inside")] == ["2026-06-01T00:00:00", "2026-06-02T00:00:00"]
        assert [row["when"] for row in records(chart, "inside")] == ["2026-06-01", "2026-06-02"]
        ((mark, encoding, _),) = [own for own in layers(chart, "warm") if own[0]["type"] == "line"]
        assert mark["type"] == "line"
        assert encoding["x"]["scale"]["domain"][0] == {
            **{"year": 2026, "month": 5, "date": 31},
            **{"hours": 12, "minutes": 0},
        }

    def test_thousands_are_thinned_in_range_only(self):
        random = np.random.default_rng(1)
        celsius = np.round(37.4 + random.normal(0, 0.1, 2000), 1)
        celsius[[700, 701, 1500]] = 39.0, 40.2, 30.0
        rows = readings(celsius, freq="h")
        chart = in_range(rows.sample(frac=1, random_state=1))
        out = (celsius > 37.8) | (celsius < 36.9)
        assert len(records(chart, "warm")) + len(records(chart, "cold")) == out.sum()
        drawn = {row["day"] for row in records(chart, "inside")}
        assert MOST / 2 < len(drawn) <= MOST + 2 * out.sum() + 2
        beside = rows["read_at"].iloc[[0, 699, 702, 1499, 1501, 1999]].dt.strftime("%Y-%m-%dT%H:%M:%S")
        assert set(beside) <= drawn
        assert "In range only one reading in 3 is drawn." in caption(chart)
        assert "2000 readings" in chart.description
        assert len(json.dumps(chart.to_dict())) < 120_000
        assert "one reading in" not in caption(in_range(rows[:MOST]))

    @pytest.mark.parametrize("places", [1, 5, 6, 14])
    def test_places_fit_a_page(self, places):
        rows = pd.concat([readings([37.4, 38.4], place=f"drawer {i}") for i in range(1, places + 1)])
        chart = in_range(rows)
        size = [
            float(text) for text in re.findall(r'<svg [^>]*?width="([0-9.]+)" height="([0-9.]+)"', picture(chart))[0]
        ]
        assert PAGE_PX - 6 <= size[0] <= PAGE_PX + 5
        assert size[1] <= 920
        assert [row["label"] for row in records(chart, "name")] == [f"drawer {i}" for i in range(1, places + 1)]

    def test_one_reading(self):
        chart = in_range(readings([37.4]))
        assert chart.description == "Temperature by day, range 36.9 to 37.8 °C: drawer, 1 reading, none out of range."
        assert picture(chart)

    def test_units(self):
        ((_, encoding, _), *_) = layers(in_range(readings([37.4])), "inside")
        assert encoding["y"]["title"] == "temperature (°C)"
        assert encoding["y"]["axis"]["titleX"] == -AXIS_PX
