"""Raw tables → typed rows: every kind of bad cell, and rows read = used + not used for every log."""

import pytest

from analysis.logs.cells import BadCell, read_count, read_number, read_temperature, read_weight
from analysis.logs.dates import read_moment
from analysis.say import in_words
from support import DEMO, codes, demo


@pytest.mark.parametrize("text", ["2026-02-30", "2026-13-01", "30.13.2026", "yesterday", "2026-04-03 25:00", "4611"])
def test_what_is_no_date_is_not_guessed(text):
    with pytest.raises(BadCell, match="unreadable-date"):
        read_moment(text)


def test_dates_with_and_without_a_time():
    assert read_moment("2026-4-3")[1] is False
    moment, timed = read_moment("2026-04-03T06:30:15")
    assert (f"{moment:%H:%M:%S}", timed) == ("06:30:15", True)


def test_numbers():
    assert [read_number(t) for t in ("23", "23.5", "23,5", "-1", ".5")] == [23, 23.5, 23.5, -1, 0.5]
    for text in ("1e999", "nan", "inf", "2,3,4", "23 mice", "1 2", ""):
        with pytest.raises(BadCell, match="unreadable-number"):
            read_number(text)
    for text in ("2.5", "-1"):
        with pytest.raises(BadCell, match="unreadable-count"):
            read_count(text)


def test_units_in_a_cell():
    # 1 oz = 28.349523125 g: exact, international avoirdupois
    assert read_weight("1 oz", "g") == (28.349523125, True, False)
    assert read_weight("12 g", "g") == (12.0, False, False)
    assert read_weight("1", "oz") == (28.349523125, False, False)
    # 110 °F = 43.3 °C, as LafeberVet's pediatric page gives both
    assert read_temperature("110", "F") == pytest.approx(43.3, abs=0.05)
    assert read_temperature("40 C", "F") == 40.0


def test_a_bad_cell_costs_the_row_only_where_it_is_needed(open_logs):
    season = open_logs(
        hatches="chick,hatched_at,outcome\nK1,2026-04-01,hatchd\n",
        weights="chick,weighed_at,weight,crop\nK1,2026-04-02,4.1,stuffed\nK1,soon,5,\n",
    )
    assert codes(season) == ["unknown-choice", "unknown-choice", "unreadable-date"]
    assert season.problems["severity"].tolist() == ["cell not used", "cell not used", "not used"]
    assert season.weights["mass_g"].tolist() == [4.1]
    assert season.not_used["cells"].tolist() == ["hatchd", "stuffed", "K1 | soon | 5 | "]
    assert season.not_used["column"].tolist() == ["outcome", "crop", ""]


def test_missing_names_dates_and_values(open_logs):
    season = open_logs(
        hatches="pair,chick,hatched_at\nP1,,2026-04-01\nP1,K1,2026-04-01\n",
        weights="chick,weighed_at,weight\n,2026-04-02,4\nK1,,4\nK1,2026-04-02,\n",
    )
    assert codes(season) == [
        "name-missing",
        "species-unknown",
        "name-missing",
        "date-missing",
        "value-missing",
    ]


def test_a_log_without_its_needed_columns(open_logs):
    season = open_logs(hatches="chick,hatched_at\nK1,2026-04-01\n", weights="wann genau,schwere\nmay,4\njune,5\n")
    assert codes(season) == ["no-headings"]
    assert "no column is called chick, weighed_at, weight" in season.problems["advice"][0]
    assert season.accounting.set_index("log").loc["weights"].tolist() == [2, 0, 2]
    season = open_logs(losses="where,when\nK1,may\n")
    assert codes(season).count("no-headings") == 2  # the weights of before are still there
    assert season.accounting.set_index("log").loc["losses"].tolist() == [1, 0, 1]


def test_columns_of_the_keepers_own_are_left_alone(open_logs):
    season = open_logs(hatches="chick,hatched_at,mood,chick\nK1,2026-04-01,bold,K2\n")
    assert codes(season) == ["unknown-column", "repeated-column"]
    assert season.chicks["chick"].tolist() == ["K1"]


def test_settings(open_logs):
    season = open_logs(
        hatches="chick,hatched_at\nK1,2026-04-01\n",
        settings="setting,value\nwieght_unit,oz\npaper,legal\nLanguage,EN\nlanguage,en\nseason,2026\n",
    )
    assert codes(season) == ["unknown-setting", "bad-setting", "repeated-row"]
    assert "Did you mean weight_unit?" in season.problems["advice"][0]
    assert season.problems["advice"][2] == "Row 4 says the same and is used."
    assert (season.settings["paper"], season.settings["language"]) == ("A4", "en")


def test_a_setting_written_twice_with_two_values(open_logs):
    hatches = "chick,hatched_at\nK1,2026-04-01\n"
    season = open_logs(hatches=hatches, settings="setting,value\npaper,A4\nweight_unit,g\nweight_unit,oz\n")
    assert codes(season) == ["name-used-twice"]
    assert season.problems["advice"][0].startswith("Row 3 has this name too, and says something else. Row 3 is used")
    assert season.settings["weight_unit"] == "g"


def test_both_ways_round_of_a_grid(open_logs):
    hatches = "chick,hatched_at\nK1,2026-04-01\nK2,2026-04-01\n"
    days = open_logs(hatches=hatches, weights="date,K1,K2\n2026-04-02,4,5\n2026-04-03,6,\n")
    turned = open_logs(hatches=hatches, weights="chick,2026-04-02,2026-04-03\nK1,4,6\nK2,5,\n")
    columns = ["chick", "age_d", "mass_g"]
    assert days.weights[columns].equals(turned.weights[columns])
    assert days.accounting.set_index("log").loc["weights", "read"] == 3  # a blank cell: not weighed


def test_what_was_not_weighed_is_blank_in_any_words(open_logs):
    hatches = "chick,hatched_at\nK1,2026-04-01\nK2,2026-04-01\n"
    words = ["not weighed", "Nicht gewogen", "pas pesé", "n/a", "-", "k.A."]
    grid = "".join(f"2026-04-{day},{word},5\n" for day, word in enumerate(words, 10))
    season = open_logs(hatches=hatches, weights=f"date,K1,K2\n{grid}")
    assert codes(season) == []
    assert season.accounting.set_index("log").loc["weights"].tolist() == [6, 6, 0]
    assert any("6 cells such as ? or n/a read as blank" in in_words(how) for _, how in season.read_as)
    listed = open_logs(weights="chick,weighed_at,weight,crop\nK1,2026-04-10,not weighed,full\n")
    assert codes(listed) == ["value-missing"]
    assert listed.crops["crop"].tolist() == ["full"]


def test_what_stands_beside_a_weight_goes_where_it_belongs(open_logs):
    season = open_logs(
        hatches="chick,hatched_at,sure_to_days\nK1,ca 1.4.26,2\nK2,approx 1.4.26,\n",
        weights="date,K1,K2\n2026-04-10,7 (full crop),8 (after its feed)\n2026-04-11,dead,9\n",
    )
    assert codes(season) == ["about-hatch", "crop-beside-weight", "words-beside-weight", "loss-in-weights"]
    assert season.problems["row"].tolist() == [3, 2, 2, 3]  # K1 says how sure its day is
    assert season.chicks["hatched_at"].dt.day.tolist() == [1, 1]
    assert season.weights[["chick", "mass_g", "crop", "notes"]].to_numpy().tolist() == [
        ["K1", 7, "full", ""],
        ["K2", 8, "", "after its feed"],
        ["K2", 9, "", ""],
    ]
    assert "Was K1 lost? Then write it into losses" in season.problems["advice"].iloc[-1]


def test_a_bad_cell_of_a_grid_names_its_column(open_logs):
    season = open_logs(hatches="chick,hatched_at\nK1,2026-04-01\n", weights="weighed_at,K1,K9\n2026-04-02,4x,5\n")
    assert season.problems[["row", "column", "code"]].to_numpy().tolist() == [
        [2, "weight", "unreadable-number"],
        [2, "chick", "unknown-chick"],
    ]
    assert season.not_used["column"].tolist() == ["K1", "K9"]


def test_every_row_of_the_demo_is_accounted_for():

    season = demo()
    lines = {path.stem: path.read_text().splitlines() for path in DEMO.glob("*.csv")}
    written = {log: sum(1 for line in text if line.strip(", ")) - 1 for log, text in lines.items()}
    accounting = season.accounting.set_index("log")
    assert accounting["read"].to_dict() == written
    assert (accounting["read"] == accounting["used"] + accounting["not_used"]).all()
    whole_rows = season.not_used[season.not_used["column"] == ""]
    assert len(whole_rows) == accounting["not_used"].sum() > 0
