"""How often pairs lay, when they begin, and how long before that they are put up: by hand, and from logs."""

import numpy as np
import pandas as pd
import pytest

from analysis import open_season
from analysis.pairs.habits import (
    ALIKE,
    ALL,
    CUSTOM,
    OWN,
    clutch_chances,
    days_ahead,
    most_clutches,
    pair_seasons,
    usual,
)
from analysis.pairs.record import read_record
from support import demo_judged

PAIRS = "pair,species,cage,cock,hen,put_up_on\nP1,cockatiel,C1,A,B,{year}-02-01\nP2,cockatiel,C2,C,D,{year}-02-01\n"
HEAD = "egg,pair,clutch,laid_on,outcome\n"


@pytest.fixture(scope="module")
def record():
    return demo_judged().record


def known(counts, running=()):
    """A row a pair-season of cockatiels: {"P1": [2, 0]}; `running` are pairs whose last one still runs."""
    rows = [
        (pair, clutches, at == len(all_) - 1 and pair in running)
        for pair, all_ in counts.items()
        for at, clutches in enumerate(all_)
    ]
    frame = pd.DataFrame(rows, columns=["pair", "clutches", "running"])
    return frame.assign(species="cockatiel", kind="pair", season="2026")


def test_chances_by_hand(record):
    # cockatiels of the demo lay two at most. Of 0: (0 + 1) / (3 + 10); of 1, of those that lay: (2 + 0.5) / (3 + 1)
    nothing, once = 1 / 13, (12 / 13) * 2.5 / 4
    species = np.array([nothing, once, 1 - nothing - once])
    seasons = known({"P1": [1], "P2": [1], "P3": [3]})
    one = clutch_chances(record, seasons, "P1")
    assert one == pytest.approx((2 * species + [0, 1, 0]) / 3)
    assert clutch_chances(record, seasons, "P3") == pytest.approx((2 * species + [0, 0, 1]) / 3)  # three were laid


def test_a_season_in_which_it_laid_nothing_counts(record):
    others = {f"P{n}": [2] for n in range(2, 9)}
    laid, none = (clutch_chances(record, known(others | {"P1": own}), "P1") for own in ([2], [0]))
    # 7 of 8 laid: nothing is (1 + 1) / (8 + 10) of its species', and its own season counts beside two of these
    assert none[0] == pytest.approx((1 + 2 * 2 / 18) / 3)
    assert none[0] > 0.4 > 0.05 > laid[0]
    more = clutch_chances(record, known(others | {"P1": [0, 2, 2, 2]}), "P1")
    assert more[0] < none[0]


def test_of_a_season_that_runs_only_what_was_laid_so_far_is_known(record):
    counts = {"P1": [1], "P2": [2], "P3": [2], "P4": [1]}
    over, running = (clutch_chances(record, known(counts, of), "P1") for of in ((), ("P1",)))
    assert running[0] == over[0]  # it has laid
    assert running[2] > over[2]
    # at least one, by its species: 0 of 4 laid none; of those over, one of three stopped at one
    nothing, once = 1 / 14, (13 / 14) * (1 + 0.5) / (3 + 1)
    species = np.array([nothing, once, 1 - nothing - once])
    least = np.array([0, *species[1:]])
    assert running == pytest.approx((2 * species + least / least.sum()) / 3)


def test_whose_habit_it_is():
    frame = pd.DataFrame(
        {
            "pair": ["P1", "P1", "P2", "P3", "P4"],
            "species": ["cockatiel", "cockatiel", "cockatiel", "budgerigar", "budgerigar"],
            "first_d": [10.0, 30.0, 60.0, np.nan, np.nan],
            "lead_d": np.nan,
        }
    )
    assert usual(frame, "P1", "first_d") == (20.0, OWN)
    assert usual(frame.assign(pair=["P1", "P1", "P2", "P2", "P2"]).iloc[1:], "P2", "first_d") == (60.0, OWN)
    assert usual(pd.concat([frame, frame.iloc[[2]].assign(pair="P5", first_d=np.nan)]), "P5", "first_d") == (
        30.0,
        ALIKE,
    )
    assert usual(frame, "P3", "first_d") == (30.0, ALL)
    assert usual(frame, "P3", "lead_d") == (30.0, CUSTOM)


def test_seasons_of_pairs_from_logs(write_logs, tmp_path):
    def logs(year, eggs):
        settings = f"setting,value\nseason,{year}\n"
        folder = write_logs(settings=settings, pairs=PAIRS.format(year=year), hatches=HEAD + eggs)
        return folder.rename(tmp_path / f"s{year}")

    # 2025: P1 laid two clutches, P2 none; 2026: P1 one on 1 March, and the logs end on 20 March
    before = logs(2025, "1,P1,1,2025-03-03,clear\n2,P1,2,2025-05-02,clear\n")
    now = logs(2026, "1,P1,1,2026-03-01,clear\n2,P1,1,2026-03-20,clear\n")
    seasons = pair_seasons(read_record(open_season(now, [before]))).set_index(["season", "pair"])
    assert seasons["clutches"].to_dict() == {("2026", "P1"): 1, ("2026", "P2"): 0, ("2025", "P1"): 2, ("2025", "P2"): 0}
    assert seasons.loc["2026", "running"].tolist() == [True, True]  # another clutch may come to both
    assert not seasons.loc["2025", "running"].any()  # a season that is over says so
    assert seasons.loc[("2025", "P1"), ["first_d", "lead_d", "spacing_d"]].tolist() == [61, 30, 60]
    assert seasons.loc[("2026", "P1"), ["first_d", "lead_d"]].tolist() == [59, 28]
    (now / "signs.csv").write_text("who,seen_at,sign\nP1,2026-07-31,plucked\n")  # the same logs, kept up to July
    later = pair_seasons(read_record(open_season(now, [before]))).set_index(["season", "pair"])
    assert not later["running"].any()  # now P2 has laid nothing in two seasons


def test_limits_and_days_of_the_season_ahead(record, open_logs):
    season = record.season
    assert (most_clutches(season, "cockatiel"), most_clutches(season, "zebra finch")) == (2, 3)
    assert most_clutches(season, "canary") == 3  # the setting's
    assert most_clutches(season, "zebra finch", "colony") > 5  # nobody knows whose
    assert [str(day.date()) for day in days_ahead(season)] == ["2027-01-01", "2027-12-31"]
    own = open_logs(
        settings="setting,value\nstarts_on,2025-09-01\nends_on,2026-06-30\n", pairs="pair,species\nP1,canary\n"
    )
    assert [str(day.date()) for day in days_ahead(own)] == ["2026-09-01", "2027-06-30"]
    none = open_logs(
        settings="setting,value\naviary,A\n",
        pairs="pair,species\nP1,canary\n",
        hatches=HEAD + "1,P1,1,2026-04-02,clear\n",
    )
    assert [str(day.date()) for day in days_ahead(none)] == ["2027-01-01", "2027-12-31"]
