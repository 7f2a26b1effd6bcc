"""Volume and fresh mass of an egg from its length and breadth, and a constant of a keeper's own."""

import numpy as np
import pandas as pd
import pytest

from analysis.eggs.egg_mass import HOYT_G_PER_CM3, egg_volume_cm3, fresh_mass_g, own_constant


def test_by_hand():
    # Hoyt 1979, Auk 96:73: V = 0.51 L B² (read via a later paper), W = 0.548 L B² (memory).
    # 40 mm by 30 mm: 4 · 9 = 36 cm³; 0.51 · 36 = 18.36, 0.548 · 36 = 19.728.
    assert egg_volume_cm3([40.0], [30.0]) == pytest.approx([18.36])
    assert fresh_mass_g([40.0], [30.0]) == pytest.approx([19.728])
    assert fresh_mass_g(40.0, 30.0, constant=0.5) == pytest.approx(18.0)


def test_length_counts_once_and_breadth_twice():
    length, breadth = np.array([20.0, 40.0, 20.0]), np.array([15.0, 15.0, 30.0])
    mass = fresh_mass_g(length, breadth)
    assert mass / mass[0] == pytest.approx([1, 2, 4])


@pytest.mark.parametrize("bad", [0.0, -24.0, np.nan, np.inf])
def test_a_bad_measure_gives_no_mass(bad):
    assert np.isnan(fresh_mass_g([bad, 24.0], [19.0, 19.0])).tolist() == [True, False]
    assert np.isnan(egg_volume_cm3([24.0, 24.0], [bad, 19.0])).tolist() == [True, False]


def measured(constants, length_mm=24.0, breadth_mm=19.0):
    fresh_g = np.asarray(constants) * length_mm * breadth_mm**2 / 1000
    return pd.DataFrame({"length_mm": length_mm, "breadth_mm": breadth_mm, "fresh_g": fresh_g})


def test_own_constant_is_a_mean_with_students_t():
    # Ten eggs, five at 0.52 and five at 0.56: mean 0.54, sd sqrt(10 · 0.02² / 9) = 0.0210819, over sqrt(10) 0.0066667;
    # t(0.975, 9) = 2.262157 (tables): ± 0.0150810.
    own = own_constant(measured([0.52, 0.56] * 5))
    assert (own.constant, own.n) == (pytest.approx(0.54), 10)
    assert (own.low, own.high) == (pytest.approx(0.5249190, abs=1e-6), pytest.approx(0.5550810, abs=1e-6))


def test_rows_that_say_nothing_are_left_out():
    good = measured([0.52, 0.56] * 5)
    bad = pd.DataFrame(
        {"length_mm": [24.0, 0.0, np.nan, 24.0], "breadth_mm": [19.0, 19.0, 19.0, -1.0], "fresh_g": [np.nan, 5, 5, 5]}
    )
    zero = measured([0.5]).assign(fresh_g=0.0)
    assert own_constant(pd.concat([bad, good, zero])) == own_constant(good)


def test_nine_eggs_are_too_few():
    assert own_constant(measured([0.54] * 9)) is None
    assert own_constant(measured([0.54] * 10)) is not None


def test_a_constant_of_ones_own_is_found_again():
    rng = np.random.default_rng(7)
    found = []
    for _ in range(300):
        size = {"length_mm": rng.uniform(22, 26, 12), "breadth_mm": rng.uniform(18, 20, 12)}
        found.append(own_constant(measured(0.51 + 0.01 * rng.standard_normal(12), **size)))
    held = np.mean([own.low < 0.51 < own.high for own in found])
    assert 0.92 < held < 0.98
    assert np.mean([own.high < HOYT_G_PER_CM3 for own in found]) > 0.99  # told apart from the general one
