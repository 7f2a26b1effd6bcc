"""Folders as keepers mangle them: nothing vanishes in silence, nothing is made up, nothing crashes."""

import subprocess
import sys

import pytest

from analysis import SeasonError, open_season
from support import ROOT, codes

HATCHES = "pair,chick,hatched_at\nP1,K1,2026-04-01\nP1,K2,2026-04-01\n"
PAIRS = "pair,species\nP1,cockatiel\nP2,cockatiel\n"


def account(season, log):
    return season.accounting.set_index("log").loc[log].tolist()


def test_a_title_above_a_grid_of_the_keepers_own_headings(open_logs):
    weights = "Weights spring;;\n;;\nMorning;K1;K2\n2026-04-03;3,5;4,1\n2026-04-04;5,0;\n"
    season = open_logs(hatches=HATCHES, weights=weights)
    assert season.weights["mass_g"].tolist() == [3.5, 5.0, 4.1]


def test_a_weight_under_no_heading_is_not_used_and_kept(open_logs):
    season = open_logs(hatches=HATCHES, weights="date,K1,\n2026-04-03,12,11\n2026-04-04,13,12,9\n")
    assert account(season, "weights") == [5, 2, 3]
    assert set(season.not_used["cells"]) == {" | 2026-04-03 | 11", " | 2026-04-04 | 12", " | 2026-04-04 | 9"}


def test_a_decimal_comma_that_ended_a_cell_is_not_half_a_weight(open_logs):
    season = open_logs(hatches=HATCHES, weights="chick,weighed_at,weight\nK1,2026-04-03,12,5\nK1,2026-04-04,14\n")
    assert codes(season)[-1:] == ["more-cells-than-headings"]
    assert season.weights["mass_g"].tolist() == [14]
    assert season.not_used["cells"].tolist() == ["K1 | 2026-04-03 | 12 | 5"]


def test_two_columns_of_one_heading_are_two_cells(open_logs):
    season = open_logs(hatches=HATCHES, weights="date,K9,K9\n2026-04-03,12,12\n2026-04-04,13,14\n")
    assert account(season, "weights") == [4, 0, 4]
    assert len(season.not_used) == 4


def test_a_quote_that_is_never_closed_swallows_nothing(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches='pair,chick,hatched_at,notes\nP1,K1,2026-04-01,"tiny\nP1,K2,2026-04-02,\nP1,K3,2026-04-03,\n',
    )
    assert codes(season) == ["open-quote"]
    assert season.chicks["chick"].tolist() == ["K1", "K2", "K3"]


def test_a_log_without_headings_keeps_its_first_row(open_logs):
    season = open_logs(hatches="P1,K1,2026-04-01\nP1,K2,2026-04-02\n", losses="chick,found_on\n")
    assert codes(season) == ["no-headings", "no-rows"]
    assert season.not_used["cells"].tolist() == ["P1 | K1 | 2026-04-01", "P1 | K2 | 2026-04-02"]


def test_a_list_with_headings_of_her_own_is_no_grid(open_logs):
    season = open_logs(hatches=HATCHES, weights="Bird,Morning,Grams\nK1,2026-04-03,12.5\n")
    assert codes(season)[-1:] == ["no-headings"]
    assert "Bird, Morning, Grams" in season.problems["value"].tolist()


def test_a_mistyped_century_is_no_last_day(open_logs):
    weights = "chick,weighed_at,weight\nK1,2126-04-03,8\nK2,2026-04-03,5\n"
    season = open_logs(hatches=HATCHES, weights=weights)
    assert "far-from-season" in codes(season)
    assert season.last_day.year == 2026


@pytest.mark.parametrize("text", [",,,\n,,,\n", '""\n', "\n\n"])
def test_a_log_of_commas_alone_is_empty(open_logs, text):
    assert "empty-file" in codes(open_logs(hatches=HATCHES, weights=text))


def test_a_huge_count_is_a_slip(open_logs):
    season = open_logs(pairs=PAIRS, clutches="pair,clutch,eggs\nP1,1,99999999999999999999\nP1,2,4\n")
    assert codes(season) == ["unreadable-count"]


def test_seasons_that_name_each_other_are_opened_once(write_logs, tmp_path):
    here = write_logs(hatches=HATCHES, settings="setting,value\nearlier,../old; .; ../old\n")
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "hatches.csv").write_text(HATCHES)
    (tmp_path / "old" / "settings.csv").write_text("setting,value\nearlier,../season\n")
    season = open_season(here)
    assert [len(one.earlier) for one in season.earlier] == [0]


@pytest.mark.parametrize("value", ["season,0000", "clutch_gap_d,-5", "formula_burn_c,-1", "starts_on,soon"])
def test_settings_that_make_no_sense(open_logs, value):
    season = open_logs(hatches=HATCHES, pairs=PAIRS, settings=f"setting,value\n{value}\n")
    assert codes(season) == ([] if value == "season,0000" else ["bad-setting"])


def test_a_folder_name_no_disk_takes(write_logs):
    folder = write_logs(hatches=HATCHES, settings=f"setting,value\nearlier,{'9' * 400}\n")
    with pytest.raises(SeasonError, match="earlier season"):
        open_season(folder)


@pytest.mark.parametrize("day", ["", "nat", "03/04/2026", "2026", "now"])
def test_a_day_is_never_guessed(open_logs, day):
    with pytest.raises(SeasonError, match="not a day"):
        open_logs(up_to=day, hatches=HATCHES)


def test_a_terminal_that_lacks_a_letter(write_logs):
    folder = write_logs(hatches="pair,chick,hatched_at\nP\N{GRINNING FACE}1,K1,2026-04-01\n")
    code = "import sys; sys.argv[1:] = ['check', sys.argv[1]]; from analysis.cli import main; main()"
    done = subprocess.run(
        [sys.executable, "-X", "utf8=0", "-c", code, str(folder)],
        env={"PYTHONIOENCODING": "cp1252", "PATH": ""},
        capture_output=True,
        cwd=ROOT,
    )
    assert (done.returncode, done.stderr) == (0, b"")


def test_a_chick_that_goes_by_its_eggs_name_takes_no_other_chicks_name(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="""
            pair,clutch,egg,outcome,hatched_at,chick
            P1,1,K1,hatched,2026-03-20,
            P2,1,1,hatched,2026-03-20,K1
            ,,1,hatched,2026-03-21,
            """,
    )
    assert sorted(season.chicks["chick"]) == ["//1", "K1", "P1/1/K1"]


def test_moves_by_ring_on_the_day_of_hatch_and_of_who_knows_what(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="""
            pair,clutch,egg,hatched_at,chick,ring
            P1,1,1,2026-03-20 06:30,K1,R1
            P1,1,2,2026-03-20,K2,R2
            P2,1,1,2026-03-20,K3,
            """,
        moves="""
            what,on,to
            K1,2026-03-20,hand
            r2,2026-03-25,hand
            1,2026-03-10,incubator
            P2/1/1,2026-03-10,incubator
            XYZ,2026-03-25,hand
            """,
    )
    assert season.chicks.set_index("chick")["reared_by"].to_dict() == {"K1": "hand", "K2": "hand", "K3": "P2"}
    assert season.eggs["incubated_by"].tolist() == ["P1", "P1", "incubator"]
    assert codes(season) == ["egg-in-two-clutches", "unknown-who"]
    assert "P1/1/1" in season.problems["advice"][0]
    assert account(season, "moves") == [5, 3, 2]


def test_an_egg_moved_into_a_nest_is_reared_there(open_logs):
    hatches = "pair,clutch,egg,laid_on,hatched_at,chick,reared_by\nP1,1,E1,2026-03-01,2026-03-20,K1,{}\n"
    moves = "what,on,to\nE1,2026-03-10,P2\n"
    fostered = open_logs(pairs=PAIRS, hatches=hatches.format(""), moves=moves)
    assert fostered.chicks["reared_by"].tolist() == ["P2"]
    written = open_logs(pairs=PAIRS, hatches=hatches.format("hand"), moves=moves)
    assert written.chicks["reared_by"].tolist() == ["hand"]


def test_an_eggs_number_that_comes_again_begins_the_next_clutch(open_logs):
    rows = ["P1,1,2026-03-01", "P1,2,2026-03-03", "P1,1,2026-03-28", "P1,2,2026-03-30"]
    season = open_logs(pairs=PAIRS, hatches="pair,egg,laid_on\n" + "\n".join(rows) + "\n")
    assert season.eggs["clutch"].tolist() == ["1", "1", "2", "2"]


def test_a_blank_clutch_joins_the_written_one_whose_days_are_near(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="pair,clutch,egg,laid_on\nP1,A,1,2026-03-01\nP1,,2,2026-03-03\nP1,,9,2026-06-01\n",
        clutches="pair,clutch,eggs,first_egg_on,hatched\nP2,7,5,2026-03-01,3\n",
    )
    assert season.eggs["clutch"].tolist() == ["1", "A", "A"]
    chicks = "".join(f"P2,K{n},2026-03-2{n}\n" for n in range(4))
    counted = open_logs(
        pairs=PAIRS,
        hatches="pair,chick,hatched_at\n" + chicks,
        clutches="pair,clutch,eggs,first_egg_on,hatched\nP2,7,5,2026-03-01,3\n",
    )
    assert set(counted.chicks["clutch"]) == {"7"}
    assert codes(counted) == ["more-chicks-than-hatched"]


def test_a_chick_that_has_not_arrived_yet_is_not_here(open_logs):
    hatches = "chick,hatched_at,arrived_on\nB1,2026-04-01,2026-04-20\nK1,2026-04-02,\n"
    assert open_logs(up_to="2026-04-10", hatches=hatches).chicks["chick"].tolist() == ["K1"]


def test_the_loss_of_an_egg_says_what_became_of_it(open_logs):
    season = open_logs(
        pairs=PAIRS,
        hatches="pair,clutch,egg,laid_on,outcome,chick\nP1,1,E1,2026-03-01,,\nP1,1,E2,2026-03-03,dead in shell,K3\n",
        losses="egg,chick,found_on,cause\nE1,,2026-03-10,broken by the hen\n,K3,2026-03-25,\n",
    )
    assert season.eggs["outcome"].tolist() == ["broken", "dead in shell"]
    assert season.losses["egg"].tolist() == ["E1", "E2"]
    assert codes(season) == ["named-but-not-hatched"]


def test_alone_and_together_are_two_weighings(open_logs):
    weights = "chick,weighed_at,weight\nK1+K2,2026-04-05,16\nK1,2026-04-05,8\n"
    season = open_logs(hatches=HATCHES, weights=weights)
    assert season.weights.query("chick == 'K1'")["together"].tolist() == [2, 1]


def test_of_chicks_weighed_together_each_row_says_what_its_own_chick_is(open_logs):
    season = open_logs(
        pairs="pair,species\nP1,cockatiel\nP2,budgerigar\n",
        hatches="pair,clutch,chick,hatched_at,sure_to_days,reared_by,weaned_on\n"
        "P1,1,K1,2026-04-01,2,hand,\nP2,2,K2,2026-04-02,,,2026-05-10\n",
        weights="chick,weighed_at,weight\nK1+K2,2026-04-05,16\n",
    )
    known = ["chick", "mass_g", "together", "age_d", "pair", "clutch", "kind", "did_well"]
    assert season.weights[known].values.tolist() == [
        ["K1", 8.0, 2, 4.0, "P1", "1", "cockatiel, by hand", False],
        ["K2", 8.0, 2, 3.0, "P2", "2", "budgerigar, by parents", True],
    ]
    assert season.weights["sure_to_days"].isna().tolist() == [False, True]


def test_a_file_that_cannot_be_read_is_no_clean_check(write_logs):
    from analysis.check.summary import exit_code

    folder = write_logs(hatches=HATCHES)
    (folder / "wheights.csv").write_text("chick\n")
    season = open_season(folder)
    assert (exit_code(season), "Did you mean weights?" in season.problems["advice"].iloc[-1]) == (0, True)
    (folder / "weights.xlsx").write_bytes(b"PK")
    assert exit_code(open_season(folder)) == 1


def test_a_bird_a_cage_and_a_species_stand_once(open_logs):
    season = open_logs(
        hatches=HATCHES,
        pairs=PAIRS,
        birds="bird,sex\nPip,cock\npip,cock\nPip,cock\n",
        cages="cage,room\nC1,front\nC1,back\n",
        species="species,clutch_eggs\ncockatiel,7\nCockatiel,2\n",
    )
    assert sorted(codes(season)) == ["name-used-twice"] * 3 + ["repeated-row"]
    assert [len(season.logs[log]) for log in ("birds", "species")] == [1, 1]
    assert season.cages["room"].tolist() == ["front"]
