"""One ring is one bird's: two that bear it are both named, and a chick that was kept is no second bird."""

import pytest

PAIRS = "pair,species,cock,hen\nP1,cockatiel,Pip,Hazel\n"


def asked(season):
    """What is asked about rings: file, row, advice up to its first stop."""
    found = season.problems[season.problems["code"] == "ring-twice"]
    return [(one.file, one.row, one.advice.split(".")[0]) for one in found.itertuples()]


def test_two_chicks_with_one_ring_are_both_named(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="pair,hatched_at,chick,ring\n"
        "P1,2026-03-01,K1,AB 26-07\nP1,2026-03-03,K2,ab2607\nP1,2026-03-05,K3,AB 26-08\n",
    )
    assert asked(season) == [("hatches.csv", 3, "K1 and K2 have this ring")]
    assert season.chicks["chick"].tolist() == ["K1", "K2", "K3"]


@pytest.mark.parametrize(
    ("ring", "birds", "names"),
    [
        ("AB 26-07", "Rosie,2023-04-01,AB26 07", "K1 and Rosie"),
        ("AB 26-07", "Rosie,,AB 26-07", "K1 and Rosie"),
        ("AB 26-07", "Rosie,2026-03-02,AB 26-07", ""),  # it was kept, and has a name of its own now
        ("AB 26-07", "K1,,AB 26-07", ""),
        ("7", "Rosie,2023-04-01,7", ""),  # a number of the year, and no ring of a society
        ("blue", "Rosie,2023-04-01,blue", ""),
    ],
)
def test_a_chick_and_a_bird(open_logs, ring, birds, names):
    season = open_logs(
        pairs=PAIRS,
        hatches=f"pair,hatched_at,chick,ring\nP1,2026-03-01,K1,{ring}\n",
        birds=f"bird,hatched_on,ring\n{birds}\n",
    )
    assert asked(season) == ([("birds.csv", 2, f"{names} have this ring")] if names else [])
