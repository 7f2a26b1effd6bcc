"""Next season from the record: ranges that hold what the counts allow, one pair more or less, and the command."""

import subprocess
import sys

import numpy as np
import pytest

from analysis import SeasonError
from analysis.pairs.evidence import ClutchValue, StageDraws
from analysis.pairs.next_season import Habits, draw, habits, outlook, outlook_lines
from support import DEMO, ROOT, demo_judged


@pytest.fixture(scope="module")
def record():
    return demo_judged().record


def sure(**stages):
    one = dict.fromkeys(("intact", "fertile", "hatch", "wean"), at(1.0)) | stages
    return ClutchValue(eggs=np.full(4000, 4.0), **one)


def at(rate, failing=0.0):
    return StageDraws(np.full(4000, rate), np.full(4000, failing), np.zeros(4000))


TWO_OF_FOUR = Habits(
    clutches=np.array([2.0]), sizes=np.array([4.0]), first_day=91, spacing_d=70, incubation_d=21, wean_d=49
)


def test_sure_rates_give_whole_clutches_in_their_weeks():
    drawn = draw(TWO_OF_FOUR, sure(), np.random.default_rng(1))
    assert set(drawn.weaned) == {8.0}
    # hatched about day 112 and 182 of the year, in hand for seven weeks each
    weeks = np.flatnonzero(drawn.in_hand.mean(axis=0) > 2) + 1
    assert weeks.tolist() == [*range(17, 24), *range(27, 34)]
    assert drawn.in_hand.mean(axis=0).sum() == pytest.approx(2 * 4 * 7, rel=0.02)


def test_luck_of_single_eggs_is_binomial():
    drawn = draw(TWO_OF_FOUR, sure(hatch=at(0.5)), np.random.default_rng(1))
    assert drawn.weaned.mean() == pytest.approx(4, abs=0.1)
    assert drawn.weaned.var() == pytest.approx(8 * 0.25, rel=0.1)
    failing = draw(TWO_OF_FOUR, sure(hatch=at(1.0, failing=0.5)), np.random.default_rng(1))
    assert failing.weaned.mean() == pytest.approx(4, abs=0.15)
    assert failing.weaned.var() == pytest.approx(2 * 16 * 0.25, rel=0.1)  # clutches fail whole: the same mean, wider


def test_habits_are_the_pairs_own_then_its_species(record):
    mine = habits(record, "P01")
    assert (mine.clutches.max(), mine.incubation_d) == (2, 21)  # three were laid; the keeper's limit is two
    assert set(mine.sizes) >= {5.0}
    assert 40 < mine.wean_d < 60
    assert habits(record, "P07").incubation_d == 27


def test_pairs_add_up_and_one_more_or_less_is_told(record):
    season = record.season
    both, one = (outlook(season, keep, record=record) for keep in (["p07", "P01"], ["P01"]))
    assert both.keep == ("P01", "P07")
    pairs = both.pairs.set_index("pair")
    assert both.total["mean"] == pytest.approx(pairs.loc[["P01", "P07"], "weaned"].sum())
    assert pairs.loc["P07", "total_without"] == pytest.approx(one.total["mean"])
    assert pairs.loc["P12", "total_with"] == pytest.approx(both.total["mean"] + pairs.loc["P12", "weaned"])
    assert both.total["low"] < both.total["middle"] < both.total["high"]
    assert (both.weeks["low"] <= both.weeks["high"]).all()
    again = outlook(season, ["P01", "P07"], record=record)
    assert again.total.equals(both.total)
    assert outlook(season, [], record=record).total["mean"] == 0


def test_next_season_holds_what_this_one_gave(record):
    everything = outlook(record.season, record=record)
    weaned = (record.season.chicks["fate"] == "weaned").sum()
    assert everything.total["low"] < weaned < 2 * everything.total["high"]


def test_a_name_that_is_no_pair_and_a_season_without_eggs_are_plain(record, open_logs):
    with pytest.raises(SeasonError, match="No pair of this season is called P99"):
        outlook(record.season, ["P99"], record=record)
    with pytest.raises(SeasonError, match="Nothing was laid"):
        outlook(open_logs(pairs="pair,species\nP1,cockatiel\n"))


def test_the_command_prints_it():
    command = [sys.executable, "-m", "analysis.cli", "outlook", str(DEMO), "--keep", "P01,P02"]
    run = [sys.executable, "-c", "from analysis.cli import main; main()", *command[3:]]
    done = subprocess.run(run, capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.startswith("Next season with P01 and P02: ")
    assert "without it" in done.stdout
    assert "(advice: stop breeding)" in done.stdout  # P06, past the keeper's own limit
    assert "week of" in done.stdout
    assert "You decide which pairs to keep." in done.stdout
    wrong = subprocess.run([*run[:-1], "P01,Q9"], capture_output=True, text=True, cwd=ROOT)
    assert (wrong.returncode, wrong.stdout) == (2, "")
    assert wrong.stderr.startswith("season: No pair of this season is called Q9.")


def test_lines_for_no_pair(record):
    assert list(outlook_lines(outlook(record.season, [], record=record))) == ["Next season with no pair: no chicks."]


def test_a_chick_that_is_lost_is_in_hand_for_a_fifth_of_the_time_to_weaning():
    drawn = draw(TWO_OF_FOUR, sure(wean=at(0.0)), np.random.default_rng(1))
    assert set(drawn.weaned) == {0.0}
    # most losses come early (practice): of 49 days 9.8, or 1.4 weeks
    assert drawn.in_hand.mean(axis=0).sum() == pytest.approx(2 * 4 * 1.4, rel=0.03)
