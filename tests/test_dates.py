"""Every way to write a day has one reading, or none; nothing is guessed."""

from datetime import date

import pandas as pd
import pytest

from analysis.logs.cells import BadCell, without_about
from analysis.logs.dates import date_order, is_date, order_meant, read_day, read_moment
from support import codes

DAY = date(2026, 4, 3)


@pytest.mark.parametrize(
    "text",
    [
        "2026-04-03",
        "2026-4-3",
        "2026/04/03",
        "2026.04.03",
        "20260403",  # ISO 8601, basic form
        "3.4.26",
        "03.04.2026",
        "3. 4. 2026",
        "3 April 2026",
        "3rd April 2026",
        "April 3, 2026",
        "Apr 3 2026",
        "ven. 3 avril 2026",
        "3-Apr-26",
        "3-Apr-2026",
        "Fri 3 Apr 2026",
        "Friday, 3 April 2026",
        "3. April 2026",
        "Fr. 3. Apr. 2026",
        "3 avril 2026",
        "vendredi 3 avr. 2026",
        "3 de abril de 2026",
        "3 abr 2026",
        "3 april 2026",
        "46115",  # the day number that spreadsheets give 2026-04-03 (counted from 1899-12-30)
    ],
)
def test_one_day_written_in_many_ways(text):
    assert read_day(text) == DAY


@pytest.mark.parametrize(
    ("text", "month"),
    [
        ("1 Mrz 2026", 3),
        ("1 März 2026", 3),
        ("1er mars 2026", 3),
        ("1 maart 2026", 3),
        ("1 mrt 2026", 3),
        ("1 Mai 2026", 5),
        ("1 mei 2026", 5),
        ("1 août 2026", 8),
        ("1 ago 2026", 8),
        ("1 Okt 2026", 10),
        ("1 déc. 2026", 12),
        ("1 diciembre 2026", 12),
        ("1 Dez. 2026", 12),
        ("1 févr. 2026", 2),
        ("1 enero 2026", 1),
        ("1 juin 2026", 6),
        ("1 juillet 2026", 7),
        ("1 Jänner 2026", 1),
        ("1 Sept 2026", 9),
        ("1 setiembre 2026", 9),
    ],
)
def test_months_in_five_languages(text, month):
    assert read_day(text) == date(2026, month, 1)


@pytest.mark.parametrize(
    ("text", "clock"),
    [
        ("2026-04-03 06:30", "06:30:00"),
        ("2026-04-03T06:30:15", "06:30:15"),
        ("3.4.26 6:30", "06:30:00"),
        ("3 April 2026, 6.30", "06:30:00"),
        ("3.4.2026 06h30", "06:30:00"),
        ("3.4.26 6:30 pm", "18:30:00"),
        ("3.4.26 6 am", "06:00:00"),
        ("3.4.26 12:05 am", "00:05:00"),
        ("3.4.26 um 6:30 Uhr", "06:30:00"),
        ("46115.270833333336", "06:30:00"),
    ],
)
def test_times_with_and_without_seconds(text, clock):
    moment, timed = read_moment(text)
    assert (moment.date(), f"{moment:%H:%M:%S}", timed) == (DAY, clock, True)


@pytest.mark.parametrize("text", ["3/4/26", "3-4-2026", "3/4/2026 06:30"])
def test_what_reads_two_ways_is_no_guess(text):
    with pytest.raises(BadCell, match="ambiguous-date"):
        read_moment(text)
    assert read_moment(text, "day-month")[0].date() == DAY
    assert read_moment(text, "month-day")[0].date() == date(2026, 3, 4)


def test_some_dates_read_one_way_whatever_the_order():
    for order in ("", "day-month", "month-day"):
        assert read_day("05/05/2026") == date(2026, 5, 5)
        assert read_moment("13/4/26", order)[0] == pd.Timestamp("2026-04-13")
        assert read_moment("4/13/26", order)[0] == pd.Timestamp("2026-04-13")
        assert read_moment("3.4.26", order)[0] == pd.Timestamp("2026-04-03")
    assert read_moment("26/04/03", "year-month")[0] == pd.Timestamp("2026-04-03")


@pytest.mark.parametrize("text", ["3-Apr", "3. April", "Apr 3", "3.4.", "13/4"])
def test_a_day_without_a_year_asks_for_one(text):
    with pytest.raises(BadCell, match="date-without-year"):
        read_moment(text)
    assert read_moment(text, "", 2026)[0].month == 4


@pytest.mark.parametrize(
    "text", ["", "31.2.2026", "yesterday", "6:30", "32.1.26", "2026-13-01", "12", "K1", "3 Foo 2026"]
)
def test_what_is_no_day_is_none(text):
    with pytest.raises(BadCell, match=r"unreadable-date|date-without-year"):
        read_moment(text)


def test_the_order_is_settled_by_dates_that_leave_no_doubt():
    assert date_order(["3/4/26", "13/4/26"])[0] == "day-month"
    assert date_order(["3/4/26", "4/13/26"])[0] == "month-day"
    assert date_order(["13/4/26", "4/13/26"])[0] == ""
    assert date_order(["12/4/26", "3/12/26"])[0] == ""
    assert date_order(["3/4/26", "13.4.26", "2026-04-13"])[0] == ""


@pytest.mark.parametrize(
    "text",
    [
        *(
            "~3.4.26",
            "ca 3.4.26",
            "ca. 3.4.26",
            "approx 3.4.26",
            "approx. 3 April 2026",
            "about April 3, 2026",
            "c. 3.4.26",
        ),
        *("3.4.26 approx", "3.4.26 (ca.)", "3.4.26?", "3.4.26 (?)", "3.4.26 ~", "around Fri 3 Apr 2026"),
        *("ungefähr 3.4.26", "um den 3.4.26", "zirka 3. April 2026", "env. 3.4.26", "vers le 3 avril 2026"),
        *("à peu près 3.4.26", "aprox. 3.4.26", "alrededor del 3 de abril de 2026", "ongeveer 3 april 2026"),
    ],
)
def test_a_day_that_is_only_about_is_read_and_told(text):
    plain, about = without_about(text, day=True)
    assert (read_day(plain), about) == (DAY, True)


def test_nothing_is_taken_off_a_day_that_is_sure():
    for text in ("2026-04-03", "3.4.26", "3 avril 2026", "Fr. 3. Apr. 2026", "3.4.26 um 6:30 Uhr", "3.4.26 6 am"):
        assert without_about(text, day=True) == (text, False)


@pytest.mark.parametrize(
    ("order", "words"),
    [
        ("day-month", "dmy | DMY | day first | DD/MM/YYYY | dd.mm.yy | ddmmyyyy | TT.MM.JJJJ | Tag zuerst | jour-mois"),
        ("day-month", "JJ/MM/AAAA | jma | jour d'abord | dia-mes-año | dd-mm-jjjj | dag eerst | European | day-month"),
        ("month-day", "mdy | MM/DD/YYYY | month first | Monat zuerst | mes-día | US | month-day"),
        ("year-month", "ymd | YYYY-MM-DD | JJJJ-MM-TT | aaaa/mm/jj | year first | ISO | year-month"),
    ],
)
def test_an_order_in_a_keepers_words(order, words):
    assert {order_meant(one) for one in words.split(" | ")} == {order}


@pytest.mark.parametrize("words", ["soon", "ydm", "dmd", "31/12", "", "tea"])
def test_what_names_no_order_stays_as_it_is(words):
    assert order_meant(words) == words


def test_a_ring_is_no_date():
    assert [one for one in ("46115", "20260403", "3.5", "K1", "day 3") if is_date(one)] == []
    assert [one for one in ("3/4/26", "3.4.", "3-Apr", "2026-04-03") if not is_date(one)] == []


def test_mar_is_a_month_and_a_day_of_the_week():
    assert read_day("Mar 3, 2026") == read_day("3 Mar 2026") == date(2026, 3, 3)
    assert read_day("mar. 3 mars 2026") == date(2026, 3, 3)


@pytest.mark.parametrize(
    ("others", "found_on"),
    [
        (["13/4/26"], "2026-04-03"),
        (["4/13/26"], "2026-03-04"),
        (["13/4/26", "4/13/26"], None),
        (["2/4/26"], None),
    ],
    ids=["day first", "month first", "two files differ", "nothing tells"],
)
def test_a_file_that_does_not_say_goes_by_the_others_that_agree(open_logs, others, found_on):
    texts = {"weights": "chick,weighed_at,weight\nK1,{},9\n", "eggs": "egg,laid_on\n7,{}\n"}
    logs = {name: texts[name].format(day) for name, day in zip(texts, others, strict=False)}
    season = open_logs(hatches="chick\nK1\n", losses="chick,found_on\nK1,3/4/26\n", **logs)
    assert [f"{day:%Y-%m-%d}" for day in season.losses["found_on"]] == ([found_on] if found_on else [])
    assert ("ambiguous-date" in codes(season)) is (found_on is None)


def test_a_file_that_says_two_things_goes_by_no_other(open_logs):
    season = open_logs(
        hatches="chick\nK1\nK2\nK3\n",
        weights="chick,weighed_at,weight\nK1,13/4/26,9\n",
        losses="chick,found_on\nK1,3/4/26\nK2,13/4/26\nK3,4/13/26\n",
    )
    assert "ambiguous-date" in codes(season)
    assert "K1" not in set(season.losses["chick"])
