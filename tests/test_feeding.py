"""Amounts, hours, brooders and order: ranges of the trade, and never a number where none may stand."""

import inspect
import itertools
import math
from pathlib import Path

import pandas as pd
import pytest

from analysis.chicks import feeding
from analysis.chicks.brooders import HUMIDITY, brooder_need, brooder_ranges, too_cold, too_warm
from analysis.chicks.feeding import (
    CAUTIONS,
    CROP_DECIDES,
    ORDER_WHY,
    WEIGH_FIRST,
    Amount,
    feed_amount,
    feed_hours,
    feed_times,
    feeding_order,
    judge_formula,
    lots_needed,
    total_to_mix,
)
from analysis.finding import Finding
from analysis.say import in_words

# Mid values as % of mass, Duerr & Gage, Hand-Rearing Birds, 2020, tables 27.1-27.2 (recomputed): mourning dove, then
# rock pigeon; the last is that of a bird near independence.
TABLES = [(10, 10.0), (20, 10.0), (30, 10.0), (60, 10.8), (50, 10.0), (100, 9.0), (150, 10.0), (200, 9.5)]
# There a tenth, "at most", lies above the middle of the table, by a point at most: its middle is no upper end.
ABOVE = {100: 1.0, 200: 0.5}


@pytest.mark.parametrize(("mass_g", "percent"), TABLES)
def test_the_cap_against_the_tables(mass_g, percent):
    share = 100 * feed_amount(mass_g, 20).high_ml / mass_g
    assert share <= percent + ABOVE.get(mass_g, 0.0) + 1e-9
    assert share >= 9.9


def test_near_independence_the_cap_falls():
    # Rock pigeon of 400 g: 4.8 %, Duerr & Gage, table 27.2. Until it was seen eating the tenth holds, at any age.
    amount = feed_amount(400, 30, eating_alone=True)
    assert amount.high_ml <= 0.048 * 400
    assert amount == Amount(8.0, 19.0, "")
    assert feed_amount(400, 30).high_ml == feed_amount(400, 90).high_ml == 40.0


def test_smaller_feeds_end_where_the_others_begin():
    assert feed_amount(100.0, 20, less=True) == Amount(4.0, 8.0, "")


def test_no_rounding_passes_the_cap():
    for tenths in range(5, 12_000, 7):
        mass_g = tenths / 10
        for near, cap in ((False, 0.1), (True, 0.048)):
            low, high, why = feed_amount(mass_g, 25, eating_alone=near)
            assert not why
            assert 0 <= low <= high <= cap * mass_g + 1e-6
            # and it loses no more than the step it is rounded to
            assert high > cap * mass_g - (0.01 if cap * mass_g < 1 else 0.1 if cap * mass_g < 10 else 1.0) - 1e-6


def test_the_range_begins_lower_the_younger_the_chick():
    lows = [feed_amount(1000, age_d).low_ml for age_d in (3, 6, 7, 13, 14, 60)]
    assert lows == [60, 60, 70, 70, 80, 80]
    assert {feed_amount(1000, age_d).high_ml for age_d in (3, 7, 14, 60)} == {100}
    # where the age is not sure the youngest that it may be counts
    assert feed_amount(1000, 14, sure_to_days=1).low_ml == 70


@pytest.mark.parametrize(
    ("age_d", "sure_to_days", "given"),
    [(0, 0, False), (2, 0, False), (2.9, 0, False), (3, 0, True), (3, 1, False), (4, 1, True), (4, 2, False),
     (9, 7, False), (10, 7, True), (4, -2, False), (-1, 0, False), (20, math.nan, False), (math.nan, 0, False),
     (math.nan, 3, False)],
)  # fmt: skip
def test_no_number_under_three_days_or_where_it_may_be_so_young(age_d, sure_to_days, given):
    amount = feed_amount(12.0, age_d, sure_to_days=sure_to_days)
    assert (not math.isnan(amount.high_ml)) == given == (amount.why == "") == (not math.isnan(amount.low_ml))
    assert given or "avian veterinarian" in in_words(amount.why)


@pytest.mark.parametrize("what", ["flagged", "cold", "food_left", "unwell"])
@pytest.mark.parametrize("near", [False, True])
def test_no_number_for_a_chick_that_is_not_well(what, near):
    amount = feed_amount(80.0, 20, eating_alone=near, **{what: True})
    assert math.isnan(amount.low_ml)
    assert math.isnan(amount.high_ml)
    if what == "flagged":  # a warm chick that begs on an empty crop is not starved
        assert "usual feed goes on while you reach the veterinarian, never more" in in_words(amount.why)
    else:
        assert in_words(amount.why).endswith("Ask an avian veterinarian whether, what and how much it is fed.")


def test_what_is_worst_is_said_first():
    everything = {"flagged": True, "cold": True, "food_left": True, "sure_to_days": 5}
    assert in_words(feed_amount(math.nan, 1, **everything).why).startswith(
        "It was cold, and a cold chick is never fed."
    )
    assert "Keep it warm and quiet; an avian veterinarian, today." in in_words(
        feed_amount(math.nan, 1, **everything).why
    )
    assert in_words(feed_amount(math.nan, 1, flagged=True, food_left=True).why).startswith("Food is left")
    assert in_words(feed_amount(math.nan, 1, flagged=True).why).startswith("It is flagged")
    assert in_words(feed_amount(math.nan, 1).why).startswith("Under three days")
    assert in_words(feed_amount(math.nan, 4, sure_to_days=2).why).startswith("It may be under three days")


@pytest.mark.parametrize("empty_g", [math.nan, 0.0, -5.0, math.inf])
def test_without_a_weight_the_rule_stands_and_no_number(empty_g):
    amount = feed_amount(empty_g, 20)
    assert math.isnan(amount.high_ml)
    assert amount.why == WEIGH_FIRST
    said = in_words(amount.why)
    assert said.startswith("Weigh it first")
    assert "a tenth of what it weighs this morning" in said
    assert [letter for letter in said if letter.isdigit()] == []


def test_total_to_mix_by_hand():
    # Waste of 10 to 30 % (practice): (6.4 + 3.2) · 1.1 = 10.56, (8.0 + 4.0) · 1.3 = 15.6; the hatchling is not in it.
    amounts = [feed_amount(80.0, 20), feed_amount(40.0, 15), feed_amount(5.0, 1)]
    assert total_to_mix(amounts) == (10.6, 15.6, 2)
    assert total_to_mix(amounts, waste=(0.0, 0.5)) == (9.6, 18.0, 2)
    assert total_to_mix(iter(amounts[2:])) == (0, 0, 0)
    assert total_to_mix([]) == (0, 0, 0)


def test_hours_between_feeds():
    # Hatchlings every 2 h, 4 a day by three weeks: Duerr & Gage, pp. 614-617; 4-6 h: Doneley 2018.
    assert feed_hours(0) == feed_hours(2.9) == (2, 2)
    assert feed_hours(21) == feed_hours(90) == (4, 6)
    low_h, high_h = feed_hours(21)
    assert low_h <= 24 / 4 <= high_h
    hours = [feed_hours(age_d) for age_d in range(60)]
    assert hours == sorted(hours)
    assert {in_words(feed_times(age_d)) for age_d in range(60)} == {
        "every 2 h, nights too", "every 2–3 h", "every 3–4 h", "every 4–5 h", "every 4–6 h",
    }  # fmt: skip
    assert feed_times(math.nan) == feed_times(-1) == ""
    assert [hour for hour in feed_hours(math.nan) if not math.isnan(hour)] == []


def needs(*ages_d, **more):
    """Chicks of a kind whose pins break on day 14 and that is feathered on day 28."""
    return [
        brooder_need(f"K{at}", age_d, pins_d=(14, 14), feathered_d=(28, 28), **more) for at, age_d in enumerate(ages_d)
    ]


def test_brooders_of_the_tables():
    # Hatch to day 3 36.5-35 °C, to day 14 35-31, pinfeathers 31-28, feathered 26-25: Duerr & Gage, table 40.1;
    # Digney 1998; Wragg.
    ranges = [(one.low_c, one.high_c) for one in needs(0, 2.9, 3, 13, 14, 27, 28, 500)]
    assert ranges == [
        (35.0, 36.5), (35.0, 36.5), (31.0, 35.0), (31.0, 35.0), (28.0, 31.0), (28.0, 31.0), (25.0, 26.0), (25.0, 26.0),
    ]  # fmt: skip


@pytest.mark.parametrize("age_d", [4, 31, 60, math.nan])
@pytest.mark.parametrize(("stage", "range_c"), [("pins", (28.0, 31.0)), ("feathered", (25.0, 26.0))])
def test_feathers_that_were_seen_count_more_than_days(age_d, stage, range_c):
    (need,) = needs(age_d, stage=stage)
    assert (need.low_c, need.high_c) == range_c


def test_still_in_down_whatever_its_kind_does():
    (need,) = needs(31, stage="down")
    assert (need.low_c, need.high_c) == (31.0, 35.0)


def test_an_age_that_is_not_sure_may_be_two_stages():
    (need,) = needs(13, sure_to_days=2)
    assert (need.stages, need.low_c, need.high_c) == (("down", "pins"), 28.0, 35.0)


def test_a_kind_that_nobody_knows_and_no_age_is_every_stage_it_may_be():
    # pins break from day 5 in the smallest finches to day 21 in the largest parrots (from memory)
    assert brooder_need("K1", 31).stages == ("pins", "feathered")
    assert brooder_need("K1", 10).stages == ("down", "pins")
    assert brooder_need("K1", math.nan).stages == ("hatchling", "down", "pins", "feathered")


def test_no_margin_on_the_hot_side_and_three_degrees_on_the_cold_one():
    young, old = needs(1, 40)
    assert too_warm(36.5, [young]) == []
    assert too_warm(36.6, [young, old]) == [young, old]
    assert too_cold(32.0, [young, old]) == []  # published tables differ by up to 3 °C
    assert too_cold(31.9, [young, old]) == [young]


@pytest.mark.parametrize(
    ("ages_d", "words"),
    [
        ([1, 10], "One brooder for all of them: 35 °C."),
        ([10, 20], "One brooder for all of them: 31 °C."),
        ([20, 1], "Two brooders"),
        ([1, 10, 20], "Two brooders"),
        ([10, 40], "Two brooders"),
        ([20, 40], "Two brooders"),
        ([1, 20, 40], "Three brooders"),
        ([40, 20, 10, 1], "Three brooders"),
    ],
)
def test_how_many_brooders(ages_d, words):
    said = in_words(brooder_ranges(needs(*ages_d)))
    assert words in said
    assert said.count("brooder") == 1
    assert said.endswith("spread out, red or panting it is too hot.")


def test_one_stage_and_none():
    said = in_words(brooder_ranges(needs(40, 41)))
    assert said.startswith("K0, K1 (feathered): 25 to 26 °C. Tables differ by up to 3 °C")
    assert "rooder" not in said
    assert brooder_ranges([]) == ""


def frame(*rows):
    return pd.DataFrame(rows, columns=["chick", "age_d", "bought_in", "ailing", "needs_vet"])


def test_hygiene_sets_the_order():
    chicks = frame(
        ("K1", 2.0, False, False, True),
        ("K2", 5.0, False, True, False),
        ("K3", 4.0, True, False, False),
        ("K4", math.nan, False, False, False),
        ("K5", 30.0, False, False, False),
        ("K10", 9.0, False, False, False),
        ("K9", 9.0, False, False, False),
        ("K6", 1.0, True, True, False),
    )
    found = feeding_order(chicks)
    # healthy by age (9 before 10 where ages are the same, unknown age last), bought in, ailing, veterinarian
    assert found["chick"].tolist() == ["K9", "K10", "K5", "K4", "K3", "K6", "K2", "K1"]
    assert found["place_in_order"].tolist() == [1, 2, 3, 4, 5, 6, 7, 8]
    assert found["own_tools"].tolist() == [False] * 4 + [True] * 4


def test_the_order_does_not_hang_on_how_the_rows_lie():
    rows = [("K1", 9.0, False, False, False), ("K2", 3.0, True, False, False), ("K3", math.nan, False, True, False)]
    orders = {tuple(feeding_order(frame(*some))["chick"]) for some in itertools.permutations(rows)}
    assert orders == {("K1", "K2", "K3")}


def test_the_same_rows_with_all_their_columns():
    chicks = frame(("K1", 9.0, False, False, False), ("K2", 3.0, False, False, False)).assign(ring=["r1", "r2"])
    chicks.index = pd.Index([7, 7])
    before = chicks.copy()
    found = feeding_order(chicks)
    assert found[["chick", "ring"]].to_numpy().tolist() == [["K2", "r2"], ["K1", "r1"]]
    assert found.index.tolist() == [0, 1]
    pd.testing.assert_frame_equal(chicks, before)


def test_nobody_to_feed():
    found = feeding_order(frame())
    assert found.empty
    assert {"place_in_order", "own_tools"} <= set(found)


# What no page may say: treatments, and what is done to a chick, a crop or an egg by a veterinarian alone.
FORBIDDEN = [
    "tube", "gavage", "dose", "dosage", "drug", "antibiotic", "antifung", "medication", "remed", "dilut", "massag",
    "steril", "inject", "flush", "rinse", "lavage", "euthan", "put to sleep", "probiotic", "electrolyte", "prick",
    "vinegar", "disinfect", "empty the crop", "emptying a crop", "open the egg", "help it hatch", "assist",
]  # fmt: skip


def sentences():
    """Everything that this room says, of many numbers."""
    numbers = [math.nan, -1.0, 0.0, 1.0, 3.0, 8.0, 20.0, 36.0, 39.0, 42.0, 50.0, 104.0, 400.0]
    yield from (judge_formula(number).finding for number in numbers)
    yield from (lots_needed(rate, 20.0, minutes) for rate in (0.0, 0.001, 0.02) for minutes in numbers)
    for empty_g, age_d in itertools.product(numbers, numbers):
        for marks in itertools.product((False, True), repeat=4):
            named = dict(zip(("flagged", "cold", "food_left", "eating_alone"), marks, strict=True))
            yield feed_amount(empty_g, age_d, sure_to_days=1, **named).why
    yield from map(feed_times, numbers)
    yield from (brooder_ranges(needs(*ages)) for ages in itertools.combinations(numbers, 3))
    yield from CAUTIONS
    yield from (value for value in vars(feeding).values() if isinstance(value, Finding))


def test_nothing_is_said_that_is_a_veterinarians():
    said = set(map(in_words, sentences()))
    assert len(said) > 40
    for sentence in said:
        found = [word for word in FORBIDDEN if word in sentence.lower()]
        assert not found, sentence
        assert not {"nan", "inf", "none."} & set(sentence.lower().replace(",", " ").split()), sentence


def test_nor_does_the_code_say_it():
    room = Path(inspect.getfile(feeding)).parent
    for path in (*sorted(room.glob("*.py")), room.parent / "say" / "feeding.toml"):
        text = path.read_text(encoding="utf-8").lower()
        assert not [word for word in FORBIDDEN if word in text], path.name


def test_cautions_stand_where_they_matter():
    said = in_words(CAUTIONS)
    for words in (
        "warm and quiet", "an avian veterinarian", "today", "burns the crop", "airway", "never a prescription",
        "Clean hands", "psittacosis", "Droppings and feather dust", "electrical and fire safety", "local codes",
        "a qualified electrician", "coated (PTFE, non-stick)", "scented candle", "smoke", "cleaner not washed off",
        "people out first, birds to fresh air, an avian veterinarian at once",
    ):  # fmt: skip
        assert words in said
    assert "hygiene sets this order, not urgency" in in_words(ORDER_WHY)
    assert "empties wholly" in in_words(CROP_DECIDES)
    # Clipsham 1991, in Duerr & Gage, p. 617.
    assert in_words(HUMIDITY).startswith("Humidity: 55 to 70 %")


FED_TWO_DAYS = "fed_at,who,amount\n2026-05-06,K1,4\n2026-05-06,K1,4\n2026-05-07,K1,5\n"


@pytest.mark.parametrize(
    ("reared_by", "fed", "asked"),
    [
        ("", "2026-05-08,K1,5\n", True),
        ("P1", "2026-05-08,K1,5\n", True),
        ("hand", "2026-05-08,K1,5\n", False),
        ("", "", False),
        ("", "2026-05-08,K1,\n", False),
        ("", "2026-05-08,K1,5\n2026-05-20,K2,5\n", False),
    ],
    ids=["nothing written", "with its pair", "by hand", "two days of help", "no amount", "long ago"],
)
def test_a_chick_fed_day_by_day_is_asked_about_unless_it_is_by_hand(open_logs, reared_by, fed, asked):
    season = open_logs(
        hatches=f"pair,chick,hatched_at,reared_by\nP1,K1,2026-05-01,{reared_by}\nP1,K2,2026-05-01,hand\n",
        feeds=FED_TWO_DAYS + fed,
    )
    said = season.problems[season.problems["code"] == "fed-not-by-hand"]
    assert said["value"].tolist() == (["K1"] if asked else [])
