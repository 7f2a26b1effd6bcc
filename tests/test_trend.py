"""The line through a rate over the seasons, against another program and where it has little to go on."""

import numpy as np
import pytest

from analysis.rates import trend


def test_much_data_gives_the_slope_of_logistic_regression():
    # statsmodels' GLM (maximum likelihood) on the same counts; with thousands of eggs the priors weigh nothing
    import statsmodels.api as sm

    k, n, year = np.array([1700, 1500, 1250]), np.array([2000, 2000, 2000]), np.array([0.0, 1, 2])
    fit = sm.GLM(np.column_stack([k, n - k]), sm.add_constant(year), family=sm.families.Binomial()).fit()
    first, last = (1 / (1 + np.exp(-fit.params @ [1, at])) for at in (0, 2))
    found = trend(k, n, year)
    assert found.change == pytest.approx(last - first, abs=0.003)
    assert found.low < last - first < found.high
    assert found.p_falling > 0.999


def test_it_is_the_same_turned_round():
    down, up = trend([9, 5], [10, 10], [2025, 2026]), trend([5, 9], [10, 10], [2025, 2026])
    assert down.p_falling == pytest.approx(1 - up.p_falling)
    assert down.change == pytest.approx(-up.change)
    assert (down.low, down.high) == (pytest.approx(-up.high, abs=1e-3), pytest.approx(-up.low, abs=1e-3))


def test_little_is_said_of_little():
    found = trend([4, 3], [4, 4], [2025, 2026])
    assert 0.5 < found.p_falling < 0.9
    assert found.low < 0 < found.high
    none = trend([4, 0, 4], [4, 0, 4], [2024, 2025, 2026])  # a season without eggs counts for nothing
    assert none.p_falling == pytest.approx(0.5)


@pytest.mark.parametrize(("k", "n", "when"), [([1], [2], [2025]), ([1, 1], [2, 0], [1, 2]), ([3, 1], [2, 2], [1, 2])])
def test_what_cannot_be_is_refused(k, n, when):
    with pytest.raises(ValueError, match=r"two seasons|worked <= tried"):
        trend(k, n, when)
