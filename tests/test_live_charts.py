"""What pointing, choosing a pair and drawing across weeks do, and that nothing of it is missed on paper.

With nothing selected a chart shows everything, so paper loses nothing.
"""

import json
import re
from functools import cache

import altair as alt
import numpy as np
import pandas as pd
import pytest

from analysis import charts
from analysis.charts.calendar import HATCHED
from analysis.charts.weighings import drawn, thinned, tips
from analysis.theme import BLUE, INK, MUTED, altair_theme

DAYS = [0.0, 5.0, 10.0]
USUAL = pd.DataFrame({"kind": "finch", "age_d": [0.0, 10.0], "mass_g": [10.0, 30.0], "low_g": 5.0, "high_g": 35.0})
# 6 April and 4 May 2026 are Mondays: `cal 4 2026`. ISO 8601 weeks begin on them.
LOST = pd.DataFrame(
    {
        "chick": ["K1", "K2", "K3", "K4", ""],
        "found_on": pd.to_datetime(["2026-04-12", "2026-04-13", "2026-04-19", "2026-05-04", None]),
        "age_d": [3.0, 4.0, np.nan, 20.0, 1.0],
        "cause": ["cold night", "chilled", "cold night", "", "not seen"],
        "cause_group": ["cold", "cold", "cold", "", ""],
    }
)
HATCHED_ON = pd.Series(pd.to_datetime(["2026-04-06", "2026-04-12", "2026-04-13", None]))


@pytest.fixture(autouse=True)
def dressed():
    before = alt.theme.active
    alt.theme.register("season_test", enable=True)(altair_theme)
    yield
    alt.theme.enable(before)


def weights(**chicks):
    """Weighings of chicks, each with its pair."""
    rows = [(chick, pair, day, 10 + 2 * day) for chick, pair in chicks.items() for day in DAYS]
    return pd.DataFrame(rows, columns=["chick", "pair", "age_d", "mass_g"]).assign(kind="finch")


def picture(spec):
    """A chart as Vega-Lite 5 draws it, which is what JupyterLab has."""
    import vl_convert

    return vl_convert.vegalite_to_svg({key: spec[key] for key in spec if key != "usermeta"}, vl_version="5.20")


def chosen(chart, name, value):
    """A chart with something chosen in it."""
    spec = chart.to_dict()
    (param,) = [param for param in spec["params"] if param["name"] == name]
    return spec | {"params": [*(own for own in spec["params"] if own is not param), param | {"value": value}]}


def lines(svg):
    """Width and opacity of the chicks' lines."""
    return sorted(re.findall(r'<path [^>]*stroke-width="([0-9.]+)" opacity="([0-9.]+)"/>', svg))


class TestPointing:
    def test_what_is_usual_lies_between_the_ages_that_are_known(self):
        rows = drawn(weights(K1="P1").replace({"age_d": {10.0: 11.0}}), usual=USUAL)
        assert rows["usual"].tolist() == [
            "10.0 g; nine in ten 5.0 to 35 g",
            "20 g; nine in ten 5.0 to 35 g",
            "not known yet",
        ]
        assert "usual" not in drawn(weights(K1="P1"), usual=USUAL.assign(kind="other"))

    def test_a_flag_stands_at_the_nearest_weighing_of_its_chick(self):
        flags = pd.DataFrame({"chick": ["K1", "K1", "K9"], "age_d": [4.0, 6.0, 5.0], "flag": ["stall", "slip", "fall"]})
        rows = drawn(weights(K1="P1", K2="P1"), flags=flags.assign(level=["act", "look", "act"]))
        assert rows["flag"].tolist() == ["none", "stall (act today), slip (look)", *["none"] * 4]

    def test_a_remark_is_shown_and_a_very_long_one_cut(self):
        rows = drawn(weights(K1="P1").assign(notes=["slow this morning", None, "word " * 90]))
        assert rows["notes"].tolist()[:2] == ["slow this morning", "none"]
        assert len(rows["notes"].iloc[2]) <= 90
        assert [tip.to_dict()["title"] for tip in tips(rows)][-1] == "remark"

    def test_what_nobody_wrote_has_no_line(self):
        rows = drawn(weights(K1=None, K2="").assign(notes=""))
        assert [tip.to_dict()["title"] for tip in tips(rows)] == ["chick", "weighed", "age (days)", "weight (g)"]

    def test_numbers_of_rows_do_not_matter(self):
        twice = pd.concat([weights(K1="P1"), weights(K2="P2")])
        assert drawn(twice, usual=USUAL)["usual"].nunique() == 3

    def test_in_every_chart_of_growth(self):
        flags = pd.DataFrame({"chick": ["K1"], "age_d": [5.0], "flag": ["stall"], "level": ["act"], "sentence": "x"})
        rows, shares = weights(K1="P1", K2="P2"), {0.05: "low_g", 0.5: "mass_g", 0.95: "high_g"}
        reference = pd.concat([USUAL.assign(share=share, mass_g=USUAL[name]) for share, name in shares.items()])
        reference = reference.assign(mass_low_g=1.0, mass_high_g=50.0)
        (by_chick,) = charts.growth_by_chick(rows, usual=USUAL, flags=flags)
        (flagged,) = charts.flagged_chicks(rows, flags, USUAL)
        for chart in (charts.growth_by_kind(rows, reference, usual=USUAL, flags=flags), by_chick, flagged):
            text = json.dumps(chart.to_dict())
            assert '"usual": "20 g; nine in ten 5.0 to 35 g"' in text
            assert '"title": "usual for its kind"' in text
            assert '"title": "flag"' in text
            assert '"title": "pair"' in text


class TestChoosingAPair:
    def test_on_paper_all_look_alike_and_as_without_the_choice(self):
        with_pairs = charts.growth_by_kind(weights(K1="P2", K2="P10")).to_dict()
        without = charts.growth_by_kind(weights(K1=None, K2=None)).to_dict()
        still, plain = (re.sub("view_[0-9a-f]+", "", picture(spec)) for spec in (with_pairs, without))
        assert still == plain
        assert lines(picture(with_pairs)).count(("1.5", "0.3")) == 2

    def test_its_chicks_come_forward_and_the_others_fade(self):
        chart = charts.growth_by_kind(weights(K1="P2", K2="P10", K3="P10"))
        svg = picture(chosen(chart, "shown_pair", [{"pair": "P10"}]))
        assert [line for line in lines(svg) if line[0] == "1.5"] == [("1.5", "0.1"), ("1.5", "1"), ("1.5", "1")]

    def test_from_a_list_by_name_or_by_a_click(self):
        spec = charts.growth_by_kind(weights(K1="P10", K2="P2", K3="")).to_dict()
        (choice,) = [param for param in spec["params"] if param["name"] == "shown_pair"]
        assert choice["bind"]["options"] == [None, "P2", "P10"]
        assert choice["bind"]["labels"] == ["all pairs", "P2", "P10"]
        assert choice["select"] == {"type": "point", "fields": ["pair"], "on": "click", "clear": "dblclick"}

    @pytest.mark.parametrize("pairs", [{"K1": "P1", "K2": "P1"}, {"K1": "P1", "K2": ""}, {"K1": None}])
    def test_not_where_there_is_but_one(self, pairs):
        spec = charts.growth_by_kind(weights(**pairs)).to_dict()
        assert [param["name"] for param in spec["params"]] == ["hover"]


def test_too_many_weighings_are_thinned_but_not_the_flagged():
    rows = pd.concat([weights(K1="P1", K2="P2")] * 10).assign(age_d=np.arange(60.0))
    flags = pd.DataFrame({"chick": ["K1"], "age_d": [16.0], "flag": ["slip"], "level": ["look"]})
    kept = thinned(drawn(rows, flags=flags), 20)
    assert len(kept) <= 25
    ends = drawn(rows).groupby("chick")["age_d"].agg(["min", "max"])
    assert kept.groupby("chick")["age_d"].agg(["min", "max"]).equals(ends)
    assert (kept["flag"] == "slip (look)").sum() == 1
    assert len(thinned(drawn(rows), 60)) == 60


@cache
def calendar():
    return charts.losses_calendar(LOST, HATCHED_ON)


class TestCalendar:
    def parts(self, part):
        rows = calendar().to_dict()["datasets"].values()
        return [row for own in rows for row in own if row.get("part") == part]

    def test_weeks_begin_on_monday(self):
        assert [(row["week"], row["chicks"]) for row in self.parts("hatched")] == [
            ("6 April 2026", 2),
            ("13 April 2026", 1),
        ]
        days = {row["chick"]: row["day"] for row in self.parts("chick")}
        assert days == {
            "K1": "2026-04-09T12:00:00",
            "K2": "2026-04-16T12:00:00",
            "K3": "2026-04-16T12:00:00",
            "K4": "2026-05-07T12:00:00",
        }
        assert [(row["chicks"], row["label"]) for row in self.parts("lost")] == [(-1, "1"), (-2, "2"), (-1, "1")]

    def test_pointing_at_a_loss_shows_chick_day_age_and_cause(self):
        k3 = next(row for row in self.parts("chick") if row["chick"] == "K3")
        assert (k3["when"], k3["age"], k3["cause"]) == ("19 April 2026", "not known", "cold night")
        (k4,) = [row for row in self.parts("chick") if row["chick"] == "K4"]
        assert (k4["age"], k4["cause"]) == ("20", "nothing written")

    def test_on_paper_every_loss_stands_under_its_cause_also_without_a_day(self):
        svg = picture(calendar().to_dict())
        assert ">3: K1, K3, K2<" in svg or ">3: K1, K2, K3<" in svg
        assert ">2: K4, not written<" in svg
        assert ">cold night; chilled<" in svg
        assert 'opacity="0.25"' not in svg
        assert len(re.findall('aria-roledescription="point"', svg)) == 4

    def test_drawing_across_a_week_shows_only_its_losses(self):
        week = [{"year": 2026, "month": 4, "date": day} for day in (13, 20)]
        svg = picture(chosen(calendar(), "weeks", {"x": week}))
        assert re.findall(">([0-9]+: [^<]*)<", svg) in (["2: K2, K3"], ["2: K3, K2"])
        assert ">not written<" in svg  # the row stays, so that nothing jumps
        assert 'opacity="0.25"' in svg

    def test_told(self):
        assert calendar().description == (
            "Chicks by week, from the week of 6 April 2026 to that of 4 May 2026: 3 hatched, 5 lost. "
            "Most lost in the week of 13 April 2026: 2. "
            "Losses by cause as the keeper saw it: cold, 3 (K1, K2 and K3); not written, 2 (K4 and not written)."
        )
        caption = calendar().to_dict()["usermeta"]["caption"]
        assert "in no week: 1 loss." in caption
        assert "no week" not in charts.losses_calendar(LOST[:4], HATCHED_ON).to_dict()["usermeta"]["caption"]

    def test_the_order_of_rows_does_not_matter(self):
        mixed = charts.losses_calendar(LOST.sample(frac=1, random_state=2), HATCHED_ON[::-1])
        assert mixed.description == calendar().description

    def test_without_a_hatch(self):
        chart = charts.losses_calendar(LOST, HATCHED_ON[:0])
        assert ": 0 hatched, 5 lost." in chart.description
        assert ">chicks lost<" in picture(chart.to_dict())

    def test_a_bird_that_came_old_does_not_squeeze_the_weeks(self):
        old = pd.concat([HATCHED_ON, pd.Series(pd.to_datetime(["2019-05-01"]))])
        assert charts.losses_calendar(LOST, old).description == calendar().description

    def test_nothing_is_not_drawn(self):
        for lost in (LOST[:0], LOST.assign(found_on=pd.NaT)):
            with pytest.raises(ValueError, match="nothing to draw: no dated losses"):
                charts.losses_calendar(lost, HATCHED_ON)

    def test_a_hundred_losses_in_a_week_fit_a_page(self):
        many = pd.concat([LOST] * 100, ignore_index=True).assign(cause_group=[f"cause {at % 30}" for at in range(500)])
        svg = picture(charts.losses_calendar(many, pd.concat([HATCHED_ON] * 90)).to_dict())
        height = float(re.findall(r'<svg [^>]*?height="([0-9.]+)"', svg)[0])
        assert height < 900  # what a page holds beneath a heading: `dress.TALLEST_PX`


def test_the_colours_differ_in_grey():
    def luminance(colour):
        # Relative luminance: W3C, Web Content Accessibility Guidelines 2.2, definition of that name.
        shares = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4 for share in shares]
        return float(np.dot([0.2126, 0.7152, 0.0722], linear))

    def contrast(one, other):
        light, dark = sorted((luminance(one), luminance(other)), reverse=True)
        return (light + 0.05) / (dark + 0.05)

    assert min(contrast(word, "#ffffff") for word in (INK, MUTED, BLUE)) > 4.5  # of words: ibid., 1.4.3
    assert contrast(HATCHED, "#ffffff") > 1.5
    assert contrast(HATCHED, INK) > 4.5
