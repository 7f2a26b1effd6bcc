"""How far a chick has come in weaning: feeds dropped, food taken, weight; and that no calendar drops a feed."""

import pandas as pd
import pytest

from analysis.chicks.fed import feeding_handover, feeding_history
from analysis.chicks.weaning import weaning
from analysis.say import in_words
from analysis.season.vocabulary import is_formula, is_solid
from support import as_read, demo_round

ON = pd.Timestamp("2026-05-20")
HATCHES = "pair,chick,hatched_at,reared_by\nP1,K1,2026-04-05,hand\n"  # 45 days old
PAIRS = "pair,species\nP1,cockatiel\n"
SPECIES = "species,wean_from_d,wean_to_d\ncockatiel,40,50\n"
DEFAULTS = {"last_g": 90.0, "last_on": ON, "today_g": float("nan"), "peak_g": 90.0, "eats": False, "needs_vet": False}


def fed(*by_day, food="formula"):
    """Feeds of K1; `(18, 3)` is three feeds on 18 May."""
    hours = (7, 11, 15, 19)
    return "".join(f"2026-05-{day:02d} {hour:02d}:00,K1,{food},\n" for day, n in by_day for hour in hours[:n])


FOUR = fed(*((day, 4) for day in range(12, 18)))
TWO = fed((18, 2), (19, 2))


@pytest.fixture
def of_chick(open_logs):
    def row(feeds="", *, age_d=45.0, **facts):
        logs = {"pairs": PAIRS, "species": SPECIES, "hatches": HATCHES, "feeds": f"fed_at,who,food,amount\n{feeds}"}
        season = open_logs(up_to=f"{ON:%Y-%m-%d}", **logs)
        about = {"chick": "K1", "species": "cockatiel", "age_d": age_d, "sure_to_days": 0.0, "hatched_at_timed": False}
        nursery = pd.DataFrame([DEFAULTS | about | {"may_wean": age_d >= 30} | facts])
        rows = weaning(season, nursery, ON).map(lambda cell: cell if isinstance(cell, bool) else in_words(cell))
        return None if rows.empty else rows.iloc[0]

    return row


@pytest.mark.parametrize(
    ("feeds", "facts", "code", "look"),
    [
        ("", {}, "feeds go on; soft food", False),
        ("", {"eats": True}, "feeds go on; one goes when it refuses it", False),
        (FOUR + TWO, {"eats": True}, "goes on: the next feed goes", False),
        (FOUR + TWO, {}, "does it swallow, or play", True),
        (FOUR + TWO, {"eats": True, "last_g": 80.9}, "give the dropped feed back", True),
        (FOUR, {"eats": True, "last_g": 80.9}, "drop no feed until", True),
        (FOUR + TWO, {"eats": True, "last_g": 81.1}, "goes on: the next feed goes", False),  # a tenth at most
        (FOUR + TWO, {"eats": True, "needs_vet": True}, "drop no feed; see Read first", True),
        (FOUR + TWO, {"eats": True, "last_on": ON - pd.Timedelta(days=3)}, "weigh it before", True),
    ],
)
def test_what_it_asks_for(of_chick, feeds, facts, code, look):
    row = of_chick(feeds, **facts)
    assert row["asks"].startswith(code)
    assert row["look"] == look


def test_a_tenth_below_and_more_always_ends_at_a_veterinarian(of_chick):
    for feeds in (FOUR, FOUR + TWO):
        assert "avian veterinarian" in of_chick(feeds, last_g=70.0)["asks"]


def test_days_that_nobody_wrote_are_no_days_without_food(of_chick):
    assert of_chick(FOUR + TWO)["feeds"] == "from 4 a day to 2"
    assert of_chick(fed((12, 4), (14, 4), (17, 4), (18, 4)))["feeds"] == "4 a day"
    assert of_chick(fed((16, 4), (18, 2), (19, 2)))["feeds"] == "2 a day"  # too few days to say more
    assert of_chick(FOUR[: len(FOUR) // 2])["feeds"] == "not written by name"  # the last is six days old
    assert of_chick(FOUR + TWO + fed((20, 1)))["feeds"] == "from 4 a day to 2"  # this day is not over
    assert of_chick(FOUR + TWO + fed((20, 4)))["feeds"] == "4 a day"  # given back


def test_a_refused_feed_is_none_and_food_taken_is_none_by_hand(of_chick):
    refused = "2026-05-19 07:00,K1,formula,0\n2026-05-19 13:00,K1,formula,3\n2026-05-19 19:00,K1,formula,3\n"
    row = of_chick(FOUR + fed((18, 2)) + refused + fed((18, 4), (19, 4), food="egg food"))
    assert row["feeds"] == "from 4 a day to 2; 1 refused"
    assert row["food"] == "egg food, on 2 days of 7"


def test_age_alone_begins_it_in_its_days_and_food_only_where_its_kind_may_eat(of_chick):
    assert of_chick(age_d=39.0) is None
    assert of_chick(age_d=40.0)["age"] == "40 days (40–50)"
    assert of_chick(fed((19, 1), food="millet"), age_d=31.0)["food"] == "millet, on 1 day of 7"
    assert of_chick(fed((19, 1), food="millet"), age_d=12.0, eats=True) is None


@pytest.mark.parametrize(
    "food", ["soaked seed", "Eifutter", "Keimlinge", "graines germées", "maíz", "trosgierst", "corn and peas"]
)
def test_what_it_takes_by_itself_in_five_languages(food):
    assert is_solid(food)


@pytest.mark.parametrize("food", ["formula", "Aufzuchtbrei", "bouillie", "papilla", "handvoeding", "Brand 21", ""])
def test_what_is_fed_is_nothing_that_it_takes(food):
    assert not is_solid(food)
    assert is_formula(food)


def test_food_taken_is_no_last_feed_on_its_leaving_paper(open_logs):
    feeds = "fed_at,who,food,amount\n2026-05-19 07:00,K1,formula,5\n2026-05-19 12:00,K1,egg food,\n"
    season = open_logs(pairs=PAIRS, hatches=HATCHES, feeds=feeds, weights="chick,weighed_at,weight\nK1,2026-05-19,90\n")
    said = dict(as_read(feeding_handover(season, "K1")))
    assert "07:00" in said["Last feed"]
    assert "12:00" not in " ".join(said.values())
    told = in_words(feeding_history(season, "K1"))
    assert "1 feed logged for it by name" in told
    assert "seed or soft food written once" in told


def test_a_chick_with_nothing_but_seed_is_told_without_feeds(open_logs):
    season = open_logs(pairs=PAIRS, hatches=HATCHES, feeds="fed_at,who,food\n2026-05-19,K1,millet\n")
    assert "seed or soft food written once" in in_words(feeding_history(season, "K1"))


def test_in_the_demo_one_chick_leads_its_own_weaning():
    rows = demo_round("2026-06-22").weaning.set_index("chick")
    assert in_words(rows.loc["K26", "feeds"]) == "from 4 a day to 2; 1 refused"
    assert not rows.loc["K26", "look"]
    assert rows.index[rows["look"]].tolist() == ["K24"]  # a tenth and more below its heaviest
