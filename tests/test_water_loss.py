"""Water lost by an egg, what it will have lost at pip, and what to say of it."""

import numpy as np
import pandas as pd
import pytest

from analysis.eggs.water_advice import LEAVE, LOWER, NOT_ENOUGH, RAISE, TOO_LATE, advice, advice_for, group_losses
from analysis.eggs.water_line import TYPICAL, TYPICAL_SD, Weighings, own_evidence, pooled_with_group, wander_covariance
from analysis.eggs.water_loss import COLUMNS, loss_of_two, pair_shells, water_loss
from analysis.say import in_words

# Saint Vincent amazon egg, Duerr & Gage, Hand-Rearing Birds, 2nd ed., 2020, fig. 3.1 (Houston Zoo 2017). Days 7 to 12
# are not legible there.
AMAZON_G = {
    0: 26.49, 1: 26.24, 2: 26.16, 3: 25.98, 4: 25.79, 5: 25.71, 6: 25.55, 13: 24.57, 14: 24.30, 15: 24.21, 16: 24.02,
    17: 23.81, 18: 23.69, 19: 23.56, 20: 23.38, 21: 23.22, 22: 23.07, 23: 22.92, 24: 22.78,
}  # fmt: skip
AMAZON = pd.DataFrame({"egg": "K1", "day": list(AMAZON_G), "mass_g": list(AMAZON_G.values())})
CAME = 1 - 22.78 / 26.49


@pytest.mark.parametrize(
    ("start_g", "end_g", "days", "pip_d", "percent"),
    # Duerr & Gage, Hand-Rearing Birds, 2nd ed., 2020, p. 553: its own seven examples; all but the first for two
    # lengths of incubation, 20 and 23 days, and to whole percents.
    [
        (26, 25, 7, 30, 16.5),
        (7.89, 7.00, 19, (20, 23), (12, 14)),
        (7.98, 7.23, 17, (20, 23), (11, 13)),
        (7.58, 7.25, 8, (20, 23), (11, 13)),
        (7.10, 7.03, 2, (20, 23), (10, 11)),
        (6.08, 5.88, 6, (20, 23), (11, 13)),
        (7.81, 7.14, 17, (20, 23), (10, 12)),
    ],
)
def test_the_handbooks_examples(start_g, end_g, days, pip_d, percent):
    digits = 1 if pip_d == 30 else 0
    assert np.round(100 * loss_of_two(start_g, end_g, days, pip_d), digits).tolist() == pytest.approx(
        percent if digits else list(percent)
    )


# -- a real egg


def test_the_amazon_egg():
    assert round(CAME, 5) == 0.14005
    found = water_loss(AMAZON, pip_d=24).loc["K1"]
    assert (found["n"], found["first_d"], found["last_d"]) == (19, 0, 24)
    assert found["fresh_g"] == pytest.approx(26.49, rel=0.002)
    assert found["lost"] == pytest.approx(CAME, abs=0.002)
    assert found["low"] < CAME < found["high"]
    assert found["high"] - found["low"] < 0.01  # little is left to tell


@pytest.mark.parametrize(("last_d", "widest"), [(6, 0.10), (16, 0.03)])
def test_the_amazon_egg_foreseen(last_d, widest):
    found = water_loss(AMAZON[AMAZON["day"] <= last_d], pip_d=24).loc["K1"]
    assert found["low"] < CAME < found["high"]
    assert found["high"] - found["low"] < widest
    assert found["at_pip"] == pytest.approx(CAME, abs=0.01)
    assert found["at_pip"] == pytest.approx(24 * found["a_day"], abs=0.01)


# -- known truth


def season(seed=3, eggs=20, every_d=1, until_d=12, pip_d=20, step_g=0.01, loss_sd=0.02, fresh_g=6.0):
    """Weighings of eggs that lose 0.15 ± loss_sd on a line, and what each loses at pip."""
    rng = np.random.default_rng(seed)
    true = pd.Series(0.15 + loss_sd * rng.standard_normal(eggs), index=[f"K{i}" for i in range(eggs)])
    day = np.arange(0, until_d + 1, every_d)
    mass_g = fresh_g * (1 - true.to_numpy()[:, None] * day / pip_d) + 0.5 * step_g * rng.standard_normal(day.shape)
    mass_g = step_g * np.round(mass_g / step_g)
    egg = np.repeat(true.index, len(day))
    return pd.DataFrame({"egg": egg, "day": np.tile(day, eggs), "mass_g": mass_g.ravel(), "group": "drawer"}), true


def test_known_truth_is_found_again():
    weighings, true = season()
    found = water_loss(weighings, pip_d=20)
    assert np.abs(found["at_pip"] - true).max() < 0.01
    assert (found["fresh_g"] - 6).abs().max() < 0.02
    assert np.abs(found["a_day"] - true / 20).max() < 0.0005
    assert ((found["low"] < true) & (true < found["high"])).mean() >= 0.9


def test_intervals_hold_what_they_should():
    held = []
    for seed in range(40):
        weighings, true = season(seed, eggs=8, every_d=3, until_d=9, step_g=0.05)
        found = water_loss(weighings, pip_d=20)
        held += ((found["low"] < true) & (true < found["high"])).tolist()
    assert 0.93 < np.mean(held) < 0.995


def test_a_coarse_scale_widens_the_interval():
    fine, coarse = (water_loss(season(step_g=step)[0], pip_d=20) for step in (0.01, 0.1))
    assert (coarse["high"] - coarse["low"]).mean() > 2 * (fine["high"] - fine["low"]).mean()


@pytest.mark.parametrize(("step_g", "widest"), [(0.01, 0.08), (0.1, 0.2)])
def test_two_weighings_are_worth_what_the_scale_is(step_g, widest):
    day, mass_g = np.array([0, 5] * 4), np.array([3.0, 2.9, 3.1, 3.0, 3.3, 3.2, 3.2, 3.1])
    mass_g = mass_g + (step_g < 0.1) * np.tile([0.01, 0.0], 4)
    found = water_loss(pd.DataFrame({"egg": np.repeat(list("ABCD"), 2), "day": day, "mass_g": mass_g}), pip_d=14)
    width = (found["high"] - found["low"]).mean()
    assert widest / 2 < width < widest


def test_more_weighings_narrow_the_interval():
    widths = [np.ptp(water_loss(season(until_d=d)[0], pip_d=20)[["low", "high"]], axis=1).mean() for d in (4, 8, 16)]
    assert widths[0] > 1.5 * widths[1] > 2 * widths[2]


def test_what_lies_ahead_is_no_line():
    # However exact the scale, a dry or damp week to come cannot be known.
    found = water_loss(season(step_g=0.0001, until_d=5)[0], pip_d=20)
    assert (found["high"] - found["low"]).min() > 0.002


def test_thin_evidence_borrows_and_much_stands_for_itself():
    others, _ = season(eggs=12, loss_sd=0.005)
    rate, fresh_g = 0.25 / 20, 6.0
    few, many = ([0, 1], range(0, 13))
    at_pip = []
    for days in (few, many):
        day = np.array(list(days))
        odd = pd.DataFrame({"egg": "odd", "day": day, "mass_g": (fresh_g * (1 - rate * day)).round(2)})
        odd["group"] = "drawer"
        at_pip.append(water_loss(pd.concat([others, odd]), pip_d=20)["at_pip"]["odd"])
    assert 0.15 < at_pip[0] < 0.225
    assert at_pip[1] == pytest.approx(0.25, abs=0.01)


def test_groups_do_not_lean_on_one_another():
    drawer, _ = season(eggs=10, loss_sd=0.005)
    box = drawer.assign(egg="B" + drawer["egg"], group="box", mass_g=6 * (1 - 0.1 * drawer["day"] / 20))
    thin = pd.DataFrame({"egg": "thin", "day": [0, 1], "mass_g": [6.0, 5.96]})
    at_pip = {
        name: water_loss(pd.concat([drawer, box, thin.assign(group=name)]), pip_d=20)["at_pip"]["thin"]
        for name in ("drawer", "box", "", None)
    }
    assert at_pip["drawer"] > at_pip["box"] + 0.02
    assert at_pip["box"] < at_pip[""] - 0.005
    assert at_pip[""] == pytest.approx(at_pip[None])


@pytest.mark.parametrize("blank", ["", None])
def test_a_blank_group_is_none(blank):
    drawer, _ = season(eggs=6, loss_sd=0.005)
    apart = water_loss(drawer.assign(group=drawer["egg"]), pip_d=20)
    pd.testing.assert_frame_equal(water_loss(drawer.assign(group=blank), pip_d=20), apart)


# -- the sums, against the same normal model worked as one large covariance


def eggs_of(groups):
    rng = np.random.default_rng(8)
    there = np.array([[True] * 4, [True] * 4, [True, True, False, False]])
    u = np.where(there, [[0.0, 0.1, 0.3, 0.5], [0.0, 0.2, 0.4, 0.6], [0.1, 0.25, 0, 0]], 0)
    y = np.where(there, 1.01 - 0.16 * u + 0.003 * rng.standard_normal(u.shape), 0)
    three = np.ones(3)
    pip_d = np.array([20.0, 20.0, 14.0])
    return Weighings(pip_d, np.array(groups), there, u, y, 7 * three, 0.16 * three, 6 * three, 0.001 * three)


def worked_whole(eggs, scatter, wander, spread, flat=30.0):
    """Log evidence up to a constant, and mean and variance of each loss at pip: by plain conditioning."""
    n, which, at = len(eggs.pip_d), *np.nonzero(eggs.there)
    u, y = eggs.u[which, at], eggs.y[which, at]
    alike = eggs.group[:, None] == eggs.group
    betas = TYPICAL_SD**2 * alike + spread**2 * np.eye(n)
    same, lasts = which[:, None] == which, (2.0 / eggs.pip_d)[which]
    wandered = wander**2 * same * wander_covariance(u[:, None], u, lasts[:, None])
    white = (scatter**2 + (0.5 * eggs.step[which]) ** 2) * np.eye(len(y))
    K = flat**2 * same + betas[np.ix_(which, which)] * u[:, None] * u + wandered + white
    # loss = beta + wander at 1 - guess · (alpha - 1); y = alpha - beta u - wander + scatter
    mine = np.arange(n)[:, None] == which
    ahead = wander**2 * mine * wander_covariance(u, 1.0, lasts)
    cross = -betas[:, which] * u - ahead - eggs.guess_loss[:, None] * flat**2 * mine
    own = wander**2 * wander_covariance(1.0, 1.0, 2.0 / eggs.pip_d) + eggs.guess_loss**2 * flat**2
    off = y - 1 + TYPICAL * u
    mean = TYPICAL + cross @ np.linalg.solve(K, off)
    variance = np.diag(betas) + own - np.einsum("ij,ji->i", cross, np.linalg.solve(K, cross.T))
    return -0.5 * (np.linalg.slogdet(K)[1] + off @ np.linalg.solve(K, off)), mean, variance


def by_sums(eggs, scatter, wander, spread):
    given = own_evidence(eggs, np.array([scatter**2]), np.array([wander**2]))
    member = (eggs.group == np.unique(eggs.group)[:, None]).astype(float)
    log_weight, b, variance = pooled_with_group(given, member, spread**2)
    evidence = given.log_weight.sum() + log_weight[0]
    return evidence, (given.at_typical + given.by_beta * b)[:, 0], variance[:, 0]


CELLS = [(0.001, 0.003, 0.02), (0.004, 0.03, 0.05), (0.002, 0.08, 0.01)]


def test_what_wanders_is_the_rates_covariance_summed():
    middles = (np.arange(2000) + 0.5) / 2000
    alike = np.exp(-np.abs(middles[:, None] - middles) / 0.1)
    for u, v in ((1.0, 1.0), (0.3, 1.0), (0.25, 0.5), (0.0, 0.7)):
        summed = alike[np.ix_(middles < u, middles < v)].sum() / 2000**2
        assert wander_covariance(u, v, np.array(0.1)) == pytest.approx(summed, abs=1e-5)


@pytest.mark.parametrize("groups", [[0, 1, 2], [0, 0, 1], [0, 0, 0]])
def test_the_sums_are_those_of_the_whole_model(groups):
    eggs = eggs_of(groups)
    whole, sums = ([work(eggs, *cell) for cell in CELLS] for work in (worked_whole, by_sums))
    for (_, mean, variance), (_, mine, my_variance) in zip(whole, sums, strict=True):
        assert mine == pytest.approx(mean, abs=2e-5)
        # Eggs that share their air are taken to be surer of nothing for it; one alone is as the model has it.
        alone = np.bincount(groups)[groups] == 1
        assert my_variance[alone] == pytest.approx(variance[alone], rel=2e-3)
        assert (my_variance[~alone] > 1.001 * variance[~alone]).all()
    evidence = np.array([[one[0] for one in found] for found in (whole, sums)])
    assert np.diff(evidence[1]) == pytest.approx(np.diff(evidence[0]), abs=2e-3)


# -- invariances and edges


def test_order_of_rows_does_not_matter():
    weighings, _ = season(eggs=6)
    mixed = weighings.sample(frac=1, random_state=1)
    first = list(dict.fromkeys(mixed["egg"]))
    found = water_loss(mixed, pip_d=20)
    assert found.index.tolist() == first
    pd.testing.assert_frame_equal(found.loc[weighings["egg"].unique()], water_loss(weighings, pip_d=20), rtol=1e-9)


@pytest.mark.parametrize("step_g", [0.01, 0.1])
def test_grams_or_ounces(step_g):
    weighings, _ = season(eggs=6, step_g=step_g)
    grams = water_loss(weighings, pip_d=20)
    ounces = water_loss(weighings.assign(mass_g=weighings["mass_g"] / 28.349523125), pip_d=20)
    shares = COLUMNS[4:]
    pd.testing.assert_frame_equal(grams[shares], ounces[shares], rtol=1e-5)
    assert (ounces["fresh_g"] * 28.349523125).tolist() == pytest.approx(grams["fresh_g"].tolist(), rel=1e-6)


def test_days_or_half_days():
    weighings, _ = season(eggs=6)
    days, halves = water_loss(weighings, pip_d=20), water_loss(weighings.assign(day=2 * weighings["day"]), pip_d=40)
    # The same but for weather, which lasts two days in both.
    assert halves["at_pip"].tolist() == pytest.approx(days["at_pip"].tolist(), abs=0.002)
    assert (2 * halves["a_day"]).tolist() == pytest.approx(days["a_day"].tolist(), abs=0.0002)


def test_a_single_weighing_says_nothing():
    found = water_loss(
        pd.DataFrame({"egg": ["K1", "K2", "K2"], "day": [4.0, 4, 4], "mass_g": [6.8, 6.8, 6.8]}), pip_d=20
    )
    assert found["n"].tolist() == [1, 2]
    assert found[COLUMNS[4:]].isna().all(axis=None)
    # Fresh mass by the typical loss: 0.15 · 4 / 20 = 0.03 of it are gone.
    assert found["fresh_g"].tolist() == pytest.approx([6.8 / 0.97] * 2, rel=0.002)


def test_two_weighings():
    found = water_loss(pd.DataFrame({"egg": "K1", "day": [0, 10], "mass_g": [7.00, 6.44]}), pip_d=20).loc["K1"]
    assert found["n"] == 2
    # The line through both: 0.16; it leans a little on the typical 0.15.
    assert 0.15 < found["at_pip"] < 0.161
    assert found["low"] < 0.15
    assert 0.17 < found["high"] < 0.25


def test_an_egg_first_weighed_late():
    found = water_loss(pd.DataFrame({"egg": "K1", "day": [8, 10, 12], "mass_g": [6.45, 6.30, 6.16]}), pip_d=20).loc[
        "K1"
    ]
    assert found["fresh_g"] == pytest.approx(7.0, rel=0.01)
    assert found["lost"] == pytest.approx(1 - 6.16 / found["fresh_g"])
    # A line through all three: 0.07 g a day of 7 g.
    assert found["a_day"] == pytest.approx(0.01, rel=0.1)


def test_no_egg_gains():
    found = water_loss(
        pd.DataFrame({"egg": "K1", "day": [0, 1, 2, 3, 4], "mass_g": [3.0, 3.04, 3.07, 3.11, 3.15]}), pip_d=20
    ).loc["K1"]
    assert found["low"] == 0


def test_masses_with_a_large_step_in_common_are_not_taken_for_it():
    # All of 23.4 and 26.0 are multiples of 2.6; no scale is.
    pair, other = (
        water_loss(pd.DataFrame({"egg": "K1", "day": [0, 16], "mass_g": [start, 23.4]}), pip_d=25).loc["K1"]
        for start in (26.0, 26.01)
    )
    assert pair["high"] - pair["low"] < 0.15
    assert other["high"] - other["low"] < 0.06


def test_weighings_that_cannot_be_are_left_out():
    good, _ = season(eggs=4)
    bad = pd.DataFrame({"egg": ["K0", "K1", "K2", None], "day": [3, np.nan, 5, 2], "mass_g": [np.nan, 6, 0, 6]})
    none = pd.DataFrame({"egg": ["K9"], "day": [1], "mass_g": [-1.0]})
    found = water_loss(pd.concat([good, bad, none]), pip_d=20)
    pd.testing.assert_frame_equal(found.drop("K9"), water_loss(good, pip_d=20))
    assert found.loc["K9", "n"] == 0
    assert found.loc["K9"].drop("n").isna().all()


def test_a_day_of_pip_by_egg():
    weighings, _ = season(eggs=4)
    pip_d = pd.Series({"K0": 20.0, "K1": 0.0, "K2": 24.0})
    found = water_loss(weighings, pip_d=pip_d)
    assert found.loc["K2", "at_pip"] == pytest.approx(24 * found.loc["K2", "a_day"], rel=0.03)
    assert found.loc["K3", "n"] == 13
    assert found.loc[["K1", "K3"], "fresh_g":].isna().all(axis=None)


def test_no_weighings_and_no_column():
    empty = pd.DataFrame({"egg": [], "day": [], "mass_g": []})
    assert water_loss(empty, pip_d=20).empty
    with pytest.raises(ValueError, match="no column mass_g"):
        water_loss(pd.DataFrame({"egg": ["K1"], "day": [1]}), pip_d=20)


def test_the_same_digits_every_run():
    weighings, _ = season(eggs=5)
    first, second = (water_loss(weighings.copy(), pip_d=20) for _ in range(2))
    assert first.to_csv() == second.to_csv()


# -- what is said


@pytest.mark.parametrize(
    ("low", "high", "part", "word"),
    # Lines at 13 and 17 %, Duerr & Gage, Hand-Rearing Birds, 2nd ed., 2020, p. 65; too little asks for drier air, too
    # much for damper, p. 552.
    [
        (0.10, 0.129, 0.4, LOWER),
        (0.10, 0.131, 0.4, LEAVE),
        (0.171, 0.20, 0.4, RAISE),
        (0.169, 0.20, 0.4, LEAVE),
        (0.14, 0.16, 0.4, LEAVE),
        (0.12, 0.18, 0.4, NOT_ENOUGH),
        (0.171, 0.20, 0.75, RAISE),
        (0.171, 0.20, 0.76, TOO_LATE),
        (0.10, 0.129, 0.76, TOO_LATE),
        (0.14, 0.16, 0.9, LEAVE),
        (np.nan, np.nan, 0.4, NOT_ENOUGH),
    ],
)
def test_the_word(low, high, part, word):
    said = advice(low, (low + high) / 2, high, part=part)
    assert said.word == word
    assert ("cannot be told" in in_words(said.finding)) == (word == LEAVE and not (low >= 0.13 and high <= 0.17))
    for change in (RAISE, LOWER):
        assert (change in in_words(said.finding)) == (word == change)


def test_a_keepers_own_lines():
    assert advice(0.10, 0.11, 0.12, part=0.4, low_line=0.09).word == LEAVE
    assert advice(0.14, 0.15, 0.16, part=0.4, high_line=0.135).word == RAISE


def losses(**eggs):
    table = pd.DataFrame(eggs, index=["at_pip", "half"]).T
    return table.assign(low=table["at_pip"] - table["half"], high=table["at_pip"] + table["half"])


def test_the_sentence_for_an_incubator():
    loss = losses(K1=(0.19, 0.01), K2=(0.20, 0.02), K3=(0.11, 0.01), K4=(np.nan, np.nan))
    by = pd.Series({"K1": "box 10", "K2": "box 10", "K3": "box 2", "K4": "box 3"})
    said = advice_for(loss, by, part=0.5).set_index("name")
    assert said.index.tolist() == ["box 2", "box 3", "box 10"]
    assert said["word"].tolist() == [LOWER, NOT_ENOUGH, RAISE]
    assert in_words(said.loc["box 10", "finding"]) == (
        "The 2 eggs in box 10 are on course to lose 19.5 % of the fresh mass by pip (likely 18.0–21.0 %), more than "
        "17 %: raise the humidity a little, and weigh again in three days."
    )
    assert in_words(said.loc["box 2", "finding"]).endswith(
        "With one egg nobody can say whether it is the shell or the air."
    )
    assert in_words(said.loc["box 3", "finding"]) == "No egg in box 3 has been weighed on two days yet."


def test_one_egg_off_in_a_sound_incubator_is_its_shell():
    loss = losses(K1=(0.15, 0.01), K2=(0.15, 0.01), K3=(0.15, 0.01), K4=(0.20, 0.02))
    (said,) = advice_for(loss, pd.Series("drawer", index=loss.index), part=0.5).to_dict("records")
    assert said["word"] == LEAVE
    assert in_words(said["finding"]).endswith(
        "K4 loses more than the others: that lies in its shell, and calls for no change."
    )
    assert "K1" not in in_words(said["finding"])


def test_one_egg_far_off_changes_no_air():
    loss = losses(K1=(0.15, 0.01), K2=(0.16, 0.01), K3=(0.30, 0.01))
    (said,) = advice_for(loss, pd.Series("drawer", index=loss.index), part=0.5).to_dict("records")
    assert said["low"] > 0.17
    assert said["word"] == LEAVE
    assert "more than 17 %, but most of them do not: leave the humidity as it is. K3 loses more" in in_words(
        said["finding"]
    )


def test_no_shell_is_named_where_half_the_eggs_are_off_or_the_air_is():
    half = losses(K1=(0.20, 0.01), K2=(0.11, 0.01))
    air = losses(K1=(0.20, 0.02), K2=(0.19, 0.025), K3=(0.19, 0.025), K4=(0.21, 0.025), K5=(0.20, 0.02))
    for loss, word in ((half, LEAVE), (air, RAISE)):
        (said,) = advice_for(loss, pd.Series("drawer", index=loss.index), part=0.5).to_dict("records")
        assert said["word"] == word
        assert "shell" not in in_words(said["finding"])
    assert (air["low"] > 0.17).sum() > 2
    alone = losses(K1=(0.21, 0.01), K2=(0.18, 0.011), K3=(0.18, 0.011))
    (said,) = advice_for(alone, pd.Series("drawer", index=alone.index), part=0.5).to_dict("records")
    assert (alone["low"] > 0.17).sum() == 1
    assert said["word"] == RAISE
    assert "shell" not in in_words(said["finding"])


def test_an_incubator_is_too_late_only_when_all_its_eggs_are():
    loss = losses(K1=(0.20, 0.01), K2=(0.20, 0.01))
    by = pd.Series("drawer", index=loss.index)
    assert advice_for(loss, by, part=pd.Series({"K1": 0.8, "K2": 0.3}))["word"].tolist() == [RAISE]
    assert advice_for(loss, by, part=pd.Series({"K1": 0.8, "K2": 0.9}))["word"].tolist() == [TOO_LATE]


def test_no_humidity_is_set_for_a_pair():
    loss = losses(K1=(0.20, 0.01), K2=(0.20, 0.01))
    (said,) = advice_for(loss, pd.Series("P1", index=loss.index), part=0.5, of="pair").to_dict("records")
    assert said["word"] == LEAVE
    assert "more than 17 %" in in_words(said["finding"])
    assert [change for change in (RAISE, LOWER) if change in in_words(said["finding"])] == []


def test_the_mean_of_a_group_is_no_surer_than_its_eggs():
    loss = losses(K1=(0.15, 0.02), K2=(0.17, 0.04), K3=(np.nan, np.nan))
    (row,) = group_losses(loss, pd.Series("drawer", index=loss.index)).to_dict("records")
    assert row == {
        "name": "drawer",
        "eggs": 2,
        **{"at_pip": pytest.approx(0.16)},
        "low": pytest.approx(0.13),
        "high": pytest.approx(0.19),
    }


def clutches(rng, *, pairs=6, clutches=2, eggs=4, shell=0.0):
    """At pip 0.15; eggs differ by 0.02, clutches by 0.01, and the eggs of P0 lose `shell` more."""
    rows = [(f"P{p}", c, shell * (p == 0)) for p in range(pairs) for c in range(clutches) for _ in range(eggs)]
    table = pd.DataFrame(rows, columns=["pair", "clutch", "at_pip"])
    table["at_pip"] += 0.15 + 0.01 * np.repeat(rng.standard_normal(pairs * clutches), eggs)
    return table.assign(at_pip=table["at_pip"] + 0.02 * rng.standard_normal(len(table)), group="drawer")


def test_shells_that_lose_too_fast_are_found_and_others_let_be():
    rng = np.random.default_rng(5)
    wrong = [(pair_shells(clutches(rng))["finding"] != "").mean() for _ in range(40)]
    found = [pair_shells(clutches(rng, shell=0.06)).loc[0, "finding"] for _ in range(40)]
    assert np.mean(wrong) < 0.07
    assert np.mean([in_words(one).startswith("In each of 2 clutches the eggs of P0 lost more") for one in found]) > 0.8


def test_one_pair_that_is_off_does_not_make_others_look_off():
    rng = np.random.default_rng(9)
    others = [pair_shells(clutches(rng, pairs=5, shell=0.15))["finding"].iloc[1:] for _ in range(40)]
    assert np.mean([findings.ne("").mean() for findings in others]) < 0.12


def test_every_clutch_has_to_be_on_the_same_side():
    table = clutches(np.random.default_rng(10), pairs=8, clutches=3).assign(at_pip=0.15)
    mine = table["pair"] == "P0"
    table.loc[mine, "at_pip"] = table.loc[mine, "clutch"].map({0: 0.25, 1: 0.25, 2: 0.149})
    found = pair_shells(table).set_index("pair").loc["P0"]
    assert found["low"] > 0
    assert found["finding"] == ""


def test_what_it_takes_to_speak_of_shells():
    rng = np.random.default_rng(6)
    clear = clutches(rng, shell=0.10)
    told = pair_shells(clear).set_index("pair")["finding"]
    assert in_words(told["P0"]).endswith("their shells let more water through.")
    mine = clear["pair"] == "P0"
    one_clutch = clear[~mine | (clear["clutch"] == 0)]
    three_eggs = clear[~mine | ~clear.duplicated(["pair", "clutch"])]
    one_other = clear[clear["pair"].isin(["P0", "P1"])]
    other_side = clear.assign(at_pip=clear["at_pip"].where(~(mine & (clear["clutch"] == 1)), 0.10))
    for less in (one_clutch, three_eggs, other_side):
        assert pair_shells(less).set_index("pair").loc["P0", "finding"] == ""
    assert pair_shells(one_other).empty
