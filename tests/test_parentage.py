"""A parent is older than its young, whichever logs say when they hatched."""

import pytest

HEAD = "pair,clutch,egg,laid_on,hatched_at,chick,ring,arrived_on\n"
EGG, CHICK = "P1,1,1,2026-03-01,,,,\n", "P1,1,2,2026-03-03,2026-03-24,K1,AB 26-07,\n"


@pytest.mark.parametrize(
    ("logs", "place", "young"),
    [
        ({"birds": "bird,hatched_on\nPip,2026-03-10\n"}, ("pairs.csv", 2, "cock", "Pip"), "P1/1/1"),
        ({"birds": "bird,ring,hatched_on\nRosie,hazel,2026-03-10\n"}, ("pairs.csv", 2, "hen", "Hazel"), "P1/1/1"),
        ({"pairs": "pair,species,cock,hen\nP1,cockatiel,K1,Hazel\n"}, ("pairs.csv", 2, "cock", "K1"), "P1/1/1"),
        (
            {"birds": "bird,hatched_on,mother\nFern,2025-04-01,AB 26-07\n"},
            ("birds.csv", 2, "mother", "AB 26-07"),
            "Fern",
        ),
        ({"birds": "bird,hatched_on,father\nK1,,Oak\nOak,2026-04-01,\n"}, ("birds.csv", 2, "father", "Oak"), "K1"),
        (
            {
                "hatches": HEAD,
                "clutches": "pair,clutch,eggs,first_egg_on\nP1,1,4,2026-03-01\n",
                "birds": "bird,hatched_on\nPip,2026-03-10\n",
            },
            ("pairs.csv", 2, "cock", "Pip"),
            "P1/1",
        ),
    ],
)
def test_a_parent_younger_than_its_young_is_asked_about_once(open_logs, logs, place, young):
    given = {"pairs": "pair,species,cock,hen\nP1,cockatiel,Pip,Hazel\n", "hatches": HEAD + EGG + CHICK}
    season = open_logs(**given | logs)
    asked = season.problems[season.problems["code"] == "parent-too-young"]
    assert [tuple(one) for one in asked[["file", "row", "column", "value"]].values.tolist()] == [place]
    assert f"its young {young} is of 202" in asked["advice"].item()


def test_who_is_older_or_whose_egg_was_bought_in_is_not_asked_about(open_logs):
    season = open_logs(
        pairs="pair,species,cock,hen\nP1,cockatiel,Pip,Hazel\n",
        hatches=HEAD + EGG + "P1,2,,,2024-03-24,K9,,2026-04-01\n",
        birds="bird,hatched_on,father\nPip,2025-03-10,\nHazel,2025-03-01,\nFern,2026-02-01,Pip\n",
    )
    assert "parent-too-young" not in set(season.problems["code"])
