"""A chick in a list of eggs and in one of chicks: its rows are one, where they do not contradict."""

import pytest

from analysis import open_season
from analysis.say import in_words
from support import codes

EGGS = "pair,clutch,egg,laid_on,hatched_at,chick,notes\nP1,1,1,2026-03-01,2026-03-22 09:30,K1,late egg\n"
CHICKS = "chick,ring,pair,hatched_at,reared_by,notes\n"


@pytest.fixture
def season(tmp_path):
    """Open a season of a list of eggs and one of chicks."""

    def season_(eggs, chicks):
        (tmp_path / "eggs.csv").write_text(eggs)
        (tmp_path / "young birds.csv").write_text(CHICKS + chicks)
        return open_season(tmp_path)

    return season_


def test_each_list_fills_what_the_other_leaves_blank(season):
    opened = season(EGGS, "k1,R1,P1,2026-03-22,hand,tame\nK2,R2,P1,2026-03-24,parents,\n")
    chicks = opened.chicks.set_index("chick")
    assert chicks.loc["K1", ["ring", "reared_by", "clutch"]].tolist() == ["R1", "hand", "1"]
    assert f"{chicks.loc['K1', 'hatched_at']:%d %H:%M}" == "22 09:30"
    assert set(opened.remarks["text"]) == {"late egg; tame"}
    assert chicks.loc["K2", "ring"] == "R2"
    assert opened.accounting.set_index("log").loc["hatches"].tolist() == [3, 3, 0]
    assert any("stand in eggs.csv too" in in_words(how) for _, how in opened.read_as)


@pytest.mark.parametrize("other", ["K1,R1,P2,2026-03-22,hand,", "K1,R1,P1,2026-03-23,hand,"])
def test_lists_that_contradict_are_not_joined(season, other):
    opened = season(EGGS, f"{other}\n")
    assert "name-used-twice" in codes(opened)
    assert opened.chicks[["chick", "ring"]].values.tolist() == [["K1", ""]]


def test_two_rows_of_one_list_stay_two(season):
    opened = season(EGGS + "P1,1,,2026-03-01,,K1,seen again\n", "K9,,P1,2026-03-22,,\n")
    assert "name-used-twice" in codes(opened)


def test_a_word_for_nobody_is_no_pair(season):
    opened = season(EGGS, "K8,R8,bought,2026-03-22,hand,\n")
    assert opened.pairs["pair"].tolist() == ["P1"]
    assert opened.chicks.set_index("chick").loc["K8", "pair"] == ""
    assert "names-no-pair" in codes(opened)
