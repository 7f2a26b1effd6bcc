"""What is looked over before the season, and two thermometers that stand in one place and do not agree."""

import pandas as pd
import pytest

from analysis import chapters
from analysis.day.round import round_of
from analysis.eggs.incubators import thermometers_apart
from analysis.say import in_words, say
from analysis.say.voice import sentences
from support import read_first

HATCHES = "pair,egg,set_on,incubated_by,outcome,hatched_at,chick\nP1,1,2026-05-01,incubator A,,,\n"
PAIRS = "pair,species\nP1,cockatiel\n"


def readings(*rows):
    return pd.DataFrame(rows, columns=["place", "read_at", "temperature"]).assign(
        read_at=lambda one: pd.to_datetime(one["read_at"], format="mixed")
    )


@pytest.mark.parametrize(
    ("temperatures", "apart"),
    [((37.4, 37.7), 0.3), ((37.5, 37.3), None), ((38.2, 37.5), 0.7), ((37.4, None), None)],
)
def test_thermometers_that_were_read_at_one_time_are_compared(temperatures, apart):
    first, second = temperatures
    told = thermometers_apart(
        readings(("Incubator A", "2026-05-02 07:30", first), ("incubator a", "2026-05-02 07:30", second))
    )
    assert told["apart_c"].tolist() == ([] if apart is None else [apart])


def test_by_how_much_is_said_by_the_middle_of_all_times():
    rows = [
        ("A", f"2026-05-0{day} 07:30", celsius)
        for day, by in ((2, 0.4), (3, 0.5), (4, 2.1))
        for celsius in (37, 37 + by)
    ]
    told = thermometers_apart(readings(*rows, ("A", "2026-05-05 07:30", 37), ("B", "2026-05-05 07:30", 39))).iloc[0]
    assert (told["place"], told["times"], told["apart_c"], told["most_c"]) == ("A", 3, 0.5, 2.1)
    assert in_words(told["finding"]).startswith(
        "Two thermometers read at one time, 3 times: 0.5 °C apart, at most 2.1."
    )


def test_two_days_or_hours_say_nothing_of_thermometers():
    morning_and_evening = [("A", "2026-05-02 07:30", 37), ("A", "2026-05-02 19:30", 38)]
    days_alone = [("A", "2026-05-03", 37), ("A", "2026-05-03", 38)]
    assert thermometers_apart(readings(*morning_and_evening, *days_alone)).empty
    assert thermometers_apart(readings()).empty


def test_the_warmer_of_two_counts_in_the_morning_and_both_are_asked_about(open_logs):
    log = "place,read_at,temperature\nincubator A,2026-05-10 07:30,39.4\nincubator A,2026-05-10 07:30,37.4\n"
    season = open_logs(up_to="2026-05-10", pairs=PAIRS, hatches=HATCHES, readings=log)
    (_, _, first), (_, _, second) = read_first(round_of(season, "2026-05-10"))
    assert first.startswith("39.4 °C when last read")
    assert "Open it now" in first
    assert second.startswith("Two thermometers read at one time, once: 2.0 °C apart.")


def test_the_list_is_ticked_off_and_says_what_these_logs_know_of_it(open_logs):
    log = "place,read_at,temperature\nincubator A,2026-05-10 07:30,37.4\nincubator A,2026-05-10 07:30,37.9\n"
    lost = "chick,found_on,cause\nK1,2026-05-10,power cut\n"
    hatches = HATCHES + "P1,2,,,hatched,2026-05-08,K1\n"
    season = open_logs(pairs=PAIRS, hatches=hatches, readings=log, losses=lost)
    (shown,) = chapters.equipment.before_the_season(season)
    said = dict(shown.data["items"])
    assert shown.data["tick"]
    items = [code for code in sentences("equipment") if code.endswith("-do")]
    assert len(said) == shown.html.count("&#9744;") == len(items)
    assert "In this season 1 chick was lost to cold, heat or power" in said[say("equipment.heat")]
    assert "incubator A: 0.5 °C apart in your log." in said[say("equipment.thermometers")]
    for what, who in {
        "power-cut": "qualified electrician",
        "electricity": "ocal codes",
        "empty": "avian veterinarian",
    }.items():
        assert who in said[say(f"equipment.{what}")]
    assert "PTFE" in said[say("equipment.air")]


def test_the_list_says_nothing_of_logs_that_hold_nothing(open_logs):
    (shown,) = chapters.equipment.before_the_season(open_logs(pairs=PAIRS, hatches=HATCHES))
    assert not any(word in shown.text for word in ("In this season", "apart in your log", "None", "nan"))
