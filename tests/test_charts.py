import json
from functools import cache

import altair as alt
import numpy as np
import pandas as pd
import pytest

from analysis import charts
from analysis.names import by_name
from analysis.rates import kaplan_meier, losses_by_age, losses_by_cause, stage_rates
from analysis.theme import NAME_PX, PAGE_PX, altair_theme

NASTY = ['"Zoé" O\'Hara', "a.b[0]", "datum.rate", "<script>alert(1)</script>", "🐣 \\ {x}", "P10", "P2", "x" * 60]
COLUMNS = {
    *("day", "middle"),
    "name",
    "rate",
    "low",
    "high",
    "told",
    "aviary",
    "label",
    "end",
    "stage",
    "tried",
    "age_d",
    "mass_g",
}
COLUMNS |= {"chick", "when", "low_g", "high_g", "place", "food", "curve", "start", "count", "lost_to", "beside"}
COLUMNS |= {"lost_text", "open_text", "at_risk", "lost", "survival", "mass_low_g", "mass_high_g", "source"}
COLUMNS |= {"flag", "sentence", "top_px", "at_px", "word_px", "share", "kind"}
COLUMNS |= {"egg", "way", "doubt", "temperature"}
COLUMNS |= {"usual", "pair", "notes", "between", "week", "chicks", "age", "cause", "which", "written", "course"}


@pytest.fixture(autouse=True)
def dressed():
    """Our theme, and no limit of rows, as in the notebooks; both as they were afterwards."""
    before = alt.theme.active
    alt.theme.register("season_test", enable=True)(altair_theme)
    with alt.data_transformers.enable("default", max_rows=None):
        yield
    alt.theme.enable(before)


def rates(names=NASTY, worked=3, tried=4):
    low, high = (0.3, 0.95) if tried else (0.0, 1.0)
    rate = worked / tried if tried else np.nan
    stage = ["showed fertile", "hatch of fertile", "hatch of set", "weaned"]
    rows = [(name, s, rate, low, high, worked, tried) for name in names for s in stage]
    return pd.DataFrame(rows, columns=["name", "stage", "rate", "low", "high", "worked", "tried"])


def one(frame, stage="weaned"):
    return frame[frame["stage"] == stage]


def path():
    return pd.DataFrame(
        {
            "stage": ["Laid", "Showed fertile", "Hatched", "Weaned"],
            "count": [86, 60, 50, 1],
            "lost_here": [0, 19, 6, 8],
            "lost_text": ["", "17 clear, 2 broken or gone", "6 died in the egg", "8 lost"],
            "open_here": [0, 7, 4, 41],
            "open_text": ["", "7 still incubating", "4 not known", "41 being reared"],
            "note": ["", "", "", "2 chicks are not in it: bought in, or without eggs written down"],
        }
    )


def weights(chicks=NASTY, kinds=("cockatiel",), days=range(0, 40, 4)):
    rows = [
        (f"{chick}", kind, float(day), 3.0 + 2 * day, pd.Timestamp("2026-05-01 07:30") + pd.Timedelta(day, "D"), "part")
        for kind in kinds
        for chick in chicks
        for day in days
    ]
    return pd.DataFrame(rows, columns=["chick", "kind", "age_d", "mass_g", "weighed_at", "crop"])


def curve():
    days = np.arange(0, 40)
    return pd.DataFrame({"kind": "cockatiel", "age_d": days, "mass_g": 2.0 + 2 * days})


def reference():
    shares = {0.05: 0.8, 0.25: 0.9, 0.5: 1.0, 0.75: 1.1, 0.95: 1.2}
    lines = [curve().assign(share=share, mass_g=lambda own, by=by: own["mass_g"] * by) for share, by in shares.items()]
    return pd.concat(lines).assign(mass_low_g=lambda own: own["mass_g"] - 1, mass_high_g=lambda own: own["mass_g"] + 1)


def usual():
    return curve().assign(low_g=lambda own: own["mass_g"] * 0.8, high_g=lambda own: own["mass_g"] * 1.2)


def flags(chicks=NASTY):
    stall = {"flag": "stall", "level": "act", "age_d": 8.0}
    return pd.DataFrame([{"chick": chick, **stall, "sentence": f"Look at {chick}."} for chick in chicks])


def pairs(names=NASTY):
    few = {"chicks": 4, "share": 0.9, "low": 0.8, "high": 1.0, "enough": False}
    return pd.DataFrame([{"pair": name, **few} for name in names])


SPANS = pd.DataFrame({"entry_d": 0, "exit_d": [0, 5, 30, 30, 30], "lost": [True, True, False, False, False]})
LOST = pd.DataFrame({"chick": NASTY, "found_on": pd.Timestamp("2026-05-04"), "age_d": 3.0})
LOST = LOST.assign(cause=NASTY, cause_group=NASTY)
CAUSES = pd.DataFrame({"cause": [*NASTY, "cold"], "cause_group": [*NASTY, NASTY[0]]})


def egg_weights(groups=NASTY, eggs=NASTY):
    rows = [(group, egg, part, 0.2 * part) for group in groups for egg in eggs for part in (0.0, 0.5, 0.9)]
    frame = pd.DataFrame(rows, columns=["group", "egg", "part", "lost"])
    return frame.assign(when="2026-05-01", mass_g=7 * (1 - frame["lost"]), doubt="", word="too much")


def readings(places=NASTY):
    days = pd.date_range("2026-05-01 07:30", periods=4)
    seen = pd.DataFrame({"read_at": days, "temperature": [37.5, 38.4, 37.4, 36.0]})
    return pd.concat([seen.assign(place=place) for place in places], ignore_index=True)


def every_chart():
    fitted = pd.concat([curve().assign(chick=chick) for chick in NASTY[:2]])
    table = curve().rename(columns={"mass_g": "median_g"}).assign(low_g=1.0, high_g=90.0, source=NASTY[0])
    yield "egg_path_chart", charts.egg_path_chart(path())
    yield "stages_chart", charts.stages_chart(rates(), one(rates(["aviary"])))
    yield "survival_chart", charts.survival_chart(kaplan_meier(SPANS))
    yield "losses_by_age_chart", charts.losses_by_age_chart(losses_by_age(SPANS))
    yield "losses_by_cause_chart", charts.losses_by_cause_chart(losses_by_cause(CAUSES))
    yield "losses_calendar", charts.losses_calendar(LOST, LOST["found_on"] - pd.Timedelta(9, "D"))
    of_pairs = weights(kinds=[*NASTY[:3], "cockatiel"]).assign(pair=lambda own: own["chick"], notes=NASTY[0])
    yield "growth_by_kind", charts.growth_by_kind(of_pairs, reference(), table, flags=flags())
    yield "pair_growth_chart", charts.pair_growth_chart(pairs())
    yield "readings_chart", charts.readings_chart(readings(), 36.9, 37.8)
    yield from (("water_loss_chart", chart) for chart in charts.water_loss_chart(egg_weights()))
    yield from (("flagged_chicks", chart) for chart in charts.flagged_chicks(weights(), flags(), usual()))
    yield from (("growth_by_chick", chart) for chart in charts.growth_by_chick(weights(kinds=NASTY[:1]), fitted))
    yield from (("growth_by_chick", chart) for chart in charts.growth_by_chick(weights(), fitted))
    yield from (("brood_charts", chart) for chart in charts.brood_charts(weights(), usual(), fitted))


def parts(spec):
    """Every dict of a specification but the data."""
    if isinstance(spec, dict):
        yield spec
        for key, value in spec.items():
            if key not in ("datasets", "values"):
                yield from parts(value)
    elif isinstance(spec, list):
        for value in spec:
            yield from parts(value)


def rows_of(chart):
    """All rows that a chart was given."""
    return [row for rows in chart.to_dict()["datasets"].values() for row in rows]


def layers_of(spec, data=None):
    """Layers of a specification, each with the name of its data."""
    data = spec.get("data", data)
    inner = [spec["spec"]] if "spec" in spec else spec.get("layer", spec.get("vconcat"))
    if inner is None:
        yield spec, data["name"]
    else:
        for one in inner:
            yield from layers_of(one, data)


def rows_shown(layer, rows):
    """Rows that a layer lets through, as far as its first test tells by their part."""
    tests = [step["filter"] for step in layer.get("transform", []) if isinstance(step.get("filter"), str)]
    if tests and tests[0].startswith("datum.part"):
        return [row for row in rows if f"datum.part == '{row['part']}'" in tests[0].split(" || ")]
    return [row for row in rows if "!datum.curve" not in tests or not row["curve"]]


def vega(chart):
    """What Vega-Lite 5, as JupyterLab has it, makes of a chart."""
    import vl_convert

    spec = chart.to_dict()
    spec.pop("usermeta")
    return vl_convert.vegalite_to_vega(spec, vl_version="5.20")


def test_every_public_function_is_here():
    assert {name for name, _ in charts_once()} == set(charts.__all__)
    assert len(charts_once()) == 14


@cache
def charts_once():
    return list(every_chart())


@pytest.fixture(params=range(14))
def chart(request):
    return charts_once()[request.param][1]


class TestEveryChart:
    def test_is_valid_and_carries_its_words(self, chart):
        spec = chart.to_dict(validate=True)
        assert spec["description"].endswith(".")
        assert spec["usermeta"]["caption"].endswith(".")
        assert "nan" not in spec["description"]

    def test_what_a_keeper_typed_is_only_ever_data(self, chart):
        assert {part["field"] for part in parts(chart.to_dict()) if "field" in part} <= COLUMNS
        typed = [text for text in NASTY if not text.startswith(("P", "x"))]
        code = {"expr", "test", "update", "signal", "calculate", "init"}
        for part in parts(vega(chart)):
            said = [value for key, value in part.items() if key in code and isinstance(value, str)]
            assert not [text for text in typed for line in said if json.dumps(text)[1:-1] in line or text in line]

    def test_what_pointing_shows_is_there_and_has_a_title(self, chart):
        spec = chart.to_dict()
        pointed = [(layer, name) for layer, name in layers_of(spec) if "tooltip" in layer["encoding"]]
        assert pointed
        for layer, name in pointed:
            steps = [one for step in layer.get("transform", []) for one in (step, *step.get("aggregate", []))]
            made, rows = {step.get("as") for step in steps}, rows_shown(layer, spec["datasets"][name])
            for tip in layer["encoding"]["tooltip"]:
                assert tip["title"].strip()
                assert tip["field"] in made or all(tip["field"] in row for row in rows), tip

    def test_has_no_legend(self, chart):
        assert [part for part in parts(vega(chart)) if part.get("legends")] == []

    def test_is_as_wide_as_the_page(self, chart):
        import vl_convert

        spec = chart.to_dict()
        spec.pop("usermeta")
        svg = vl_convert.vegalite_to_svg({**spec, "padding": 0})
        width = float(svg.split('width="', 1)[1].split('"', 1)[0])
        assert PAGE_PX - 6 <= width <= PAGE_PX + 5


def axis_titles(chart):
    titles = [part.get("title") for part in parts(chart.to_dict()) if "field" in part and "scale" in part]
    return {title for title in titles if title}


def test_units_stand_on_every_axis():
    assert axis_titles(charts.egg_path_chart(path())) == {"eggs, then chicks (count)"}
    assert axis_titles(charts.stages_chart(rates())) == {"rate (%)"}
    assert axis_titles(charts.survival_chart(kaplan_meier(SPANS))) == {"age (days)", "chicks alive (%)"}
    assert axis_titles(charts.pair_growth_chart(pairs())) == {
        "lighter (−) or heavier (+) than the typical chick (%), with 95 % interval"
    }
    (flagged,) = charts.flagged_chicks(weights(), flags(), usual())
    assert flagged.to_dict()["title"]["text"] == "Flagged chicks: weight (g) by age (days)"
    assert axis_titles(charts.losses_by_age_chart(losses_by_age(SPANS))) == {"chicks lost (count)"}
    kinds = charts.growth_by_kind(weights()).to_dict()
    titles = {part.get("title") for part in parts(kinds) if part.get("field") in ("age_d", "mass_g")}
    assert {"age (days)", "weight (g)"} <= titles
    (chicks,) = charts.growth_by_chick(weights())
    assert chicks.to_dict()["title"]["text"] == "cockatiel: weight (g) by age (days)"


def test_names_stand_in_one_column_by_name_and_long_ones_are_cut():
    shuffled = rates().sample(frac=1, random_state=1)
    by_pair = charts.pair_growth_chart(pairs(NASTY[::-1]))
    for chart in (charts.stages_chart(shuffled), by_pair):
        axes = [part for part in parts(chart.to_dict()) if part.get("field") == "name" and "axis" in part]
        assert axes
        for part in axes:
            assert part["scale"]["domain"] == by_name(NASTY)
            assert part["axis"]["minExtent"] == part["axis"]["maxExtent"] == NAME_PX
            assert part["axis"]["labelAlign"] == "left"
            assert part["axis"]["labelLimit"] < NAME_PX


def test_counts_stand_beside_every_rate():
    frame = pd.concat([one(rates(["P1"], 9, 12)), one(rates(["P2"], 0, 0))])
    chart = charts.stages_chart(frame, one(rates(["aviary"])))
    texts = {row["name"]: row["told"] for row in rows_of(chart) if "told" in row}
    assert texts == {"P1": "9 of 12", "P2": "none yet"}
    drawn = [part for part in chart.to_dict()["spec"]["layer"] if part["mark"]["type"] in ("rule", "point")]
    filters = {part["transform"][0]["filter"] for part in drawn if part["encoding"]["x"]["field"] != "aviary"}
    assert filters == {"datum.tried > 0"}


def test_the_aviary_is_dashed_and_labelled():
    chart = charts.stages_chart(one(rates()), one(rates(["aviary"])).assign(rate=0.754))
    assert [(row["aviary"], row["label"]) for row in rows_of(chart) if row["label"]] == [(0.754, "aviary 75 %")]
    assert any(part.get("strokeDash") for part in parts(chart.to_dict())), list(parts(chart.to_dict()))
    unknown = charts.stages_chart(one(rates()), one(rates(["aviary"])).assign(rate=np.nan))
    assert {row["label"] for row in rows_of(unknown)} == {""}
    assert "Dashed" not in unknown.usermeta["caption"]
    overall = stage_rates(
        pd.DataFrame(
            {"eggs": [4], "incubating": [0], "ended": [4], "fertile_known": [4], "fertile": [3]}
            | {"fertile_ended": [3], "hatched": [3], "fertile_incubating": [0], "undecided_incubating": [0]}
        ),
        pd.DataFrame({"fate": []}),
    )
    labels = [row["label"] for row in rows_of(charts.stages_chart(rates(), overall)) if row.get("label")]
    assert sorted(labels) == ["aviary 100 %", "aviary 75 %", "aviary 75 %"]


def test_sixty_pairs_fit_a_page():
    names = [f"P{i}" for i in range(1, 61)]
    assert 60 * 14 <= charts.stages_chart(rates(names)).to_dict()["spec"]["height"] <= 900
    assert charts.stages_chart(one(rates(names))).description.endswith("P20 weaned 3 of 4; and 40 more.")


def test_rates_are_told_in_order():
    frame = pd.concat([one(rates(["P10"], 9, 12)), one(rates(["P2"], 0, 0))])
    assert charts.stages_chart(frame).description == "Stages by name: P2 weaned none yet; P10 weaned 9 of 12."
    told = "Stages by name: P2 showed fertile 1 of 3, hatch of fertile 1 of 3, hatch of set 1 of 3, weaned 1 of 3."
    assert charts.stages_chart(rates(["P2"], 1, 3)).description == told


def test_the_way_of_the_eggs_is_solid_dashed_and_grey():
    chart = charts.egg_path_chart(path())
    assert chart.description == (
        "Laid: 86. Showed fertile: 60 (lost here: 17 clear, 2 broken or gone; open: 7 still incubating). "
        "Hatched: 50 (lost here: 6 died in the egg; open: 4 not known). "
        "Weaned: 1 (lost here: 8 lost; open: 41 being reared)."
    )
    bars = [part["mark"] for part in chart.to_dict()["layer"] if part["mark"]["type"] == "bar"]
    assert [bar.get("fill") for bar in bars] == [None, "white", "#c8c8c8"]
    assert [bool(bar.get("strokeDash")) for bar in bars] == [False, True, False]
    assert "2 chicks are not in it" in chart.to_dict()["usermeta"]["caption"]
    beside = {row["name"]: row["beside"] for row in rows_of(chart)}
    assert beside["Weaned"] == "1 went on\n8 lost\n41 being reared"  # a bar of 1 in 86 cannot hold its count
    assert beside["Laid"] == ""


def test_survival_is_told_and_drawn_as_far_as_it_is_sound():
    chart = charts.survival_chart(kaplan_meier(SPANS))
    curve = kaplan_meier(SPANS).iloc[-1]
    assert chart.description == (
        f"Under watch from day 0: 60 % were alive after day 30 (95 % interval {100 * curve['low']:.0f} % "
        f"to {100 * curve['high']:.0f} %); 2 chicks lost."
    )
    gap = pd.concat(
        [SPANS.assign(exit_d=[0, 5, 8, 8, 8]), pd.DataFrame({"entry_d": [20], "exit_d": [25], "lost": True})]
    )
    broken = charts.survival_chart(kaplan_meier(gap))
    assert max(row["age_d"] for row in rows_of(broken)) == 5
    assert "It ends before day 25" in broken.to_dict()["usermeta"]["caption"]


def test_losses_are_white_and_dashed_with_their_counts():
    chart = charts.losses_by_age_chart(losses_by_age(SPANS))
    assert chart.description == (
        "Chicks lost by age in days: 0–2, 1 of 5; 3–7, 1 of 4; 8–14, 0 of 3; 15–28, 0 of 3; 29 and over, 0 of 3."
    )
    mark = chart.to_dict()["layer"][0]["mark"]
    assert (mark["fill"], bool(mark["strokeDash"])) == ("white", True)
    cause = charts.losses_by_cause_chart(losses_by_cause(CAUSES))
    assert cause.description.startswith(f"Losses by cause as the keeper saw it: {NASTY[0]}, 2; ")
    assert f"2 ({NASTY[0]}; cold)" in [row["told"] for row in rows_of(cause)]


def test_growth_is_told_by_kind():
    chart = charts.growth_by_kind(weights(["K1", "K2"], kinds=["zebra finch", "cockatiel"]))
    assert chart.description == (
        "Weight against age: cockatiel, 2 chicks, 20 weighings from day 0 to day 36, 3 g to 75 g; "
        "zebra finch, 2 chicks, 20 weighings from day 0 to day 36, 3 g to 75 g."
    )
    headings = {row["place"]: row["kind"] for row in rows_of(chart) if row["part"] == "kind"}
    assert headings == {0: "cockatiel", 1: "zebra finch"}
    tips = [part["tooltip"] for part in parts(chart.to_dict()) if "tooltip" in part]
    assert [tip["title"] for tip in tips[0]] == ["chick", "weighed", "age (days)", "weight (g)"]
    assert "2026-05-01 07:30" in [row.get("when") for row in rows_of(chart)]


def test_every_chick_has_one_panel_and_every_page_one_kind():
    many = pd.concat(
        [
            weights([f"K{i}" for i in range(1, 46)]),
            weights([f"Z{i}" for i in range(1, 16)], kinds=["zebra finch"]),
        ]
    )
    pages = charts.growth_by_chick(many.sample(frac=1, random_state=1))
    panels = []
    for page in pages:
        own = {row["place"]: row["chick"] for row in rows_of(page) if "place" in row}
        panels.append([own[place] for place in sorted(own)])
    assert [len(page) for page in panels] == [30, 15, 15]
    assert [chick for page in panels for chick in page] == [
        *(f"K{i}" for i in range(1, 46)),
        *(f"Z{i}" for i in range(1, 16)),
    ]
    backdrops = [{row["chick"] for row in rows_of(page) if "place" not in row} for page in pages]
    assert [len(others) for others in backdrops] == [45, 45, 15]  # the whole kind, on each of its pages
    assert pages[2].description.startswith("Weight by age, zebra finch, chick by chick: Z1, 10 weighings up to 75 g;")


def test_curves_and_full_crops_are_told_where_there_are_some():
    fitted = curve().assign(chick="K1")
    (with_curve,) = charts.growth_by_chick(weights(["K1", "K2"]), fitted)
    caption = with_curve.to_dict()["usermeta"]["caption"]
    assert "Line: the curve fitted to the chick." in caption
    assert "Hollow: weighed with food in the crop." in caption
    assert sum(row.get("curve", False) for row in rows_of(with_curve)) == len(fitted)
    (plain,) = charts.growth_by_chick(weights(["K1"]).drop(columns=["crop", "weighed_at"]))
    assert plain.to_dict()["usermeta"]["caption"] == (
        "Points: the chick's own weighings. Grey: the other chicks of its kind (cockatiel). "
        "All panels have the same scales."
    )


@pytest.mark.slow
def test_twelve_thousand_weighings_are_drawn():
    many = weights([f"K{i}" for i in range(300)], days=range(40))
    assert len(many) == 12_000
    assert "300 chicks, 12000 weighings" in charts.growth_by_kind(many).description
    pages = charts.growth_by_chick(many)
    assert len(pages) == 10
    assert max(len(page.to_json()) for page in pages) < 600_000  # a notebook holds them all


def in_range(frame):
    return charts.readings_chart(frame, 36.9, 37.8)


@pytest.mark.parametrize(
    ("draw", "frame"),
    [
        (charts.egg_path_chart, path().assign(count=0)),
        (charts.stages_chart, rates()[:0]),
        (charts.survival_chart, kaplan_meier(SPANS[:0])),
        (charts.survival_chart, kaplan_meier(SPANS).assign(sound=False)),
        (charts.losses_by_age_chart, losses_by_age(SPANS[:0])),
        (charts.losses_by_cause_chart, losses_by_cause(CAUSES[:0])),
        (charts.growth_by_kind, weights()[:0]),
        (charts.growth_by_kind, weights().assign(mass_g=np.nan)),
        (charts.growth_by_chick, weights()[:0]),
        (charts.pair_growth_chart, pairs()[:0]),
        (charts.water_loss_chart, egg_weights()[:0]),
        (charts.water_loss_chart, egg_weights().assign(lost=np.nan)),
        (in_range, readings()[:0]),
        (in_range, readings().assign(temperature=np.nan)),
    ],
)
def test_nothing_is_not_drawn(draw, frame):
    with pytest.raises(ValueError, match="nothing to draw: "):
        draw(frame)


def test_what_a_stages_chart_dashes_is_named():
    rates = pd.DataFrame(
        {"name": "P01", "stage": ["weaned"], "rate": [0.5], "low": 0.2, "high": 0.8, "worked": [4], "tried": [8]}
    )
    chart = charts.stages_chart(rates, rates.assign(name="x"), points="Bar: likely.", label="typical")
    assert chart.usermeta["caption"] == "Bar: likely. Dashed: typical. In order of name."
