"""What could hurt a chick where a log is not read as it was meant: what was written must not vanish from the round."""

import pandas as pd
import pytest
from test_harm import chick, fed, hatched, mornings, of_day, read_at, said  # noqa: F401 - of_day is a fixture

from analysis.day.preparation import before_feeding
from analysis.day.round import round_of
from analysis.day.round_rows import round_rows
from analysis.report.round_page import read_first
from analysis.say import in_words
from support import as_read, ranked, rows_as_read

OTHERS = hatched("K2", "2026-05-05")
STEADY = mornings("K2", 40, 42, 44, 46, 48, 50)

# -- a crop whose weight cannot be read


@pytest.mark.parametrize("weight", ["", "2O", "fifty", "0", "?"])
def test_a_crop_counts_where_its_weight_cannot_be_read(of_day, weight):  # noqa: F811
    weights = STEADY + mornings("K1", 40, 42, 44, last=19) + f"K1,2026-05-20,{weight},full\n"
    today = of_day(hatched("K1", "2026-05-05") + OTHERS, weights)
    told = said(today)["K1"]
    assert "“full” is written for its crop this morning, and its weight cannot be read" in told
    assert "Nothing is fed on top of it" in told
    assert pd.isna(chick(today)["high_ml"])
    assert chick(today, "K2")["high_ml"] == 5.0
    row = rows_as_read(round_rows(today)).set_index("chick").loc["K1"]
    assert (row["weight"], row["crop"], row["give"]) == ("", "full", "no amount")
    account = today.season.accounting.set_index("log").loc["weights"]
    assert (account["read"], account["not_used"]) == (10, 1)


def test_a_crop_beside_a_weight_of_another_chick_or_unit_counts_too(of_day):  # noqa: F811
    weights = STEADY + mornings("K1", 40, 42, 44, last=19) + "K1,2026-05-20,440,full\n"
    today = of_day(hatched("K1", "2026-05-05") + OTHERS, weights)
    assert "Nothing is fed on top of it" in said(today)["K1"]


def test_food_left_two_mornings_running_calls_a_veterinarian_without_a_weight_too(of_day):  # noqa: F811
    weights = STEADY + mornings("K1", 40, 42, 44, last=19, crop="part") + "K1,2026-05-20,,full\n"
    told = said(of_day(hatched("K1", "2026-05-05") + OTHERS, weights))["K1"]
    assert "two mornings running" in told
    assert "veterinarian" in told


@pytest.mark.parametrize(("crop", "read"), [("empty", False), ("hard", True), ("", False)])
def test_only_food_in_it_or_an_odd_word_is_read_of(of_day, crop, read):  # noqa: F811
    weights = STEADY + mornings("K1", 40, 42, 44, last=19) + f"K1,2026-05-20,,{crop}\n"
    assert ("K1" in said(of_day(hatched("K1", "2026-05-05") + OTHERS, weights))) == read


# -- temperatures in the other unit

IN_F = "temperature_unit,F\n"


@pytest.mark.parametrize(("value", "settings", "celsius"), [(104, "", "40.0"), (39.2, IN_F, "39.2")])
def test_a_brooder_read_in_the_other_unit_is_judged(of_day, value, settings, celsius):  # noqa: F811
    rows = hatched("K1", "2026-05-15", brooder="brooder A")
    today = of_day(rows, mornings("K1", 10, 11, 12), settings=settings, readings=read_at(value, "brooder A"))
    rank, who, _, told = ranked(today)[0]
    assert (rank, who) == (0, "brooder A")
    assert f"{celsius} °C when last read" in told
    assert "Take the chicks out to a cooler place now" in told
    own, other = ("F", "C") if settings else ("C", "F")
    assert f"{value:g} is written; in °{own} that cannot be, so it is read as °{other}: {celsius} °C." in told
    assert f"brooder A {float(celsius):.0f} °C" in dict(as_read(before_feeding(today)))["Brooder"]


def test_an_incubator_read_in_the_other_unit_is_judged(open_logs):
    hatches = "pair,clutch,egg,set_on,hatched_at,outcome,chick,reared_by,incubated_by\nP1,2,A1,2026-05-10,,,,,inc\n"
    settings = "setting,value\nseason,2026\n"
    today = round_of(open_logs(up_to="2026-05-20", hatches=hatches, settings=settings, readings=read_at(104, "inc")))
    rank, who, _, told = ranked(today)[0]
    assert (rank, who) == (0, "inc")
    assert "Open it now" in told
    assert "104 is written; in °C that cannot be" in told


@pytest.mark.parametrize("value", [44, 50])
def test_food_that_burns_in_degrees_celsius_in_a_log_kept_in_fahrenheit(of_day, value):  # noqa: F811
    rows, weights = hatched("K1", "2026-05-05"), mornings("K1", 22, 24)
    today = of_day(rows, weights, settings=IN_F, feeds=fed(f"2026-05-20 07:00,K1,formula,2,{value}"))
    assert ranked(today)[0][:2] == (0, "K1")
    assert f"{value} is written as the temperature of its food" in said(today)["K1"]
    assert f"in °C it is {value:.1f} °C, and that burns a crop" in said(today)["K1"]
    cool = of_day(rows, weights, settings=IN_F, feeds=fed("2026-05-20 07:00,K1,formula,2,39"))
    assert cool.reads == []


# -- a damaged log of weights


def test_no_amount_rests_on_a_damaged_log_of_weights(of_day):  # noqa: F811
    rows = hatched("K1", "2026-05-05") + OTHERS
    whole = of_day(rows, STEADY + mornings("K1", 44, 46))
    assert chick(whole)["high_ml"] == 4.6
    spoilt = "".join(f"K1,2026-05-{day:02d},x{day},\n" for day in range(7, 19))
    today = of_day(rows, STEADY + mornings("K1", 44, 46) + spoilt)
    assert today.chicks["high_ml"].isna().all()
    assert set(map(in_words, today.chicks["why"])) == {
        "The weights log is damaged: this page gives no amount; see Read first."
    }
    assert dict(as_read(before_feeding(today)))["To mix"].startswith("This page gives no amount for any chick.")
    assert any((about == "damaged log" for _, about, _ in read_first(today))), read_first(today)


# -- feeds


def test_warm_seed_burns_no_crop_and_is_no_feed_of_a_syringe(of_day):  # noqa: F811
    rows, weights = hatched("K1", "2026-05-05"), mornings("K1", 22, 24)
    for row in ("2026-05-20 07:00,K1,seed,2,60", "2026-05-20 07:00,K1,seed,30,", "2026-05-20 07:00,K1,seed,2,115"):
        assert of_day(rows, weights, feeds=fed(row)).reads == []
    assert "burns a crop" in said(of_day(rows, weights, feeds=fed("2026-05-20 07:00,K1,,2,60")))["K1"]


@pytest.mark.parametrize("who", ['"K1, K2"', "K1 K2", "K1 + K2", "K1 and K2", "K1/K2"])
def test_each_chick_that_a_feed_names_is_looked_at(of_day, who):  # noqa: F811
    rows, weights = hatched("K1", "2026-05-05") + OTHERS, mornings("K1", 22, 24) + STEADY
    told = said(of_day(rows, weights, feeds=fed(f"2026-05-20 07:00,{who},formula,30,40")))
    assert "30 ml is written at 07:00 for 2 chicks, 15 ml for each, and this one is of 24 g" in told["K1"]
    assert "15 ml for each, and this one is of 50 g" in told["K2"]
    assert said(of_day(rows, weights, feeds=fed(f"2026-05-20 07:00,{who},formula,5,40"))) == {}
    hot = said(of_day(rows, weights, feeds=fed(f"2026-05-20 07:00,{who},formula,3,50")))
    assert "burns a crop" in hot["K1"]
    assert "burns a crop" in hot["K2"]


# -- a name that no log knows


def test_a_sign_of_a_name_that_no_log_knows_is_read_as_a_chicks(of_day):  # noqa: F811
    signs = "who,seen_at,sign\nD3,2026-05-20,cold\n"
    today = of_day(hatched("K1", "2026-05-05"), mornings("K1", 22, 24), signs=signs)
    as_chick = of_day(hatched("D3", "2026-05-05", "P1"), "", signs=signs)
    rank, _, _, told = next(item for item in ranked(today) if item[1] == "D3")
    like = next(item for item in ranked(as_chick) if item[1] == "D3")
    assert rank == like[0]
    assert like[3] in told
    assert "No D3 in your logs: which chick or bird?" in told


@pytest.mark.parametrize("who", ["Hazel", "P1", "Old Tom"])
def test_a_bird_or_pair_that_a_log_knows_is_no_chick(of_day, who):  # noqa: F811
    today = of_day("", signs=f"who,seen_at,sign\n{who},2026-05-20,cold\n", birds="bird\nOld Tom\n")
    assert "in your logs" not in said(today)[who]
    assert "no heat if it pants" in said(today)[who]
