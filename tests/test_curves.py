"""Curves against published constants, plain formulas and each other."""

import numpy as np
import pytest
from scipy.optimize import brentq

from analysis.growth import CURVES
from analysis.growth.curves import named_curve

# The plain formulas, written apart from the package.
PLAIN = {
    "logistic": lambda t, lnA, lnK, ti: np.exp(lnA) / (1 + np.exp(-np.exp(lnK) * (t - ti))),
    "gompertz": lambda t, lnA, lnK, ti: np.exp(lnA) * np.exp(-np.exp(-np.exp(lnK) * (t - ti))),
    "von_bertalanffy": lambda t, lnA, lnK, ti: np.exp(lnA) * (1 - np.exp(-np.exp(lnK) * (t - ti)) / 3) ** 3,
    "richards": lambda t, lnA, lnK, ti, m: np.exp(lnA) * (1 + m * np.exp(-np.exp(lnK) * (t - ti))) ** (-1 / m),
}
AGES = np.array([7.0, 9.5, 12.0, 15.0, 20.0, 45.0])
FIXED = ("logistic", "gompertz", "von_bertalanffy")


def theta_of(name, m=0.4):
    return np.array([np.log(90), np.log(0.2), 11.0] + ([m] if name == "richards" else []))


# Mass at ti / A, largest gain / (K A), t10-90 · K. Method of Ricklefs 1967, Ecology 48:978 (from memory); the
# constants worked out on paper.
@pytest.mark.parametrize(
    ("name", "at_ti", "gain", "days"),
    [
        ("logistic", 1 / 2, 1 / 4, 4.3944),
        ("gompertz", np.exp(-1), np.exp(-1), 3.0844),
        ("von_bertalanffy", 8 / 27, 4 / 9, 2.7426),
    ],
)
def test_constants_of_each_curve(name, at_ti, gain, days):
    curve = CURVES[name]
    assert curve.mass_at_inflection(90) == pytest.approx(90 * at_ti, rel=1e-12)
    assert curve.mass(11, 90, 0.2, 11) == pytest.approx(90 * at_ti, rel=1e-12)
    assert curve.largest_gain(90, 0.2) == pytest.approx(90 * 0.2 * gain, rel=1e-12)
    assert curve.t10_90(0.2) == pytest.approx(days / 0.2, abs=5e-5 / 0.2)


def test_tree_swallow():
    # Mass of tree swallow nestlings, logistic A = 22.4 g, K = 0.51 a day: Zach & Mayoh 1982, Can. J. Zool.
    logistic = CURVES["logistic"]
    assert logistic.t10_90(0.51) == pytest.approx(8.617, abs=5e-4)
    assert logistic.largest_gain(22.4, 0.51) == pytest.approx(2.856, abs=5e-4)


@pytest.mark.parametrize("name", CURVES)
def test_mass_is_the_plain_formula(name):
    theta = theta_of(name)
    natural = [np.exp(theta[0]), np.exp(theta[1]), *theta[2:]]
    plain = PLAIN[name](AGES, *theta)
    np.testing.assert_allclose(CURVES[name].mass(AGES, *natural), plain, rtol=1e-12)
    np.testing.assert_allclose(np.exp(CURVES[name].log_mass(AGES, theta)), plain, rtol=1e-12)


@pytest.mark.parametrize(
    ("name", "m"), [*((name, 0) for name in FIXED), *(("richards", m) for m in (-0.3, 0.05, 1, 6))]
)
def test_gradient_is_the_complex_step_of_the_plain_formula(name, m):
    theta = theta_of(name, m)
    value, gradient = CURVES[name].log_mass_gradient(AGES, theta[:, None])
    mass, mass_gradient = CURVES[name].mass_gradient(AGES, theta[:, None])
    step = 1e-30
    for i in range(len(theta)):
        nudged = theta.astype(complex)
        nudged[i] += 1j * step
        by_i = PLAIN[name](AGES, *nudged).imag / step
        np.testing.assert_allclose(mass_gradient[i], by_i, rtol=1e-10, atol=1e-10)
        np.testing.assert_allclose(gradient[i] * np.exp(value), by_i, rtol=1e-10, atol=1e-10)
    np.testing.assert_allclose(mass, PLAIN[name](AGES, *theta), rtol=1e-12)


@pytest.mark.parametrize("m", [0.0, 1e-12, 1e-6, 2e-5, 1e-3, -1e-4])
def test_gradient_by_shape_near_gompertz(m):
    # By hand, from the series of ln(1 + m x)/m: d ln W / dm = x²/2 - 2 m x³/3 + 3 m² x⁴/4 - 4 m³ x⁵/5 + ...
    x = np.array([0.01, 0.7, 2.0, 8.0])
    terms = np.arange(30)[:, None]
    by_hand = np.sum((-m) ** terms * (terms + 1) / (terms + 2) * x ** (terms + 2), axis=0)
    theta = np.array([np.log(90), np.log(0.2), 11.0, m])[:, None]
    _, gradient = CURVES["richards"].log_mass_gradient(11 - np.log(x) / 0.2, theta)
    np.testing.assert_allclose(gradient[3], by_hand, rtol=1e-8)


@pytest.mark.parametrize(
    ("name", "m"), [("logistic", 1), ("gompertz", 0), ("gompertz", 1e-9), ("von_bertalanffy", -1 / 3)]
)
def test_richards_becomes_the_other_curves(name, m):
    other, richards = CURVES[name], CURVES["richards"]
    np.testing.assert_allclose(richards.mass(AGES, 90, 0.2, 11, m), other.mass(AGES, 90, 0.2, 11), rtol=1e-7)
    assert richards.t10_90(0.2, m) == pytest.approx(other.t10_90(0.2), rel=1e-7)
    assert richards.largest_gain(90, 0.2, m) == pytest.approx(other.largest_gain(90, 0.2), rel=1e-7)
    assert richards.mass_at_inflection(90, m) == pytest.approx(other.mass_at_inflection(90), rel=1e-7)


@pytest.mark.parametrize(("name", "m"), [*((name, 1) for name in FIXED), ("richards", 2.5), ("richards", -0.6)])
def test_growth_is_fastest_at_ti_and_takes_t10_90(name, m):
    curve = CURVES[name]
    ages = np.linspace(5, 30, 25_001)
    gain = np.gradient(curve.mass(ages, 90, 0.2, 11, m), ages)
    assert ages[np.argmax(gain)] == pytest.approx(11, abs=0.01)
    assert gain.max() == pytest.approx(curve.largest_gain(90, 0.2, m), rel=1e-5)
    at_share = [brentq(lambda t, share=s: curve.mass(t, 90, 0.2, 11, m) - share * 90, -60, 90) for s in (0.1, 0.9)]
    assert at_share[1] - at_share[0] == pytest.approx(curve.t10_90(0.2, m), rel=1e-9)


@pytest.mark.parametrize("name", CURVES)
def test_far_ages_give_zero_or_the_final_weight_and_no_warning(name):
    curve, ages = CURVES[name], np.array([-1e9, -1e4, 1e4, 1e9])
    np.testing.assert_allclose(curve.mass(ages, 90, 3, 11, 0.5), [0, 0, 90, 90], atol=1e-12)
    for m in (-0.5, 0, 1e-5, 0.5, 20):
        _, gradient = curve.mass_gradient(ages, theta_of(name, m)[:, None])
        assert np.isfinite(gradient).all()
        np.testing.assert_allclose(gradient[0, 2:], 90)
        if m < 1:
            np.testing.assert_allclose(gradient[:, :2], 0, atol=1e-30)


def test_von_bertalanffy_is_zero_before_growth_begins():
    # 1 - e^(-K (t - ti)) / 3 = 0 at t = ti - ln 3 / K = 5.507 d.
    before, after = CURVES["von_bertalanffy"].mass([5.50, 5.52], 90, 0.2, 11)
    assert before == 0
    assert after == pytest.approx(90 * (1 - np.exp(1.096) / 3) ** 3, rel=1e-9)


def test_many_chicks_at_once():
    A_g, K_per_d, ti_d = np.array([[90], [100]]), np.array([[0.2], [0.3]]), np.array([[11], [12]])
    masses = CURVES["gompertz"].mass(AGES, A_g, K_per_d, ti_d)
    assert masses.shape == (2, len(AGES))
    np.testing.assert_array_equal(masses[1], CURVES["gompertz"].mass(AGES, 100, 0.3, 12))


def test_unknown_curve_lists_the_curves():
    with pytest.raises(ValueError, match="logistic, gompertz, von_bertalanffy, richards"):
        named_curve("sigmoid")
