"""Seasons joined by their birds: names, what is said of them, and the frames of all seasons under these names."""

from textwrap import dedent

import pandas as pd
import pytest

from analysis import open_season
from analysis.pairs.partners import partners
from analysis.say import in_words
from analysis.season import joined, seasons_by_name
from support import demo

HEADINGS = "pair,species,kind,cock,hen,cage,put_up_on,parted_on\n"


@pytest.fixture
def open_seasons(tmp_path):
    """Open seasons of one aviary, the last with the others joined to it: year=pairs, or year={log: text}."""

    def open_(**years):
        for year, logs in years.items():
            folder = tmp_path / year
            folder.mkdir()
            logs = logs if isinstance(logs, dict) else {"pairs": logs}
            (folder / "settings.csv").write_text(f"setting,value\nseason,{logs.pop('season', year[1:])}\n")
            for name, text in logs.items():
                rows = dedent(text).lstrip("\n")
                (folder / f"{name}.csv").write_text((HEADINGS if name == "pairs" else "") + rows, encoding="utf-8")
        *earlier, last = (tmp_path / year for year in years)
        return open_season(last, earlier=earlier)

    return open_


def names(birds):
    return {(row.season, row.written): row.pair for row in birds.names.itertuples()}


def notes(birds):
    return {(row.season, row.written): in_words(row.notes) for row in birds.names.itertuples() if row.notes}


def test_two_birds_are_one_pair_whatever_they_are_called(open_seasons):
    birds = joined(
        open_seasons(
            y2024="A1,cockatiel,,moss , SORREL,C1,2024-02-01,2024-07-01\n",
            y2025="B1,cockatiel,,Moss,Sorrel,C2,2025-02-01,2025-08-01\n",
            y2026="P1,cockatiel,,Moss,sorrel,C3,2026-02-01,\n",
        )
    )
    assert set(names(birds).values()) == {"P1"}
    assert notes(birds) == {}
    (pair,) = birds.pairs.to_dict("records")
    assert (pair["name"], pair["season"], pair["seasons"], pair["cage"]) == ("P1", "2026", 3, "C3")
    assert (pair["put_up_on"], pair["this_season"]) == (pd.Timestamp("2024-02-01"), True)
    assert pd.isna(pair["parted_on"])  # parted in 2025, and together again


def test_a_name_that_is_used_again_joins_nothing(open_seasons):
    birds = joined(
        open_seasons(
            y2025="P1,cockatiel,,Moss,Sorrel,,,\nP2,cockatiel,,Ash,Elm,,,\nP3,cockatiel,,Oak,Fir,,,\n",
            y2026="p1,cockatiel,,Teasel,Sorrel,,,\nP2,cockatiel,,Oak,Fir,,,\n",
        )
    )
    assert names(birds) == {
        ("2026", "p1"): "p1",
        ("2026", "P2"): "P2",
        ("2025", "P1"): "P1 (2025)",
        ("2025", "P2"): "P2 (2025)",
        ("2025", "P3"): "P2",
    }
    assert notes(birds) == {
        ("2025", "P1"): "P1 of 2025 was Moss and Sorrel, not the same two birds, and is not joined.",
        ("2025", "P2"): "P2 of 2025 was Ash and Elm, other birds, and is not joined.",
    }
    assert birds.pairs.set_index("pair")["this_season"].to_dict() == {
        "p1": True,
        "P1 (2025)": False,
        "P2": True,
        "P2 (2025)": False,
    }


def test_names_that_change_places(open_seasons):
    birds = joined(
        open_seasons(
            y2025="P1,cockatiel,,Ash,Elm,,,\nP2,cockatiel,,Oak,Fir,,,\n",
            y2026="P1,cockatiel,,Oak,Fir,,,\nP2,cockatiel,,Ash,Elm,,,\n",
        )
    )
    assert names(birds)["2025", "P1"] == "P2"
    assert notes(birds)["2025", "P1"] == "P1 of 2025 was Ash and Elm, other birds, and is joined to P2."


def test_a_pair_of_earlier_seasons_bears_the_latest_it_is_in(open_seasons):
    birds = joined(
        open_seasons(
            y2024="P7,cockatiel,,Ash,Elm,,,\n",
            y2025="P8,cockatiel,,Ash,Elm,,,\n",
            y2026="P1,cockatiel,,Oak,Fir,,,\n",
        )
    )
    assert names(birds) == {("2026", "P1"): "P1", ("2025", "P8"): "P8 (2025)", ("2024", "P7"): "P8 (2025)"}
    assert birds.pairs.set_index("pair").loc["P8 (2025)", ["name", "season", "seasons"]].tolist() == ["P8", "2025", 2]


@pytest.mark.parametrize(
    ("before", "now", "note"),
    [
        (",,Elm", ",Ash,Elm", "It is not written which birds P1 of 2025 was, so it is not joined."),
        (",,", ",,", "It is not written which birds P1 of 2025 was, so it is not joined."),
        ("colony,,", "colony,,", "It is not written which birds were in P1 of 2025, so it is not joined."),
        (
            ",Ash,Elm",
            ",Ash,",
            "P1 of 2025 was Ash and Elm; it is not written which birds P1 of 2026 is, so it is not joined.",
        ),
        ("trio,Ash,Elm", ",Ash,Elm", "P1 of 2025 was Ash and Elm, not the same two birds, and is not joined."),
    ],
)
def test_birds_that_are_not_written_are_not_joined(open_seasons, before, now, note):
    birds = joined(open_seasons(y2025=f"P1,cockatiel,{before},,,\n", y2026=f"P1,cockatiel,{now},,,\n"))
    assert names(birds) == {("2026", "P1"): "P1", ("2025", "P1"): "P1 (2025)"}
    assert notes(birds) == {("2025", "P1"): note}


def test_two_birds_written_as_two_pairs_of_one_season(open_seasons):
    season = open_seasons(
        y2025="P1,cockatiel,,Ash,Elm,,,\nP2,cockatiel,,Ash,Elm,,,\n",
        y2026={
            "pairs": "P4,cockatiel,,Ash,Elm,C1,2026-02-01,2026-03-01\nP5,cockatiel,,Ash,Elm,C2,2026-04-01,2026-05-01\n",
            "clutches": "pair,clutch,eggs\nP4,1,4\nP5,1,5\n",
        },
    )
    birds = joined(season)
    assert set(names(birds).values()) == {"P4"}
    assert birds.clutches[["pair", "clutch", "eggs"]].values.tolist() == [["P4", "1", 4], ["P4", "1 (P5)", 5]]
    (pair,) = birds.pairs.to_dict("records")
    assert (pair["seasons"], pair["put_up_on"], pair["parted_on"]) == (
        2,
        pd.Timestamp("2026-02-01"),
        pd.Timestamp("2026-05-01"),
    )


def test_seasons_of_one_name_are_told_apart(open_seasons):
    season = open_seasons(
        spring={"season": "2026", "pairs": "P1,cockatiel,,Ash,Elm,,,\n", "hatches": "pair,chick\nP1,K1\n"},
        summer={"season": "2026", "pairs": "P1,cockatiel,,Oak,Fir,,,\n", "hatches": "pair,chick\nP1,K1\n"},
    )
    assert list(seasons_by_name(season)) == ["2026", "2026, spring"]
    birds = joined(season)
    assert set(birds.pairs["pair"]) == {"P1", "P1 (2026, spring)"}
    assert birds.chicks["chick"].tolist() == ["K1", "K1 (2026, spring)"]


def test_a_label_that_the_keeper_already_uses(open_seasons):
    birds = joined(
        open_seasons(
            y2025="P1,cockatiel,,Ash,Elm,,,\n", y2026="P1 (2025),cockatiel,,Oak,Fir,,,\nP1,cockatiel,,Bay,Yew,,,\n"
        )
    )
    assert birds.pairs["pair"].is_unique
    assert names(birds)["2025", "P1"] == "P1 (2025), 2"


def test_the_frames_of_all_seasons(open_seasons):
    hatches = """
        pair,clutch,egg,laid_on,outcome,hatched_at,chick,incubated_by,reared_by
        p1,1,1,{y}-03-01,hatched,{y}-03-22,K1,,P2
        P1,1,2,{y}-03-03,clear,,,incubator,
        ,1,3,{y}-03-05,hatched,{y}-03-26,K2,,hand
        """
    years = {
        f"y{year}": {
            "pairs": f"P1,cockatiel,,Ash,Elm,,,\nP2,cockatiel,,{cock},Fir,,,\n",
            "hatches": hatches.format(y=year),
            "losses": f"chick,found_on\nK1,{year}-04-01\n",
            "clutches": "pair,clutch,eggs\nP2,1,4\n",
        }
        for year, cock in (("2025", "Oak"), ("2026", "Bay"))
    }
    season = open_seasons(**years)
    birds = joined(season)
    before = {what: frame[frame["season"] == "2025"] for what, frame in vars(birds).items() if what in FRAMES}
    assert before["eggs"][["pair", "incubated_by", "chick"]].values.tolist() == [
        ["", "", "K2 (2025)"],
        ["P1", "P1", "K1 (2025)"],
        ["P1", "incubator", ""],
    ]
    assert before["chicks"][["chick", "pair", "reared_by"]].values.tolist() == [
        ["K1 (2025)", "P1", "P2 (2025)"],
        ["K2 (2025)", "", "hand"],
    ]
    assert before["losses"]["chick"].tolist() == ["K1 (2025)"]
    assert before["clutches"]["pair"].tolist() == ["P2 (2025)"]
    for what in FRAMES:
        now = getattr(birds, what)[getattr(birds, what)["season"] == "2026"].drop(columns="season")
        pd.testing.assert_frame_equal(now, getattr(season, what))


FRAMES = ("eggs", "clutches", "chicks", "losses")


def test_a_season_alone_and_an_empty_one(open_logs):
    alone = open_logs(settings="setting,value\nseason,2026\n", readings="place,read_at,temperature\nA,2026-07-01,37\n")
    birds = joined(alone)
    assert (len(birds.pairs), len(birds.names), birds.season) == (0, 0, "2026")
    full = joined(demo())
    for what in (*FRAMES, "pairs", "names"):
        pd.testing.assert_series_equal(getattr(birds, what).dtypes, getattr(full, what).dtypes)


def test_the_demo():
    birds = joined(demo())
    of = birds.pairs.set_index("pair")
    assert of.loc["P01", ["seasons", "season"]].tolist() == [3, "2026"]
    assert set(of.index[~of["this_season"]]) == {"P02 (2025)", "P03 (2025)", "P14 (2024)", "P14 (2025)"}
    assert birds.eggs.groupby("season").size()["2025"] == len(demo().earlier[1].eggs)


def test_two_birds_are_together_while_one_of_their_two_rows_says_so(open_seasons):
    birds = joined(open_seasons(y2026="P4,cockatiel,,Ash,Elm,,,2026-03-01\nP5,cockatiel,,Ash,Elm,,2026-04-01,\n"))
    assert birds.pairs["parted_on"].isna().tolist() == [True]


# -- birds by name and ring


def aviary(pairs, *birds):
    return {"pairs": pairs, "birds": "bird,ring,hatched_on\n" + "".join(f"{bird}\n" for bird in birds)}


def bird_of(birds):
    return {(row.season, row.written): row.bird for row in birds.birds.itertuples()}


def test_a_bird_with_another_name_and_its_ring_is_the_same(open_seasons):
    season = open_seasons(
        y2024=aviary("A1,cockatiel,,Moss,Elm,,,\n", "Moss,AL 21-001,2021-05-01", "Elm,,"),
        y2025=aviary("A2,cockatiel,,al21-001,Elm,,,\n"),
        y2026=aviary("P1,cockatiel,,Max,Elm,,,\nP2,cockatiel,,Moss,Fir,,,\n", "Max,AL21-001,2021-05-02", "Moss,,"),
    )
    birds = joined(season)
    assert names(birds) == {("2026", "P1"): "P1", ("2026", "P2"): "P2", ("2025", "A2"): "P1", ("2024", "A1"): "P1"}
    assert bird_of(birds)["2024", "Moss"] == bird_of(birds)["2025", "al21-001"] == "Max"
    assert bird_of(birds)["2026", "Moss"] == "Moss"
    assert notes(birds) == {
        ("2025", "A2"): "al21-001 of 2025 is Max of 2026, by its ring AL21-001.",
        ("2024", "A1"): "Moss of 2024 is Max of 2026, by its ring AL21-001.",
    }
    assert birds.pairs.set_index("pair").loc["P1", ["cock", "seasons"]].tolist() == ["Max", 3]


def test_one_name_with_two_rings_is_two_birds(open_seasons):
    season = open_seasons(
        y2025=aviary("P1,cockatiel,,Moss,Elm,,,\n", "Moss,AL21-001,", "Elm,AL21-002,"),
        y2026=aviary("P1,cockatiel,,Moss,Elm,,,\n", "Moss,AL25-007,", "Elm,al21 002,"),
    )
    birds = joined(season)
    assert names(birds) == {("2026", "P1"): "P1", ("2025", "P1"): "P1 (2025)"}
    assert notes(birds) == {
        ("2025", "P1"): "P1 of 2025 was Moss and Elm, not the same two birds, and is not joined. "
        "Moss of 2025 (ring AL21-001) and of 2026 (ring AL25-007) are two birds."
    }
    assert birds.pairs.set_index("pair")["cock"].to_dict() == {"P1": "Moss", "P1 (2025)": "Moss (2025)"}
    told = partners(season)
    assert set(told.loc[told["bird"] == "Elm", "partner"]) == {"Moss", "Moss (2025)"}  # each is followed by itself


def test_a_renamed_bird_is_followed_to_other_partners(open_seasons):
    season = open_seasons(
        y2025=aviary("P1,cockatiel,,Moss,Elm,,,\n", "Moss,AL21-001,"),
        y2026=aviary("P1,cockatiel,,Max,Fir,,,\n", "Max,AL21-001,"),
    )
    told = partners(season)
    assert told.loc[told["bird"] == "Max", ["partner", "season"]].values.tolist() == [["Fir", "2026"], ["Elm", "2025"]]


@pytest.mark.parametrize(
    ("before", "now", "same_pair"),
    [
        (("Moss,,",), ("Moss,,",), True),
        (("Moss,AL21-001,",), ("Moss,,",), True),
        ((), ("Moss,AL21-001,",), True),
        (("Moss,AL21-001,",), ("Moss,AL25-007,",), False),
        (("Moss,none,",), ("Moss,AL25-007,",), True),
        (("Moss,AL21-001,", "Fir,AL21-001,"), ("Moss,AL25-007,",), True),  # one ring for two birds tells nothing
        (("Moss,AL21-001,",), ("Moss,,", "Max,AL21-001,"), False),  # that bird is called Max now
        (("Moss,AL21-001,2021-05-01",), ("Moss,,", "Max,AL21-001,2025-05-01"), True),  # a ring used again
    ],
)
def test_the_same_name_again(open_seasons, before, now, same_pair):
    pair = "P1,cockatiel,,Moss,Elm,,,\n"
    birds = joined(open_seasons(y2025=aviary(pair, *before), y2026=aviary(pair, *now)))
    assert (names(birds)["2025", "P1"] == "P1") == same_pair
    assert bool(notes(birds)) != same_pair


@pytest.mark.parametrize(
    ("pairs", "hatched_on"), [("P1,cockatiel,,Max,Elm,,,\n", "2025-05-01"), ("P1,cockatiel,,Bay,Max,,,\n", "")]
)
def test_a_ring_that_cannot_be_the_same_birds(open_seasons, pairs, hatched_on):
    before = aviary("P1,cockatiel,,Moss,Elm,,,\n", "Moss,blue 17,2021-05-01")
    birds = joined(open_seasons(y2025=before, y2026=aviary(pairs, f"Max,blue 17,{hatched_on}")))
    assert bird_of(birds)["2025", "Moss"] == "Moss"
    assert names(birds)["2025", "P1"] == "P1 (2025)"


def test_a_name_between_two_rings_is_nobodys(open_seasons):
    pair = "P1,cockatiel,,Moss,Elm,,,\n"
    birds = joined(open_seasons(y2024=aviary(pair, "Moss,AL21-001,"), y2025=pair, y2026=aviary(pair, "Moss,AL25-007,")))
    assert len(set(names(birds).values())) == 3
    assert notes(birds)["2025", "P1"].endswith("No ring says which bird Moss of 2025 is, so it is not joined.")
