"""How warm formula may be, and how a cup of it cools."""

import math
import re

import pytest

from analysis.chicks.feeding import (
    FEED_FROM_C,
    FEED_TO_C,
    REFUSE_FROM_C,
    THERMOMETER,
    USABLE,
    USABLE_MIN,
    WINDOW,
    cooling_rate,
    judge_formula,
    lots_needed,
    minutes_until,
)
from analysis.say import in_words


def celsius(fahrenheit):
    return (fahrenheit - 32) / 1.8


def temperature_after(rate, first, room, minutes):
    return room + (first - room) * math.exp(-rate * minutes)


# 38 to 41 °C feeds, above 41 waits, from 43 on refused, below 38 too cool: the default window of the design notes,
# from Duerr & Gage, Hand-Rearing Birds, 2020, pp. 447, 616 (100-105 °F) and a veterinary weekly (39-41 °C).
@pytest.mark.parametrize(
    ("read_c", "word"),
    [
        (20.0, "too cool"),
        (37.9, "too cool"),
        (37.99, "too cool"),
        (38.0, "feed"),
        (40.5, "feed"),
        (41.0, "feed"),
        (41.01, "wait"),
        (42.2, "wait"),
        (42.99, "wait"),
        (43.0, "refuse"),
        (43.3, "refuse"),
        (60.0, "refuse"),
        (94.9, "refuse"),
    ],
)
def test_each_limit_from_both_sides(read_c, word):
    judged = judge_formula(read_c)
    assert judged.word == word
    assert in_words(judged.finding).startswith(f"{read_c:g} °C: ")


def test_limits_against_their_sources():
    # Crop burn above 110 °F: LafeberVet, pediatric avian medicine. Refused before that, and never fed near it.
    assert judge_formula(celsius(110)).word == "refuse"
    assert celsius(110) > REFUSE_FROM_C
    # Fed at 105 °F: Duerr & Gage, pp. 447, 616. That still feeds; 108 °F, which some keepers feed (practice), waits.
    assert judge_formula(celsius(105)).word == "feed"
    assert judge_formula(celsius(108)).word == "wait"
    # A thermometer 1 °C off (practice) at the top of the window does not hide a burn.
    assert FEED_TO_C + 1 < REFUSE_FROM_C
    # Thrown away after 1 hour: Duerr & Gage, table 27.1.
    assert USABLE_MIN == 60
    assert in_words(USABLE).startswith("1 hour")


def test_window_in_fahrenheit_lies_inside_the_window():
    low_c, high_c, low_f, high_f = map(float, re.findall(r"[0-9]+", in_words(WINDOW)))
    assert (low_c, high_c) == (FEED_FROM_C, FEED_TO_C)
    assert {judge_formula(celsius(fahrenheit)).word for fahrenheit in (low_f, high_f)} == {"feed"}


def test_a_temperature_worked_out_is_judged_as_it_is_printed():
    assert judge_formula(41.00000000000001).word == "feed"
    assert judge_formula(42.9999999).word == "refuse"
    assert in_words(judge_formula(42.9999999).finding).startswith("43 °C: refused")


@pytest.mark.parametrize("read", [95, 100, 104.0, 110, 115, 125])
def test_fahrenheit_is_said_and_never_judged(read):
    word, _, finding = judge_formula(read)
    sentence = in_words(finding)
    assert word == ""
    assert "reads like °F" in sentence
    assert "°C: " not in sentence


@pytest.mark.parametrize("read", [math.nan, math.inf, -math.inf])
def test_no_reading(read):
    assert judge_formula(read).word == ""
    assert in_words(judge_formula(read).finding).startswith("No temperature was read")


@pytest.mark.parametrize("read_c", [30.0, 39.0, 42.0, 50.0])
def test_every_judgement_says_how_to_measure(read_c):
    sentence = in_words(judge_formula(read_c).finding)
    for words in ("Stir", "hot spots", "in the middle", in_words(THERMOMETER)):
        assert words in sentence
    assert "ice water" in in_words(THERMOMETER)
    assert "1 °C" in in_words(THERMOMETER)


def test_only_a_second_reading_lets_warm_formula_be_fed():
    assert "second reading is 41 °C or less" in in_words(judge_formula(42.0).finding)
    assert "read it twice" in in_words(judge_formula(44.0).finding)


def test_stewart():
    # Stewart, Calculus, 3.8 (memory; recomputed): 72 °F in 44 °F, 61 °F at 30 min; 54.3 °F at 60 min, 50 at 92.6 min.
    rate = cooling_rate(30, 72, 61, 44)
    assert temperature_after(rate, 72, 44, 60) == pytest.approx(54.3, abs=0.05)
    assert minutes_until(rate, 72, 44, 50) == pytest.approx(92.6, abs=0.05)


def test_thomas():
    # Thomas, Calculus (memory; recomputed): 98 °C in 18 °C, 38 °C at 5 min → 20 °C at 13.30 min;
    # 90 → 60 °C in 10 min at 20 °C → 35 °C at 27.53 min.
    assert minutes_until(cooling_rate(5, 98, 38, 18), 98, 18, 20) == pytest.approx(13.30, abs=0.005)
    assert minutes_until(cooling_rate(10, 90, 60, 20), 90, 20, 35) == pytest.approx(27.53, abs=0.005)


def test_any_unit_gives_one_rate():
    in_f = [32 + 1.8 * read for read in (45.0, 41.0, 22.0)]
    assert cooling_rate(6, *in_f) == pytest.approx(cooling_rate(6, 45.0, 41.0, 22.0), rel=1e-12)


def test_minutes_and_temperature_undo_each_other():
    rate = cooling_rate(6, 45.0, 41.0, 22.0)
    assert temperature_after(rate, 45.0, 22.0, 6) == pytest.approx(41.0)
    assert temperature_after(rate, 41.0, 22.0, minutes_until(rate, 41.0, 22.0, 38.0)) == pytest.approx(38.0)


def test_minutes_until_at_its_edges():
    assert minutes_until(0.02, 40.0, 22.0, 41.0) == 0
    assert minutes_until(0.02, 41.0, 22.0, 41.0) == 0
    assert minutes_until(0.02, 30.0, 35.0, 38.0) == 0  # colder than the room, and colder than wanted
    assert minutes_until(0.02, 38.0, 40.0, 38.0) == 0  # as cool as wanted, in a warmer room
    assert minutes_until(0.02, 41.0, 38.0, 38.0) == math.inf
    assert minutes_until(0.02, 41.0, 40.0, 38.0) == math.inf


@pytest.mark.parametrize(
    "readings",
    [
        (10, 40, 42, 20),  # grew warmer
        (10, 40, 40, 20),  # did not cool
        (10, 42, 40, 41),  # cooler than the room
        (10, 42, 40, 40),
        (10, 42, 40, 45),  # a room warmer than the cup
        (0, 42, 40, 20),
        (-5, 42, 40, 20),
        (math.nan, 42, 40, 20),
        (10, math.nan, 40, 20),
        (10, 42, math.nan, 20),
        (10, 42, 40, math.nan),
        (math.inf, 42, 40, 20),
        (10, math.inf, 40, 20),
        (10, 42, 40, -math.inf),
    ],
)
def test_readings_that_are_no_cooling_cup(readings):
    with pytest.raises(ValueError, match="no cooling cup"):
        cooling_rate(*readings)


# A cup in a room of 20 °C that falls from 41 to 38 °C in ten minutes serves ten minutes a lot.
TEN = cooling_rate(10, 41, 38, 20)


@pytest.mark.parametrize(
    ("minutes", "words"),
    [
        (1, "one mix will do"),
        (9.9, "one mix will do"),
        (10.1, "two lots"),
        (19.9, "two lots"),
        (20.1, "three lots"),
        (30.1, "four lots"),
        (39.9, "four lots"),
        (40.1, "even four lots are too few"),
    ],
)
def test_lots_by_hand(minutes, words):
    said = in_words(lots_needed(TEN, 20.0, minutes))
    assert words in said
    assert ("one mix" in said) == (minutes < 10)


def test_the_last_chick_of_each_lot_is_fed_in_the_window():
    numbers = {"one mix": 1, "two lots": 2, "three lots": 3, "mix in four lots": 4}
    seen = set()
    for room in (15.0, 22.0, 30.0):
        for first, second in ((45.0, 43.0), (42.0, 41.0), (48.0, 40.0)):
            rate = cooling_rate(5, first, second, room)
            for minutes in range(1, 40):
                said = in_words(lots_needed(rate, room, minutes))
                lots = next((number for words, number in numbers.items() if words in said), None)
                if lots is None:
                    assert temperature_after(rate, FEED_TO_C, room, minutes / 4) < FEED_FROM_C
                    continue
                seen.add(lots)
                assert temperature_after(rate, FEED_TO_C, room, minutes / lots) >= FEED_FROM_C - 1e-9
                if lots > 1:
                    assert temperature_after(rate, FEED_TO_C, room, minutes / (lots - 1)) < FEED_FROM_C
    assert seen == {1, 2, 3, 4}


def test_no_mix_serves_longer_than_an_hour():
    # A cup that takes two hours to leave the window; the mix is thrown away after one (Duerr & Gage, table 27.1).
    slow = cooling_rate(120, 41, 38, 20)
    assert "one mix" in in_words(lots_needed(slow, 20.0, 59))
    said = in_words(lots_needed(slow, 20.0, 61))
    assert said.startswith("A mix is thrown out 1 hour after mixing")
    assert "mix in two lots" in said
    many = in_words(lots_needed(slow, 20.0, 241))
    assert "below" in many
    assert "warm water" not in many  # it is warm enough: it is old


@pytest.mark.parametrize("room", [38.0, 41.0, 45.0, math.nan, math.inf])
@pytest.mark.parametrize("minutes", [5.0, 500.0])
def test_a_room_that_is_none_promises_nothing(room, minutes):
    said = in_words(lots_needed(TEN, room, minutes))
    assert "cannot be told" in said
    assert "one mix" not in said


@pytest.mark.parametrize("minutes", [0, -3, math.nan, math.inf])
def test_a_round_without_a_length(minutes):
    assert in_words(lots_needed(TEN, 20.0, minutes)).startswith("How long the round takes is not known.")


@pytest.mark.parametrize("rate", [0.0, -0.1, math.nan])
def test_a_cup_that_does_not_cool(rate):
    assert "cannot be told" in in_words(lots_needed(rate, 20.0, 10))


def test_lots_are_no_countdown():
    for minutes in (5, 15, 25, 35, 500):
        said = in_words(lots_needed(TEN, 20.0, minutes))
        assert said.endswith("the thermometer decides at every chick.")
        # the only minutes named are those of the round
        assert said.count("minutes") == 1
        assert f"a round of about {minutes} minutes" in said
        assert [words for words in ("o'clock", "until", "left", "within", "wait") if words in said.lower()] == []
