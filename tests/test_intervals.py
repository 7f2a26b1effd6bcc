import numpy as np
import pandas as pd
import pytest

from analysis.rates import clutch_intervals, interval
from analysis.rates.intervals import alike

# Newcombe 1998, Statistics in Medicine 17:857, Table I, 95 %, as quoted in public test suites.
K, N = [81, 15, 0, 1], [263, 148, 20, 29]
WILSON = [(0.2553, 0.3662), (0.0624, 0.1605), (0.0000, 0.1611), (0.0061, 0.1718)]
CLOPPER_PEARSON = [(0.2527, 0.3676), (0.0578, 0.1617), (0.0000, 0.1684), (0.0009, 0.1776)]


@pytest.mark.parametrize(("method", "published"), [("wilson", WILSON), ("exact", CLOPPER_PEARSON)])
def test_newcombe_table_i(method, published):
    low, high = interval(K, N, method=method)
    assert np.column_stack([low, high]).round(4).tolist() == [list(ends) for ends in published]


def test_jeffreys_is_the_middle_of_its_beta():
    # scipy.stats.beta(0.5 + 15, 0.5 + 133).ppf([0.025, 0.975]), scipy 1.17.
    from scipy.stats import beta

    assert np.ravel(interval(15, 148, method="jeffreys")) == pytest.approx(
        beta(15.5, 133.5).ppf([0.025, 0.975]), abs=1e-12
    )


@pytest.mark.parametrize("method", ["wilson", "exact", "jeffreys"])
def test_the_ends_are_exact(method):
    n = np.arange(1, 200)
    assert (interval(0, n, method=method)[0] == 0).all()
    assert (interval(n, n, method=method)[1] == 1).all()
    assert np.ravel(interval(0, 0, method=method)).tolist() == [0, 1]


@pytest.mark.parametrize("method", ["wilson", "exact", "jeffreys"])
def test_failures_mirror_successes(method):
    n = 17
    k = np.arange(n + 1)
    low, high = interval(k, n, method=method)
    _, other_high = interval(n - k, n, method=method)
    assert low == pytest.approx(1 - other_high, abs=1e-12)
    assert (low <= k / n).all()
    assert (high >= k / n).all()


def test_shapes():
    low, high = interval(3, 4)
    assert low.shape == high.shape == ()
    low, high = interval(np.ones((2, 1)), [4, 5, 6])
    assert low.shape == (2, 3)
    low, _ = interval(pd.Series([1, 2], index=[7, 9]), pd.Series([2, 2], index=[7, 9]))
    assert isinstance(low, np.ndarray)
    assert interval([], [])[0].shape == (0,)


@pytest.mark.parametrize(
    ("k", "n", "method", "says"),
    [
        (5, 4, "wilson", "k is above n: 5 of 4"),
        ([1, -2], 4, "wilson", "got -2"),
        (1.5, 4, "wilson", "got 1.5"),
        (1, float("nan"), "wilson", "n must be .* got nan"),
        (1, float("inf"), "wilson", "got inf"),
        (pd.Series([1, None], dtype="Int64"), 4, "wilson", "k must be whole numbers"),
        ("three", 4, "wilson", "got 'three'"),
        (1, 4, "wald", "method is 'wald'; it must be one of wilson, exact, jeffreys"),
    ],
)
def test_what_is_no_count_is_refused(k, n, method, says):
    with pytest.raises(ValueError, match=says):
        interval(k, n, method=method)


# -- clutches taken as wholes


def clutches(*worked_of_tried):
    rows = [(worked, tried, at) for at, (worked, tried) in enumerate(worked_of_tried)]
    return pd.DataFrame(rows, columns=["worked", "tried", "clutch"])


def of_all(counts):
    return clutch_intervals(counts, pd.Series("all", index=counts.index)).loc["all"]


def test_clutches_are_as_much_alike_as_an_analysis_of_variance_says():
    # statsmodels' analysis of variance of single eggs (0 or 1) between and within clutches, drawn towards 0.3 by 8.
    import statsmodels.formula.api as smf
    from statsmodels.stats.anova import anova_lm

    counts = clutches((4, 4), (0, 4), (3, 4), (4, 5), (2, 3), (1, 5), (5, 5))
    eggs = [(row.clutch, egg < row.worked) for row in counts.itertuples() for egg in range(row.tried)]
    frame = pd.DataFrame(eggs, columns=["clutch", "worked"]).astype(float)
    square = anova_lm(smf.ols("worked ~ C(clutch)", frame).fit())["mean_sq"]
    size = (30 - (counts["tried"] ** 2).sum() / 30) / 6
    found = (square.iloc[0] - square.iloc[1]) / (square.iloc[0] + (size - 1) * square.iloc[1])
    assert 0.3 < found < 0.6
    assert alike(counts) == pytest.approx((6 * found + 8 * 0.3) / (6 + 8), abs=1e-12)
    assert alike(counts) == alike(counts[::-1])


def test_clutches_are_held_beside_those_of_their_own_pair():
    # Pair A all, B none, C 2 of 4 and 3 of 4: by hand 4 · 2 · (1/8)² / 3 between three pairs of clutches, and
    # of eggs (4 · 1/2 · 1/2 + 4 · 3/4 · 1/4) / 18; n 4 each. Pairs that differ are no clutches that fail.
    counts = clutches((4, 4), (4, 4), (0, 4), (0, 4), (2, 4), (3, 4))
    apart = counts.assign(pair=["A", "A", "B", "B", "C", "C"])
    of_clutches, of_eggs = 8 / 64 / 3, (2 * 0.5 + 3 * 0.25) / 18
    found = (of_clutches - of_eggs) / (of_clutches + 3 * of_eggs)
    assert alike(apart) == pytest.approx((3 * found + 8 * 0.3) / 11, abs=1e-12)
    assert alike(counts) > 0.4 > 0.2 > alike(apart)


def test_the_interval_of_three_clutches_by_hand():
    # All or none in each clutch: alike 1, drawn to (2 + 8 · 0.3) / 10 = 0.44. Effect 1 + 3 · 0.44 = 2.32, so 8 of 12
    # tell as much as 3.448 of 5.172: Wilson's formula, worked by hand.
    n, p, z = 12 / 2.32, 8 / 12, 1.959964
    middle, half = p + z**2 / (2 * n), z * np.sqrt(p * (1 - p) / n + z**2 / (4 * n**2))
    got = of_all(clutches((4, 4), (0, 4), (4, 4)))
    assert (got["worked"], got["tried"]) == (8, 12)
    ends = [(middle - half) / (1 + z**2 / n), (middle + half) / (1 + z**2 / n)]
    assert got[["low", "high"]].tolist() == pytest.approx(ends, abs=1e-6)


def test_many_clutches_have_the_width_of_a_cluster_robust_standard_error():
    import statsmodels.api as sm

    rng = np.random.default_rng(5)
    tried = rng.integers(2, 6, 2000)
    worked = rng.binomial(tried, rng.beta(0.8 * 17 / 3, 0.2 * 17 / 3, 2000))  # alike 0.15
    counts = clutches(*zip(worked, tried, strict=True))
    eggs = np.concatenate([np.arange(n) < k for k, n in zip(worked, tried, strict=True)]).astype(float)
    by = {"groups": np.repeat(np.arange(2000), tried)}
    robust = sm.OLS(eggs, np.ones(len(eggs))).fit(cov_type="cluster", cov_kwds=by).bse[0]
    got = of_all(counts)
    assert (got["high"] - got["low"]) / (2 * 1.96) == pytest.approx(robust, rel=0.02)


def test_eggs_apart_are_taken_one_by_one_and_none_tried_leaves_all_open():
    counts = clutches((1, 1), (0, 1), (1, 1), (1, 1))
    got = clutch_intervals(counts, pd.Series(["a", "a", "a", "b"]))
    assert got[["low", "high"]].to_numpy().tolist() == np.column_stack(interval([2, 1], [3, 1])).tolist()
    assert of_all(clutches((0, 0)))[["low", "high"]].tolist() == [0, 1]
    assert of_all(clutches((5, 5), (4, 4)))["high"] == 1
    parts = pd.concat([clutches((2, 2), (1, 2)), clutches((2, 2), (1, 2))])  # the same two clutches, in two parts each
    whole = of_all(clutches((4, 4), (2, 4)))
    assert clutch_intervals(parts, pd.Series("all", index=parts.index)).loc["all"].tolist() == whole.tolist()


@pytest.mark.slow
def test_intervals_hold_where_eggs_of_a_clutch_do_alike_and_some_clutches_fail_whole():
    # 12 pairs, alike 0.15, one clutch in ten failing whole: 95 % asked of all, of each pair of three clutches.
    rng = np.random.default_rng(1)
    truth, held = 0.8 * 0.9, {"all": [], "eggs": [], "pair": []}
    for _ in range(400):
        pair = np.repeat(np.arange(12), rng.integers(1, 4, 12))
        tried = rng.integers(2, 6, len(pair))
        share = np.where(rng.random(len(pair)) < 0.1, 0, rng.beta(0.8 * 17 / 3, 0.2 * 17 / 3, len(pair)))
        counts = clutches(*zip(rng.binomial(tried, share), tried, strict=True))
        every = of_all(counts)
        held["all"].append(every["low"] <= truth <= every["high"])
        low, high = interval(every["worked"], every["tried"])
        held["eggs"].append(low <= truth <= high)
        each = clutch_intervals(counts, pd.Series(pair))[np.bincount(pair) == 3]
        held["pair"] += ((each["low"] <= truth) & (truth <= each["high"])).tolist()
    shares = {what: np.mean(one) for what, one in held.items()}
    assert 0.93 <= shares["all"] <= 0.97
    assert 0.93 <= shares["pair"] <= 0.975
    assert shares["eggs"] < 0.87  # each egg for itself
