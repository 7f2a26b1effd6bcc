"""The second truth is what it says it is: shares over big samples, and logs that read back as they were lived."""

from datetime import date

import numpy as np
import pandas as pd
import pytest
from known_seasons import SET, STAGES, WEAN, YEAR, other, simulated
from other_aviary import CENTRES, INCUBATOR, MEAN_EGGS, SPREADS, Ways, World, some_of

from analysis import open_season
from analysis.pairs.record import FERTILE, HATCH
from analysis.rates import clutch_counts, stage_rates

MANY = 2000


def big(pairs=MANY, **ways):
    return World(Ways(pairs=pairs, **ways), 1).season(None, YEAR)


@pytest.fixture(scope="module")
def told():
    return big()


def logits(rates):
    return np.log(rates / (1 - rates))


def alike(k, n):
    """The intraclass correlation of clutches of equal expectation, by moments."""
    p, least = k.sum() / n.sum(), n >= 2
    k, n = k[least], n[least]
    over = ((k - n * p) ** 2 - n * p * (1 - p)).sum()
    return over / (n * (n - 1) * p * (1 - p)).sum()


@pytest.mark.parametrize("rho", [0.0, 0.15, 0.4])
def test_eggs_of_a_clutch_are_as_much_alike_as_was_asked(rho):
    rng = np.random.default_rng(0)
    n = np.full(20_000, 5)
    k = np.array([some_of(5, 0.8, rho, rng) for _ in n])
    assert k.mean() / 5 == pytest.approx(0.8, abs=0.01)
    assert alike(k, n) == pytest.approx(rho, abs=0.02)


def test_each_stage_of_a_season_is_scattered_by_clutch():
    told = big(spread=0.0, season_sd=0.0, pair_season_sd=0.0, never=0.0).clutches
    for tried, worked in (("eggs", "whole"), ("whole", "fertile"), ("fertile", "hatched"), ("hatched", "weaned")):
        assert alike(told[worked], told[tried]) == pytest.approx(0.15, abs=0.03), worked


def test_shares_are_those_that_were_asked(told):
    laid = told.pairs.index.isin(told.clutches["pair"])
    assert 1 - laid.mean() == pytest.approx(0.10, abs=0.02)
    assert told.pairs["never"].mean() == pytest.approx(0.08, abs=0.02)
    assert told.pairs.loc[told.pairs["never"], "fertile"].mean() == pytest.approx(1 / 25, abs=0.02)
    clutches = told.clutches
    assert 1 - clutches["whole"].sum() / clutches["eggs"].sum() == pytest.approx(0.10, abs=0.01)
    assert clutches["eggs"].mean() == pytest.approx(MEAN_EGGS, abs=0.05)
    assert set(clutches["fails"]) == {""}
    assert big(fails=0.2).clutches["fails"].ne("").mean() == pytest.approx(0.2, abs=0.02)
    never = clutches[clutches["pair"].isin(told.pairs.index[told.pairs["never"]])]
    assert never["fertile"].sum() / never["whole"].sum() == pytest.approx(1 / 25, abs=0.03)
    several = clutches[clutches.duplicated("pair", keep=False)]
    assert several.groupby("pair")["cage"].nunique().gt(1).mean() > 0.25


def test_pairs_and_their_seasons_spread_on_the_logit():
    told = big(season_sd=0.0)
    ordinary = told.pairs[~told.pairs["never"]]
    effects = logits(ordinary[["fertile", "hatch", "wean"]])
    assert effects.mean().to_numpy() == pytest.approx(CENTRES, abs=0.06)
    assert effects.std().to_numpy() == pytest.approx(SPREADS, abs=0.04)
    now = told.clutches.drop_duplicates("pair").set_index("pair")
    own = logits(now["hatch_p"]) - logits(told.pairs.loc[now.index, "hatch"])
    assert own.std() == pytest.approx(0.3, abs=0.03)


def test_a_season_moves_all_pairs_alike_and_birds_go_on():
    moved = []
    for seed in range(100):
        world = World(Ways(pairs=2, never=0.0), seed)
        before, after = (logits(world.season(None, year).pairs[["fertile", "hatch", "wean"]]) for year in (2025, 2026))
        change = (after - before).to_numpy()
        assert change[0] == pytest.approx(change[1])
        moved.append(change[0])
    assert np.std(moved) == pytest.approx(0.3 * np.sqrt(2), abs=0.04)


def test_losses_are_early_and_of_the_later_hatched_and_weaning_is_at_45_days(told):
    hatches = pd.DataFrame(told.logs["hatches"]).dropna(subset="chick")
    lost = pd.DataFrame(told.logs["losses"]).merge(hatches, on="chick")
    age = lost["found_on"].map(date.toordinal) - lost["hatched_at"].map(date.toordinal)
    assert age.median() <= 6 < age.max() <= 40
    weaned = hatches.dropna(subset="weaned_on")
    days = weaned["weaned_on"].map(date.toordinal) - weaned["hatched_at"].map(date.toordinal)
    assert days.mean() == pytest.approx(45, abs=0.2)
    place = hatches.sort_values("hatched_at").groupby(["pair", "clutch"]).cumcount()
    is_lost = hatches["chick"].isin(lost["chick"])
    assert place[is_lost].mean() > place[~is_lost].mean() + 0.2


def test_what_is_to_be_found_is_there():
    ways = {"season_sd": 0.0, "pair_season_sd": 0.0, "spread": 0.0, "never": 0.0, "incubator": 0.5}
    harmless, told = big(200, **ways), big(200, **ways, bad_cage=-2.0, heat=-2.0)
    for clutches, worse in ((harmless.clutches, False), (told.clutches, True)):
        out = clutches["by"] == INCUBATOR
        here = clutches["cage"] == "C1"
        rates = [clutches.loc[some, "hatch_p"].min() for some in (out, here & ~out, ~here & ~out)]
        assert [rate < 0.5 for rate in rates] == [worse, worse, False]
    world = World(Ways(pairs=3, season_sd=0.0, pair_season_sd=0.0, never=0.0, lays_nothing=0.0, falling=-1.0), 0)
    first, second = (world.season(None, year).clutches.set_index("pair")["hatch_p"] for year in (2025, 2026))
    fell = [logits(second[pair]).max() - logits(first[pair]).max() for pair in ("P01", "P02")]
    assert fell == pytest.approx([-1.0, 0.0])


@pytest.mark.parametrize("make", [simulated, other])
def test_logs_read_back_as_they_were_lived(tmp_path, make):
    known = make(tmp_path, 3, pairs=6, years=2)
    season = open_season(known.folder, known.earlier)
    assert [one.name for one in season.earlier] == [str(YEAR - 1)]
    assert season.not_used.empty
    assert list(known.pairs.index) == list(season.pairs["pair"])
    assert season.settings["checked"] == ";".join(known.pairs.index)
    assert set(season.chicks["fate"]) <= {"weaned", "lost"}
    assert not season.eggs["outcome"].isin(["still incubating", "unknown"]).any()
    assert list(season.earlier[0].pairs["hen"]) == list(season.pairs["hen"])


def test_the_world_s_logs_hold_its_counts(tmp_path):
    world = World(Ways(fails=0.2, incubator=0.4), 5)
    told = world.season(tmp_path / "s", YEAR)
    season = open_season(tmp_path / "s")
    counts = clutch_counts(season.eggs, season.clutches)
    lived = told.clutches[["eggs", "fertile", "hatched"]].sum()
    assert counts[["eggs", "fertile", "hatched"]].sum().to_list() == lived.to_list()
    assert (season.chicks["fate"] == "weaned").sum() == told.clutches["weaned"].sum() == told.pairs["weaned"].sum()
    assert len(season.logs["readings"]) == 300


@pytest.mark.parametrize("make", [simulated, other])
@pytest.mark.slow
def test_what_is_known_of_the_aviary_is_what_many_seasons_come_to(tmp_path, make):
    counted, true = [], []
    for seed in range(100, 108):
        known = make(tmp_path / str(seed), seed, pairs=30, years=1)
        season = open_season(known.folder)
        rates = stage_rates(clutch_counts(season.eggs, season.clutches), season.reared).set_index("stage")
        counted.append(rates.loc[[FERTILE, HATCH, SET, WEAN], "rate"].to_numpy())
        true.append([known.aviary[stage] for stage in (FERTILE, HATCH, SET, WEAN)])
        assert known.pairs[list(STAGES)].notna().all(axis=None)
    off = np.mean(counted, axis=0) - np.mean(true, axis=0)
    assert off == pytest.approx(0.0, abs=0.04)
