"""Who came from elsewhere: how long it is kept apart, with whom it shares the air, and when it is fed."""

import pandas as pd
import pytest

from analysis.day.preparation import kept_from_others
from analysis.day.round import round_of
from analysis.season import kept_apart, new_birds
from support import as_read, demo, demo_round

ON = pd.Timestamp("2026-05-20")
PAIRS = "pair,species,cock,hen,cage,put_up_on,parted_on\n"
OLD = "P1,cockatiel,Ash,Hazel,C1,2025-01-10,\n"
HATCHES = "pair,chick,hatched_at,reared_by,brooder,arrived_on,weaned_on,left_on\n"


@pytest.fixture
def of_day(open_logs):
    def open_(hatches="", *, pairs=OLD, birds="", settings="", on=ON, **more):
        logs = {"hatches": HATCHES + hatches, "pairs": PAIRS + pairs, "cages": "cage,room\nC1,shed\nC2,shed\nC3,loft\n"}
        logs |= {"birds": f"bird,hatched_on,arrived_on\n{birds}", "settings": f"setting,value\nseason,2026\n{settings}"}
        return open_logs(up_to=f"{on:%Y-%m-%d}", **(logs | more))

    return open_


def apart(season, on=ON):
    return {one.who: (one.place, one.room, sorted(one.beside)) for one in kept_apart(season, on).itertuples()}


@pytest.mark.parametrize(
    ("came", "days", "holds"),
    [
        ("2026-05-20", "", True),
        ("2026-04-06", "", True),  # day 44 of 45
        ("2026-04-05", "", False),
        ("2026-04-21", "quarantine_d,30\n", True),
        ("2026-04-20", "quarantine_d,30\n", False),
    ],
)
def test_it_lasts_as_many_days_as_the_setting_says(of_day, came, days, holds):
    season = of_day(f",K1,2026-04-01,hand,,{came},,\n", settings=days)
    assert list(apart(season)) == (["K1"] if holds else [])
    assert round_of(season, ON).chicks["own_tools"].tolist() == [holds]


def test_it_is_fed_after_all_that_are_well_and_of_this_house(of_day):
    season = of_day(",K1,2026-05-15,hand,,2026-05-16,,\nP1,K2,2026-04-20,hand,,,,\n,K3,2026-05-01,hand,,2026-03-01,,\n")
    assert round_of(season, ON).chicks["chick"].tolist() == ["K3", "K2", "K1"]


def test_whoever_shares_its_brooder_is_named_and_nobody_else(of_day):
    own = "P1,K2,2026-04-20,hand,box,,,\nP1,K3,2026-04-20,hand,drawer,,,\nP1,K4,2026-04-20,hand,,,,\n"
    places = {"K1": "box", "K5": "box", "K6": ""}
    new = "".join(f",{name},2026-05-01,hand,{place},2026-05-18,,\n" for name, place in places.items())
    others = of_day(own + new)
    assert apart(others) == {"K1": ("box", "", ["K2"]), "K5": ("box", "", ["K2"]), "K6": ("", "", [])}
    said = dict(as_read(kept_from_others(round_of(others, ON))))
    assert said["K1 and K5"].endswith("in box beside K2: a room of its own.")
    assert said["K6"].endswith("place not written: in a room of its own?")
    assert "avian veterinarian decides" in said["Kept apart"]


def test_a_bird_shares_the_air_of_its_cage_and_room(of_day):
    pairs = OLD + "P2,cockatiel,Jay,Fern,C2,2026-05-11,\nP3,cockatiel,Elm,Ivy,C3,2025-01-01,\n"
    birds = "Fern,2024-05-01,2026-05-10\nIvy,2024-05-01,2024-09-01\nOlive,2025-02-01,2026-05-15\n"
    season = of_day("P1,K2,2026-05-10,,,,,\nP3,K3,2026-05-10,,,,,\n", pairs=pairs, birds=birds)
    assert apart(season) == {"Fern": ("C2", "shed", ["Ash", "Hazel", "Jay", "K2"]), "Olive": ("", "", [])}
    said = dict(as_read(kept_from_others(round_of(season, ON))))
    assert "Came on 10 May, day 10 of 45, apart until 24 June; in C2 (shed) beside" in said["Fern"]


def test_who_left_was_parted_or_comes_later_is_not_here(of_day):
    gone = ",K1,2026-04-01,hand,box,2026-05-01,,2026-05-15\nP1,K2,2026-04-01,hand,box,,,\n"
    pairs = "P2,cockatiel,Jay,Fern,C2,2026-05-11,2026-05-18\n" + OLD
    season = of_day(gone, pairs=pairs, birds="Hazel,2024-01-01,2026-06-01\n")
    assert apart(season) == {}
    assert as_read(kept_from_others(round_of(season, ON))) == []


def test_a_bird_that_came_before_it_hatched_is_asked_about(of_day):
    season = of_day(birds="Fern,2026-05-10,2026-05-01\n")
    assert "dates-out-of-order" in season.problems["code"].tolist()


def test_new_birds_are_asked_about_where_earlier_seasons_say_who_is_new():
    assert new_birds(demo("2026-06-22"), pd.Timestamp("2026-06-22")) == {"P04": ["Rowan", "Linnet"]}
    assert new_birds(demo("2026-07-20"), pd.Timestamp("2026-07-20")) == {}  # put up 51 days ago


def test_without_an_earlier_season_nobody_is_called_new(of_day):
    season = of_day(pairs="P2,cockatiel,Jay,Fern,C2,2026-05-11,\n")
    assert new_birds(season, ON) == {}


def test_in_the_demo_two_that_were_bought_share_a_brooder():
    said = dict(as_read(kept_from_others(demo_round("2026-05-20"))))
    assert "day 8 of 45" in said["Kiwi and Mango"]
    assert "in brooder 2 beside K16, K18 and K22" in said["Kiwi and Mango"]
