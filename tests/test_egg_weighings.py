"""Egg weighings linked to their eggs: found by every name, held against the egg's life, the doubtful marked."""

import pandas as pd
import pytest

from analysis import open_season
from analysis.season.egg_weighings import doubts
from support import DEMO, codes

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


def test_repeats_and_two_weights_on_a_day(open_logs):
    season = weighed(open_logs, "A2,2026-04-05,5.60\nA2,2026-04-05,5.60\nA2,2026-04-08,5.50\nA2,2026-04-08,5.48\n")
    assert sorted(codes(season)) == ["repeated-row", "weighed-twice"]
    assert season.egg_weights["mass_g"].tolist() == [5.6, 5.5, 5.48]


def test_a_decimal_point_in_the_wrong_place_is_not_used(open_logs):
    season = weighed(open_logs, "A2,2026-04-05,5.60\nA2,2026-04-08,55.0\nA2,2026-04-11,5.40\n")
    assert codes(season) == ["ten-fold"]
    assert season.egg_weights["mass_g"].tolist() == [5.6, 5.4]


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
    ],
)
def test_the_weighing_that_the_others_contradict_is_the_odd_one(masses_g, found):
    assert doubts(DAYS, masses_g) == found


def test_of_two_weighings_alone_nobody_can_tell_which():
    assert doubts(DAYS[:2], [6.0, 6.9]) == {0: "gained", 1: "gained"}


def test_three_percent_in_a_day_is_told_from_three_days_of_one_and_a_half():
    assert doubts(DAYS[:2], [7.0, 7.0 * (1 - 0.055)]) == {}
    assert set(doubts(DAYS[:2], [7.0, 7.0 * (1 - 0.065)]).values()) == {"lost too fast"}


def test_a_doubt_is_said_once_and_the_weighing_kept(open_logs):
    season = weighed(open_logs, "A2,2026-04-05,5.60\nA2,2026-04-08,5.90\nA2,2026-04-11,5.40\n")
    assert codes(season) == ["egg-gained"]
    assert season.egg_weights["doubt"].tolist() == ["", "gained", ""]


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
    season = open_season(DEMO)
    assert len(season.egg_weights) == len(season.logs["egg_weights"]) == 217
    assert set(season.egg_weights["doubt"]) == {""}
    assert season.egg_weights["day"].min() == 0
