import numpy as np
import pandas as pd
import pytest

from analysis.rates import interval

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
