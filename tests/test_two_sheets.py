"""Eggs in one sheet and chicks in another: every egg counts once, and its chick is found under its own name."""

import pytest

from analysis.say import in_words
from support import codes

PAIRS = "pair,species\n1,cockatiel\n2,cockatiel\n"
EGGS = """
    pair,egg,laid_on,outcome,hatched_at,notes
    1,1,2026-03-01,hatched,2026-03-22,first of all
    1,2,2026-03-03,clear,,
    1,3,2026-03-05,hatched,2026-03-25,
    2,1,2026-03-02,hatched,2026-03-23,
    2,2,2026-03-04,hatched,2026-03-25,
    """
CHICKS = "pair,egg,chick,hatched_at,colour,notes\n1,1,Ana,2026-03-22,grey,strong\n2,1,Bea,2026-03-24,,\n"


def chick_of(season):
    eggs = season.eggs[season.eggs["chick"] != ""]
    return dict(zip(zip(eggs["pair"], eggs["egg"], strict=True), eggs["chick"], strict=True))


def joined_said(season):
    return [said for _, how in season.read_as if "read as one" in (said := in_words(how))]


def test_a_numbered_chick_is_its_egg_and_counted_once(open_logs):
    season = open_logs(pairs=PAIRS, eggs=EGGS, chicks=CHICKS)
    assert len(season.eggs) == 5
    named = chick_of(season)
    assert (named["1", "1"], named["2", "1"]) == ("Ana", "Bea")
    ana = season.chicks.set_index("chick").loc["Ana"]
    assert (ana["colour"], f"{ana['hatched_at']:%d.%m}") == ("grey", "22.03")
    assert "first of all; strong" in season.remarks["text"].tolist()
    (said,) = joined_said(season)
    assert said.startswith("2 rows of chicks.csv tell of eggs that stand in eggs.csv too")
    assert season.accounting.set_index("log").loc["hatches", ["read", "used"]].tolist() == [7, 7]


def test_a_chick_whose_pair_nobody_wrote_is_found_by_a_number_that_one_egg_has(open_logs):
    eggs = "pair,egg,hatched_at\n1,L1,2026-03-22\n1,L2,2026-03-24\n"
    season = open_logs(pairs=PAIRS, eggs=eggs, chicks="chick,egg,hatched_at\nAna,L2,2026-03-24\n")
    assert chick_of(season) == {("1", "L1"): "L1", ("1", "L2"): "Ana"}


def test_a_chick_without_a_number_is_found_by_its_pair_and_day(open_logs):
    chicks = "pair,chick,hatched_at\n1,Zoe,2026-03-25\n1,Ana,2026-03-22\n2,Bea,2026-03-24\n"
    season = open_logs(pairs=PAIRS, eggs=EGGS, chicks=chicks)
    assert len(season.eggs) == 5
    named = chick_of(season)
    assert (named["1", "1"], named["1", "3"], named["2", "1"]) == ("Ana", "Zoe", "Bea")


@pytest.mark.parametrize(
    "chick",
    ["1,1,Ana,2026-05-22,", "2,3,Ana,2026-03-22,", ",1,Ana,,"],
    ids=["months later", "no such egg", "an egg of either pair"],
)
def test_what_may_be_another_egg_is_left_apart(open_logs, chick):
    season = open_logs(pairs=PAIRS, eggs=EGGS, chicks=f"pair,egg,chick,hatched_at,colour\n{chick}\n")
    assert joined_said(season) == []
    assert len(season.chicks) == 5


def test_two_rows_of_one_file_are_never_read_as_one(open_logs):
    other = "pair,egg,hatched_at\n2,7,2026-04-22\n"
    eggs = "pair,egg,chick,hatched_at\n1,1,,2026-03-22\n1,,Ana,2026-03-22\n"
    season = open_logs(pairs=PAIRS, eggs=eggs, hatches=other)
    assert joined_said(season) == []
    assert len(season.chicks) == 3


def test_what_the_two_say_differently_is_asked(open_logs):
    eggs = "pair,egg,hatched_at,sex\n1,1,2026-03-22,hen\n"
    season = open_logs(pairs=PAIRS, eggs=eggs, chicks="pair,egg,chick,hatched_at,sex\n1,1,Ana,2026-03-22,cock\n")
    assert season.chicks["sex"].tolist() == ["hen"]
    (advice,) = season.problems.loc[season.problems["code"] == "two-sheets-differ", "advice"]
    assert advice.startswith("chicks.csv, row 2, says cock.")
    assert "two-sheets-differ" not in codes(open_logs(pairs=PAIRS, eggs=EGGS, chicks=CHICKS))


def test_an_earlier_day_knows_the_chick_by_its_name(open_logs):
    season = open_logs("2026-03-23", pairs=PAIRS, eggs=EGGS, chicks=CHICKS)
    assert season.chicks["chick"].tolist() == ["Ana", "Bea"]  # the other two had not hatched
