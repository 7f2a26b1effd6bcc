"""An egg's last days: the clock that a pip starts, the second candling, the egg that is overdue."""

import pandas as pd
import pytest

from analysis.day.due import due_on
from analysis.day.round import round_of
from analysis.eggs.findings import water_findings
from analysis.eggs.of_season import Eggs
from support import as_read, codes, ranked

HEAD = "pair,egg,set_on,candled,candled_on,candled_again,candled_again_on,pipped_at,outcome,hatched_at,incubated_by"
SET = pd.Timestamp("2026-05-01")


def laid(egg="A1", **cells):
    """A line of hatches: an egg of P1 that was set in the drawer on 1 May."""
    told = {"pair": "P1", "egg": egg, "set_on": f"{SET:%Y-%m-%d}", "incubated_by": "drawer"} | cells
    return ",".join(str(told.get(name, "")) for name in HEAD.split(",")) + "\n"


@pytest.fixture
def season(open_logs):
    def open_(*lines, kind="cockatiel", on=None, **logs):
        more = {"pairs": f"pair,species,cage\nP1,{kind},C1\n", "settings": "setting,value\nseason,2026\n"}
        return open_logs(up_to=on, **more | {"hatches": HEAD + "\n" + "".join(lines)} | logs)

    return open_


def due(season, on, *whats):
    return [(row.what, row.names, row.brief) for row in due_on(season, on).itertuples() if row.what in whats]


def egg(season, name="A1"):
    return season.eggs.set_index("egg").loc[name]


# -- the clock of a pip


# Hours from pip to hatch: parrots 24-72 (a husbandry manual, read), small finches 6-24 (memory): see species.toml.
@pytest.mark.parametrize(
    ("kind", "pipped", "own", "by", "source"),
    [
        ("cockatiel", "2026-05-19 14:00", "", "2026-05-22 14:00", "breeders' texts"),
        ("zebra finch", "2026-05-19 14:00", "", "2026-05-20 14:00", "remembered, not read: check it"),
        ("cockatiel", "2026-05-19", "", "2026-05-22 12:00", "breeders' texts"),  # no hour is written: noon
        ("cockatiel", "2026-05-19 14:00", "10,30", "2026-05-20 20:00", "your species log"),
        ("cockatiel", "2026-05-19 14:00", "30,", "2026-05-20 20:00", "your species log"),
        ("parrot", "2026-05-19 14:00", "", "2026-05-22 14:00", "no hours are known for it: the fewest of any"),
        ("night parrot", "2026-05-19 14:00", "", "2026-05-20 14:00", "no hours are known for it: the fewest of any"),
    ],
)
def test_an_egg_that_pipped_should_be_out_by_the_hours_of_its_kind(season, kind, pipped, own, by, source):
    species = f"species,pip_from_h,pip_to_h\n{kind},{own}\n" if own else "species\n"
    opened = season(laid(pipped_at=pipped), kind=kind, species=species)
    assert egg(opened)["hatch_by"] == pd.Timestamp(by)
    (row,) = due_on(opened, "2026-05-19").to_dict("records")
    assert (row["what"], row["source"]) == ("pipped", source)
    assert (row["since_on"], row["until_on"]) == (pd.Timestamp("2026-05-19"), pd.Timestamp(by).normalize())


def test_a_pip_says_what_is_done_where_the_egg_is(season):
    timed = {"pipped_at": "2026-05-19 14:00"}
    lines = [laid(pipped_at="2026-05-19", incubated_by=""), laid("A2", **timed), laid("A3", **timed)]
    opened = season(*lines, moves="what,on,to\nA2,2026-05-19,hatcher\n")
    rows = due(opened, "2026-05-20", "pipped", "may pip", "may hatch", "overdue")
    assert {what for what, _, _ in rows} == {"pipped"}
    assert {names: said for _, names, said in rows} == {
        "A1": "pipped 19 May, out by 22 May: leave it to the pair",
        "A2": "pipped 19 May, 14:00, out by 22 May, 14:00: closed, warm and moist; turn it no more",
        "A3": "pipped 19 May, 14:00, out by 22 May, 14:00: turn it no more, move it to the hatcher, raise the humidity",
    }
    rules = dict(as_read(water_findings(Eggs.of(opened, pd.Timestamp("2026-05-20")))))["Pipped"]
    for caution in ("Never peel its shell", "blood at the pip", "an avian veterinarian, at once"):
        assert caution in rules


def test_past_its_hours_it_is_read_first_at_once_and_never_peeled(season):
    opened = season(laid(pipped_at="2026-05-19 06:00"), laid("A2", pipped_at="2026-05-19 05:59"))
    today = round_of(opened, "2026-05-22")  # as the page counts, at six: A1 has 72 h, A2 a minute more
    ((soon, who, where, said),) = ranked(today)
    assert (soon, who, where) == (0, "A2", "drawer")
    assert said.startswith(
        "Pipped 19 May, 05:59; it should have been out by 22 May, 05:59 (24–72 h, breeders' texts). "
    )
    assert "an avian veterinarian now" in said
    assert "keep the lid closed" in said
    assert "Never peel its shell, tear its membrane or pull the chick." in said
    assert [names for what, names, _ in due(opened, "2026-05-22", "pipped", "may hatch", "overdue")] == ["A1"]
    in_nest = season(laid(pipped_at="2026-05-18", incubated_by=""), kind="zebra finch")
    assert "leave it to the pair" in ranked(round_of(in_nest, "2026-05-20"))[0][3]


def test_a_pip_is_not_waited_for_for_ever(season):
    pip = laid(pipped_at="2026-05-19 14:00")  # out by 22 May, 14:00; then asked, and three days later unknown: practice
    stood = {}
    for day in ("2026-05-22", "2026-05-23", "2026-05-25", "2026-05-26"):
        opened = season(pip, on=day)
        stood[day[-2:]] = (egg(opened)["outcome"], egg(opened)["fertile"], "pipped-and-then" in codes(opened))
    open_yet = "still incubating"
    assert stood["22"] == (open_yet, "yes", False)
    assert stood["23"] == stood["25"] == (open_yet, "yes", True)
    assert stood["26"] == ("unknown", "yes", True)
    assert egg(season(laid(pipped_at="2026-05-10", outcome=open_yet), on="2026-05-26"))["outcome"] == "unknown"


def test_a_pip_of_a_later_day_is_not_known_yet_and_its_death_not_before_its_hours(season):
    died = laid(pipped_at="2026-05-19 14:00", outcome="pipped and died")
    later = {"moves": "what,on,to\nA1,2026-06-20,hatcher\n"}
    stood = [egg(season(died, on=f"2026-05-{day}", **later)) for day in (18, 20, 23)]
    assert [one["outcome"] for one in stood] == ["still incubating", "still incubating", "pipped and died"]
    assert [pd.isna(one["hatch_by"]) for one in stood] == [True, False, True]


def test_an_egg_that_was_lost_after_its_pip_pipped_and_died(season):
    def lost(cause="", **cells):
        losses = f"egg,found_on,cause\nA1,2026-05-21,{cause}\n"
        return egg(season(laid(**cells), losses=losses))["outcome"]

    assert lost(pipped_at="2026-05-19") == "pipped and died"
    assert lost("crushed", pipped_at="2026-05-19") == "broken"
    assert lost(candled_again="dead") == "late death"
    assert lost() == "unknown"


def test_the_hatcher_is_credited_with_no_incubation_and_is_looked_after(season):
    moves = "what,on,to\nA1,2026-05-10,big drawer\nA1,2026-05-19,hatcher\n"

    def opened(celsius, pipped="2026-05-19"):
        readings = f"place,read_at,temperature\nhatcher,2026-05-20 06:00,{celsius}\n"
        settings = "setting,value\nseason,2026\nincubator_from_c,37.2\n"
        return season(laid(pipped_at=pipped), moves=moves, readings=readings, settings=settings)

    assert (egg(opened(37))["incubated_by"], egg(opened(37))["hatcher"]) == ("big drawer", "hatcher")
    assert ranked(round_of(opened(37), "2026-05-20")) == []  # a hatcher stands at 36.9 to 37.2 °C: a manual, read
    ((soon, who, where, _),) = ranked(round_of(opened(39.4), "2026-05-20"))
    assert (soon, who, where) == (0, "hatcher", "1 egg in it")
    assert egg(opened(37, pipped=""))["incubated_by"] == "hatcher"


def test_an_egg_that_went_to_foster_parents_when_it_pipped_is_reared_by_them(season):
    moves = "what,on,to\nP1/1/A1,2026-05-19,P2\n"
    pairs = "pair,species\nP1,cockatiel\nP2,cockatiel\n"
    opened = season(laid(pipped_at="2026-05-19", hatched_at="2026-05-21"), moves=moves, pairs=pairs)
    assert opened.chicks["reared_by"].tolist() == ["P2"]
    assert egg(opened)["incubated_by"] == "drawer"


def test_the_day_of_pip_ends_what_an_egg_loses(season):
    weights = "egg,weighed_on,weight\nA1,2026-05-01,5.5\nA1,2026-05-11,5.1\nA2,2026-05-01,5.5\nA2,2026-05-11,5.1\n"
    eggs = Eggs.of(
        season(laid(pipped_at="2026-05-17 20:00"), laid("A2"), egg_weights=weights), pd.Timestamp("2026-05-18")
    )
    pip_d = eggs.weighings.groupby("egg")["pip_d"].first()
    assert pip_d["A1"] == 16 != pip_d["A2"]
    assert eggs.places["eggs"].tolist() == [1]  # of A1 the air can change no more


# -- the second candling


@pytest.mark.parametrize(
    ("first", "second", "more", "fertile", "outcome"),
    [
        ("", "alive", {}, "yes", "still incubating"),
        ("clear", "bewegt sich", {}, "yes", "still incubating"),
        ("fertile", "clear", {}, "no", "still incubating"),
        ("fertile", "not sure", {}, "yes", "still incubating"),
        ("", "not sure", {}, "unknown", "still incubating"),
        ("", "DIS", {}, "yes", "late death"),
        ("fertile", "tot", {"outcome": "still incubating"}, "yes", "late death"),
        ("fertile", "mort", {"outcome": "early death"}, "yes", "early death"),
        ("", "dead", {"pipped_at": "2026-05-19"}, "yes", "still incubating"),
        ("clear", "", {"pipped_at": "2026-05-19"}, "yes", "still incubating"),
        ("fertile", "", {"outcome": "clear"}, "no", "clear"),
    ],
)
def test_the_second_candling_tells_more_than_the_first(season, first, second, more, fertile, outcome):
    one = egg(season(laid(candled=first, candled_again=second, **more)))
    assert (one["fertile"], one["outcome"]) == (fertile, outcome)


def test_candled_again_at_three_quarters(season):
    """Movement shows about three quarters through: HARI, artificial incubation part 2."""
    plain = season(laid())
    expected = Eggs.of(plain, pd.Timestamp("2026-05-10")).expected.iloc[0]
    asked = [day for day in range(11, 19) if due(plain, SET + pd.Timedelta(days=day), "candle again")]
    assert (expected["low_d"], expected["high_d"]) == (17, 22)
    assert asked == [13, 14, 15, 16]  # 12.75 to 16.5
    row = due(plain, "2026-05-17", "candle again")[0]
    assert row == ("candle again", "A1", "day 16; movement shows from day 13 to 16, the last of these days")


def test_who_is_candled_again(season):
    words = {"A2": "dead", "A3": "clear", "A4": "fertile", "A5": "not sure"}
    lines = [laid(egg, candled_again=word, candled_again_on="2026-05-14") for egg, word in words.items()]
    lines += [laid(), laid("A6", candled="fertile", candled_on="2026-05-14"), laid("A7", pipped_at="2026-05-15")]
    lines += [laid("A8", candled_again="fertile", candled_again_on="2026-05-15")]
    asked, done = due(season(*lines), "2026-05-15", "candle again")
    assert (asked[1], done[1]) == ("A1 and A5", "A8")
    assert done[2].endswith(", done today")
    assert "done" not in asked[2]


def test_an_egg_seen_clear_is_clear_when_its_days_are_over(season):
    eggs = [laid(candled="clear"), laid("A2", candled="fertile"), laid("A3", candled="clear", outcome="broken")]
    assert [season(*eggs, on=on).eggs["outcome"].tolist() for on in ("2026-05-15", "2026-07-15")] == [
        ["still incubating", "still incubating", "broken"],
        ["clear", "unknown", "broken"],
    ]
    assert codes(season(*eggs, on="2026-07-15")).count("seen-clear") == 1


def test_an_egg_seen_dead_comes_out_until_its_outcome_is_written(season):
    dead = {"candled_again": "dead", "candled_again_on": "2026-05-15"}
    opened = season(laid(**dead), laid("A2", **dead, outcome="late death"))
    ((_, who, said),) = due(opened, "2026-05-16", "take out", "may pip", "may hatch", "candle", "candle again")
    assert who == "A1"
    assert said.startswith("seen dead when it was candled again, 15 May 2026; in doubt candle it once more")
    assert len(due(opened, "2026-05-21", "take out")) == 1
    assert due(opened, "2026-05-22", "take out") == []  # after a week the check asks: practice
    assert "seen-dead" in codes(opened)
    logs = {"moves": "what,on,to\nA1,2026-06-20,hatcher\n"}
    stood = [egg(season(laid(**dead, outcome="early death"), on=f"2026-05-{day}", **logs)) for day in (14, 15)]
    assert [one["outcome"] for one in stood] == ["still incubating", "early death"]


def test_an_overdue_egg_is_candled_again_and_never_opened(season):
    alive = laid("A2", candled_again="fertile", candled_again_on="2026-05-24")
    overdue = season(laid(), alive, laid("A3", candled_again="dead"), laid("A4", candled_again="clear"))
    rows = due_on(overdue, "2026-05-25")
    asked = rows[rows["what"] == "overdue"].set_index("names")["reason"].to_dict()
    assert list(asked) == ["A1", "A2"]
    assert asked["A1"].endswith(": candle it again; never open it")
    assert "candled again on 24 May 2026" in asked["A2"]
    said = dict(as_read(water_findings(Eggs.of(overdue, pd.Timestamp("2026-05-25")))))["Overdue"]
    assert said.startswith("Candle it again. ")
    assert "Never open or shake it" in said
    assert due(overdue, "2026-05-20", "may hatch")[0][2].endswith("day 17 to 22")
