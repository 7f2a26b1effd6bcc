"""Linked tables: outcomes, fates, ages, who did what, and what one log says of another."""

import math
from dataclasses import replace

import pandas as pd
import pytest

from analysis import SeasonError, open_season
from analysis.chicks import Chicks
from analysis.eggs import Eggs
from analysis.pairs import Pairs
from analysis.say import in_words
from analysis.season import chick_spans
from support import DEMO, codes, demo

PAIRS = "pair,species,cage,put_up_on\nP1,cockatiel,C1,2026-01-01\nP2,cockatiel,C2,2026-01-01\n"


def test_outcomes_and_fertility(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="""
            pair,clutch,egg,laid_on,candled,outcome,hatched_at,chick
            P1,1,1,2026-04-01,,hatched,2026-04-22,K1
            P1,1,2,2026-04-03,,clear,,
            P1,1,3,2026-04-05,,dead in shell,,
            P1,1,4,2026-04-07,fertile,broken,,
            P1,1,5,2026-04-09,not sure,missing,,
            P1,2,1,2026-06-20,fertile,,,
            P1,2,2,2026-04-11,,,,
            """,
        readings="place,read_at,temperature\nbrooder,2026-07-01,35\n",
    )
    eggs = season.eggs.sort_values(["clutch", "egg"])
    assert eggs["fertile"].tolist() == ["yes", "no", "yes", "yes", "unknown", "yes", "unknown"]
    assert eggs["outcome"].tolist()[-2:] == ["still incubating", "unknown"]
    assert codes(season) == ["dates-out-of-order"] * 0 + ["outcome-unknown"]


def test_fates_and_the_last_day(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="""
            pair,chick,hatched_at,weaned_on,left_on
            P1,K1,2026-04-01,2026-05-20,
            P1,K2,2026-04-02,,
            P1,K3,2026-04-03,,2026-05-01
            P1,K4,2026-04-04,,
            P1,K5,2026-04-05,2026-05-20,
            """,
        losses="chick,found_on,cause\nK2,2026-04-10,crop stopped\nK5,2026-05-25,flew against the glass\n",
    )
    fates = season.chicks.set_index("chick")["fate"].to_dict()
    assert fates == {"K1": "weaned", "K2": "lost", "K3": "left", "K4": "being reared", "K5": "weaned"}
    assert season.last_day == pd.Timestamp("2026-05-25")
    assert season.losses[["chick", "age_d", "cause_group"]].to_numpy().tolist() == [
        ["K2", 8.0, "crop or feeding"],
        ["K5", 50.0, "other, as written"],
    ]


def test_ages_are_exact_where_the_hours_are_known(open_logs):
    season = open_logs(
        hatches="chick,hatched_at\nK1,2026-04-01 18:00\nK2,2026-04-01\n",
        weights="""
            chick,weighed_at,weight
            K1,2026-04-03 06:00,6
            K1,2026-04-04,7
            K2,2026-04-03 06:00,6
            """,
    )
    assert season.weights["age_d"].tolist() == [1.5, 3.0, 2.0]


def test_a_weight_outside_a_chicks_life(open_logs):
    season = open_logs(
        hatches="chick,hatched_at,sure_to_days\nK1,2026-04-05,\nK2,2026-04-05,2\n",
        losses="chick,found_on\nK1,2026-04-08\n",
        weights="""
            chick,weighed_at,weight
            K1,2026-04-04,4
            K1,2026-04-08,8
            K1,2026-04-09,8
            K2,2026-04-03,4
            K2,2026-04-02,4
            """,
    )
    assert codes(season) == ["weight-before-hatch", "weight-after-loss", "weight-before-hatch"]
    assert season.problems["row"].tolist() == [2, 4, 6]


def test_who_laid_incubated_and_reared(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="""
            pair,egg,laid_on,hatched_at,chick,incubated_by,reared_by
            P1,1,2026-04-01,2026-04-22,K1,,
            P1,2,2026-04-03,2026-04-24,K2,incubator,hand
            P1,3,2026-04-05,2026-04-26,K3,,hand
            P1,4,2026-04-07,2026-04-28,K4,,
            """,
        moves="what,on,to\nK3,2026-05-01,P2\n4,2026-04-10,p2\n",
    )
    assert season.eggs["incubated_by"].tolist() == ["P1", "incubator", "P1", "P2"]
    assert season.chicks["reared_by"].tolist() == ["P1", "hand", "P2", "P2"]
    assert codes(season) == ["moves-disagree"]


def test_who_had_a_chick_first_and_why_it_was_taken(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="""
            pair,egg,laid_on,hatched_at,chick,incubated_by,reared_by
            P1,1,2026-04-01,2026-04-22,stays,,
            P1,2,2026-04-02,2026-04-22,pulled,,
            P1,3,2026-04-03,2026-04-22,written,,hand
            P1,4,2026-04-04,2026-04-22,fostered,,
            P1,5,2026-04-05,2026-04-22,on its day,,
            P1,6,2026-04-06,2026-04-22,from the incubator,incubator,
            P1,7,2026-04-07,2026-04-22,back again,,
            P1,8,2026-04-08,2026-04-22,egg moved,,
            """,
        moves="""
            what,on,to,why,notes
            pulled,2026-05-01,hand,not fed,at dusk
            written,2026-05-02,hand,,thin
            fostered,2026-04-25,P2,,
            fostered,2026-05-09,hand,to be tame,
            on its day,2026-04-22,hand,,
            from the incubator,2026-04-24,hand,,
            back again,2026-04-30,hand,,
            back again,2026-05-03,P1,,
            8,2026-04-10,P2,,
            egg moved,2026-05-04,hand,,
            """,
    )
    told = season.chicks.set_index("chick")[["first_reared_by", "reared_by", "taken_on", "taken_why"]]
    rows = {chick: (*row[:2], row[2].day if pd.notna(row[2]) else 0, row[3]) for chick, *row in told.itertuples()}
    assert rows == {
        "stays": ("P1", "P1", 0, ""),
        "pulled": ("P1", "hand", 1, "not fed"),
        "written": ("P1", "hand", 2, "thin"),
        "fostered": ("P1", "hand", 25, ""),
        "on its day": ("hand", "hand", 0, ""),
        "from the incubator": ("hand", "hand", 0, ""),
        "back again": ("P1", "P1", 0, ""),
        "egg moved": ("P2", "hand", 4, ""),
    }


def test_cages_follow_the_pairs_moves(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="""
            pair,chick,hatched_at,cage
            P1,K1,2026-04-01,
            P1,K2,2026-06-01,C9
            ,K3,2026-06-01,C9
            """,
        moves="what,on,to\nP1,2026-05-01,C3\n",
    )
    assert season.chicks["cage"].tolist() == ["C1", "C3", "C9"]
    assert season.cages["cage"].tolist() == ["C1", "C2", "C3", "C9"]
    assert season.pairs["cage"].tolist() == ["C3", "C2"]


def test_an_egg_laid_after_its_clutch_was_set_is_counted_from_its_own_day(open_logs):
    rows = "P1,1,1,2026-04-05,2026-04-07\nP1,1,2,2026-04-07,2026-04-07\nP1,1,3,2026-04-11,2026-04-07\n"
    slip = "P2,1,1,2026-04-11,2026-04-07\n"
    season = open_logs(hatches="pair,clutch,egg,laid_on,set_on\n" + rows + slip)
    begun = [f"{day:%m-%d}" for day in season.eggs["set_on"]]
    assert begun == ["04-07", "04-07", "04-11", "04-07"]
    assert season.problems.loc[season.problems["code"] == "dates-out-of-order", "row"].tolist() == [5]
    assert any("Eggs laid after their clutch was set" in in_words(how) for _, how in season.read_as)


def test_clutches_are_told_apart_by_their_dates(open_logs):
    rows = "\n".join(f"P1,{n},{day}" for n, day in enumerate(["2026-03-01", "2026-03-31", "2026-05-01"], 1))
    season = open_logs(pairs=PAIRS, hatches=f"pair,egg,laid_on\n{rows}\n")
    assert season.eggs["clutch"].tolist() == ["1", "1", "2"]  # 30 days go on, 31 begin the next
    assert any("told apart by their dates: P1" in in_words(said) for said in season.assumed), season.assumed


def test_chicks_alone_make_up_no_eggs(open_logs):
    season = open_logs(pairs=PAIRS, hatches="pair,clutch,chick,hatched_at\nP1,1,K1,2026-04-01\n")
    assert season.eggs.empty
    mixed = open_logs(
        pairs=PAIRS,
        hatches="pair,clutch,egg,chick,hatched_at,outcome\nP1,1,,K1,2026-04-01,\nP1,1,2,,,clear\n",
    )
    assert sorted(mixed.eggs["egg"]) == ["2", "K1"]


def test_counted_clutches_and_their_eggs(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="pair,clutch,egg,outcome\nP1,1,1,clear\nP1,1,2,clear\n",
        clutches="pair,clutch,eggs,clear,died_in_egg,broken_or_gone,hatched\nP1,1,3,2,0,0,1\nP2,1,4,1,1,,3\n",
    )
    assert codes(season) == ["counts-disagree", "counts-do-not-add-up"]
    assert season.clutches["broken_or_gone"].tolist() == [0, pd.NA]


def test_names_are_met_without_case_and_zeros_only_where_it_is_safe(open_logs):
    season = open_logs(
        hatches="chick,ring,hatched_at\n01,AL-7,2026-04-01\n2,,2026-04-01\n02,,2026-04-01\n",
        weights="""
            chick,weighed_at,weight
            1,2026-04-02,4
            al-7,2026-04-03,5
            2,2026-04-02,6
            02,2026-04-02,7
            2,2026-04-03,8
            9,2026-04-03,9
            """,
    )
    assert season.weights["chick"].tolist() == ["01", "01", "02", "2", "2"]
    assert codes(season) == ["unknown-chick"]


def test_repeats_and_two_things_of_one_name(open_logs):
    season = open_logs(
        pairs=PAIRS + "P1,cockatiel,C1,2026-01-01\np2,lovebird,C4,2026-01-01\n",
        hatches="""
            pair,chick,hatched_at
            P1,K1,2026-04-01
            P1,K1,2026-04-01
            P2,k1,2026-05-01
            P1,P2,2026-04-02
            """,
        losses="chick,found_on\nK1,2026-04-20\nK1,2026-04-20\nK1,2026-04-21\n",
        weights="""
            chick,weighed_at,weight
            K1,2026-04-05,9
            K1,2026-04-05,9
            K1,2026-04-05,10
            """,
    )
    assert codes(season) == [
        "repeated-row",
        "name-used-twice",
        "one-name-two-things",
        "repeated-row",
        "second-loss",
        "repeated-row",
        "name-used-twice",
        "repeated-row",
        "weighed-twice",
    ]
    assert season.weights["mass_g"].tolist() == [9, 10]


def test_chicks_weighed_together(open_logs):
    season = open_logs(
        hatches="chick,hatched_at\nK3,2026-04-01\nK4,2026-04-01\nA+B,2026-04-01\n",
        weights="chick,weighed_at,weight\nK3 + k4,2026-04-02,10\nA+B,2026-04-02,6\nK3+K9,2026-04-02,9\n",
    )
    assert season.weights[["chick", "mass_g", "together"]].to_numpy().tolist() == [
        ["A+B", 6, 1],
        ["K3", 5, 2],
        ["K4", 5, 2],
    ]
    assert codes(season) == ["unknown-chick"]
    assert season.accounting.set_index("log").loc["weights"].tolist() == [3, 2, 1]


def test_dates_against_the_season(open_logs):
    season = open_logs(
        settings="setting,value\nseason,2026\n",
        hatches="chick,hatched_at,weaned_on\nK1,2026-04-01,2052-05-01\nK2,2027-01-10,\nK3,2027-04-10,\n",
        weights="chick,weighed_at,weight\nK1,2052-04-02,4\nK1,2026-04-02,4\n",
    )
    assert codes(season).count("far-from-season") == 3
    assert codes(season).count("outside-season") == 1
    assert season.last_day == pd.Timestamp("2027-01-10")
    assert season.chicks["fate"].tolist() == ["being reared"] * 3


def test_what_two_logs_say_of_one_another(open_logs):
    season = open_logs(
        pairs=PAIRS + "P3,cockatiel,C1,2026-02-01\n",
        species="species,clutch_eggs,heaviest\ncockatiel,2,120\n",
        hatches="""
            pair,clutch,egg,laid_on,hatched_at,chick,candled,outcome
            P1,1,1,2026-04-01,2026-04-22,K1,clear,hatched
            P1,1,2,2026-04-01,,,,clear
            P1,1,3,2026-04-02,,,,clear
            ,,1,2026-04-02,,,,clear
            """,
        weights="chick,weighed_at,weight\nK1,2026-05-22,130\n",
        birds="bird,hatched_on,father\nPip,2025-01-01,Old Tom\nOld Tom,2025-03-01,\n",
        feeds="fed_at,temperature\n2026-05-01,43.5\n",
        signs="who,seen_at,sign\nK77,2026-05-01,cold\nPip,2026-05-01,plucking\n",
    )
    assert sorted(codes(season)) == sorted(
        [
            "two-pairs-one-cage",
            "large-clutch",
            "eggs-too-fast",
            "hatched-but-clear",
            "egg-without-pair",
            "too-heavy",
            "parent-too-young",
            "burning-hot",
            "unknown-who",
        ]
    )
    assert set(season.problems["severity"]) == {"look at this"}
    assert season.not_used.empty


def test_as_it_stood_on_an_earlier_day(open_logs):
    logs = {
        "pairs": PAIRS,
        "hatches": """
            pair,egg,laid_on,outcome,hatched_at,chick,weaned_on,candled,candled_on
            P1,1,2026-04-01,hatched,2026-04-22,K1,2026-06-10,fertile,2026-04-08
            P1,2,2026-04-03,clear,,,,clear,2026-04-10
            P1,3,2026-04-05,dead in shell,,,,,
            P1,4,2026-05-30,hatched,2026-06-20,K4,,,
            """,
        "weights": "chick,weighed_at,weight\nK1,2026-04-23,5\nK1,2026-06-01,90\n",
        "losses": "chick,found_on\nK1,2026-07-01\n",
    }
    season = open_logs(up_to="2026-04-25", **logs)
    assert season.eggs["outcome"].tolist() == ["hatched", "clear", "still incubating"]
    assert season.chicks["fate"].tolist() == ["being reared"]
    assert season.weights["mass_g"].tolist() == [5]
    assert season.last_day == pd.Timestamp("2026-04-23")
    accounting = season.accounting.set_index("log")
    assert (accounting["read"] == accounting["used"] + accounting["not_used"]).all()
    assert accounting["not_used"].to_dict() == {"hatches": 1, "weights": 1, "losses": 1, "pairs": 0}
    before = open_logs(up_to="2026-04-09", **logs)
    assert before.eggs["outcome"].tolist() == ["still incubating"] * 3
    assert before.eggs["fertile"].tolist() == ["yes", "unknown", "unknown"]
    with pytest.raises(SeasonError, match="not a day"):
        open_logs(up_to="soon", **logs)


def test_weights_alone_are_kept_and_said(open_logs):
    season = open_logs(weights="chick,weighed_at,weight\nK1,2026-04-02,4\n")
    assert codes(season) == ["unknown-chick"]
    assert season.is_blank
    assert season.not_used["cells"].tolist() == ["K1 | 2026-04-02 | 4"]


def test_losses_that_came_together(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="pair,chick,hatched_at\nP1,K1,2026-04-01\nP1,K2,2026-04-02\nP2,K3,2026-04-01\nP2,K4,2026-04-01\n",
        losses="chick,found_on\nK1,2026-04-11\nK2,2026-04-11\nK3,2026-04-11\nK4,2026-04-12\n",
    )
    assert season.losses["event"].tolist() == ["3 chicks of 2 pairs on 11 April 2026"] * 3 + [""]


def test_spans_for_survival(open_logs):
    season = open_logs(
        hatches="""
            chick,hatched_at,arrived_on,weaned_on,left_on
            K1,2026-04-01,,2026-05-10,
            K2,2026-04-01,,,
            K3,2026-04-01,2026-04-22,,2026-05-01
            K4,2026-04-11,,,
            K5,,,,
            """,
        losses="chick,found_on,last_seen_well_on\nK2,2026-04-09,2026-04-07\n",
        readings="place,read_at\nroom,2026-05-11\n",
    )
    spans = chick_spans(season).set_index("chick")
    assert spans["entry_d"].to_dict() == {"K1": 0, "K2": 0, "K3": 21, "K4": 0}
    assert spans["exit_d"].to_dict() == {"K1": 39, "K2": 7, "K3": 30, "K4": 30}
    assert spans["lost"].tolist() == [False, True, False, False]


@pytest.mark.parametrize(("hatches", "rows"), [("chick,hatched_at\nK1,2026-04-01\n", 1), ("chick\nK1\n", 0)])
def test_spans_where_nothing_was_lost_or_no_age_is_known(open_logs, hatches, rows):
    spans = chick_spans(open_logs(hatches=hatches))
    assert len(spans) == rows
    assert not spans["lost"].any()


def test_earlier_seasons_are_joined(write_logs, tmp_path):
    folder = write_logs(hatches="chick,hatched_at\nK1,2026-04-01\n", settings="setting,value\nearlier,../old\n")
    with pytest.raises(SeasonError, match="earlier season"):
        open_season(folder)
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "hatches.csv").write_text("chick,hatched_at\nK1,2025-04-01\n")
    assert [s.name for s in open_season(folder).earlier] == ["old"]


def test_the_same_logs_give_the_same_season():
    one, two = open_season(DEMO), open_season(DEMO)
    assert one.fingerprint == two.fingerprint
    assert one.weights.equals(two.weights)
    assert not math.isnan(one.weights["age_d"].sum())


def test_a_date_shortly_before_the_season_is_looked_at_and_one_long_before_is_not_used(open_logs):
    season = open_logs(
        settings="setting,value\nseason,2026\n", hatches="chick,hatched_at\nK1,2025-12-20\nK2,2025-10-20\n"
    )
    assert codes(season) == ["outside-season", "far-from-season", "no-hatch-date"]


def test_losses_of_one_pair_are_no_event_of_the_aviary(open_logs):
    hatches = "pair,chick,hatched_at\nP1,K1,2026-04-01\nP1,K2,2026-04-02\nP1,K3,2026-04-01\n"
    losses = "chick,found_on\nK1,2026-04-11\nK2,2026-04-11\nK3,2026-04-11\n"
    assert open_logs(pairs=PAIRS, hatches=hatches, losses=losses).losses["event"].tolist() == [""] * 3


def test_a_name_without_zeros_is_not_guessed_where_two_would_do(open_logs):
    season = open_logs(
        hatches="chick,hatched_at\n01,2026-04-01\n001,2026-04-01\n", weights="chick,weighed_at,weight\n1,2026-04-02,4\n"
    )
    assert codes(season) == ["unknown-chick"]


def test_pairs_in_one_cage_in_turn_are_nothing_odd(open_logs):
    season = open_logs(
        pairs="pair,species,cage,put_up_on,parted_on\n"
        "P1,cockatiel,C1,2026-01-01,2026-03-01\nP2,cockatiel,C1,2026-03-01,\n",
        hatches="pair,chick,hatched_at\nP1,K1,2026-02-20\n",
    )
    assert codes(season) == []


def test_pairs_that_change_cages_on_one_day_are_nothing_odd(open_logs):
    moves = "what,on,to\nP1,2026-03-01,C2\nP2,2026-03-01,C1\n"
    assert codes(open_logs(pairs=PAIRS, moves=moves, hatches="pair,chick,hatched_at\nP1,K1,2026-04-20\n")) == []


def test_a_loss_found_later_is_not_known_on_the_day_it_was_last_seen_well(open_logs):
    season = open_logs(
        up_to="2026-05-20",
        hatches="chick,hatched_at\nK1,2026-05-01\n",
        losses="chick,found_on,last_seen_well_on\nK1,2026-05-21,2026-05-20\n",
    )
    assert (season.chicks["fate"].tolist(), len(season.losses)) == (["being reared"], 0)


def test_a_season_shows_itself_in_two_lines(open_logs):
    season = demo()
    counts = "14 pairs, 29 clutches, 64 chicks, 1665 weighings; 81 problems in the logs."
    assert repr(season).splitlines() == ["Alder Lane Aviary, season 2026, to 9 August 2026.", counts]
    assert counts in season._repr_html_()
    assert len(season._repr_html_()) < 300
    empty = open_logs(pairs=PAIRS)
    assert repr(empty).splitlines() == [
        "Season season.",
        "2 pairs, 0 clutches, 0 chicks, 0 weighings; 0 problems in the logs.",
    ]


def test_a_name_in_a_season_shown_is_text_and_nothing_else(open_logs):
    season = replace(open_logs(pairs=PAIRS), name="<b>$x$ \x1b[31mred")
    assert "\x1b" not in repr(season)
    assert "<b>$x$" in repr(season), "on a terminal as it was written"
    assert "<b>" not in season._repr_html_()
    assert "$" not in season._repr_html_()
    assert "mathjax_ignore" in season._repr_html_()


@pytest.mark.parametrize(
    ("subject", "holds"),
    [
        (Chicks, "53 chicks weighed, of 8 kinds; 1665 weighings, 1 chick still being reared."),
        (Pairs, "14 pairs, judged on 3 seasons."),
        (Eggs, "144 eggs, 0 still incubating; 217 weighings of eggs."),
    ],
)
def test_a_subject_is_worked_out_once_and_shown_in_two_lines(subject, holds):
    season = demo()
    assert subject.of(season) is subject.of(season)
    assert str(subject.of(season)) == f"Alder Lane Aviary, season 2026, to 9 August 2026.\n{holds}"
    assert holds in subject.of(season)._repr_html_()
    assert subject.of(replace(season, asked_on=pd.Timestamp("2026-05-20"))) is not subject.of(season)
