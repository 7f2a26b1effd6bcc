"""Where no season is named its year is told by the dates; rows of another season; days later than today."""

import pandas as pd
import pytest

from analysis.check.summary import check_json, check_text
from analysis.cli import main
from analysis.report.kernel import key_of
from analysis.report.round_page import morning_round
from analysis.season import open_season
from support import codes

PAIRS = "pair,species\nP1,cockatiel\n"
HEAD = "pair,clutch,egg,laid_on,hatched_at,chick\n"


def hatches(*firsts):
    """One clutch a first day: five eggs, laid every second day, the first hatched 21 days later."""
    rows = ""
    for nth, first in enumerate(map(pd.Timestamp, firsts), 1):
        for egg in range(5):
            laid = first + pd.Timedelta(days=2 * egg)
            hatch = f"{laid + pd.Timedelta(days=21):%Y-%m-%d},K{egg}" if egg == 0 else ","
            rows += f"P1,{nth},{egg},{laid:%Y-%m-%d},{hatch}\n"
    return HEAD + rows


def weights(*days, chick="K0"):
    return "chick,weighed_at,weight\n" + "".join(f"{chick},{day},{20 + at}\n" for at, day in enumerate(days))


def in_short(season):
    """What was held against, as said."""
    return next(how for _, how in season.read_as if "bounds" in how.code)


def test_the_year_that_most_dates_lie_in_holds_and_is_said(open_logs):
    season = open_logs(
        pairs=PAIRS, hatches=hatches("2026-03-01"), weights=weights("2026-03-25", "2025-03-26", "2026-03-27")
    )
    assert codes(season) == ["far-from-season"]
    assert season.weights["weighed_at"].dt.year.tolist() == [2026, 2026]
    said = in_short(season)
    assert (said.code, said.facts["years"]) == ("logs.bounds-of-most", ["2026"])
    assert "most dates lie in 2026, so dates are held against 2026-01-01 to 2026-12-31" in check_text(season)


def test_a_season_over_new_year_stays_whole(open_logs):
    season = open_logs(pairs=PAIRS, hatches=hatches("2025-10-01", "2025-11-20", "2026-01-08", "2026-02-20"))
    assert not {"far-from-season", "outside-season", "two-seasons"} & set(codes(season))
    assert len(season.eggs) == 17  # K0 thrice again is another matter
    assert season.eggs["laid_on"].min() == pd.Timestamp("2025-10-01")
    assert in_short(season).facts["first"] == pd.Timestamp("2025-10-01")


def test_a_handful_of_dates_tells_no_year(open_logs):
    season = open_logs(hatches="chick,hatched_at\nK1,2025-12-01\nK2,2026-06-01\n")
    assert codes(season) == []
    assert in_short(season).code == "logs.no-bounds"


@pytest.mark.parametrize("again", ["K0", "Jo"])
def test_two_seasons_in_one_log_are_asked_about_once(open_logs, again):
    both = hatches("2025-03-01", "2026-03-01")
    season = open_logs(pairs=PAIRS, hatches=both.replace("2026-03-22,K0", f"2026-03-22,{again}"))
    asked = season.problems[season.problems["code"] == "two-seasons"]
    assert asked[["file", "value"]].values.tolist() == [["hatches.csv", "2025 and 2026"]]
    assert "--with" in asked["advice"].item()
    assert "far-from-season" not in codes(season)
    assert codes(season).count("name-of-two-seasons") == (again == "K0")
    assert "name-used-twice" not in codes(season)
    assert len(season.eggs) == 10 - (again == "K0")


def test_two_seasons_in_a_file_each_are_asked_about_at_the_first(write_logs):
    folder = write_logs(**{f"hatches {year}": hatches(f"{year}-03-01") for year in (2025, 2026)})
    asked = open_season(folder).problems.query("code == 'two-seasons'")
    assert asked[["file", "value"]].values.tolist() == [["hatches 2025.csv", "2025 and 2026"]]
    (folder / "weights.csv").write_text(weights("2025-03-25", "2025-03-26", "2026-03-25", "2026-03-26"))
    asked = open_season(folder).problems.query("code == 'two-seasons'")
    assert asked["file"].tolist() == ["weights.csv"]  # the log that holds both goes first


def test_a_pair_put_up_again_in_another_year_is_of_another_season(open_logs):
    head = "pair,species,cock,hen,put_up_on\n"
    apart = open_logs(pairs=f"{head}P1,cockatiel,Pip,Hazel,2025-01-05\nP1,cockatiel,Oak,Fern,2026-01-05\n")
    assert "name-of-two-seasons" in codes(apart)
    together = open_logs(pairs=f"{head}P1,cockatiel,Pip,Hazel,2026-01-05\nP1,cockatiel,Oak,Fern,2026-03-05\n")
    assert "name-used-twice" in codes(together)


def test_rows_of_another_season_are_set_aside_with_one_problem(open_logs):
    days = [f"2025-03-{day}" for day in range(25, 31)]
    season = open_logs(
        settings="setting,value\nseason,2026\n",
        pairs=PAIRS,
        hatches=hatches("2025-03-01", "2026-03-01"),
        weights=weights(*days, "2026-03-25", "2062-03-26"),
    )
    other = season.problems[season.problems["code"] == "other-season"]
    assert other[["file", "row", "value", "severity"]].values.tolist() == [
        ["hatches.csv", 2, "2025", "not used"],
        ["weights.csv", 2, "2025", "not used"],
    ]
    assert "5 rows are of 2025 (row 2–6)" in other["advice"].iloc[0]
    assert codes(season).count("far-from-season") == 1  # the one slip
    assert season.accounting.set_index("log").loc[["hatches", "weights"]].values.tolist() == [[10, 5, 5], [8, 1, 7]]
    assert set(season.eggs["laid_on"].dt.year) == {2026}


def test_four_slips_are_no_season(open_logs):
    days = [f"2025-03-{day}" for day in range(25, 29)]
    season = open_logs(
        settings="setting,value\nseason,2026\n", pairs=PAIRS, hatches=hatches("2026-03-01"), weights=weights(*days)
    )
    assert codes(season).count("far-from-season") == 4


# -- later than today

AHEAD = {
    "settings": "setting,value\nseason,2026\n",
    "pairs": PAIRS,
    "hatches": hatches("2026-03-01").replace("pair,", "pair,reared_by,").replace("P1,", "P1,hand,"),
    "weights": weights("2026-03-25", "2026-03-26", "2026-08-27"),
    "signs": "who,seen_at,sign\nK0,2026-08-26,eating alone\nK0,2026-08-27,eating alone\n",
}
SIGNS_TOO = "signs.csv row 2–3, seen_at: 2026-08-26 and 2026-08-27 are later than today. Check the year and the month."
LATER = "weights.csv row 4, weighed_at: 2026-08-27 is later than today. Check the year and the month."


def test_a_day_after_today_is_asked_about_and_used(open_logs, set_clock):
    set_clock("2026-03-27 07:00")
    season = open_logs(**AHEAD)
    assert f"Later than today (2), and used as written\n  {SIGNS_TOO}\n  {LATER}" in check_text(season)
    assert LATER in check_json(season)
    assert len(season.weights) == 3
    set_clock("2026-08-27 00:00")
    assert "ater than today" not in check_text(open_season(season.folder))


def test_the_round_asks_on_the_screen_alone(write_logs, set_clock, tmp_path):
    folder = write_logs(**AHEAD)
    set_clock("2026-03-27 07:00")
    made = morning_round(folder, tmp_path / "one")
    assert made.lines()[-1] == f"  {LATER}"
    early, pages = open_season(folder), made.pdf.read_bytes()
    set_clock("2026-09-01 07:00")
    again = morning_round(folder, tmp_path / "two", on="2026-03-27")
    assert "ater than today" not in " ".join(again.lines())
    assert again.pdf.read_bytes() == pages
    assert key_of(open_season(folder)) == key_of(early)


@pytest.mark.parametrize("form", [[], ["--workbook"]])
def test_a_new_folder_is_of_this_year(tmp_path, set_clock, form):
    from click.testing import CliRunner

    set_clock("2031-02-03 07:00")
    assert CliRunner().invoke(main, ["new", str(tmp_path / "mine"), *form]).exit_code == 0
    assert open_season(tmp_path / "mine").settings["season"] == "2031"
