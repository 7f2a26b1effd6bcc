"""How long a crop takes to empty, and which has slowed beside its own usual; how thick the mix is; feeds by night."""

import io

import pandas as pd
import pypdf
import pytest

from analysis.chapters import one_chick
from analysis.chicks.crop_time import crop_times
from analysis.day.preparation import before_feeding, no_amounts
from analysis.day.round import round_of
from analysis.day.round_rows import round_rows
from analysis.logs.dates import read_hour
from analysis.logs.headings import column_named
from analysis.logs.tables import LOGS
from analysis.report.round_page import round_page
from support import as_read, read_first, rows_as_read

ON = pd.Timestamp("2026-05-20")
HATCHES = "pair,clutch,egg,hatched_at,sure_to_days,chick,reared_by\n"
FEEDS = "fed_at,who,food,amount,temperature,thickness,crop_empty_at\n"
MORNINGS = "".join(f"{chick},2026-05-{17 + n},{20 + 2 * n},\n" for chick in ("K1", "K2") for n in range(4))


@pytest.fixture
def of_day(open_logs):
    def round_(feeds, weights="", **more):
        logs = {
            "pairs": "pair,species,cage\nP1,cockatiel,C1\nP2,zebra finch,C2\n",
            "settings": "setting,value\nseason,2026\n",
            "hatches": "pair,clutch,egg,hatched_at,chick,reared_by\n"
            "P1,1,1,2026-05-06,K1,hand\nP1,1,2,2026-05-06,K2,hand\n",
            "weights": f"chick,weighed_at,weight,crop\n{weights}",
            "feeds": FEEDS + feeds,
        } | more
        return round_of(open_logs(up_to="2026-05-20", **logs), ON)

    return round_


def fed(day, *feeds, who="K1", ml=2, more=","):
    """Rows of feeds of one day: `("07:00", 3)` is one after which the crop was seen empty 3 hours later."""
    rows = []
    for at, hours in feeds:
        begun = pd.Timestamp(f"2026-05-{day} {at}")
        rows.append(f"{begun:%Y-%m-%d %H:%M},{who},formula,{ml},{more},{begun + pd.Timedelta(hours=hours):%H:%M}\n")
    return "".join(rows)


def usual(hours):
    """Five feeds in two days, as few as tell."""
    return fed(17, *((f"{at}:00", hours) for at in ("07", "12", "17"))) + fed(18, ("07:00", hours), ("12:00", hours))


USUAL = fed(17, ("07:00", 3), ("11:00", 2.75), ("15:00", 3.25)) + fed(18, ("07:00", 3), ("11:00", 3))


def said(today):
    return {who: sentence for who, _, sentence in read_first(today)}


def before(today):
    return dict(as_read(before_feeding(today)))


def page_words(pdf):
    return " ".join(" ".join(one.extract_text().split()) for one in pypdf.PdfReader(io.BytesIO(pdf)).pages)


# -- what is written


@pytest.mark.parametrize(
    ("text", "hours"),
    [
        ("10:30", 10.5),
        ("7.05", 7 + 5 / 60),
        ("9h15", 9.25),
        ("9 pm", 21),
        ("12:30 am", 0.5),
        ("um 9 Uhr", 9),
        ("3 h", None),  # a length of time, or three o'clock
        ("10", None),
        ("24:30", None),
        ("13 pm", None),
        ("not yet", None),
    ],
)
def test_an_hour_that_stands_alone(text, hours):
    assert read_hour(text) == (None if hours is None else pd.Timedelta(hours=hours).round("s"))


def test_an_hour_alone_is_of_the_day_of_the_feed_or_of_the_next(open_logs):
    rows = "2026-05-18 07:00,K1,,,,,10:30\n2026-05-18 22:00,K1,,,,,01:30\n2026-05-19,K1,,,,,6:00\n"
    rows += "19.5.2026 8:00,K1,,,,,19.5.2026 11:15\n"
    read = open_logs(feeds=FEEDS + rows, settings="setting,value\nseason,2026\n").logs["feeds"]["crop_empty_at"]
    expected = ["2026-05-18 10:30", "2026-05-19 01:30", "2026-05-19 06:00", "2026-05-19 11:15"]
    assert read.tolist() == [pd.Timestamp(at) for at in expected]


def test_that_it_was_empty_without_an_hour_is_no_alarm_and_that_it_was_not_is_asked(open_logs):
    rows = "".join(
        f"2026-05-18 {at},K1,,,,,{word}\n" for at, word in (("07:00", "ja"), ("11:00", "leer"), ("15:00", "nein"))
    )
    season = open_logs(feeds=FEEDS + rows)
    assert season.logs["feeds"]["crop_empty_at"].isna().all()
    assert season.problems.loc[season.problems["code"] == "unreadable-hour", "value"].tolist() == ["nein"]


@pytest.mark.parametrize(
    ("heading", "column"),
    [
        ("Kropf leer", "crop_empty_at"),
        ("Jabot vide à", "crop_empty_at"),
        ("Buche vacío", "crop_empty_at"),
        ("Krop leeg om", "crop_empty_at"),
        ("Konsistenz", "thickness"),
        ("Consistencia", "thickness"),
        ("épaisseur", "thickness"),
        ("hoe dik", "thickness"),
    ],
)
def test_headings_in_every_language(heading, column):
    assert column_named(heading, LOGS["feeds"]) == (column, "")


# -- beside its own usual


def test_the_hours_by_day_are_those_worked_by_hand(of_day):
    rows = USUAL + fed(18, ("15:00", 4.5), ("20:00", 11)) + fed(19, ("07:00", 5), ("11:00", 3))  # fed again at 11:00
    times = of_day(rows).crop_times
    assert times["hours"].tolist() == [3, 2.75, 3.25, 3, 3, 4.5, 3]  # no night, and no hours of two feeds
    assert times["n"].tolist() == [0, 1, 2, 3, 4, 5, 6]
    assert times["usual_h"].isna().tolist() == [True] * 5 + [False] * 2
    assert times["usual_h"].tolist()[5:] == [3, 3]
    assert times["slow"].tolist() == [False] * 5 + [True, False]


def test_a_slow_crop_is_read_of_while_the_weight_still_gains(of_day):
    once = of_day(USUAL + fed(19, ("07:00", 4.5)), weights=MORNINGS)
    told = said(once)["K1"]
    assert "seen empty 4.5 hours after the feed of 07:00 on 19 May; 3 are its usual (5 feeds by day)." in told
    assert "If nobody looked sooner" in told
    assert "Keep it warm" not in told
    assert rows_as_read(round_rows(once)).set_index("chick").loc["K1", "give"].endswith("ml")
    twice = of_day(USUAL + fed(19, ("07:00", 4.5), ("13:00", 5)), weights=MORNINGS)
    assert "Two feeds running" in said(twice)["K1"]
    assert "an avian veterinarian, today" in said(twice)["K1"]
    row = rows_as_read(round_rows(twice)).set_index("chick").loc["K1"]
    assert (row["give"], row["times"]) == ("no amount", "or as usual: read first")
    assert "own syringe" in row["marks"]
    assert "K1" not in dict(as_read(no_amounts(twice)))  # why stands where it is read of first


@pytest.mark.parametrize(
    "rows",
    [
        usual(4) + fed(19, ("07:00", 5.5)),  # by less than half
        USUAL + fed(19, ("07:00", 4.5), ("13:00", 3)),  # over since
        USUAL.replace("2026-05-17 07:00", "2026-05-17") + fed(19, ("07:00", 4.5)),  # four with both hours: too few
        fed(13, ("07:00", 3)) + USUAL.split("\n", 1)[1] + fed(19, ("07:00", 4.5)),  # one of them too long ago
        USUAL.replace(":00,K1", ":00,K2") + fed(19, ("07:00", 4.5)),  # another's usual
        USUAL + fed(18, ("15:00", 4.5)),  # neither yesterday's nor today's
        usual(1) + fed(19, ("07:00", 1.75)),  # by less than an hour
    ],
)
def test_what_is_no_slow_crop(of_day, rows):
    assert said(of_day(rows)) == {}


def test_a_yes_is_no_question_and_one_word_is_asked_once(of_day):
    rows = "".join(f"2026-05-20 0{hour}:00,K1,formula,2,39,,{{}}\n" for hour in (3, 5, 7))
    assert said(of_day(rows.format("Y", "ja", "yes"))) == {}
    assert said(of_day(rows.format("slow", "slow", "no")))["K1"].count("where the hour belongs") == 2


def test_what_of_the_feed_may_have_slowed_it_is_said(of_day):
    rows = USUAL + fed(19, ("07:00", 4.5), ml=3, more="36.5,dicker")
    told = said(of_day(rows))["K1"]
    for words in ("thicker than its packet says", "36.5 °C: too cool", "3 ml, and 2 are its usual"):
        assert words in told
    plain = said(of_day(USUAL + fed(19, ("07:00", 4.5), more="39.5,as packet")))["K1"]
    assert "thicker" not in plain
    assert "too cool" not in plain
    assert "are its usual." not in plain
    mixed = "2026-05-19 06:45,,formula,,36,too thick,\n" + fed(19, ("07:00", 4.5))
    assert "thicker than its packet says" in said(of_day(USUAL + mixed))["K1"]
    hours_before = "2026-05-19 05:45,,formula,,36,too thick,\n" + fed(19, ("07:00", 4.5))
    assert "thicker" not in said(of_day(USUAL + hours_before))["K1"]


def test_several_that_slow_together_share_something(of_day):
    rows = USUAL + fed(19, ("07:00", 4.5))
    both = said(of_day(rows.replace("K1", '"K1, K2"')))
    assert "K2 slowed too" in both["K1"]
    assert "K1 slowed too" in both["K2"]
    assert "slowed too" not in said(of_day(rows))["K1"]


def test_who_needs_a_veterinarian_anyway_is_told_of_its_crop_before_the_end(of_day):
    signs = "who,seen_at,sign\nK1,2026-05-20,crop not emptying\n"
    told = said(of_day(USUAL + fed(19, ("07:00", 4.5)), signs=signs))["K1"]
    assert told.startswith("Crop not emptying, seen 20 May 2026.")
    assert told.index("Its crop was seen empty 4.5 hours") < told.index("Ask there whether")
    assert "If nobody looked sooner" not in told
    night = "2026-05-19 18:00,K1,formula,2,,,2026-05-20 08:00\n2026-05-20 06:30,K2,formula,2,,,\n"
    told = said(of_day(night, signs=signs))["K1"]
    assert told.index("Its crop was seen empty only at 08:00") < told.index("Ask there whether")
    assert "If nobody looked sooner" not in told


def test_a_word_in_the_place_of_the_hour_is_asked_about(of_day):
    today = of_day(USUAL + "2026-05-19 16:00,K2,formula,2,,,still full\n2026-05-17 16:00,K1,formula,2,,,still full\n")
    assert list(said(today)) == ["K2"]
    assert "“still full”" in said(today)["K2"]
    again = of_day(USUAL + "".join(f"2026-05-19 {hour}:00,K2,formula,2,,,still full\n" for hour in (12, 16)))
    assert said(again)["K2"].count("“still full”") == 1
    rows = "2026-05-19 16:00,K2,formula,2,,,still full\n2026-05-20 07:00,K1,formula,2,,,still full\n"
    emptied = of_day(rows, weights="K1,2026-05-20 06:30,20,empty\nK2,2026-05-20 06:30,20,empty\n")
    assert list(said(emptied)) == ["K1"]  # fed since its crop was empty


@pytest.mark.parametrize(
    ("empty", "began", "born", "read"),
    [
        ("08:00", "06:30", "2026-05-06", True),
        ("07:15", "06:30", "2026-05-06", False),  # its turn had come
        ("08:00", "02:30", "2026-05-06", False),  # a feed of the night began no morning
        ("08:00", "06:30", "2026-05-18", False),  # fed through the night
    ],
)
def test_food_that_outlasted_the_night_is_looked_at(of_day, empty, began, born, read):
    rows = f"2026-05-19 18:00,K1,formula,2,,,2026-05-20 {empty}\n2026-05-20 {began},K2,formula,2,,,\n"
    told = said(of_day(rows, hatches=f"{HATCHES}P1,1,1,{born},,K1,hand\nP1,1,2,{born},,K2,hand\n"))
    assert list(told) == ["K1"] * read
    if read:
        assert "only at 08:00 this morning, 14 hours after the feed of 18:00" in told["K1"]


def test_the_days_before_are_told_or_that_they_are_too_few(of_day):
    told = before(of_day(USUAL + fed(19, ("07:00", 3), who="K2")))["Hours to empty"]
    assert "K1 3 (2.8 to 3.2, 5 feeds)" in told
    assert "Not enough to judge (fewer than 5 feeds by day with both hours): K2 (1)." in told
    assert "Hours to empty" not in before(of_day("2026-05-20 07:00,,formula,,39,,\n"))


def test_its_page_tells_of_its_crop(of_day):
    season = of_day(USUAL + fed(19, ("07:00", 4.5))).season
    (shown,) = one_chick.fed(season, "K1")
    told = str(shown.data)
    assert "seen empty 3 hours after a feed (2.8 to 4.5; 6 feeds in the days up to 19 May)" in told
    assert "Slower than its usual: 07:00 on 19 May." in told
    assert "seen empty" not in str(one_chick.fed(season, "K2"))


def test_the_order_of_rows_does_not_matter(of_day):
    rows = (USUAL + fed(19, ("07:00", 4.5), ("13:00", 5))).splitlines(keepends=True)
    one, other = (of_day("".join(order)).crop_times for order in (rows, rows[::-1]))
    pd.testing.assert_frame_equal(one, other)


def test_nobody_and_nothing(open_logs):
    empty = crop_times(open_logs(settings="setting,value\nseason,2026\n"), pd.Series([], dtype=object), ON)
    assert empty.empty
    assert "hours" in empty


# -- how thick, and by night


def test_how_thick_the_mix_is_and_what_was_written_of_it(of_day):
    always = before(of_day(USUAL))["Consistency"]
    for words in ("packet", "slow crop, red dry skin", "gains little", "p. 595"):
        assert words in always
    assert "Written as" not in always
    rows = "2026-05-19 07:00,,formula,,39,dick,\n2026-05-20 07:00,K2,formula,2,39,aguado,\n"
    rows += "2026-05-20 08:00,K2,formula,2,39,normal,\n2026-05-17 07:00,,formula,,39,like porridge,\n"
    told = before(of_day(rows))["Consistency"]
    assert "Written as thicker, last on 19 May: look at crops" in told
    assert "Written as thinner for K2, last on 20 May: look at what each chick gained" in told
    assert "porridge" not in told  # of days ago
    assert "“like porridge”" in before(of_day(rows.replace("05-17", "05-19")))["Consistency"]


def test_the_mix_line_of_the_round_has_a_blank_for_it_and_every_row_one_for_the_crop(of_day):
    words = page_words(round_page(of_day(USUAL)))
    assert words.count("consistency") == 3
    assert words.count("empty at") == 2


def test_who_is_fed_by_night_is_named_and_somebody_is_asked(of_day):
    born = {"A": "P1,1,1,2026-05-18,", "B": "P1,1,2,2026-05-17,", "C": "P1,1,3,2026-05-14,", "D": "P1,1,4,2026-05-13,"}
    born |= {"E": "P1,1,6,2026-05-17,1", "F": "P2,1,1,2026-05-18,", "G": "P1,1,5,2026-05-19,"}
    rows = {chick: f"{row},{chick},hand\n" for chick, row in born.items()}
    cold = "who,seen_at,sign\nG,2026-05-20,cold\n"
    told = before(of_day("", hatches=HATCHES + "".join(rows.values()), signs=cold))["Night feeds"]
    young = "A and E: this night too, unless an avian veterinarian or an experienced breeder says otherwise."
    assert told == f"{young} B and C: ask them whether still by night, since sources differ."
    alone = before(of_day("", hatches=HATCHES + rows["B"]))["Night feeds"]
    assert alone.startswith("B: ask an avian veterinarian or an experienced breeder whether still by night")
    assert "Night feeds" not in before(of_day("", hatches=HATCHES + rows["D"]))
