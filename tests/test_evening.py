"""What is handed over for the night, from the morning's round and the day's logs."""

import pandas as pd
import pytest

from analysis.chicks.status import how_it_stands
from analysis.day.evening import evening_rows
from analysis.day.round import round_of
from support import as_read, demo_round, rows_as_read

ON = pd.Timestamp("2026-05-20")
HATCHES = "pair,clutch,egg,set_on,hatched_at,chick,reared_by,brooder,incubated_by\n"


def lines(today):
    rows = rows_as_read(evening_rows(today))
    return {row["about"]: (row["who"], row["told"]) for row in rows.to_dict("records")}


@pytest.fixture
def of_day(open_logs):
    def round_(hatches, **logs):
        logs = {"pairs": "pair,species,cage\nP1,cockatiel,C1\n", "hatches": HATCHES + hatches} | logs
        return round_of(open_logs(up_to=f"{ON:%Y-%m-%d}", **logs), ON)

    return round_


def test_on_the_day_of_the_demo():
    said = lines(demo_round("2026-05-20"))
    assert said == {
        "Not right this morning": ("K23 and K22 (what the veterinarian said)", ""),
        "Last feed": ("13 chicks; through the night too: K33, K35 and K36", "written last at 07:10"),
        "May hatch": ("5 of P11, clutch 2 (P11, C7)", ""),
        "May pip": ("A10 and A11 (incubator A)", ""),
        "incubator A": ("36.9 to 37.8 °C", "37.5 °C, 49 % at 07:30"),
        "brooder": ("8 chicks; K35 needs 35 to 36.5 °C", "not read today"),
        "brooder 2": ("5 chicks; Kiwi needs 28 to 31 °C", "not read today"),
    }


def test_nothing_is_handed_over_where_nothing_is_kept(of_day):
    assert evening_rows(of_day("P1,1,A1,2026-01-01,2026-01-20,K1,P1,,\n")).empty


def test_who_was_seen_or_weighed_oddly_this_morning_is_looked_at_again(of_day):
    rows = "P1,1,,,2026-05-01,K1,hand,,\nP1,1,,,2026-05-02,K2,hand,,\nP1,1,,,2026-05-02,K3,P1,,\n"
    weights = "chick,weighed_at,weight\nK1,2026-05-18,30\nK1,2026-05-19,34\nK1,2026-05-20,60\n"
    today = of_day(rows, weights=weights, signs="who,seen_at,sign\nK3,2026-05-20,limp\nP1,2026-05-20,egg binding\n")
    said = lines(today)["Not right this morning"][0]
    assert said == "K3 and P1 (what the veterinarian said); K1 (look again)"
    assert lines(demo_round("2026-06-22"))["Not right this morning"][0] == "K24 (look again); K38 (weigh again)"


def test_the_last_feed_that_is_written_is_of_this_day_and_by_hand(of_day):
    feeds = "fed_at,who,food\n2026-05-19 23:00,,formula\n2026-05-20 18:10,,formula\n2026-05-20 19:00,K1,millet\n"
    rows = "P1,1,,,2026-05-18,K1,hand,,\nP1,1,,,2026-05-17,K2,hand,,\n"
    fed = "2 chicks; through the night too: K1"
    assert lines(of_day(rows, feeds=feeds))["Last feed"] == (fed, "written last at 18:10")
    assert lines(of_day(rows, feeds=feeds[: feeds.index("2026-05-20")]))["Last feed"] == (fed, "")


def test_who_was_moved_and_why(of_day):
    moves = "what,on,to,why\nK1,2026-05-19,hand,plucked by the hen\nP1,2026-05-20,C2,\nK2,2026-05-17,hand,small\n"
    rows = "P1,1,,,2026-05-01,K1,,,\nP1,1,,,2026-05-02,K2,,,\n"
    today = of_day(rows, moves=moves)
    assert lines(today)["New or moved"][0] == "K1 to hand: plucked by the hen; P1 to C2"
    assert dict(as_read(how_it_stands(today.growth, "K2", ())))["Moved"] == "To hand on 17 May 2026: small."


def test_heat_is_read_where_chicks_are_and_eggs_lie(of_day):
    rows = "P1,1,A1,2026-05-10,,,,,drawer\nP1,1,A2,2026-05-10,,,,,P1\nP1,1,,,2026-05-18,K1,hand,,\n"
    readings = (
        "place,read_at,temperature,humidity_pct\ndrawer,2026-05-19 07:00,37.4,50\nbrooder 3,2026-05-20 07:00,35.2,\n"
    )
    said = lines(of_day(rows, readings=readings))
    assert said["drawer"] == ("36.9 to 37.8 °C", "not read today")
    assert said["brooder 3"] == ("1 chick; K1 needs 35 to 36.5 °C", "35.2 °C at 07:00")
    assert "P1" not in said
