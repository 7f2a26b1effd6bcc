"""Time out of range: worked by hand on a few readings."""

import pandas as pd
import pytest

from analysis.eggs.incubators import humidity_range, time_out
from analysis.say import in_words

LIMITS = {"low_c": 36.9, "high_c": 37.8}


def read(*rows, place="drawer"):
    frame = pd.DataFrame(rows, columns=["read_at", "temperature"]).assign(place=place)
    return frame.assign(read_at=pd.to_datetime(frame["read_at"]), temperature=frame["temperature"].astype(float))


def test_a_reading_stands_for_the_time_half_way_to_its_neighbours():
    # 12 h before the first, 1 h to half-way; 1 + 2 h; 2 + 12 h
    seen = read(("2026-06-10 08:00", 37.5), ("2026-06-10 10:00", 38.5), ("2026-06-10 14:00", 37.4))
    found = time_out(seen, **LIMITS).iloc[0]
    assert found["watched_h"] == 13 + 3 + 14
    assert (found["out_h"], found["warm_h"], found["cold_h"]) == (3, 3, 0)
    assert found["share"] == pytest.approx(3 / 30)
    assert found["worst_c"] == 38.5


def test_a_gap_speaks_of_nothing():
    found = time_out(read(("2026-06-01", 37.5), ("2026-06-20", 37.5)), **LIMITS).iloc[0]
    assert found["watched_h"] == 48


def test_the_worst_stretch_is_that_of_most_degrees_times_hours():
    days = [
        ("2026-06-01", 39.5),
        ("2026-06-02", 37.5),
        *((f"2026-06-{d:02d}", 38.6) for d in range(3, 9)),
        ("2026-06-09", 37),
    ]
    found = time_out(read(*days), **LIMITS).iloc[0]
    assert (found["worst_c"], str(found["worst_from"])[:10], str(found["worst_to"])[:10]) == (
        38.6,
        "2026-06-03",
        "2026-06-08",
    )
    assert "worst 38.6 °C, 3 June 2026 to 8 June 2026" in in_words(found["finding"])


def test_hours_count_as_much_as_degrees():
    # 1.0 above for 2 hours (each reading half an hour to either side) is less than 0.4 above for about half a day
    hot = [("2026-06-01 08:00", 37.5), ("2026-06-01 09:00", 39.0), ("2026-06-01 10:00", 39.0)]
    found = time_out(read(*hot, ("2026-06-01 11:00", 37.5), ("2026-06-02 08:00", 38.4)), **LIMITS).iloc[0]
    assert found["out_h"] == 2 + 10.5 + 12
    assert found["worst_c"] == 38.4


def test_warm_and_cold_are_two_stretches():
    found = time_out(read(("2026-06-01", 38.5), ("2026-06-02", 36.0), ("2026-06-03", 37.0)), **LIMITS).iloc[0]
    assert (found["warm_h"], found["cold_h"]) == (24, 24)
    assert found["worst_c"] == 36.0  # 0.7 below is more than 0.5 above


@pytest.mark.parametrize("ends", [36.9, 37.8])
def test_the_ends_are_in_range(ends):
    found = time_out(read(("2026-06-01", ends)), **LIMITS).iloc[0]
    assert found["out_h"] == 0
    assert in_words(found["finding"]) == "In range in its one reading."


def test_places_apart_missing_temperatures_left_out_and_nothing_of_nothing():
    seen = pd.concat([read(("2026-06-01", 39), ("2026-06-02", None)), read(("2026-06-01", 37), place="box")])
    assert time_out(seen, **LIMITS)[["place", "readings", "out_h"]].values.tolist() == [
        ["box", 1, 0.0],
        ["drawer", 1, 24.0],
    ]
    assert time_out(seen[:0], **LIMITS).empty


def test_readings_of_one_moment_share_its_time():
    """Three readings written with the day alone: the one that was out is not lost between the others."""
    found = time_out(read(("2026-06-01", 37.5), ("2026-06-01", 39.5), ("2026-06-01", 37.5)), **LIMITS).iloc[0]
    assert (found["watched_h"], found["out_h"], found["worst_c"]) == (24, 8, 39.5)
    assert in_words(found["finding"]).startswith("Out of range for about 8 hours of 24 hours")


def test_a_day_without_a_reading_ends_a_stretch():
    late, last = "2026-07-20 08:00", "2026-07-21 19:00"  # 35 hours apart, and a reading on each day
    found = time_out(read(("2026-06-01 08:00", 38.5), (late, 38.6), (last, 38.4)), **LIMITS).iloc[0]
    assert (found["worst_from"], found["worst_to"]) == (pd.Timestamp(late), pd.Timestamp(last))


def test_a_reading_of_no_known_time_is_left_out():
    found = time_out(read(("2026-06-01", 37.5), (None, 39.5)), **LIMITS).iloc[0]
    assert (found["readings"], found["watched_h"], found["out_h"], found["share"]) == (1, 24, 0, 0)


def test_order_does_not_matter():
    seen = read(("2026-06-01", 38.5), ("2026-06-02", 38.9), ("2026-06-03", 37.0))
    assert time_out(seen[::-1], **LIMITS).equals(time_out(seen, **LIMITS))


def test_humidity_by_place_where_it_was_read():
    seen = pd.DataFrame(
        {"place": ["drawer"] * 3 + ["box"] * 2 + ["shelf"], "humidity_pct": [60, 45, 50, 55, None, None]}
    )
    assert humidity_range(seen).values.tolist() == [["box", 1, 55.0, 55.0, 55.0], ["drawer", 3, 50.0, 45.0, 60.0]]
    assert humidity_range(seen[:0]).empty


def test_hours_too_cold_are_hours_out():
    found = time_out(read(("2026-06-01", 36.0), ("2026-06-02", 35.5), ("2026-06-03", 36.2)), **LIMITS).iloc[0]
    assert (found["warm_h"], found["cold_h"], found["out_h"], found["share"]) == (0, 72, 72, 1)
    assert found["worst_c"] == 35.5  # the farthest out, not the warmest
    assert in_words(found["finding"]).startswith("Out of range for about 3 days of 3 days watched; worst 35.5 °C")


def test_a_warm_day_beside_a_cold_one_is_no_part_of_its_stretch():
    found = time_out(read(("2026-06-01", 38.5), ("2026-06-02", 36.0), ("2026-06-03", 37.0)), **LIMITS).iloc[0]
    assert found["worst_from"] == found["worst_to"] == pd.Timestamp("2026-06-02")


def test_one_day_without_a_reading_is_enough_to_end_a_stretch():
    found = time_out(read(("2026-06-01", 38.5), ("2026-06-03", 38.6)), **LIMITS).iloc[0]
    assert found["worst_from"] == found["worst_to"] == pd.Timestamp("2026-06-03")
