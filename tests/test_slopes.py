"""All hens in one model of their seasons: against the same posterior worked another way, and what is not said."""

import numpy as np
import pandas as pd
import pytest
from scipy.special import expit
from scipy.stats import betabinom

from analysis.rates import slopes


def seasons(**counts):
    """A row a clutch of five: of each name, what hatched of the clutches of each season."""
    rows = [
        (who, at, worked, 5)
        for who, years in counts.items()
        for at, clutches in enumerate(years)
        for worked in clutches
    ]
    return pd.DataFrame(rows, columns=["who", "season", "worked", "tried"])


STEADY = [(4, 4), (4, 3), (4, 4)]


def test_it_is_the_posterior_that_draws_from_the_prior_give():
    # A hundred and twenty thousand draws of all there is from the prior, weighed by scipy's beta-binomial
    seen, draws, rng = seasons(Ivy=[(5, 4), (1,)], Fern=[(3,), (4, 4)]), 120_000, np.random.default_rng(3)
    mu, season = rng.normal(0, 1.5, draws), rng.normal(0, 0.4, (2, draws))
    sd_level, sd_slope = np.abs(rng.normal(0, 1, draws)), np.abs(rng.normal(0, 0.5, draws))
    slope, weight, change = {}, np.ones(draws), {}
    for who, clutches in seen.groupby("who"):
        level, slope[who], never = sd_level * rng.normal(size=draws), sd_slope * rng.normal(size=draws), None
        never = rng.random(draws) < 0.1
        slope[who] = np.where(never, 0.0, slope[who])
        ends = []
        for at, rows in clutches.groupby("season"):
            eta = mu + level + slope[who] * (at - 0.5)
            ends.append(np.where(never, 0.0, expit(eta)))
            p = np.where(never, expit(-3.2), expit(eta + season[at] + rng.normal(0, 0.3, draws)))
            for row in rows.itertuples():
                plain = betabinom.pmf(row.worked, row.tried, p * (1 / 0.15 - 1), (1 - p) * (1 / 0.15 - 1))
                weight = weight * (0.9 * plain + 0.1 * (row.worked == 0))
        change[who] = ends[1] - ends[0]
    weight /= weight.sum()
    found = slopes(seen).set_index("who")
    for who in ("Ivy", "Fern"):
        assert found.loc[who, "p_falling"] == pytest.approx(float(weight @ (slope[who] < 0)), abs=0.02)
        assert found.loc[who, "change"] == pytest.approx(float(weight @ change[who]), abs=0.01)


def test_a_hen_that_falls_stands_out_and_the_others_do_not():
    found = slopes(seasons(A=[(5, 5, 4, 5), (3, 2, 3, 3), (1, 0, 1, 1)], B=STEADY, C=STEADY, D=STEADY)).set_index("who")
    assert found.loc["A", "p_falling"] > 0.95
    assert found.loc["A", "change"] < -0.25
    assert found.loc["A", "high"] < 0.1
    assert found.loc[["B", "C", "D"], "p_falling"].between(0.3, 0.6).all()


def test_a_bad_season_is_no_hens_doing():
    good, bad = (4, 4, 5), (1, 1, 2)
    alike = slopes(seasons(**{name: [good, good, bad] for name in "ABCDEF"})).set_index("who")
    alone = slopes(seasons(A=[good, good, bad], **{name: [good, good, good] for name in "BCDEF"})).set_index("who")
    assert alone.loc["A", "p_falling"] > alike.loc["A", "p_falling"] + 0.05
    assert (alike["p_falling"] < 0.8).all()


def test_whole_clutches_that_fail_say_less_than_eggs_that_die_here_and_there():
    whole = slopes(seasons(A=[(4, 4), (4, 4), (4, 0)], B=STEADY, C=STEADY)).set_index("who")
    parts = slopes(seasons(A=[(4, 4), (4, 4), (2, 2)], B=STEADY, C=STEADY)).set_index("who")
    assert whole.loc["A", "p_falling"] < parts.loc["A", "p_falling"]


def test_a_lucky_first_season_among_many_is_no_fall():
    usual = [(3, 3), (3, 3), (3, 3)]
    found = slopes(seasons(A=[(5, 5), (3, 3), (3, 3)], **{name: usual for name in "BCDEFGH"})).set_index("who")
    assert found.loc["A", "p_falling"] < 0.8


def test_the_same_digits_each_time_and_no_rows_of_nothing():
    seen = seasons(A=[(4,), (2,)], B=[(3,), (3,)])
    pd.testing.assert_frame_equal(slopes(seen), slopes(seen))
    assert slopes(seen[:0]).empty
    assert slopes(seen.assign(tried=0, worked=0)).empty
    one = slopes(seen[seen["season"] == 0])
    assert one["seasons"].tolist() == [1, 1]
    assert one["change"].tolist() == [0, 0]


def test_what_cannot_be_is_refused():
    with pytest.raises(ValueError, match="worked <= tried"):
        slopes(seasons(A=[(6,)]))
