"""Choice of the curve: by hand, by the truth, and in plain words."""

import numpy as np
import pandas as pd
import pytest

from analysis.growth import CURVES, fit_mixed
from analysis.growth.choice import NAMED, akaike_weights, choose_curve
from analysis.say import in_words


def brood(curve, *, seed=1, chicks=8, ages=range(2, 36), sigma=0.03):
    rng = np.random.default_rng(seed)
    rate = {"logistic": 0.3, "gompertz": 0.2, "von_bertalanffy": 0.15}[curve]
    A_g, ti_d = 90 * np.exp(0.1 * rng.standard_normal((chicks, 1))), 8 + 0.5 * rng.standard_normal((chicks, 1))
    age_d = np.array(ages, float)
    mass_g = CURVES[curve].mass(age_d, A_g, rate, ti_d) * np.exp(sigma * rng.standard_normal((chicks, len(age_d))))
    chick = np.repeat([f"C{i}" for i in range(chicks)], len(age_d))
    return pd.DataFrame({"chick": chick, "age_d": np.tile(age_d, chicks), "mass_g": mass_g.ravel()})


def test_weights_by_hand():
    # Distances of 0, 2 and 10: e^0, e^-1 and e^-5 over their sum (Burnham & Anderson 2002, §2.9: from memory).
    weights = akaike_weights(pd.Series({"a": 310.0, "b": 302.0, "c": 300.0, "d": np.nan}))
    total = 1 + np.exp(-1) + np.exp(-5)
    assert weights.to_dict() == pytest.approx({"a": np.exp(-5) / total, "b": np.exp(-1) / total, "c": 1 / total})


@pytest.mark.parametrize("curve", ["logistic", "gompertz", "von_bertalanffy"])
def test_the_curve_that_made_the_weighings_is_chosen(curve):
    frame = brood(curve)
    choice = choose_curve(frame)
    assert choice.curve == curve
    assert choice.why == ""
    assert choice.weights.index.tolist() == ["logistic", "gompertz", "von_bertalanffy"]
    assert choice.weights.sum() == pytest.approx(1)
    assert choice.weights[curve] > 0.9
    assert choice.fit is choice.fits[curve]
    assert choice.fit.aicc == pytest.approx(fit_mixed(frame, curve).aicc)


def test_weights_are_those_of_the_fits():
    choice = choose_curve(brood("gompertz", chicks=5, ages=[3, 7, 12, 18, 25], sigma=0.12))
    expected = akaike_weights(pd.Series({name: fit.aicc for name, fit in choice.fits.items()}))
    assert choice.weights.to_dict() == pytest.approx(expected.to_dict())
    assert choice.weights.min() > 0.1


@pytest.mark.slow
def test_the_sentence():
    clear = choose_curve(brood("gompertz"))
    assert clear.sentence == (
        "Gompertz's curve fits these chicks best, clearly better than von Bertalanffy's curve and the logistic curve."
    )
    open_ = choose_curve(brood("gompertz", chicks=5, ages=[3, 7, 12, 18, 25], sigma=0.12))
    rest = [NAMED[str(name)] for name in open_.weights.drop(open_.curve).sort_values(ascending=False).index]
    assert open_.sentence.endswith(
        f"fits these chicks best, though not clearly better than {in_words(rest[0])} and {in_words(rest[1])}."
    )


def test_random_and_error_are_those_asked_for():
    choice = choose_curve(brood("logistic"), random={"chick": ("A",)}, error="additive")
    assert choice.fit.parameters == 5
    assert choice.fit.aicc == pytest.approx(
        fit_mixed(brood("logistic"), error="additive", random={"chick": ("A",)}).aicc
    )


@pytest.mark.slow
def test_a_curve_that_may_be_shown_is_preferred_unless_the_weighings_speak_against_it():
    # Weighed until the bend: the curve that made the weighings has no final weight yet, and the logistic's is wrong.
    against = choose_curve(brood("gompertz", ages=range(2, 10), chicks=4))
    assert not against.fits["logistic"].why
    assert against.weights["logistic"] < 0.1
    assert against.curve == "gompertz"
    assert against.why == against.fits["gompertz"].why != ""
    # The same with fewer weighings: which curve it is cannot be told, and the logistic can be shown.
    open_ = choose_curve(brood("gompertz", ages=range(2, 8, 2), chicks=4))
    assert open_.fits[str(open_.weights.idxmax())].why
    assert not open_.why
    assert open_.fit.why == ""
    assert open_.weights[open_.curve] > 0.1
    assert open_.sentence == "The logistic curve is the best of those that can be shown yet."


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"mass_g": 50.0}, "No rise: all weights are the same."),
        ({"age_d": 5.0}, "All weighings are at the same age."),
        ({"mass_g": lambda f: 100 - f["age_d"]}, "No rise: the weights do not go up with age."),
    ],
)
def test_weighings_without_a_curve_give_the_reason(change, why):
    choice = choose_curve(brood("logistic").assign(**change))
    assert (choice.curve, choice.fits, choice.fit, in_words(choice.why)) == ("", {}, None, why)
    assert choice.sentence == f"No curve: {why[0].lower()}{why[1:]}"
    assert choice.weights.tolist() == [0, 0, 0]


@pytest.mark.slow
def test_correlated_effects_are_kept_where_they_fit_better():
    rng = np.random.default_rng(6)
    size, age_d = rng.standard_normal((30, 1)), np.arange(1, 36, 2)
    mass_g = CURVES["logistic"].mass(
        age_d, 90 * np.exp(0.1 * size), 0.3, 10 + size + 0.3 * rng.standard_normal((30, 1))
    )
    mass_g = (mass_g * np.exp(0.03 * rng.standard_normal(mass_g.shape))).ravel()
    frame = pd.DataFrame({"chick": np.repeat(np.arange(30), 18), "age_d": np.tile(age_d, 30), "mass_g": mass_g})
    apart, full = choose_curve(frame), choose_curve(frame, correlated=True)
    assert full.fit.aicc < apart.fit.aicc - 10
    assert full.fit.parameters == apart.fit.parameters + 3
    independent = brood("logistic")
    assert choose_curve(independent, correlated=True).fit.parameters == choose_curve(independent).fit.parameters


def test_few_weighings_and_none():
    empty = pd.DataFrame(columns=["chick", "age_d", "mass_g"])
    assert in_words(choose_curve(empty).why) == "Too few weighings: 0, and this curve needs 4."
    # Enough to fit, too few for AICc.
    choice = choose_curve(brood("logistic", chicks=1, ages=[3, 8, 13, 20]))
    assert choice.curve == ""
    assert in_words(choice.why) == "Too few weighings to choose a curve by."


@pytest.mark.slow
def test_before_the_bend_there_is_nothing_to_show():
    choice = choose_curve(brood("logistic", ages=range(1, 6), chicks=3))
    assert choice.why
    assert choice.sentence.startswith("No curve to show yet: ")


def test_wrong_calls_say_what_is_wrong():
    with pytest.raises(ValueError, match="There is no error 'log'"):
        choose_curve(brood("logistic"), error="log")
    with pytest.raises(ValueError, match="missing: mass_g"):
        choose_curve(brood("logistic").drop(columns="mass_g"))
