"""One rate against another."""

import pytest
from scipy.stats import hypergeom

from analysis.rates import chance_of_as_few


def test_the_lady_tasting_tea():
    # Fisher 1935, The Design of Experiments: of eight cups three of four told rightly by chance or better, 17/70
    assert chance_of_as_few(1, 4, 3, 4) == pytest.approx(17 / 70)


def test_dealt_out_by_hand():
    # 0 of 2 beside 2 of 2: of the six ways to deal two successes to four, one gives none to the first two
    assert chance_of_as_few(0, 2, 2, 2) == pytest.approx(1 / 6)
    assert chance_of_as_few(2, 8, 60, 98) == pytest.approx(hypergeom(106, 62, 8).cdf(2))


def test_nothing_against_nothing():
    assert chance_of_as_few(0, 0, 3, 4) == 1
    with pytest.raises(ValueError, match="3 of 2"):
        chance_of_as_few(3, 2, 1, 2)
