"""The list of a day: what comes on it, when it goes, who is named, and that nothing silly does."""

from dataclasses import replace

import pandas as pd
import pytest

from analysis.day.due import due_on
from analysis.day.things import KINDS
from analysis.eggs.hatch_days import usual_days
from analysis.say import speaking
from support import demo

PAIRS = "pair,species,cage\nP1,cockatiel,C1\nP2,budgerigar,C2\n"
COLUMNS = ["what", "code", "said", "who", "names", "where", "since_on", "until_on"]
COLUMNS += ["reason", "source", "source_code", "brief", "sourced"]
HARI = "Hagen Avicultural Research Institute, artificial incubation part 2"


def rows(season, day, *whats, flags=None):
    """The rows of some kinds, as dicts."""
    due = due_on(season, day, flags=flags)
    return due[due["what"].isin(whats or KINDS)].to_dict("records")


def names(season, day, *whats, **more):
    return [(row["what"], row["names"]) for row in rows(season, day, *whats, **more)]


def days(row):
    return [None if pd.isna(row[end]) else f"{row[end]:%m-%d}" for end in ("since_on", "until_on")]


# Days of incubation: sources in analysis/season/species.toml. Two days fewer where only the longest is known: practice.
@pytest.mark.parametrize(
    ("species", "own", "expected"),
    [
        ("Cockatiel", "", (18, 21)),
        ("sun conure", "", (22, 27)),
        ("Eastern rosellas", "", (19, 22)),
        ("peach-faced lovebird", "", (21, 25)),
        ("cockatiel", 20, (18, 20)),
        ("cockatiel", 17, (15, 17)),
        ("budgerigar", 22, (17, 22)),
        ("night parrot", 19, (17, 19)),
    ],
)
def test_usual_days_and_the_keepers_own(open_logs, species, own, expected):
    season = open_logs(pairs=PAIRS, species=f"species,incubation_d\n{species},{own}\n")
    assert usual_days(season, species) == expected


def test_usual_days_where_nobody_says(open_logs):
    assert [day for day in usual_days(open_logs(pairs=PAIRS), "night parrot") if not pd.isna(day)] == []


# remembered: monk parakeet; read: eclectus; see the marks in species.toml
@pytest.mark.parametrize(
    ("species", "said"), [("monk parakeets", "remembered, not read: check it"), ("eclectus", "general tables")]
)
def test_days_from_memory_say_so(open_logs, species, said):
    hatches = "pair,egg,set_on\nP1,A1,2026-04-01\n"
    found = rows(open_logs(pairs=f"pair,species\nP1,{species}\n", hatches=hatches), "2026-04-26")
    assert [row["source"] for row in found] == [said]


# "Fertility shows by candling at 4-7 days": HARI, artificial incubation part 2. For three days more: practice.
@pytest.mark.parametrize(
    ("day", "source", "reason"),
    [
        (3, None, ""),
        (4, HARI, "day 4; fertility shows by candling from day 4 to 7"),
        (7, HARI, "day 7; fertility shows by candling from day 4 to 7, the last of these days"),
        (8, "practice", "day 8; fertility shows by candling from day 4 to 7, and there is no result yet"),
        (10, "practice", "day 10; fertility shows by candling from day 4 to 7, and there is no result yet"),
        (11, None, ""),
    ],
)
def test_candling_from_day_4(open_logs, day, source, reason):
    hatches = "pair,egg,laid_on,set_on,incubated_by\nP1,A1,2026-03-28,2026-04-01,drawer\n"
    season = open_logs(pairs="pair,species\nP1,night parrot\n", hatches=hatches)
    found = rows(season, pd.Timestamp("2026-04-01") + pd.Timedelta(days=day), "candle")
    assert [(row["source"], row["reason"]) for row in found] == ([(source, reason)] if source else [])
    assert [row for row in found if (row["who"], row["where"]) != (("A1",), "drawer")] == []


@pytest.mark.slow
def test_candling_keeps_the_days_of_the_species_and_the_keepers_own_first(open_logs):
    def asked_on(species, own=""):
        hatches = "pair,egg,set_on\nP1,A1,2026-04-01\n"
        log = f"species,candle_from_d,candle_to_d\n{species},{own}\n" if own else "species\n"
        season = open_logs(pairs=f"pair,species\nP1,{species}\n", hatches=hatches, species=log)
        begun = pd.Timestamp("2026-04-01")
        days = [day for day in range(30) if names(season, begun + pd.Timedelta(days=day), "candle")]
        (row,) = rows(season, begun + pd.Timedelta(days=days[0]), "candle")
        return days[0], days[-1] - 3, row["source"]

    assert asked_on("budgies") == (3, 7, "breeders' texts")
    assert asked_on("cockatiel") == (4, 10, "breeders' texts")
    assert asked_on("galah") == (4, 7, HARI)
    assert asked_on("budgies", own="5,6") == (5, 6, "your species log")


def test_candling_asks_for_eggs_without_a_result(open_logs):
    hatches = """
        pair,egg,laid_on,set_on,candled,outcome
        P1,A1,2026-04-01,2026-04-01,fertile,
        P1,A2,2026-04-01,2026-04-01,clear,
        P1,A3,2026-04-01,2026-04-01,not sure,
        P1,A4,2026-04-01,2026-04-01,,broken
        P1,A5,2026-04-01,,,
        P1,A6,,,,
        P1,A7,2026-04-09,,,
        """
    season = open_logs(pairs=PAIRS, hatches=hatches)
    found = rows(season, "2026-04-06", "candle")
    assert [row["names"] for row in found] == ["A3", "A5"]  # A7 is not yet laid
    assert found[1]["reason"] == "day 5; fertility shows by candling from day 4 to 10, counted from laying"
    assert days(found[0]) == ["04-05", "04-11"]


def test_what_is_candled_today_was_due_today(open_logs):
    hatches = "pair,egg,set_on,candled\nP1,A1,2026-04-01,fertile\nP1,A2,2026-04-01,fertile\n"
    season = open_logs(pairs=PAIRS, hatches=hatches)
    candled_on = pd.to_datetime(["2026-04-07", "2026-04-06"])
    dated = replace(season, eggs=season.eggs.assign(candled_on=candled_on))
    (row,) = rows(dated, "2026-04-07 08:00", "candle")
    assert row["names"] == "A1"
    assert row["reason"] == "day 6; fertility shows by candling from day 4 to 10, done today"
    undated = replace(season, eggs=season.eggs.drop(columns="candled_on", errors="ignore"))
    assert names(undated, "2026-04-07", "candle") == []


HATCHING = """
    pair,egg,laid_on,set_on,candled,outcome
    P1,A1,2026-04-01,2026-04-01,fertile,
    P1,A2,2026-04-01,2026-04-01,clear,
    P1,A3,2026-04-01,2026-04-01,fertile,late death
    """


# Cockatiel 18-21 days: general tables, read.
def test_an_egg_pips_hatches_and_is_overdue_in_this_order(open_logs):
    season = open_logs(pairs=PAIRS, hatches=HATCHING)
    seen = {}
    for age_d in range(14, 34):
        for what, who in names(season, pd.Timestamp("2026-04-01") + pd.Timedelta(days=age_d)):
            assert who == "A1"  # a clear egg is never expected, a dead one is over
            seen.setdefault(what, []).append(age_d)
    assert list(seen) == ["may pip", "candle again", "may hatch", "overdue"]
    assert {19, 20, 21} <= set(seen["may hatch"])
    assert max(seen["may pip"]) + 1 == min(seen["may hatch"])
    assert max(seen["may hatch"]) + 1 == min(seen["overdue"])
    assert len(seen["overdue"]) == 7  # practice: then the check asks what became of it


def test_the_hatch_says_its_days_and_whose_they_are(open_logs):
    species = "species,incubation_d\ncockatiel,20\n"
    own = rows(open_logs(pairs=PAIRS, hatches=HATCHING, species=species), "2026-04-20", "may hatch")
    assert own[0]["reason"].startswith("day 19; expected to hatch on day ")
    assert own[0]["reason"].endswith(" (usual is day 18 to 20, your species log)")
    assert own[0]["source"] == "your species log"
    assert own[0]["since_on"] <= pd.Timestamp("2026-04-20") <= own[0]["until_on"]
    table = rows(open_logs(pairs=PAIRS, hatches=HATCHING, species="species\n"), "2026-04-20", "may hatch")
    assert table[0]["source"] == "general tables"


def test_the_own_eggs_of_all_seasons_are_asked(open_logs, monkeypatch):
    from analysis.eggs import hatch_days as eggs

    hatched = "pair,egg,set_on,outcome,hatched_at,chick\nP1,1,2026-03-01,,2026-03-20,K1\nP1,2,2026-03-01,clear,,\n"
    earlier = open_logs(pairs=PAIRS, hatches=hatched)
    season = replace(open_logs(pairs=PAIRS, hatches=HATCHING), earlier=(earlier,))
    given = []
    real = eggs.expected_hatch
    monkeypatch.setattr(eggs, "expected_hatch", lambda asked, finished: given.append(finished) or real(asked, finished))
    (row,) = rows(season, "2026-04-20")
    assert row["source"] == "your own eggs"
    assert row["reason"].endswith("general tables; 1 of your own eggs)")
    assert given[0]["species"].tolist() == ["cockatiel"]
    assert (given[0]["hatched_at"] - given[0]["set_on"]).dt.days.tolist() == [19]


def test_a_species_that_nobody_knows_is_never_expected(open_logs):
    season = open_logs(pairs="pair,species\nP1,night parrot\n", hatches=HATCHING)
    assert names(season, "2026-04-22") == []


CHICKS = """
    pair,chick,ring,hatched_at,reared_by
    P1,K1,,2026-04-01,
    P1,K2,,2026-04-02,
    P1,K3,X-3,2026-04-02,
    P2,K4,,2026-04-01,hand
    """
OWN_RING = "species,ring_from_d,ring_to_d\ncockatiel,8,11\n"


def test_ringing_days_are_the_keepers_own(open_logs):
    season = open_logs(pairs=PAIRS, hatches=CHICKS, species=OWN_RING)
    found = rows(season, "2026-04-10", "ring")
    assert [row["names"] for row in found] == ["K4", "K1 and K2"]
    # Budgerigars are ringed at 5-10 days, cockatiels with 5.4 to 5.5 mm: breeders' texts, read.
    size = "3.9–4.5 mm wide by your ring society's list"
    assert found[0]["reason"] == f"day 9; ring from day 5 to 10 (breeders' texts), {size}; local law on rings applies"
    size = "5.4–5.5 mm wide by your ring society's list"
    assert found[1]["reason"] == f"day 8 to 9; ring from day 8 to 11 (your species log), {size}"  # the law is said once
    assert (found[1]["who"], found[1]["where"], days(found[1])) == (("K1", "K2"), "P1, C1", ["04-09", "04-12"])
    without = open_logs(pairs=PAIRS, hatches=CHICKS, species="species\n")
    assert names(without, "2026-04-10", "ring") == [("ring", "K4"), ("ring", "K1 and K2")]


def test_the_last_ringing_day_and_those_after_it(open_logs):
    season = open_logs(pairs=PAIRS, hatches=CHICKS.replace("P2,K4,,", "P2,K4,X-4,"), species=OWN_RING)
    last, before = rows(season, "2026-04-12", "ring")
    assert (before["names"], last["names"]) == ("K2", "K1")
    assert "today is the last" in last["reason"]
    assert "today is the last" not in before["reason"]
    assert {row["code"] for row in (last, before)} == {"due.ring-from"}
    past = rows(season, "2026-04-15", "ring")  # K1 is 14 days old, K2 13
    assert past[0]["code"] == "due.ring-past"
    assert [(row["names"], row["source"]) for row in past] == [("K1 and K2", "practice")]
    assert "never force it" in past[0]["reason"]
    assert "avian veterinarian" in past[0]["reason"]
    assert names(season, "2026-04-16", "ring") == [("ring", "K2")]
    assert names(season, "2026-04-17", "ring") == []


def test_a_pair_whose_young_are_never_ringed_is_not_asked_for_it(open_logs):
    young = "".join(f"P2,F{n},,2026-03-01,2026-04-05\n" for n in range(3))
    hatches = f"pair,chick,ring,hatched_at,weaned_on\n{young}P2,K9,,2026-04-20,\n"
    assert names(open_logs(pairs=PAIRS, hatches=hatches), "2026-04-28", "ring") == []
    one_ringed = hatches.replace("F1,,", "F1,X-1,")
    assert names(open_logs(pairs=PAIRS, hatches=one_ringed), "2026-04-28", "ring") == [("ring", "K9")]


def test_weaning_and_past_it(open_logs):
    season = open_logs(pairs=PAIRS, hatches=CHICKS, species="species,wean_from_d,wean_to_d\ncockatiel,46,56\n")
    assert [who for _, who in names(season, "2026-05-16", "wean")] == ["K4"]  # a budgerigar, by what was read
    season = replace(season, chicks=season.chicks[season.chicks["chick"] != "K4"])
    assert names(season, "2026-05-16", "wean") == []
    # From here on K1 is 46, 56, 57 and 70 days old.
    assert names(season, "2026-05-17", "wean") == [("wean", "K1")]
    found = rows(season, "2026-05-27", "wean")
    assert [(row["names"], row["source"], days(row)) for row in found] == [
        ("K1, K2 and K3", "your species log", ["05-17", "05-27"])
    ]
    past = rows(season, "2026-05-28", "wean")[1]
    assert past["names"] == "K1"
    said = (
        "day 57; past its weaning days, day 46 to 56 (your species log): keep feeding it until it eats alone, and "
        "watch its weight"
    )
    assert past["reason"] == said
    assert names(season, "2026-06-10", "wean") == [("wean", "K1, K2 and K3")]
    assert names(season, "2026-06-12", "wean") == []


def test_an_age_that_is_a_guess_is_said_so(open_logs):
    hatches = "chick,species,hatched_at,sure_to_days,arrived_on\nK1,cockatiel,2026-04-01,4,2026-04-10\n"
    season = open_logs(hatches=hatches, species=OWN_RING)
    assert rows(season, "2026-04-10", "ring")[0]["reason"].startswith("about day 9; ")
    assert rows(season, "2026-04-09", "ring") == []  # not yet here


HAND = """
    pair,chick,hatched_at,reared_by,arrived_on
    P1,K1,2026-04-01,hand,
    P1,K2,2026-04-01,hand,
    P1,K3,2026-04-01,,
    P1,K4,2026-04-01,hand,2026-04-09
    P1,K5,2026-04-01,hand,
    P2,K6,2026-04-01,hand,
    """
WEIGHTS = "chick,weighed_at,weight\nK1,2026-04-08 07:00,20\nK2,2026-04-09 07:00,20\nK3,2026-04-05,20\n"


def test_hand_reared_and_not_weighed_for_two_days(open_logs):
    season = open_logs(pairs=PAIRS, hatches=HAND, weights=WEIGHTS)
    found = rows(season, "2026-04-10", "weigh again")
    assert [(row["names"], days(row)) for row in found] == [("K5 and K6", ["04-03", None]), ("K1", ["04-10", None])]
    assert found[0]["reason"].startswith("not weighed yet; ")
    assert found[1]["reason"].startswith("no weight that can be used since 8 April 2026; ")
    assert [row["names"] for row in rows(season, "2026-04-11", "weigh again")] == ["K4, K5 and K6", "K1", "K2"]


def test_a_later_weight_is_not_known_yet(open_logs):
    season = open_logs(pairs=PAIRS, hatches=HAND, weights=WEIGHTS + "K1,2026-04-20,60\n")
    assert ("weigh again", "K1") in names(season, "2026-04-10", "weigh again")


def test_flagged_chicks_are_looked_at_again(open_logs):
    losses = "chick,found_on\nK2,2026-04-05\n"
    season = open_logs(pairs=PAIRS, hatches=CHICKS, losses=losses)
    flags = pd.DataFrame(
        [
            ("K1", "2026-04-07", "It was 4 g down."),
            ("K1", "2026-04-08", "Food left in the crop."),
            ("K2", "2026-04-08", "It is lost since."),
            ("K3", "2026-04-09", "Today is no second look."),
            ("K9", "2026-04-08", "No log knows it."),
        ],
        columns=["chick", "day", "sentence"],
    )
    (row,) = rows(season, "2026-04-09", "look again", flags=flags)
    assert (row["names"], days(row)) == ("K1", ["04-09", "04-10"])
    assert row["reason"] == "flagged on 8 April 2026: Food left in the crop."
    assert names(season, "2026-04-10", "look again", flags=flags) == [("look again", "K1"), ("look again", "K3")]
    assert names(season, "2026-04-12", "look again", flags=flags) == []
    assert names(season, "2026-04-09", "look again", flags=flags.iloc[:0]) == []


# Two clutches a season, three at most, then a rest: several keepers' texts, read.
def clutches(number, incubated_by="", kind="", weaned="2026-05-30"):
    """Clutches of an egg each, 35 days apart, hatched after 20 days; the last chick leaves the nest on `weaned`."""
    text = "pair,clutch,egg,laid_on,set_on,hatched_at,chick,incubated_by,weaned_on\n"
    for n in range(number):
        laid = pd.Timestamp("2026-01-01") + pd.Timedelta(days=35 * n)
        out = laid + pd.Timedelta(days=20)
        chick = f"{out:%Y-%m-%d},K{n},{incubated_by},{weaned if n == number - 1 else '2026-04-01'}"
        text += f"P1,{n + 1},{n + 1},{laid:%Y-%m-%d},{laid:%Y-%m-%d},{chick}\n"
    return {"pairs": f"pair,species,cage,kind\nP1,cockatiel,C1,{kind}\n", "hatches": text}


def test_a_rest_begins_when_the_last_clutch_is_over(open_logs):
    season = open_logs(**clutches(3))
    assert names(season, "2026-05-29", "rest") == []
    (row,) = rows(season, "2026-05-30", "rest")
    assert (row["who"], row["where"], row["source"]) == (("P1",), "C1", "several keepers' texts")
    assert row["reason"].startswith("3 clutches laid this season, pulled ones counted; a rest is due after 3: ")
    assert days(row) == ["05-30", None]
    assert len(rows(season, "2026-06-13", "rest")) == 1  # two weeks: practice
    assert rows(season, "2026-06-14", "rest") == []


def test_no_rest_before_the_limit_nor_while_it_rears_or_sits(open_logs):
    day = "2026-05-30"
    assert rows(open_logs(**clutches(2, weaned=day)), day, "rest") == []
    own = {"species": "species,clutches_a_season\ncockatiel,2\n"}
    (row,) = rows(open_logs(**clutches(2, weaned=day), **own), day, "rest")
    assert "your own limit is 2" in row["reason"]
    two = {"settings": "setting,value\nclutches_then_rest,2\n", "species": "species\n"}
    assert rows(open_logs(**clutches(2, weaned=day), **two), day, "rest")[0]["source"] == "your own setting"


def test_no_rest_while_it_rears_or_sits(open_logs):
    day = "2026-04-05"  # the third clutch hatched on 1 April
    assert len(rows(open_logs(**clutches(3, weaned="2026-04-01")), day, "rest")) == 1
    assert rows(open_logs(**clutches(3, weaned="")), day, "rest") == []
    sitting = clutches(3, weaned="2026-04-01")
    sitting["hatches"] += "P2,1,9,2026-03-12,2026-03-12,,,P1,\n"  # overdue, and sat on
    assert rows(open_logs(**sitting), "2026-04-12", "rest") == []
    assert rows(open_logs(**clutches(3, kind="colony", weaned="2026-04-01")), day, "rest") == []


def test_a_rest_begins_when_the_chicks_are_taken_or_the_days_of_clear_eggs_are_over(open_logs):
    taken = clutches(3, weaned="") | {"moves": "what,on,to\nK2,2026-04-10,hand\n"}
    assert days(rows(open_logs(**taken), "2026-04-12", "rest")[0]) == ["04-10", None]
    clear = clutches(3) | {"moves": "what,on,to\n"}
    clear["hatches"] = (
        clear["hatches"].replace("2026-05-30", "2026-04-01").replace("2026-03-12,2026-04-01,K2", "2026-03-12,,")
    )
    clear["hatches"] = (
        clear["hatches"].replace("weaned_on\n", "weaned_on,outcome\n").replace(",,,,2026-04-01", ",,,,,clear")
    )
    # Set on 12 March; cockatiel eggs take 21 days at most (general tables, read).
    assert days(rows(open_logs(**clear), "2026-04-12", "rest")[0]) == ["04-02", None]


def test_pulled_clutches_count_once_a_week_has_passed_without_an_egg(open_logs):
    logs = clutches(2)
    logs["hatches"] += "P1,3,A1,2026-04-20,2026-04-21,,,drawer,\nP1,3,A2,2026-04-22,2026-04-22,,,drawer,\n"
    logs["hatches"] = logs["hatches"].replace("2026-05-30", "2026-04-01")
    season = open_logs(**logs)
    assert rows(season, "2026-04-28", "rest") == []
    assert days(rows(season, "2026-04-29", "rest")[0]) == ["04-29", None]


def test_a_parted_pair_has_no_rest_to_begin(open_logs):
    logs = clutches(3) | {"pairs": "pair,species,parted_on\nP1,cockatiel,2026-05-20\n"}
    assert rows(open_logs(**logs), "2026-05-30", "rest") == []


def test_clutches_that_were_counted_count(open_logs):
    counted = "pair,clutch,eggs,first_egg_on,hatched\n" + "".join(f"P1,{n},4,2026-0{n + 1}-01,0\n" for n in (1, 2, 3))
    season = open_logs(pairs=PAIRS, clutches=counted)
    # The third began on 1 April; cockatiel eggs take 21 days at most (general tables, read).
    assert rows(season, "2026-04-21", "rest") == []
    assert days(rows(season, "2026-04-22", "rest")[0]) == ["04-22", None]
    weaned = "species,wean_from_d,wean_to_d\ncockatiel,46,56\n"
    for hatched in ("2", ""):  # a blank is unknown, never none
        reared = open_logs(pairs=PAIRS, clutches=counted.replace("01,0\n", f"01,{hatched}\n"), species=weaned)
        assert days(rows(reared, "2026-06-20", "rest")[0]) == ["06-17", None]
    assert days(rows(open_logs(pairs=PAIRS, clutches=counted, species=weaned), "2026-04-22", "rest")[0])[0] == "04-22"


def test_eggs_alike_share_a_row_and_numbers_met_twice_are_told_apart(open_logs):
    hatches = """
        pair,clutch,egg,laid_on,set_on
        P1,1,1,2026-04-01,2026-04-05
        P1,1,2,2026-04-03,2026-04-05
        P1,1,10,2026-04-05,2026-04-06
        P2,1,1,2026-04-05,2026-04-05
        """
    found = rows(open_logs(pairs=PAIRS, hatches=hatches), "2026-04-11", "candle")
    assert [row["names"] for row in found] == ["1 of P2, clutch 1", "1, 2 and 10 of P1, clutch 1"]
    found = found[::-1]  # budgerigars show it sooner
    assert found[0]["who"] == ("P1/1/1", "P1/1/2", "P1/1/10")
    assert found[0]["reason"].startswith("day 5 to 6; ")
    assert days(found[0]) == ["04-09", "04-15"]  # of the first to end


def test_eggs_of_two_pairs_in_one_incubator_are_two_rows(open_logs):
    hatches = "pair,egg,set_on,incubated_by\nP1,A1,2026-04-01,drawer\nP2,A2,2026-04-01,drawer\n"
    assert names(open_logs(pairs=PAIRS, hatches=hatches), "2026-04-06") == [("candle", "A2"), ("candle", "A1")]


def test_the_order_is_that_of_a_round(open_logs):
    hatches = """
        pair,egg,set_on,hatched_at,chick
        P1,A1,2026-04-01,,
        P1,A9,2026-04-16,,
        P1,,,2026-04-11,K1
        P2,,,2026-04-12,K2
        """
    species = "species,ring_from_d,ring_to_d\ncockatiel,5,15\nbudgerigar,8,10\n"
    season = open_logs(pairs=PAIRS, hatches=hatches, species=species)
    found = names(season, pd.Timestamp("2026-04-21 08:00"))
    # K2 is due later than K1 and over sooner.
    nests = [("nest", "P1"), ("nest", "P2")]
    assert found == [("may hatch", "A1"), ("candle", "A9"), *nests, ("ring", "K2"), ("ring", "K1")]


def test_shifted_by_a_hundred_days_and_in_another_order_it_says_the_same(open_logs):
    season = open_logs(pairs=PAIRS, hatches=HATCHING)
    later = pd.Timedelta(days=100)
    moved = {name: season.eggs[name] + later for name in ("laid_on", "set_on", "hatched_at")}
    other = replace(season, eggs=season.eggs.assign(**moved).iloc[::-1].reset_index(drop=True))
    for day in pd.date_range("2026-04-05", "2026-04-29", freq="4D"):
        one, two = due_on(season, day), due_on(other, day + later)
        assert one[["what", "names", "reason"]].equals(two[["what", "names", "reason"]])
        assert (one["since_on"] + later).equals(two["since_on"])


def test_the_brief_reason_and_whose_word_it_is_are_told_and_not_read_off(open_logs):
    species = "species,ring_from_d,ring_to_d\ncockatiel,5,15\n"
    season = open_logs(pairs=PAIRS, hatches=HATCHING, species=species)
    due = due_on(season, "2026-04-21").set_index("what")
    hatch = due.loc[["may hatch"]].iloc[0]
    assert ", most likely " in hatch["reason"]
    assert hatch["brief"] == "day 20; expected to hatch on day 17 to 22"
    assert "most likely" not in hatch["brief"]
    assert "(" not in hatch["brief"]
    assert (due["brief"].str.len() <= due["reason"].str.len()).all()
    assert [row for row in due[due["sourced"]].itertuples() if row.source not in row.reason] == []
    said = "A chick called (usual 2), most likely 7 g: practice."
    flags = pd.DataFrame({"chick": ["K1"], "day": [pd.Timestamp("2026-04-20")], "sentence": [said]})
    one = open_logs(hatches="chick,hatched_at,reared_by\nK1,2026-04-12,hand\n")
    look = due_on(one, "2026-04-21", flags=flags).set_index("what").loc["look again"]
    assert said in look["brief"]
    assert not look["sourced"]


def test_what_is_due_is_written_last_and_in_the_voice_that_speaks(open_logs):
    season = open_logs(pairs=PAIRS, hatches=CHICKS, species=OWN_RING)
    with speaking("codes"):
        first, second = rows(season, "2026-04-10", "ring")
    assert (first["what"], first["code"], first["source_code"]) == ("ring", "due.ring-from", "due.breeders-texts")
    texts = [first[name] for name in ("said", "names", "reason", "source")]
    assert texts == ["⟦due.ring⟧", "⟦due.names⟧", "⟦due.with-law⟧", "⟦due.breeders-texts⟧"]
    assert second["reason"] == "⟦due.aged⟧"


@pytest.mark.parametrize(
    "logs",
    [
        {"pairs": PAIRS},
        {"hatches": "pair,egg\nP1,1\nP1,2\n"},
        {"hatches": "chick,reared_by\nK1,hand\n"},
        {"weights": "chick,weighed_at,weight\n"},
        {"hatches": HATCHING, "pairs": PAIRS},
        {"clutches": "pair,clutch,eggs\nP1,1,4\nP1,2,4\nP1,3,4\n"},
    ],
)
def test_nothing_known_is_nothing_due(open_logs, logs):
    due = due_on(open_logs(**logs), "2025-12-31")
    assert due.columns.tolist() == COLUMNS
    assert due.empty
    assert [str(due[end].dtype) for end in ("since_on", "until_on")] == ["datetime64[us]"] * 2


def test_the_day_of_the_round_in_the_demo():
    """What `data_demo/README.md` says of 20 May 2026."""
    morning = names(demo("2026-05-19"), "2026-05-20")
    assert ("candle", "A12, A13, A14 and A15") in morning
    season = demo("2026-05-20")
    evening = names(season, "2026-05-20")
    assert [one for one in evening if one[0] == "ring"] == [("ring", "K29")]
    soon = " ".join(who for what, who in evening if what in ("may pip", "may hatch"))
    assert "A10" in soon
    assert "A11" in soon
    assert [(who, name) for _, who in evening for name in ("K35", "K36", "A8", "A9") if name in who] == []
    assert not {what for what, _ in evening} & {"weigh again", "look again"}


# -- nests of parents


def nests(season, day):
    return [(row["names"], row["where"], row["reason"]) for row in rows(season, day, "nest")]


def test_nests_are_looked_into_until_somebody_wrote_of_them_that_day(open_logs):
    hatches = "pair,chick,hatched_at,reared_by\nP1,K1,2026-04-01,\nP1,K2,2026-04-03,parents\nP2,K3,2026-04-01,hand\n"
    weights = "chick,weighed_at,weight\nK1,2026-04-08,20\nK3,2026-04-10,20\n"
    season = open_logs(pairs=PAIRS, hatches=hatches, weights=weights, up_to="2026-04-10")
    assert nests(season, "2026-04-08") == []
    (nest,) = nests(season, "2026-04-10")
    assert nest[:2] == ("P1", "C1")
    assert nest[2].startswith("K1 and K2, day 7 to 9; last written of on 8 April 2026: all there")
    assert days(rows(season, "2026-04-10", "nest")[0]) == ["04-09", None]


def test_a_nest_ends_when_its_young_can_wean_or_are_gone(open_logs):
    hatches = "pair,chick,hatched_at\nP1,K1,2026-04-01\nP2,K2,2026-04-01\n"
    season = open_logs(
        pairs=PAIRS,
        hatches=hatches,
        losses="chick,found_on\nK2,2026-04-05\n",
        species="species,wean_from_d\ncockatiel,20\n",
    )
    assert [name for name, *_ in nests(season, "2026-04-20")] == ["P1"]
    assert nests(season, "2026-04-21") == []
