"""Each chapter's answer: a sentence from the logs, and no more than they tell."""

import pytest

from analysis.chapters import in_short
from analysis.chicks.of_season import Chicks
from analysis.pairs.of_season import Pairs
from analysis.say import say
from support import demo_round

HATCHES = "pair,outcome,hatched_at,chick,weaned_on\nP1,hatched,2031-04-01,K1,\nP1,hatched,2031-04-02,K2,2031-05-20\n"
WEIGHTS = "chick,weighed_at,weight\nK1,2031-04-03,5\nK2,2031-04-04,5\nK2,2031-04-05,6\n"


def test_rows_used_and_not_and_blank_logs_are_no_blame(open_logs):
    season = open_logs(hatches=HATCHES, weights=WEIGHTS + "K1,someday,7\n", losses="chick,found_on,cause\n",
                       pairs="pair,species,cock,hen\nP1,cockatiel,A,B\n")  # fmt: skip
    assert set(season.problems["code"]) >= {"no-rows"}
    said = in_short.logs(season)[0].text
    assert said == "7 rows were read: 6 used, 1 not used. 1 thing that was used is worth a look."


def test_who_is_here_is_counted_and_who_was_flagged_named(open_logs):
    growth = Chicks.of(open_logs(hatches=HATCHES, weights=WEIGHTS))
    said = in_short.growth(growth)[0].text
    assert said == (
        "2 chicks were weighed, 3 times. Still being reared: 1; flagged in the 7 days up to 20 May 2031: none."
    )
    assert in_short.asks_most(growth) == "K1", "the one that is here, though the other was weighed later"


def test_the_flagged_chick_is_the_one_to_look_at():
    growth = demo_round("2026-05-20").growth
    assert in_short.growth(growth)[0].text.endswith("flagged in the 7 days up to 20 May 2026: K22.")
    assert in_short.asks_most(growth) == "K22"


@pytest.mark.parametrize(("logs", "chick"), [({"hatches": HATCHES}, ""), ({"hatches": "chick\nK1\n"}, "")])
def test_nothing_weighed_is_a_sentence(open_logs, logs, chick):
    growth = Chicks.of(open_logs(**logs))
    assert in_short.growth(growth)[0].text.startswith("No chick of known age was weighed alone")
    assert in_short.asks_most(growth) == chick


def test_every_pair_stands_under_one_advice(open_logs):
    judged = Pairs.of(open_logs(hatches=HATCHES, pairs="pair,species,cock,hen\nP1,cockatiel,A,B\n"))
    assert in_short.pairs(judged)[0].text == "1 pair. Not enough to judge: P1."
    nobody = Pairs.of(open_logs(hatches="chick\nK1\n", pairs="pair,species\n"))
    assert in_short.pairs(nobody)[0].text == say("advice.no-pair")
