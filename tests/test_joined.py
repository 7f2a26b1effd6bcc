"""Seasons joined by their birds: names, what is said of them, and the frames of all seasons under these names."""

from textwrap import dedent

import pandas as pd
import pytest

from analysis import open_season
from analysis.season import joined, seasons_by_name
from support import DEMO

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
    return {(row.season, row.written): row.note for row in birds.names.itertuples() if row.note}


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
    full = joined(open_season(DEMO))
    for what in (*FRAMES, "pairs", "names"):
        pd.testing.assert_series_equal(getattr(birds, what).dtypes, getattr(full, what).dtypes)


def test_the_demo():
    birds = joined(open_season(DEMO))
    of = birds.pairs.set_index("pair")
    assert of.loc["P01", ["seasons", "season"]].tolist() == [3, "2026"]
    assert set(of.index[~of["this_season"]]) == {"P02 (2025)", "P03 (2025)", "P14 (2024)", "P14 (2025)"}
    assert birds.eggs.groupby("season").size()["2025"] == len(open_season(DEMO).earlier[1].eggs)


def test_two_birds_are_together_while_one_of_their_two_rows_says_so(open_seasons):
    birds = joined(open_seasons(y2026="P4,cockatiel,,Ash,Elm,,,2026-03-01\nP5,cockatiel,,Ash,Elm,,2026-04-01,\n"))
    assert birds.pairs["parted_on"].isna().tolist() == [True]
