"""One box for a chick, a pair or a bird of a pair; a wrong name is a sentence with the next step."""

import pytest

from analysis.chapters import LookUp
from analysis.say import say

LOGS = {
    "pairs": "pair,species,cock,hen\nP1,cockatiel,Bramble,Hazel\n",
    "hatches": "pair,outcome,hatched_at,chick,ring\nP1,hatched,2031-04-01,K1,AL31-001\n",
}


@pytest.fixture
def box(open_logs):
    return LookUp(open_logs(**LOGS))


@pytest.mark.parametrize(
    ("typed", "begins"),
    [
        ("", say("chapters.ask")),
        ("  ", say("chapters.ask")),
        ("k1", "The chapter One chick has the whole page."),
        ("AL31-001", "The chapter One chick has the whole page."),
        ("p1", "Pair P1. The chapter Pair sheet has the whole page."),
        (" HAZEL", "Pair P1. The chapter Pair sheet has the whole page."),
        ("K9", "No pair, bird or chick here is called K9."),
    ],
)
def test_whoever_is_meant_is_found(box, typed, begins):
    assert box.page(typed)[0].text.startswith(begins)


def test_it_offers_pairs_chicks_and_birds(box):
    assert box.names == ["P1", "K1", "Bramble", "Hazel"]


def test_the_chick_is_named_on_its_page(box):
    assert box.page("k1")[1].text.startswith("K1: cockatiel")
