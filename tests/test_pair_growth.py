"""Growth of pairs: against R and statsmodels, plain matrices, and what it says of few chicks."""

from pathlib import Path
from warnings import catch_warnings, simplefilter

import numpy as np
import pandas as pd
import pytest
from pandas.testing import assert_frame_equal
from scipy.stats import halfnorm

from analysis.growth import CURVES, fit_each, fit_mixed
from analysis.growth.as_arrays import weighings_of
from analysis.growth.by_pair import COLUMNS, SCALES, pair_effects, pair_growth
from analysis.growth.each_chick import solve_each
from analysis.say import in_words

REFERENCE = Path(__file__).parent / "reference"


def aviary(pairs, per_pair, *, seed=1, ages=range(1, 31), sigma=0.03, place=-0.04, sd_pair=0.08):
    """Weighings of broods of known truth, and the pairs' effects on ln A."""
    rng = np.random.default_rng(seed)
    effect = sd_pair * rng.standard_normal(pairs)
    pair = np.repeat(np.arange(pairs), per_pair)
    order = 1 + np.arange(len(pair)) % per_pair % 5
    A_g = 90 * np.exp(effect[pair] + place * (order - 1) + 0.06 * rng.standard_normal(len(pair)))
    ti_d, age_d = 10 + 0.5 * rng.standard_normal(len(pair)), np.array(ages, float)
    mass_g = CURVES["logistic"].mass(age_d, A_g[:, None], 0.3, ti_d[:, None])
    mass_g = mass_g * np.exp(sigma * rng.standard_normal(mass_g.shape))
    named = {"chick": [f"C{i:03}" for i in range(len(pair))], "pair": [f"P{p:02}" for p in pair], "hatch_order": order}
    frame = pd.DataFrame(named).loc[np.repeat(np.arange(len(pair)), len(age_d))].reset_index(drop=True)
    return frame.assign(age_d=np.tile(age_d, len(pair)), mass_g=mass_g.ravel()), effect


@pytest.fixture(scope="module")
def frame():
    return aviary(5, 7)[0]


@pytest.fixture(scope="module")
def growth(frame):
    return pair_growth(frame)


# --- against other programs ---


def in_statsmodels(frame, found):
    """Ln mass of each chick's own curve (fit_each) at the same age, by restricted maximum likelihood (MixedLM)."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    alone = fit_each(frame)
    y = np.log(CURVES["logistic"].mass(found.age_d, alone["A_g"], alone["K_per_d"], alone["ti_d"]))
    chicks = frame.groupby("chick").first()
    x = np.ones((len(chicks), 1))
    if "hatch_order" in chicks:
        x = np.column_stack([x, chicks["hatch_order"] - 1])
    with catch_warnings():
        # It warns of a variance at zero before it has settled on one that is not.
        simplefilter("ignore")
        other = MixedLM(y, x, groups=chicks["pair"].to_numpy()).fit()
    effects = {pair: float(effect.iloc[0]) for pair, effect in other.random_effects.items()}
    return other, pd.Series(effects)[found.table["pair"]].to_numpy()


def test_pairs_and_places_as_in_statsmodels():
    # Forty pairs of eight chicks weighed daily, so that priors and plugged-in standard deviations hardly matter.
    frame, truth = aviary(40, 8)
    found = pair_growth(frame)
    other, theirs = in_statsmodels(frame, found)
    ours = np.log(found.table["mass_share"])
    np.testing.assert_allclose(ours, theirs, atol=0.01)
    assert np.corrcoef(ours, truth)[0, 1] > 0.9
    assert np.log(found.place["mass_share"]) == pytest.approx(other.fe_params[1], abs=2e-3)
    width = np.log(found.place["high"] / found.place["low"]) / (2 * 1.96)
    assert width == pytest.approx(other.bse_fe[1], rel=0.1)
    assert found.sd.loc["pair", "sd"] == pytest.approx(np.sqrt(other.cov_re[0, 0]), rel=0.1)
    assert found.sd.loc["chick", "sd"] == pytest.approx(np.sqrt(other.scale), rel=0.1)


def test_uneven_weighings_of_a_few_pairs_as_in_statsmodels():
    # nested_weights.csv: 64 chicks of 18 pairs at uneven ages, two to five a pair.
    frame = pd.read_csv(REFERENCE / "nested_weights.csv", comment="#")
    found = pair_growth(frame)
    other, theirs = in_statsmodels(frame, found)
    np.testing.assert_allclose(np.log(found.table["mass_share"]), theirs, atol=0.02)
    assert found.sd.loc["pair", "low"] < np.sqrt(other.cov_re[0, 0]) < found.sd.loc["pair", "high"]
    # R 4.2.2, nlme 3.1-162 (nested_weights_r_nlme.csv): ti 11.433.
    assert found.age_d == pytest.approx(11.433, abs=0.05)


def test_effects_as_from_plain_matrices():
    # The same model with everything written out: the normal density of y, and normal conditioning, on an even grid.
    rng = np.random.default_rng(3)
    pair, x = np.array([0, 0, 1, 2, 2, 2]), np.column_stack([np.ones(6), rng.integers(0, 3, 6)])
    y, variance, widths = 0.1 * rng.standard_normal(6), rng.uniform(0, 0.01, 6), np.array([1.0, 0.2])
    to_pair, prior = (pair == np.arange(3)[:, None]).astype(float), np.diag(widths**2)
    sp, sc = np.meshgrid(np.linspace(0.002, 1.0, 250), np.linspace(0.004, 2.0, 250), indexing="ij")
    V = x @ prior @ x.T + np.diag(variance) + np.multiply.outer(sp**2, to_pair.T @ to_pair)
    V += np.multiply.outer(sc**2, np.eye(6))
    inverse = np.linalg.inv(V)
    log_density = -0.5 * (np.linalg.slogdet(V)[1] + y @ inverse @ y)
    log_density += halfnorm(scale=SCALES[0]).logpdf(sp) + halfnorm(scale=SCALES[1]).logpdf(sc)
    weights = np.exp(log_density - log_density.max())
    weights /= weights.sum()
    gain = sp[..., None, None] ** 2 * (to_pair @ inverse)
    mean, variances = gain @ y, sp[..., None] ** 2 * (1 - np.sum(gain * to_pair, axis=-1))
    found = pair_effects(y, variance, x, pair, widths=widths, scales=SCALES)
    np.testing.assert_allclose(found.weights @ found.pair, np.einsum("ab,abp", weights, mean), atol=5e-4)
    b = np.einsum("ab,abi", weights, inverse @ y @ (x @ prior))
    np.testing.assert_allclose(found.weights @ found.coefficient, b, atol=5e-4)
    second = found.weights @ (found.pair**2 + found.pair_sd**2)
    np.testing.assert_allclose(second, np.einsum("ab,abp", weights, mean**2 + variances), rtol=0.02)


def test_own_weighings_as_from_the_chick_alone():
    # Chicks that differ in all and are weighed often say what their own fits say; variances by the delta method.
    rng = np.random.default_rng(2)
    A_g, K_per_d, ti_d = 90 * np.exp(0.2 * rng.standard_normal(8)), 0.3 * np.exp(0.2 * rng.standard_normal(8)), 10
    age_d = np.linspace(1, 40, 100)
    mass_g = CURVES["logistic"].mass(age_d, A_g[:, None], K_per_d[:, None], ti_d + rng.standard_normal((8, 1)))
    mass_g = (mass_g * np.exp(0.02 * rng.standard_normal(mass_g.shape))).ravel()
    frame = pd.DataFrame({"chick": np.repeat(np.arange(8), 100), "age_d": np.tile(age_d, 8), "mass_g": mass_g})
    own, alone = fit_mixed(frame).own(10.0), solve_each(weighings_of(frame), CURVES["logistic"])
    value, gradient = CURVES["logistic"].log_mass_gradient(np.full(8, 10.0), alone.theta.T)
    np.testing.assert_allclose(own["log_mass"], value, atol=1e-3)
    variance = np.einsum("in,nij,jn->n", gradient, alone.covariance, gradient) / alone.sigma**2
    np.testing.assert_allclose(own["variance"] / fit_mixed(frame).sigma ** 2, variance, rtol=0.02)


def test_own_weighings_by_hand_where_chicks_differ_in_size_alone():
    # Then n weighings say the mean of ln mass less the curve's, with variance sigma² / n: not drawn to the others.
    frame, _ = aviary(4, 6, sigma=0.1)
    frame = frame[(frame["chick"] != "C003") | frame["age_d"].isin([2, 9])].drop(columns="pair")
    fit = fit_mixed(frame, random={"chick": ("A",)})
    own = fit.own(10.0)
    K_per_d, ti_d = fit.population[["K_per_d", "ti_d"]]
    at_ten = np.log(CURVES["logistic"].mass(10.0, 1.0, K_per_d, ti_d))
    for chick, rows in frame.groupby("chick"):
        away = np.log(rows["mass_g"] / CURVES["logistic"].mass(rows["age_d"], 1.0, K_per_d, ti_d))
        assert own.loc[chick, "log_mass"] == pytest.approx(away.mean() + at_ten, abs=1e-6)
        assert own.loc[chick, "variance"] == pytest.approx(fit.sigma**2 / len(rows), rel=1e-6)
    assert own["variance"].idxmax() == "C003"


def test_few_weighings_say_less():
    frame, _ = aviary(4, 6)
    few = frame[(frame["chick"] != "C003") | frame["age_d"].isin([2, 3])].drop(columns="pair")
    own, before = fit_mixed(few).own(10.0), fit_mixed(frame.drop(columns="pair")).own(10.0)
    assert own.loc["C003", "variance"] > 10 * before.loc["C003", "variance"]
    assert own.loc["C004", "log_mass"] == pytest.approx(before.loc["C004", "log_mass"], abs=2e-3)


# --- what it is for ---


def test_a_light_pair_is_found_and_hatch_order_not_blamed_on_it():
    # P00 raises only fourth and fifth chicks, each place 10 % lighter; P01 is truly 15 % lighter.
    frame, _ = aviary(8, 10, place=-0.1, sd_pair=0.0)
    frame = frame[(frame["pair"] != "P00") | (frame["hatch_order"] >= 4)]
    frame["mass_g"] = frame["mass_g"].where(frame["pair"] != "P01", 0.85 * frame["mass_g"])
    found = pair_growth(frame)
    table = found.table.set_index("pair")
    assert table.loc["P01", "high"] < 1
    assert table.loc["P01", "p_lighter"] > 0.98
    assert table.loc["P00", "low"] < 1 < table.loc["P00", "high"]
    assert found.place["low"] < np.exp(-0.1) < found.place["high"] < 1
    blind = pair_growth(frame.drop(columns="hatch_order"))
    assert blind.table.set_index("pair").loc["P00", "mass_share"] < table.loc["P00", "mass_share"] - 0.02
    assert blind.place.isna().all()


def test_a_poor_season_is_not_blamed_on_its_pairs():
    # Two seasons of the same pairs, few chicks in the poor one, and a pair in that alone; the season took 15 %.
    frame, _ = aviary(6, 8, sd_pair=0.0, place=0.0)
    poor = (frame["chick"].str[1:].astype(int) % 8 >= 6) | (frame["pair"] == "P05")
    frame["mass_g"] = frame["mass_g"].where(~poor, 0.85 * frame["mass_g"])
    blind = pair_growth(frame).table.set_index("pair").loc["P05"]
    seen = pair_growth(frame.assign(season=np.where(poor, "2025", "2026"))).table.set_index("pair").loc["P05"]
    assert blind["mass_share"] < seen["mass_share"] - 0.02
    assert seen["mass_share"] == pytest.approx(1, abs=0.03)


def test_the_table(growth):
    table = growth.table
    assert list(table) == list(COLUMNS)
    assert table["pair"].tolist() == ["P00", "P01", "P02", "P03", "P04"]
    assert table["chicks"].tolist() == [7] * 5
    assert table["enough"].all()
    assert ((table["low"] < table["mass_share"]) & (table["mass_share"] < table["high"])).all()
    assert ((table["mass_share"] < 1) == (table["p_lighter"] > 0.5)).all()
    assert growth.why == ""


def test_fewer_than_six_chicks_are_no_reason_for_advice(frame):
    first = frame[(frame["pair"] != "P01") | (frame["chick"] < "C010")]
    row = pair_growth(first).table.iloc[1]
    assert row["chicks"] == 3
    assert not row["enough"]
    said = in_words(row["sentence"])
    assert said.startswith("P01, 3 chicks: beside the typical pair's, its chicks are somewhere from ")
    assert said.endswith("Fewer than six chicks are never a reason for advice.")


def test_order_of_rows_and_ounces_change_nothing(frame, growth):
    again = pair_growth(frame.sample(frac=1, random_state=1).assign(mass_g=lambda f: f["mass_g"] / 28.35))
    assert again.table["told"].map(in_words).tolist() == growth.table["told"].map(in_words).tolist()
    told = ["told", "sentence"]  # their facts differ in the last digits
    assert_frame_equal(again.table.drop(columns=told), growth.table.drop(columns=told), rtol=1e-3)


def test_the_fall_before_weaning_does_not_count(frame, growth):
    # One pair's chicks are weaned early and fall by a third; the others do not.
    fall = np.where(frame["pair"] == "P02", 0.04 * np.maximum(frame["age_d"] - 22, 0), 0)
    found = pair_growth(frame.assign(mass_g=frame["mass_g"] * (1 - fall)))
    np.testing.assert_allclose(found.table["mass_share"], growth.table["mass_share"], atol=0.01)


# --- poor weighings: an answer or a plain reason ---


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"pair": "P01"}, "There is one pair, so how pairs differ cannot be told."),
        ({"pair": None}, "Of no chick is the pair known."),
        ({"mass_g": 50.0}, "No rise: all weights are the same."),
        ({"age_d": 5.0}, "All weighings are at the same age."),
    ],
)
def test_where_nothing_can_be_said_the_reason_is_given(frame, change, why):
    found = pair_growth(frame.assign(**change))
    assert in_words(found.why) == why
    assert list(found.table) == list(COLUMNS)
    assert found.table.empty
    assert found.place.isna().all()


def test_no_weighings():
    found = pair_growth(pd.DataFrame(columns=["chick", "pair", "age_d", "mass_g"]))
    assert in_words(found.why) == "Too few weighings: 0, and this curve needs 4."


def test_missing_places_pairs_and_single_weighings_are_borne(frame):
    gaps = frame.assign(
        pair=frame["pair"].where(frame["chick"] != "C001"),
        hatch_order=frame["hatch_order"].where(frame["chick"] != "C002"),
    )
    gaps = gaps[(gaps["chick"] != "C008") | (gaps["age_d"] == 2)]
    found = pair_growth(gaps).table
    assert found["chicks"].tolist() == [6, 7, 7, 7, 7]
    assert np.isfinite(found[["mass_share", "low", "high", "p_lighter"]]).all(axis=None)


def test_exact_weights_and_no_differences():
    frame, _ = aviary(3, 6, ages=range(1, 31, 3))
    frame["mass_g"] = CURVES["logistic"].mass(frame["age_d"], 90, 0.3, 10)
    found = pair_growth(frame)
    assert found.why == ""
    np.testing.assert_allclose(found.table["mass_share"], 1, atol=0.02)


@pytest.mark.parametrize(
    ("frame", "message"),
    [
        (aviary(2, 3)[0].drop(columns="pair"), "Growth of pairs needs the column pair"),
        (aviary(2, 3)[0].assign(chick="C1"), "A chick has one pair that laid it; C1 has several"),
    ],
)
def test_wrong_calls_say_what_is_wrong(frame, message):
    with pytest.raises(ValueError, match=message):
        pair_growth(frame)
