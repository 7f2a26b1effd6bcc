"""Weaning by place in the brood and its size: against a conditional logit, and on aviaries of known truth."""

import warnings

import numpy as np
import pandas as pd
import pytest
from numpy.testing import assert_allclose
from statsmodels.discrete.conditional_models import ConditionalLogit

from analysis.rates import weaning_in_brood


def broods(rng, pairs, clutches, *, place, size, brood_sd=0.5, pair_sd=0.0, failing=0.05):
    """Chicks of broods of one to five; pairs differ too, of which the model knows nothing."""
    rows = []
    for brood in range(pairs * clutches):
        of_pair = pair_sd * rng.standard_normal() if brood % clutches == 0 else rows[-1][5]
        chicks, own, fails = rng.integers(1, 6), brood_sd * rng.standard_normal(), rng.random() < failing
        for at in range(chicks):
            p = 1 / (1 + np.exp(-(1.5 + place * at + size * (chicks - 3) + own + of_pair)))
            rows.append((brood, at + 1, chicks, int(not fails and rng.random() < p), 1, of_pair))
    return pd.DataFrame(rows, columns=["brood", "place", "size", "worked", "tried", "pair"])


def test_a_place_later_is_what_a_conditional_logit_has():
    """It knows each brood only by how many of it worked, so nothing of sizes, of how broods differ, or which failed."""
    frame = broods(np.random.default_rng(0), 40, 6, place=-0.6, size=-0.2)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it drops the broods in which all did alike, and says so
        other = ConditionalLogit(frame["worked"], frame[["place"]], groups=frame["brood"]).fit(disp=0)
    mean, low, high = weaning_in_brood(frame).coefficients.loc["place"]
    assert_allclose(mean, other.params["place"], atol=0.05)
    assert_allclose([low, high], other.conf_int().loc["place"], atol=0.07)


def test_a_brood_that_failed_whole_says_nothing_of_its_size():
    many = {"brood": np.repeat(range(8), 3), "place": [1, 2, 3] * 8, "size": 3, "tried": 1}
    fine = pd.DataFrame(many | {"worked": [1] * 24})
    lost = pd.DataFrame({"brood": "lost", "place": range(1, 7), "size": 6, "tried": 1, "worked": 0})
    one_lived = lost.assign(worked=[1, 0, 0, 0, 0, 0])
    none, whole, most = (
        weaning_in_brood(pd.concat([fine, *more], ignore_index=True)).at(2, 6)[0] for more in ([], [lost], [one_lived])
    )
    assert none - 0.03 < whole
    assert most < whole - 0.1


def test_a_chick_still_being_reared_counts_by_what_it_has_come_through():
    chicks = {"brood": [1, 1, 2, 2], "place": [1, 2] * 2, "size": 2, "worked": [1, 0.0, 1, 0.0], "tried": [1, 0.0] * 2}
    unknown = weaning_in_brood(pd.DataFrame(chicks)).at(2, 2)[0]
    part = weaning_in_brood(pd.DataFrame(chicks | {"worked": [1, 0.8] * 2, "tried": [1, 0.8] * 2})).at(2, 2)[0]
    whole = weaning_in_brood(pd.DataFrame(chicks | {"worked": 1, "tried": 1})).at(2, 2)[0]
    assert unknown + 0.02 < part < whole


def test_where_no_chick_ended_nothing_is_told():
    none = pd.DataFrame({"brood": [1], "place": [1], "size": [1], "worked": [0], "tried": [0]})
    assert weaning_in_brood(none) is None
    with pytest.raises(ValueError, match="worked <= tried"):
        weaning_in_brood(none.assign(worked=1))


@pytest.mark.slow
@pytest.mark.parametrize("truth", [(0.0, 0.0), (-0.4, -0.2)])
def test_the_interval_holds_the_truth_also_where_pairs_differ(truth):
    """200 aviaries of 12 pairs with two broods: held 97 and 99 % with nothing true, 95 and 100 % else."""
    rng, held, lower, true = np.random.default_rng(1), np.zeros(2), np.zeros(2), np.array(truth)
    for _ in range(200):
        frame = broods(rng, 12, 2, place=truth[0], size=truth[1], pair_sd=0.5, failing=0.1)
        told = weaning_in_brood(frame).coefficients
        low, high = told[["low", "high"]].to_numpy().T
        held += (low <= true) & (true <= high)
        lower += high < 0
    assert (held >= 0.93 * 200).all()
    if not any(truth):
        assert (lower <= 0.05 * 200).all()
