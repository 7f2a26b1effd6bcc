"""Egg weighings linked to their eggs: found by every name, held against the egg's life, the doubtful marked."""

import openpyxl
import pandas as pd
import pytest

from analysis import open_season
from analysis.season.egg_weighings import doubts, scale_step_g
from support import codes, demo

PAIRS = "pair,species\nP1,cockatiel\nP2,cockatiel\n"
HATCHES = """
pair,clutch,egg,laid_on,set_on,outcome,hatched_at,chick
P1,1,A1,2026-04-01,2026-04-03,hatched,2026-04-22,K1
P1,1,A2,2026-04-02,2026-04-03,still incubating,,
P1,1,1,2026-04-03,,still incubating,,
P2,1,1,2026-04-04,2026-04-04,still incubating,,
"""


def weighed(open_logs, rows, **more):
    text = "egg,weighed_on,weight\n" + rows
    return open_logs(pairs=PAIRS, hatches=HATCHES, egg_weights=text, settings="setting,value\nseason,2026\n", **more)


def test_an_egg_is_found_by_its_number_and_by_its_place(open_logs):
    season = weighed(open_logs, "a2,2026-04-05,5.60\nP2/1/1,2026-04-06,5.50\nP1/1/1,2026-04-07,5.40\n")
    found = season.egg_weights
    eggs = season.eggs.loc[found["egg_row"]]
    assert list(zip(eggs["pair"], eggs["egg"], strict=True)) == list(zip(found["pair"], found["egg"], strict=True))
    days = dict(zip(found["pair"] + found["egg"], found["day"], strict=True))
    assert days == {"P1A2": 2, "P11": 4, "P21": 2}  # since it was set; since it was laid where that is not known
    assert codes(season) == []


def test_a_number_of_two_clutches_and_an_unknown_egg_are_not_used(open_logs):
    season = weighed(open_logs, "1,2026-04-05,5.6\nA9,2026-04-05,5.6\n")
    assert sorted(codes(season)) == ["egg-in-two-clutches", "unknown-egg"]
    assert season.egg_weights.empty
    account = season.accounting.set_index("log").loc["egg_weights"]
    assert (account["read"], account["used"], account["not_used"]) == (2, 0, 2)


def test_it_is_held_against_the_life_of_the_egg(open_logs):
    season = weighed(open_logs, "A2,2026-04-01,5.7\nA1,2026-04-23,4.7\nA1,2026-04-20,4.8\n")
    assert sorted(codes(season)) == ["egg-weighed-after-hatch", "egg-weighed-before-laid"]
    assert season.egg_weights["mass_g"].tolist() == [4.8]
    assert season.logs["egg_weights"]["weight"].tolist() == [4.8]  # the log holds what is used, as all others do


def test_on_the_day_it_was_laid_or_hatched_an_egg_may_be_weighed(open_logs):
    assert codes(weighed(open_logs, "A2,2026-04-02,5.7\nA1,2026-04-22,4.8\n")) == []


def test_repeats_and_two_weights_on_a_day(open_logs):
    season = weighed(open_logs, "A2,2026-04-05,5.60\nA2,2026-04-05,5.60\nA2,2026-04-08,5.50\nA2,2026-04-08,5.48\n")
    assert sorted(codes(season)) == ["repeated-row", "weighed-twice"]
    assert season.egg_weights["mass_g"].tolist() == [5.6, 5.5, 5.48]


def test_the_third_of_a_day_repeats_whichever_it_is_like(open_logs):
    season = weighed(open_logs, "A2,2026-04-05,5.50\nA2,2026-04-05,5.48\nP1/1/A2,2026-04-05,5.48\n")
    assert sorted(codes(season)) == ["repeated-row", "weighed-twice"]
    assert season.egg_weights["row"].tolist() == [2, 3]


def test_of_two_weights_of_a_day_nobody_knows_which_was_first(open_logs):
    season = weighed(open_logs, "A2,2026-04-04,5.60\nA2,2026-04-05,5.50\nA2,2026-04-05,5.54\nA2,2026-04-08,5.48\n")
    assert codes(season) == ["weighed-twice"]


@pytest.mark.parametrize("weight", ["0", "-3"])
def test_a_weight_of_zero_or_less_is_not_used(open_logs, weight):
    season = weighed(open_logs, f"A2,2026-04-05,{weight}\nA2,2026-04-08,5.5\nA2,2026-04-11,5.4\n")
    assert codes(season) == ["weight-not-positive"]
    assert season.egg_weights["mass_g"].tolist() == [5.5, 5.4]


def test_the_same_row_of_two_sheets_is_two_eggs(tmp_path):
    book = openpyxl.Workbook()
    hatches = ["pair", "clutch", "egg", "set_on", "outcome"]
    sheets = {
        "hatches": [hatches, ["P1", 1, "A1", "2026-04-03", "clear"]],
        "hatches 2": [hatches, ["P2", 1, "B1", "2026-04-06", "clear"]],
        "pairs": [["pair", "species"], ["P1", "cockatiel"], ["P2", "cockatiel"]],
        "egg_weights": [["egg", "weighed_on", "weight"], ["A1", "2026-04-10", 5.5], ["B1", "2026-04-10", 5.7]],
    }
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        for row in rows:
            sheet.append(row)
    book.remove(book.worksheets[0])
    book.save(tmp_path / "book.xlsx")
    season = open_season(tmp_path)
    assert codes(season) == []
    eggs = season.eggs.loc[season.egg_weights["egg_row"], "egg"]
    assert eggs.tolist() == season.egg_weights["egg"].tolist() == ["A1", "B1"]


def test_a_grid_holds_several_eggs_in_a_row(open_logs):
    grid = "date,A1,A2\n2026-04-05,5.6,5.5\n2026-04-08,5.5,5.4\n2026-04-11,5.9,5.3\n"
    season = open_logs(pairs=PAIRS, hatches=HATCHES, egg_weights=grid, settings="setting,value\nseason,2026\n")
    assert codes(season) == ["egg-gained"]
    assert season.egg_weights["doubt"].tolist() == ["", "", "gained", "", "", ""]


def test_a_decimal_point_in_the_wrong_place_is_not_used(open_logs):
    season = weighed(open_logs, "A2,2026-04-05,5.60\nA2,2026-04-08,55.0\nA2,2026-04-11,5.40\n")
    assert codes(season) == ["ten-fold"]
    assert season.egg_weights["mass_g"].tolist() == [5.6, 5.4]


def test_another_egg_on_the_scale_is_no_decimal_point(open_logs):
    season = weighed(open_logs, "A2,2026-04-05,5.60\nA2,2026-04-08,26\nA2,2026-04-11,5.40\n")
    assert codes(season) == ["egg-gained"]
    assert season.egg_weights["doubt"].tolist() == ["", "gained", ""]


DAYS = list(pd.date_range("2026-04-05", periods=6, freq="3D"))


@pytest.mark.parametrize(
    ("masses_g", "found"),
    [
        ([7.00, 6.90, 6.80, 6.71, 6.60, 6.51], {}),
        ([7.00, 6.90, 7.30, 6.71, 6.60, 6.51], {2: "gained"}),
        ([7.00, 6.90, 6.00, 6.71, 6.60, 6.51], {2: "lost too fast"}),
        ([6.00, 6.90, 6.80, 6.71, 6.60, 6.51], {0: "gained"}),
        ([7.00, 6.90, 6.80, 6.71, 6.60, 5.80], {5: "lost too fast"}),
        # a crack: after it the egg goes on from a lower level, and the side with fewer weighings stands out
        ([7.00, 6.90, 6.80, 6.71, 5.60, 5.51], {4: "lost too fast", 5: "lost too fast"}),
        ([7.00, 6.90, 5.80, 5.71, 5.60, 5.51], {0: "lost too fast", 1: "lost too fast"}),
        # a coarse scale steps up by its own step
        ([7.0, 6.9, 7.0, 6.8, 6.8, 6.7], {}),
        ([7.0, 7.0, 7.2, 7.0, 6.8, 6.7], {}),
        ([7.0, 7.0, 7.3, 7.0, 6.8, 6.7], {2: "gained"}),
        # and down: a tenth of a gram is 5 % of a small egg
        ([2.0, 2.0, 1.8, 1.8, 1.7, 1.7], {}),
    ],
)
def test_the_weighing_that_the_others_contradict_is_the_odd_one(masses_g, found):
    assert doubts(DAYS, masses_g) == found


def test_of_two_weighings_alone_nobody_can_tell_which(open_logs):
    assert doubts(DAYS[:2], [6.0, 6.9]) == {0: "gained", 1: "gained"}
    two = weighed(open_logs, "A2,2026-04-05,5.60\nA2,2026-04-08,5.90\n").problems["advice"]
    assert two.str.contains("nobody can tell").tolist() == [True, True]


def test_the_step_is_that_of_the_whole_log_in_its_own_unit(open_logs):
    assert doubts(DAYS[:2], [7.0, 9.0]) == {}  # whole grams, as far as these two say
    fine = weighed(open_logs, "A2,2026-04-05,7\nA2,2026-04-08,9\nA1,2026-04-05,7.02\n")
    assert codes(fine) == ["egg-gained", "egg-gained"]
    assert scale_step_g([6.8, 7.05]) == 0.01
    # 1 oz = 28.349523125 g exactly (international avoirdupois ounce, 1959)
    assert scale_step_g([0.25 * 28.349523125, 0.3 * 28.349523125]) == pytest.approx(0.28349523125)


def test_three_percent_in_a_day_is_told_from_three_days_of_one_and_a_half():
    assert doubts(DAYS[:2], [7.0, 7.0 * (1 - 0.055)]) == {}
    assert set(doubts(DAYS[:2], [7.0, 7.0 * (1 - 0.065)]).values()) == {"lost too fast"}


def test_a_doubt_is_said_once_and_the_weighing_kept(open_logs):
    season = weighed(open_logs, "A2,2026-04-05,5.60\nA2,2026-04-08,5.90\nA2,2026-04-11,5.40\n")
    assert codes(season) == ["egg-gained"]
    assert season.egg_weights["doubt"].tolist() == ["", "gained", ""]
    assert not season.problems["advice"].str.contains("nobody can tell").any()


@pytest.mark.parametrize(
    ("unit", "written", "said"),
    [("C", "99.5", True), ("C", "37.5", False), ("C", "50", False), ("F", "37.5", True), ("F", "99.5", False)],
)
def test_a_reading_in_the_other_unit_is_not_used(open_logs, unit, written, said):
    readings = f"place,read_at,temperature,humidity_pct\nincubator A,2026-04-05 07:00,{written},55\n"
    settings = f"setting,value\nseason,2026\ntemperature_unit,{unit}\n"
    season = open_logs(pairs=PAIRS, hatches=HATCHES, readings=readings, settings=settings)
    assert codes(season) == (["other-temperature"] if said else [])
    row = season.logs["readings"].iloc[0]
    assert row["humidity_pct"] == 55
    assert pd.isna(row["temperature"]) == said
    account = season.accounting.set_index("log").loc["readings"]
    assert (account["read"], account["used"], account["not_used"]) == (1, 1, 0)  # the cell is not used, its row is
    assert season.not_used[["file", "column"]].to_numpy().tolist() == [["readings.csv", "temperature"]] * said


def test_a_cool_room_in_fahrenheit_stays(open_logs):
    readings = "place,read_at,temperature\nporch,2026-04-05 07:00,38\n"
    settings = "setting,value\nseason,2026\ntemperature_unit,F\n"
    season = open_logs(pairs=PAIRS, hatches=HATCHES, readings=readings, settings=settings)
    assert codes(season) == []
    assert round(season.logs["readings"]["temperature"].item(), 1) == 3.3


def test_food_in_fahrenheit_is_not_called_burning(open_logs):
    feeds = "fed_at,food,temperature\n2026-04-05 07:00,formula,104\n2026-04-06 07:00,formula,44\n"
    season = open_logs(pairs=PAIRS, hatches=HATCHES, feeds=feeds, settings="setting,value\nseason,2026\n")
    assert sorted(codes(season)) == ["burning-hot", "other-temperature"]


def test_the_demo_links_every_weighing():
    season = demo()
    assert len(season.egg_weights) == len(season.logs["egg_weights"]) == 217
    assert set(season.egg_weights["doubt"]) == {""}
    assert season.egg_weights["day"].min() == 0


# -- small steps, odd orders, the other unit


@pytest.mark.parametrize(
    ("masses_g", "found"),
    [
        ([7.00, 6.90, 7.00, 6.71, 6.60, 6.51], {2: "gained"}),  # 1.4 % up: no egg gains
        ([7.00, 6.90, 6.92, 6.80, 6.70, 6.60], {}),  # two steps of a scale that shows hundredths
        ([7.000, 6.901, 6.951, 6.800, 6.701, 6.601], {2: "gained"}),  # 0.7 %, on one that shows thousandths
    ],
)
def test_how_little_is_a_gain(masses_g, found):
    assert doubts(DAYS, masses_g) == found


def test_a_day_of_hatch_that_is_not_sure_may_be_later(open_logs):
    hatches = HATCHES.replace("hatched_at,chick", "hatched_at,chick,sure_to_days").replace(",K1", ",K1,2")
    logs = {"pairs": PAIRS, "hatches": hatches, "settings": "setting,value\nseason,2026\n"}
    season = open_logs(egg_weights="egg,weighed_on,weight\nA1,2026-04-24,4.8\nA1,2026-04-25,4.7\n", **logs)
    assert codes(season) == ["egg-weighed-after-hatch"]
    assert season.egg_weights["mass_g"].tolist() == [4.8]


def test_between_laying_and_setting_an_egg_may_be_weighed(open_logs):
    season = weighed(open_logs, "A1,2026-04-02,5.6\n")
    assert codes(season) == []
    assert season.egg_weights["day"].tolist() == [-1]


def test_of_two_weights_nobody_knows_which_has_its_point_moved(open_logs):
    season = weighed(open_logs, "A2,2026-04-05,5.60\nA2,2026-04-08,55.0\n")
    assert "ten-fold" not in codes(season)
    assert season.egg_weights["doubt"].tolist() == ["gained", "gained"]


def test_rows_in_any_order_are_looked_through_by_day(open_logs):
    rows = ["A2,2026-04-05,5.60\n", "A2,2026-04-08,5.50\n", "A2,2026-04-11,5.40\n", "A2,2026-04-14,5.30\n"]
    season = weighed(open_logs, "".join(reversed(rows)))
    assert codes(season) == []
    assert season.egg_weights["mass_g"].tolist() == [5.6, 5.5, 5.4, 5.3]


@pytest.mark.parametrize(
    ("unit", "place", "written", "advice"),
    [
        ("C", "incubator A", 99.5, "reads like °F, and your settings say °C"),
        ("F", "incubator A", 37.5, "reads like °C, and your settings say °F"),
        ("F", "drawer 2", 37.5, "reads like °C, and your settings say °F"),  # by its eggs, whatever it is called
        ("F", "Hatcher", 37.5, "reads like °C, and your settings say °F"),
        ("F", "shelf", 37.5, None),
    ],
)
def test_which_unit_a_reading_is_like(open_logs, unit, place, written, advice):
    hatches = HATCHES.replace("hatched_at,chick", "hatched_at,chick,incubated_by").replace(
        "still incubating,,", "still incubating,,,Drawer 2"
    )
    readings = f"place,read_at,temperature\n{place},2026-04-05 07:00,{written}\n"
    settings = f"setting,value\nseason,2026\ntemperature_unit,{unit}\n"
    problems = open_logs(pairs=PAIRS, hatches=hatches, readings=readings, settings=settings).problems
    assert len(problems) == (advice is not None)
    if advice:
        assert advice in problems["advice"].item()
        assert str(written) in str(problems["value"].item())
