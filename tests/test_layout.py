"""Sheets as keepers lay them out: grids every way round, several on a sheet, old flat sheets and count sheets."""

import pytest

from analysis import open_season
from analysis.say import in_words
from support import codes

HATCHES = "pair,chick,hatched_at\nP1,K1,2026-04-01\nP1,K2,2026-04-02\nP1,K3,2026-04-02\n"
EIGHT = [("K1", "2026-04-03", 3.5), ("K1", "2026-04-04", 5.0), ("K2", "2026-04-03", 4.1)]


def weighed(season):
    frame = season.weights.sort_values(["chick", "weighed_at"])
    return [(w.chick, f"{w.weighed_at:%Y-%m-%d}", w.mass_g) for w in frame.itertuples()]


@pytest.mark.parametrize(
    "grid",
    [
        "date,K1,K2\n2026-04-03,3.5,4.1\n2026-04-04,5,\n",
        "chick,2026-04-03,2026-04-04\nK1,3.5,5\nK2,4.1,\n",
        ";K1;K2\n3.4.26;3,5;4,1\n4.4.26;5;-\n",
        "Weights,,\n,,\nday,K1,K2\n03/04/2026,3.5,4.1\n04/04/2026,5,n/a\n13/04/2026,,\n",
        "chick,03/04/2026,04/04/2026,13/04/2026\nK1,3.5,5,\nK2,4.1,,\n",
        "date,K1,K2,notes\n2026-04-03,3.5,4.1,cold night\n2026-04-04,5,,\n",
        "chick,pair,2026-04-03,2026-04-04\nK1,P1,3.5,5\nK2,P1,4.1,\n",
        "date,K1\n2026-04-03,3.5\n2026-04-04,5\n\ndate,K2\n2026-04-03,4.1\n",
        "date,K1,,date,K2\n2026-04-03,3.5,,2026-04-03,4.1\n2026-04-04,5,,,\n",
        "chick,2026-04-03\nK1,3.5\nK2,4.1\nchick,2026-04-04\nK1,5\n",
        "# scale checked on Friday\ndate,K1,K2\n2026-04-03,3.5,4.1\n2026-04-04,5,\n",
    ],
)
def test_a_grid_every_way_round(open_logs, grid):
    season = open_logs(hatches=HATCHES, settings="setting,value\nseason,2026\n", weights=grid)
    assert weighed(season) == EIGHT
    assert set(codes(season)) <= {"species-unknown", "unknown-column"}


@pytest.mark.parametrize(
    "grid",
    [
        "chick,day 2,day 3\nK1,3.5,5\nK2,4.1,\n",
        "chick,d2,d3\nK1,3.5,5\nK2,4.1,\n",
        "chick,Tag 2,Tag 3\nK1,3.5,5\nK2,4.1,\n",
        "chick,1,2,3\nK1,,3.5,5\nK2,,4.1,\n",
        "day,K1,K2\n2,3.5,4.1\n3,5,\n",
        "age,K1,K2\nday 2,3.5,4.1\nday 3,5,\n",
    ],
)
def test_a_grid_by_age_counts_from_the_day_of_hatch(open_logs, grid):
    season = open_logs(hatches=HATCHES, weights=grid)
    # the day of hatch is day 0, so day 2 of K2, hatched on 2 April, is 4 April
    assert weighed(season) == [("K1", "2026-04-03", 3.5), ("K1", "2026-04-04", 5.0), ("K2", "2026-04-04", 4.1)]
    assert season.weights["age_d"].tolist() == [2, 3, 2]


def test_the_day_of_hatch_may_be_day_one(open_logs):
    settings = "setting,value\nhatch_day_is,1\n"
    season = open_logs(hatches=HATCHES, settings=settings, weights="chick,day 2,day 3\nK1,3.5,5\n")
    assert season.weights["age_d"].tolist() == [1, 2]


def test_a_weight_by_age_needs_a_day_of_hatch(open_logs):
    season = open_logs(hatches="pair,chick\nP1,K1\n", weights="chick,day 1,day 2\nK1,3.5,5\n")
    assert codes(season).count("age-without-hatch") == 2
    assert season.weights.empty


@pytest.mark.parametrize("name", ["K1+K2", "K1 + K2", "K1 & K2", "K1/K2", "K1 and K2"])
def test_clutch_mates_weighed_together(open_logs, name):
    season = open_logs(hatches=HATCHES, weights=f"date,{name},K3\n2026-04-03,9,4\n")
    assert season.weights["mass_g"].tolist() == [4.5, 4.5, 4]
    assert season.weights["together"].tolist() == [2, 2, 1]


def test_a_totals_line_is_a_row_that_is_not_used(open_logs):
    season = open_logs(hatches=HATCHES, weights="date,K1,K2\n2026-04-03,3.5,4.1\nAverage,3.5,4.1\n")
    assert codes(season).count("totals-line") == 1
    assert season.accounting.set_index("log").loc["weights"].tolist() == [3, 2, 1]


FLAT = """
pair;hatch date;chick;day 1;day 2;day 3;notes
P1;1.4.2026;K1;3,5;4,1;5;small
P1;2.4.2026;K2;3,4;-;4,8;
P2;2.4.2026;K3;3,6;4,4;;
"""


@pytest.mark.parametrize("name", ["hatches", "weights", "breeding book"])
def test_an_old_flat_sheet_fills_two_logs(open_logs, name):
    season = open_logs(**{name: FLAT})
    assert season.chicks["chick"].tolist() == ["K1", "K2", "K3"]
    assert weighed(season)[:2] == [("K1", "2026-04-02", 3.5), ("K1", "2026-04-03", 4.1)]
    assert season.accounting.set_index("log")["read"].to_dict() == {"hatches": 3, "weights": 7}
    assert any("flat sheet" in in_words(line) for line in season.assumed), season.assumed
    assert "unknown-log" not in codes(season)


def test_a_flat_sheet_without_chicks_names_them_by_pair(open_logs):
    season = open_logs(book="pair,hatched,d1,d2\nP1,2026-04-01,3.5,4\nP1,2026-04-02,3.4,\nP2,2026-04-02,3.6,4.4\n")
    assert season.chicks["chick"].tolist() == ["P1/1", "P1/2", "P2/1"]
    assert len(season.weights) == 5


def test_a_flat_sheet_may_hold_the_losses(open_logs):
    season = open_logs(book="chick,hatched,died,d1,d2\nK1,2026-04-01,2026-04-09,3.5,4\nK2,2026-04-02,,3.4,\n")
    assert season.losses["chick"].tolist() == ["K1"]
    assert season.chicks["fate"].tolist() == ["lost", "being reared"]


@pytest.mark.parametrize("name", ["hatches", "clutches", "count 2026"])
def test_a_count_sheet_fills_clutches(open_logs, name):
    season = open_logs(**{name: "pair,clutch,eggs,hatched,weaned\nP1,1,5,4,3\nP1,2,4,0,0\nP2,1,6,5,5\n"})
    assert season.clutches["eggs"].tolist() == [5, 4, 6]
    assert season.clutches["weaned"].tolist() == [3, 0, 5]
    assert season.accounting.set_index("log")["read"].to_dict() == {"clutches": 3}


def test_a_count_sheet_without_clutches_numbers_them(open_logs):
    season = open_logs(counts="pair,eggs,fertile,hatched\nP1,5,4,4\nP1,4,1,0\nP2,6,5,5\n")
    assert season.clutches["clutch"].tolist() == ["1", "2", "1"]
    assert season.clutches["clear"].tolist() == [1, 3, 1]


def test_what_has_no_name_and_no_known_headings_is_left_alone(open_logs):
    season = open_logs(hatches=HATCHES, shopping="what,price\nseed,12.50\n")
    assert codes(season).count("unknown-log") == 1


def test_headings_of_the_keepers_own(open_logs):
    settings = "setting,value\ncolumn: Wieviel,weight\ncolumn: Wer = chick,\ncolumn: Wann,weighedat\n"
    season = open_logs(hatches=HATCHES, settings=settings, weights="Wer,date,Wieviel\nK1,2026-04-03,3.5\n")
    assert weighed(season) == EIGHT[:1]
    assert [c for c in codes(season) if c != "species-unknown"] == ["bad-setting"]
    assert "(did you mean weighed_at?)." in season.problems["advice"].str.cat()


def test_headings_that_come_again_are_no_rows(open_logs):
    rows = "chick,weighed_at,weight\nK1,2026-04-03,3.5\n"
    season = open_logs(hatches=HATCHES, weights=rows + "Chick,Weighed at,Weight\nK1,2026-04-04,5\nK2,2026-04-03,4.1\n")
    assert weighed(season) == EIGHT


def test_a_unit_in_the_heading_is_the_columns_own(open_logs):
    season = open_logs(hatches=HATCHES, weights="chick,date,weight (oz)\nK1,2026-04-03,1\n")
    assert season.weights["mass_g"].tolist() == [28.349523125]  # exact, international avoirdupois ounce
    assert "other-unit" in codes(season)


def test_days_as_bare_numbers_in_an_old_sheet(open_logs):
    season = open_logs(weights="chick,hatched,pair,1,2,3\nKiwi,2026-04-03,A,4,4.6,5.2\nMango,2026-04-13,A,4.1,,5\n")
    assert season.weights["age_d"].tolist() == [1, 2, 3, 1, 3]
    assert season.chicks["pair"].tolist() == ["A", "A"]


def test_grids_side_by_side_keep_their_own_days(open_logs):
    grid = "date,K1,,date,K2\n2026-04-03,3.5,,2026-04-05,4.1\n2026-04-04,5,,2026-04-06,4.9\n"
    season = open_logs(hatches=HATCHES, weights=grid)
    assert weighed(season) == [*EIGHT[:2], ("K2", "2026-04-05", 4.1), ("K2", "2026-04-06", 4.9)]


@pytest.mark.parametrize("mark", ["N/A", "n/a", "-", "?", "Unknown"])
def test_what_says_that_nothing_is_known_is_blank_and_said(open_logs, mark):
    season = open_logs(hatches=f"pair,chick,hatched_at\n{mark},K1,{mark}\n")
    assert season.chicks["pair"].tolist() == [""]
    assert any("2 cells such as" in in_words(line) for line in season.assumed), season.assumed


@pytest.mark.parametrize(("ends_on", "used"), [("2026-03-31", ["2026-01-03"]), ("2027-03-31", [])])
def test_a_day_without_a_year_lies_in_the_season_or_nowhere(open_logs, ends_on, used):
    settings = f"setting,value\nstarts_on,2025-10-01\nends_on,{ends_on}\n"
    season = open_logs(settings=settings, hatches="chick,hatched_at\nK1,2026-01-01\n", weights="date,K1\n3 Jan,4\n")
    assert [f"{day:%Y-%m-%d}" for day in season.weights["weighed_at"]] == used


def test_what_is_broken_is_not_clear(open_logs):
    season = open_logs(clutches="pair,clutch,eggs,fertile,broken_or_gone,hatched\nP1,1,5,3,1,3\n")
    assert season.clutches["clear"].tolist() == [1]


@pytest.mark.parametrize(
    "logs",
    [
        {"weights": "day,K1\n1,5\n2,6\n3,7\n²,9\n"},
        {"weights": "chick,1,2,3,²\nK1,5,6,7,8\n"},
        {"weights": "day,K1\n1,5\n2,6\n3,7\n99999999999999999999,9\n"},
        {"hatches": "chick,hatched_at,sure_to_days\nK1,2026-04-01,1000000000\n"},
        {"settings": "setting,value\nstarts_on,9999-12-31\n"},
        {"settings": "setting,value\nends_on,0001-01-01\n"},
        {"weights": f"chick,weighed_at,weight\nK{'1' * 5000},2026-04-03,5\n"},
        {"hatches": f"pair,chick,hatched_at\nP{'1' * 5000},K1,2026-04-03\n"},
    ],
)
def test_numbers_beyond_all_measure_crash_nothing(open_logs, logs):
    season = open_logs(**{"hatches": HATCHES, "weights": "chick,weighed_at,weight\nK1,2026-04-03,5\n"} | logs)
    assert (season.accounting["read"] == season.accounting["used"] + season.accounting["not_used"]).all()
    assert codes(season)


def test_a_list_with_a_heading_twice_is_no_grid(open_logs):
    season = open_logs(hatches=HATCHES, weights="chick,weighed_at,chick,weight\nK1,2026-04-03,K2,3.5\n")
    assert weighed(season) == EIGHT[:1]
    assert "repeated-column" in codes(season)


def test_the_29th_of_february_lies_in_the_year_that_has_one(open_logs):
    settings = "setting,value\nstarts_on,2023-11-01\nends_on,2024-10-31\n"
    season = open_logs(settings=settings, hatches="chick,hatched_at\nK1,2024-02-20\n", weights="date,K1\n29 Feb,4\n")
    assert weighed(season) == [("K1", "2024-02-29", 4)]


def test_a_grid_that_begins_further_right_settles_the_order_too(open_logs):
    grid = ",,date,K1,K2\n,,03/04/2026,3.5,4.1\n,,04/04/2026,5,\n,,13/04/2026,,\n"
    assert weighed(open_logs(hatches=HATCHES, weights=grid)) == EIGHT


# -- columns that say together, or under another heading, what a log asks for


def test_an_hour_beside_its_day_is_of_that_day(open_logs):
    feeds = "Datum;Uhrzeit;Jungvogel;Menge ml\n14.4.2026;7:30;K1;2\n14.4.2026;;K1;3\n15.4.2026;19.05 Uhr;K1;4\n"
    season = open_logs(hatches=HATCHES, feeds=feeds)
    fed = [f"{at:%Y-%m-%d %H:%M}" for at in season.logs["feeds"]["fed_at"]]
    assert fed == ["2026-04-14 07:30", "2026-04-14 00:00", "2026-04-15 19:05"]
    assert "unknown-column" not in codes(season)


def test_what_is_no_hour_stays_and_is_said(open_logs):
    season = open_logs(
        hatches=HATCHES, weights="date,time,chick,weight\n2026-04-03,dusk,K1,3.5\n2026-04-04,9:00,K1,5\n"
    )
    assert [f"{at:%d %H:%M}" for at in season.weights["weighed_at"]] == ["03 00:00", "04 09:00"]
    assert season.problems.loc[season.problems["code"] == "unknown-column", "column"].tolist() == ["time"]


def test_days_under_a_heading_of_candling_are_its_days(open_logs):
    hatches = "Paar;Ei;gelegt;geschiert;Ergebnis Schieren\nP1;1;1.3.2026;9.3.2026;befruchtet\n"
    egg = open_logs(hatches=hatches).eggs.iloc[0]
    assert (f"{egg['candled_on']:%Y-%m-%d}", egg["fertile"]) == ("2026-03-09", "yes")


def test_who_has_a_ring_and_no_name_goes_by_it(open_logs):
    season = open_logs(
        hatches="ring,hatched,reared by\nA1,2026-04-01,hand\n", weights="ring,date,weight\nA1,2026-04-02,4\n"
    )
    assert season.chicks[["chick", "ring"]].to_numpy().tolist() == [["A1", "A1"]]
    assert season.weights["chick"].tolist() == ["A1"]


def test_where_pairs_go_by_their_cages_a_cage_is_a_pair(open_logs):
    season = open_logs(
        Breeding__cages="Cage,Variety,Cock,Hen\nG1,Zebra finch,Zeb,Zoe\nG2,Gouldian,Jim,Jo\n",
        Nest__book="Cage,1st egg,Eggs laid,Full,Hatched,Weaned\nG2,2026-03-01,5,4,4,3\n",
        Young__birds="Ring,Cage,Hatched\nA1,G1,2026-04-01\nA2,flight,2026-04-02\n",
    )
    assert season.pairs[["pair", "cage", "cock"]].to_numpy().tolist() == [["G1", "G1", "Zeb"], ["G2", "G2", "Jim"]]
    assert season.clutches[["pair", "eggs", "clear"]].to_numpy().tolist() == [["G2", 5, 1]]
    assert season.chicks[["chick", "pair"]].to_numpy().tolist() == [["A1", "G1"], ["A2", ""]]


def test_readings_without_a_place_are_of_the_incubator_their_file_is_called_by(open_logs):
    season = open_logs(
        hatches=HATCHES, Brüter="Datum;Temperatur\n1.4.2026;37,5\n", readings="date,temp\n2026-04-02,37\n"
    )
    assert season.logs["readings"][["place", "temperature"]].to_numpy().tolist() == [["Brüter", 37.5]]
    assert "no-headings" in codes(season)


@pytest.mark.parametrize(("heading", "column"), [("Breitemperatur", "temperature"), ("Temp. Brei", "temperature")])
def test_how_warm_its_food_was_is_read(open_logs, heading, column):
    season = open_logs(hatches=HATCHES, feeds=f"Datum;Vogel;{heading}\n3.4.2026;K1;44,5\n")
    assert season.logs["feeds"][column].tolist() == [44.5]
    assert "burning-hot" in codes(season)


# -- what the cells under a heading say of it


@pytest.mark.parametrize("times", [("06:30", "18.05"), ("6:30 AM", "6:05pm"), ("06:30:00", "18:05 uur")])
def test_a_time_of_day_in_a_column_of_its_own_is_read_with_its_day(open_logs, times):
    rows = "".join(f"K1,2026-04-0{3 + n},{time},4{n}\n" for n, time in enumerate(times))
    season = open_logs(hatches=HATCHES, weights=f"chick,date,Time,weight\n{rows}")
    assert season.weights["weighed_at"].dt.strftime("%d %H:%M").tolist() == ["03 06:30", "04 18:05"]
    assert "unknown-column" not in codes(season)
    assert any("read with the days beside them" in in_words(how) for _, how in season.read_as)


def test_a_time_that_is_none_stays_where_it_is_and_is_told(open_logs):
    rows = "K1,2026-04-03,evening,4\nK1,2026-04-04,07:00,5\nK1,2026-04-05 08:00,07:00,6\n?,,07:00,\n"
    season = open_logs(hatches=HATCHES, weights=f"chick,weighed_at,tijd,weight\n{rows}")
    assert season.weights["weighed_at"].dt.strftime("%d %H:%M").tolist() == ["03 00:00", "04 07:00", "05 08:00"]
    assert codes(season).count("unknown-column") == 1


def test_days_under_candled_are_its_day_and_fertile_is_no_outcome(open_logs):
    eggs = "1;8.4.2026;bevrucht;\n2;8.4.2026;schier;\n3;?;bevrucht;25.4.2026\n"
    season = open_logs(hatches=f"egg;Geschouwd;Uitslag;uit\n{eggs}")
    seen = season.eggs.sort_values("egg")
    assert seen["candled_on"].dt.day.fillna(0).tolist() == [8, 8, 0]
    assert seen["fertile"].tolist() == ["yes", "no", "yes"]
    assert seen["outcome"].tolist() == ["unknown", "clear", "hatched"]
    assert "unknown-choice" not in codes(season)


def test_a_day_of_death_in_a_column_of_its_own_is_a_loss(open_logs):
    rows = "K1,2026-04-01,died 4/24/2026\nK2,2026-04-02,in the nest\nK3,2026-04-02,dood 20-4-2026\n"
    season = open_logs(hatches=f"chick,hatched_at,Sold/Died\n{rows}")
    lost = season.chicks.set_index("chick")["lost_on"].dt.day.fillna(0)
    assert lost.to_dict() == {"K1": 24, "K2": 0, "K3": 20}
    assert season.accounting.set_index("log")["used"].to_dict() == {"hatches": 3, "losses": 2}
    assert codes(season).count("unknown-column") == 1  # "in the nest" is left alone, and told
    sold = open_logs(hatches="chick,hatched_at,Status\nK1,2026-04-01,sold 4/24/2026\n")
    assert sold.chicks["lost_on"].isna().all()
    assert "unknown-column" in codes(sold)


def test_eggs_set_in_an_incubator_and_readings_of_a_file_of_that_name_belong_together(tmp_path):
    eggs = "pair,egg,laid,set in incubator\nP1,1,2026-04-01,2026-04-02\nP1,2,2026-04-03,\n"
    (tmp_path / "eggs.csv").write_text(eggs)
    (tmp_path / "incubator log.csv").write_text("Date,Time,Incubator temp F,Humidity %\n2026-04-03,7:00 AM,99.5,40\n")
    (tmp_path / "settings.csv").write_text("setting,value\ntemperature_unit,F\n")
    season = open_season(tmp_path)
    assert season.eggs.sort_values("egg")["incubated_by"].tolist() == ["incubator", "P1"]
    assert season.logs["readings"][["place", "humidity_pct"]].values.tolist() == [["incubator", 40]]
    assert round(season.logs["readings"]["temperature"].iloc[0], 1) == 37.5
    assert any("read as of incubator, after its name" in in_words(how) for _, how in season.read_as)
