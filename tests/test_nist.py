"""NIST StRD certified nonlinear regressions Rat42 and Rat43 (Ratkowsky 1983, Nonlinear Regression Modeling).

https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml — Rat42: y = b1 / (1 + exp(b2 - b3 x));
Rat43: y = b1 / (1 + exp(b2 - b3 x))^(1/b4). Each from both starts that NIST gives; start 1 is the hard one.
"""

import numpy as np
import pandas as pd
import pytest

from analysis.growth import CURVES, fit_each
from analysis.growth.as_arrays import weighings_of
from analysis.growth.each_chick import solve_each

RAT42 = {
    "curve": "logistic",
    "x": [9, 14, 21, 28, 42, 57, 63, 70, 79],
    "y": [8.93, 10.80, 18.59, 22.33, 39.35, 56.11, 61.73, 64.62, 67.08],
    "b": [72.462237576, 2.6180768402, 0.067359200066],
    "sd": [1.7340283401, 0.088295217536, 0.0034465663377],
    "rss": 8.0565229338,
    "starts": [(100, 1, 0.1), (75, 2.5, 0.07)],
}
RAT43 = {
    "curve": "richards",
    "x": range(1, 16),
    "y": [
        16.08,
        33.83,
        65.80,
        97.20,
        191.55,
        326.20,
        386.87,
        520.53,
        590.03,
        651.92,
        724.93,
        699.56,
        689.96,
        637.56,
        717.41,
    ],
    "b": [699.64151270, 5.2771253025, 0.75962938329, 1.2792483859],
    "sd": [16.302297817, 2.0828735829, 0.19566123451, 0.68761936385],
    "rss": 8786.4049080,
    "starts": [(100, 10, 1, 1), (700, 5, 0.75, 1.3)],
}
CASES = {
    "Rat42 start 1": (RAT42, 0),
    "Rat42 start 2": (RAT42, 1),
    "Rat42 own start": (RAT42, None),
    "Rat43 start 1": (RAT43, 0),
    "Rat43 start 2": (RAT43, 1),
    "Rat43 own start": (RAT43, None),
}


def digits(found, certified):
    """Correct digits: -log10 of the relative error."""
    return -np.log10(np.abs(np.asarray(found) - certified) / np.abs(certified) + 1e-16)


def ours(b):
    """A_g, K_per_d, ti_d[, shape] of NIST's b: b2 = K ti + ln m, b3 = K, b4 = m (1 in Rat42)."""
    m = b[3] if len(b) == 4 else 1
    values = {"A_g": b[0], "K_per_d": b[2], "ti_d": (b[1] - np.log(m)) / b[2]}
    return values | ({"shape": m} if len(b) == 4 else {})


def theirs(theta, covariance):
    """NIST's b and their standard errors from (ln A, ln K, ti[, m]) and its covariance."""
    A, K, ti = np.exp(theta[0]), np.exp(theta[1]), theta[2]
    m = theta[3] if len(theta) == 4 else 1
    b = np.array([A, K * ti + np.log(m), K, m])[: len(theta)]
    slopes = np.array([[A, 0, 0, 0], [0, K * ti, K, 1 / m], [0, K, 0, 0], [0, 0, 0, 1]])[: len(theta), : len(theta)]
    return b, np.sqrt(np.diag(slopes @ covariance @ slopes.T))


@pytest.mark.parametrize(("nist", "which"), CASES.values(), ids=CASES)
def test_certified_values(nist, which):
    start = None if which is None else ours(nist["starts"][which])
    rows = weighings_of(pd.DataFrame({"chick": "Rat", "age_d": nist["x"], "mass_g": nist["y"]}))
    fits = solve_each(rows, CURVES[nist["curve"]], additive=True, start=start)
    b, sd = theirs(fits.theta[0], fits.covariance[0])
    df = len(nist["y"]) - len(b)
    assert fits.why[0] == ""
    assert digits(b, nist["b"]).min() >= 6
    assert digits(sd, nist["sd"]).min() >= 5
    assert digits(fits.sigma[0] ** 2 * df, nist["rss"]) >= 9


@pytest.mark.parametrize("nist", [RAT42, RAT43], ids=["Rat42", "Rat43"])
def test_table_says_the_same(nist):
    frame = pd.DataFrame({"chick": "Rat", "age_d": nist["x"], "mass_g": nist["y"]})
    row = fit_each(frame, curve=nist["curve"], error="additive").loc["Rat"]
    assert row["converged"]
    # b1 and b3 are A and K themselves, so their certified standard deviations are ours.
    assert digits(row[["A_g", "K_per_d"]].to_numpy(float), np.array(nist["b"])[[0, 2]]).min() >= 6
    assert digits(row[["A_g_se", "K_per_d_se"]].to_numpy(float), np.array(nist["sd"])[[0, 2]]).min() >= 5
    if nist is RAT43:
        assert digits(row[["shape", "shape_se"]].to_numpy(float), np.array([nist["b"][3], nist["sd"][3]])).min() >= 5
