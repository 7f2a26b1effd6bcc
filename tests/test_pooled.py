"""Rates of pairs and cages together: against long MCMC runs, another program, direct integration; and bad input."""

import sys

import numpy as np
import pandas as pd
import pytest
from reference.pooled_by_nuts import FITS
from scipy.special import betaln, roots_sh_jacobi

from analysis.rates import not_told_apart, pooled
from analysis.say import in_words
from support import ROOT

REFERENCE = ROOT / "tests" / "reference"


def clutches(name):
    return pd.read_csv(REFERENCE / f"{name}_clutches.csv")


def posterior(name):
    return pd.read_csv(REFERENCE / f"{name}_clutches_posterior_mcmc.csv").set_index(["kind", "name"])


def level(found, group):
    return found.groups[found.groups["group"] == group].set_index("name")


@pytest.fixture(scope="module")
def crossed():
    return pooled(clutches("crossed"))


@pytest.fixture(scope="module")
def failed():
    return pooled(clutches("failed"), failures=True)


# -- the exact posterior. The references: NumPyro 0.22 NUTS, 2 x 200,000 draws, R-hat <= 1.00003, run for this project.


@pytest.mark.parametrize("name", ["crossed", "failed"])
@pytest.mark.parametrize("group", ["pair", "cage"])
def test_rates_are_those_of_a_long_mcmc_run(name, group, request):
    found = level(request.getfixturevalue(name), group)
    expected = posterior(name).loc[f"{group}_rate"].loc[found.index]
    assert np.abs(found["mean"] - expected["mean"]).max() < 0.005
    assert np.abs(found["low"] - expected["q025"]).max() < 0.015
    assert np.abs(found["high"] - expected["q975"]).max() < 0.015


@pytest.mark.parametrize("name", ["crossed", "failed"])
def test_so_are_probabilities_and_standard_deviations(name, request):
    found, expected = request.getfixturevalue(name), posterior(name)
    below = expected.loc["pair_below_typical", "mean"]
    assert np.abs(level(found, "pair")["p_below_typical"] - below).max() < 0.015
    for group in ("pair", "cage"):
        row = expected.loc[("hyper", f"sd_{group}")]
        assert found.sd.loc[group, "mean"] == pytest.approx(row["mean"], abs=0.01)
        assert found.sd.loc[group, "high"] == pytest.approx(row["q975"], abs=0.04)
    assert found.ess > 3000


# Runs of reference/pooled_by_nuts.py, by which they can be made again; R-hat and effective draws stand in each.
SLOW = pytest.mark.slow
RUN = [name for name, (data, *_) in FITS.items() if data != "more"]  # those of 200 × 40 are held by the bench


@pytest.mark.parametrize("name", [pytest.param(name, marks=SLOW if FITS[name][0] == "many" else ()) for name in RUN])
def test_every_option_agrees_with_a_general_sampler(name):
    data, groups, options, _ = FITS[name]
    frame = clutches(data)
    found = pooled(frame, groups=groups, **options)
    expected = pd.read_csv(REFERENCE / f"{name}_posterior_mcmc.csv").set_index(["kind", "name"])
    assert expected.loc[("run", "r_hat"), "mean"] < 1.001
    for group in groups:
        table, told = level(found, group), expected.loc[f"{group}_rate"]
        assert set(table.index) == set(told.index)
        assert np.abs(table["mean"] - told["mean"]).max() < 0.005
        # Of a pair of which nothing hatched, the upper end is not sure in the run itself: it lies on a flat tail
        # (0.72 to 0.84 for 0.97 to 0.98 of one of them), being either a bad pair or one whose clutches all failed.
        sure = (table["worked"] > 0) | (not options.get("failures"))
        assert np.abs(table["low"] - told["q025"]).max() < 0.015
        assert np.abs(table["high"] - told["q975"])[sure].max() < 0.015
        assert np.abs(table["high"] - told["q975"]).max() < 0.06
        assert np.abs(table["p_below_typical"] - expected.loc[f"{group}_below_typical", "mean"]).max() < 0.015
        assert found.sd.loc[group, "mean"] == pytest.approx(expected.loc[("hyper", f"sd_{group}"), "mean"], abs=0.015)
    if options.get("never"):
        assert np.abs(level(found, "pair")["p_never"] - expected.loc["pair_never", "mean"]).max() < 0.015
    if options.get("failures"):
        lost = frame.loc[found.failed.index]
        p_failed = expected.loc["clutch_failed", "mean"][lost["pair"] + "/" + lost["clutch"].astype(str)]
        assert np.abs(found.failed["p_failed"].to_numpy() - p_failed.to_numpy()).max() < 0.015
        assert found.failing.mean() == pytest.approx(expected.loc[("hyper", "q"), "mean"], abs=0.005)
    if options.get("scatter"):
        rho = expected.loc[("hyper", "rho")]
        assert found.scatter.mean() == pytest.approx(rho["mean"], abs=0.005)
        assert np.quantile(found.scatter, 0.975) == pytest.approx(rho["q975"], abs=0.02)


def test_how_likely_each_lost_clutch_failed_whole(failed):
    frame, lost = clutches("failed"), failed.failed
    names = lost["pair"] + "/" + frame.loc[lost.index, "clutch"].astype(str)
    expected = posterior("failed").loc["clutch_failed", "mean"]
    assert set(names) == set(expected.index)
    assert np.abs(lost["p_failed"].to_numpy() - expected.loc[names].to_numpy()).max() < 0.015
    q = posterior("failed").loc[("hyper", "q")]
    assert failed.share_failing["mean"] == pytest.approx(q["mean"], abs=0.005)
    assert failed.share_failing["high"] == pytest.approx(q["q975"], abs=0.015)


def test_the_first_data_cannot_tell_whether_failures_are_modelled_and_the_second_can(crossed, failed):
    with_them, without = pooled(clutches("crossed"), failures=True), pooled(clutches("failed"))
    moved = [
        np.abs(level(one, "pair")["mean"] - level(other, "pair")["mean"]).max()
        for one, other in ((crossed, with_them), (failed, without))
    ]
    assert moved[0] < 0.04 < 0.06 < moved[1]


def test_herds_near_those_of_lme4():
    # cbpp: Lesnoff et al. 2004, data of R's lme4 1.1-31; herd modes by Laplace, periods fixed.
    herds = pd.read_csv(REFERENCE / "cbpp.csv")
    told = pd.read_csv(REFERENCE / "cbpp_r_lme4.csv").set_index("quantity")["value"]
    found = pooled(herds, "size", "incidence", ("herd", "period"))
    modes = np.array([told[f"herd_{herd}"] for herd in range(1, 16)])
    effects = np.array([np.log(m / (1 - m)) for m in level(found, "herd")["mean"]])
    effects -= np.log(found.typical["mean"] / (1 - found.typical["mean"]))
    # Not equal: means of a posterior stand beside modes, sd_herd is integrated over and not plugged in, and periods
    # have a spread of their own here. The typical herd is compared with itself, so what is common goes out.
    assert np.abs((effects - effects.mean()) - (modes - modes.mean())).max() < 0.12
    assert np.corrcoef(effects, modes)[0, 1] > 0.995
    assert found.sd.loc["herd", "low"] < told["sd_herd"] < found.sd.loc["herd", "high"]


# Rats with a tumour of all in the group, 71 groups: Tarone 1982, as in Gelman et al., Bayesian Data Analysis, table 5.1
# (typed from memory; the fit below is the check: alpha 2.30478, beta 14.07981 of the first 70, recomputed).
TUMOURS = """
0/20 0/20 0/20 0/20 0/20 0/20 0/20 0/19 0/19 0/19 0/19 0/18 0/18 0/17 1/20 1/20 1/20 1/20 1/19 1/19 1/18 1/18 2/25 2/24
2/23 2/20 2/20 2/20 2/20 2/20 2/20 1/10 5/49 2/19 5/46 3/27 2/17 7/49 7/47 3/20 3/20 2/13 9/48 10/50 4/20 4/20 4/20
4/20 4/20 4/20 4/20 10/48 4/19 4/19 4/19 5/22 11/46 12/49 5/20 5/20 6/23 5/19 6/22 6/20 6/20 6/20 16/52 15/47 15/46 9/24
"""


def test_rat_tumours_near_the_beta_binomial():
    from scipy.optimize import minimize
    from scipy.special import betaln

    k, n = np.array([cell.split("/") for cell in TUMOURS.split()], float).T
    assert len(k) == 70

    def loss(log_ab):
        a, b = np.exp(log_ab)
        return -np.sum(betaln(k + a, n - k + b) - betaln(a, b))

    a, b = np.exp(minimize(loss, [1.0, 2.0], method="Nelder-Mead", options={"xatol": 1e-8, "fatol": 1e-10}).x)
    assert (a, b) == (pytest.approx(2.30478, rel=1e-3), pytest.approx(14.07981, rel=1e-3))
    found = pooled(pd.DataFrame({"group": range(70), "rats": n, "tumours": k}), "rats", "tumours", ("group",))
    expected = (k + a) / (n + a + b)
    # A logit-normal spread and a beta one are different models: an order of magnitude, within 0.03.
    assert np.abs(level(found, "group").loc[[str(i) for i in range(70)], "mean"] - expected).max() < 0.03
    assert "quadrature" in found.method


# -- direct integration, on tables small enough for it


def by_hand(k, n, *, scatter=False, **options):
    """Mean rate, and p_never, of the first of a few pairs of one clutch each, on a grid of everything."""
    rhos, weights = roots_sh_jacobi(6, 9.0, 1.5) if scatter else ([None], [1.0])  # of rho's prior, Beta(1.5, 8.5)
    total, mean, out = sum(w * sums(k, n, rho, **options) for rho, w in zip(rhos, weights, strict=True))
    return mean / total, out / total


def quantiles(b):
    """Of Beta(1, b): as likely one as the other."""
    return 1 - (1 - (np.arange(32) + 0.5) / 32) ** (1 / b)


def sums(k, n, rho, never=False, failures=False, centre=0.0, spread=1.5, failing=9.0, pending=(0, 0, 0)):
    mu, z, sd = np.linspace(-7, 7, 57), np.linspace(-6, 6, 49), (np.arange(32) + 0.5) / 8
    q, share, p_never = (
        quantiles(b) if on else np.zeros(1) for b, on in ((failing, failures), (9, never), (24, never))
    )
    p = 1 / (1 + np.exp(-(mu[:, None, None] + sd[:, None] * z)))
    normal = np.exp(-0.5 * z**2) / np.exp(-0.5 * z**2).sum()
    beta = np.full(len(p_never), 1 / len(p_never))
    prior = np.exp(-0.5 * ((mu - centre) / spread) ** 2)[:, None, None, None] * np.exp(-0.5 * sd**2)[:, None, None]
    total, mean, out = np.broadcast_to(prior, (len(mu), len(sd), len(q), len(share))), 0.0, 0.0
    for number, (worked, tried, alive) in enumerate(zip(k, n, pending, strict=True)):

        def chance(rate, worked=worked, tried=tried, alive=alive):
            own = (rate ** (worked + alive) * (1 - rate) ** (tried - worked))[..., None]
            if rho is not None and rate is not p_never:
                a, b = rate * (1 - rho) / rho, (1 - rate) * (1 - rho) / rho
                own = np.exp(betaln(worked + alive + a, tried - worked + b) - betaln(a, b))[..., None]
            if tried == 0:
                return own * (1 - q) ** min(alive, 1)
            return (1 - q) * own + q * (worked == 0) * max(1 - alive, 0)

        own = np.einsum("msuq,u->msq", chance(p), normal)[..., None] * (1 - share)
        gone = np.einsum("pq,p->q", chance(p_never), beta)[:, None] * share
        if number == 0:
            rate = np.einsum("msuq,msu,u->msq", chance(p), p, normal)[..., None] * (1 - share)
            of_never = np.einsum("pq,p,p->q", chance(p_never), p_never, beta)[:, None] * share
            parts = (own + gone, rate + of_never, gone + 0 * own)
            total, mean, out = (total * part for part in parts)
        else:
            total, mean, out = (weight * (own + gone) for weight in (total, mean, out))
    return np.array([total.sum(), np.sum(mean), np.sum(out)])


@pytest.mark.parametrize(
    ("worked", "options"),
    [
        ([2, 5, 4], {}),
        ([0, 5, 4], {"never": True}),
        ([0, 5, 4], {"failures": True}),
        ([0, 5, 5], {"never": True, "failures": True}),
        ([2, 5, 4], {"centre": 1.5, "spread": 0.5}),
        ([0, 5, 4], {"failures": True, "failing": 3.0}),
        ([2, 5, 4], {"pending": (1.7, 0, 0)}),
        ([0, 5, 4], {"failures": True, "pending": (0.4, 0, 1.2)}),
        ([0, 0, 4], {"never": True, "failures": True, "pending": (2.5, 0.0, 0.0)}),
        ([2, 5, 4], {"scatter": True}),
        ([0, 5, 5], {"scatter": True, "never": True, "pending": (0.0, 1.4, 0.0)}),
    ],
)
@pytest.mark.parametrize("eggs", [(5, 5, 5), (5, 0, 5)])
def test_small_tables_agree_with_direct_integration(worked, options, eggs, monkeypatch):
    worked = np.minimum(worked, eggs)
    frame = pd.DataFrame({"pair": ["A", "B", "C"], "eggs": eggs, "hatched": worked})
    frame["alive"] = options.get("pending", 0.0)
    named = options | ({"pending": "alive"} if "pending" in options else {})
    mean, gone = by_hand(worked, eggs, **options)
    for method in ("quadrature", "importance sampling"):
        found = pooled(frame, groups=("pair",), **named)
        assert method in found.method
        assert found.groups.loc[0, "mean"] == pytest.approx(mean, abs=0.004)
        if options.get("never"):
            assert found.groups.loc[0, "p_never"] == pytest.approx(gone, abs=0.01)
        assert found.rates(pair="A").mean() == pytest.approx(mean, abs=0.012)
        monkeypatch.setattr(sys.modules["analysis.rates.pooling.one_group"], "is_small", lambda model: False)


def test_a_pair_that_is_never_fertile_is_not_drawn_to_the_others():
    # 0 of 10 among pairs of 90 %: a normal spread has no room for it (mean 0.17; with the class below 0.03: tried
    # beforehand, statistics of the design)
    frame = pd.DataFrame({"pair": [f"P{n}" for n in range(12)], "eggs": 10, "hatched": [0] + [9] * 11})
    plain, never = (pooled(frame, groups=("pair",), never=on).groups.set_index("name") for on in (False, True))
    assert plain.loc["P0", "mean"] > 0.1
    assert never.loc["P0", "mean"] < 0.03
    assert never.loc["P0", "p_never"] > 0.95
    assert never.loc["P1", "p_never"] < 0.01


def test_a_pair_that_never_works_counts_as_below_typical():
    frame = pd.DataFrame({"pair": [f"P{n}" for n in range(6)], "eggs": 10, "hatched": [0] + [9] * 5})
    found = pooled(frame, groups=("pair",), never=True)
    row = found.groups.set_index("name").loc["P0"]
    assert row["p_never"] <= row["p_below_typical"]
    assert row["p_below_typical"] > 0.99
    assert np.isnan(found.even.never[:, 0]).mean() == pytest.approx(1 - row["p_never"], abs=0.02)


@pytest.mark.parametrize("options", [{"failures": True}, {"never": True, "failures": True}])
def test_clutches_of_no_eggs_tell_nothing(options):
    frame = clutches("failed").head(20)
    none = pd.DataFrame({"pair": "P01", "cage": [f"G{n}" for n in range(1, 9)] * 5, "eggs": 0, "hatched": 0})
    one, other = (level(pooled(rows, **options), "pair")["mean"] for rows in (frame, pd.concat([frame, none])))
    assert np.abs(one - other).max() < 0.01


@pytest.mark.parametrize(
    "options", [{"centre": -6.0, "spread": 1.0}, {"centre": 1.0, "spread": 0.05}, {"failures": True, "failing": 0.5}]
)
def test_one_group_is_found_wherever_it_lies(options, monkeypatch):
    frame = clutches("failed")
    grid = pooled(frame, groups=("pair",), **options)
    monkeypatch.setattr(sys.modules["analysis.rates.pooling.one_group"], "is_small", lambda model: False)
    drawn = pooled(frame, groups=("pair",), **options)
    assert ("quadrature" in grid.method, "quadrature" in drawn.method) == (True, False)
    assert grid.typical["mean"] == pytest.approx(drawn.typical["mean"], abs=0.005)
    assert np.abs(grid.groups["mean"] - drawn.groups["mean"]).max() < 0.005
    assert np.abs(grid.groups["p_below_typical"] - drawn.groups["p_below_typical"]).max() < 0.015
    if "failing" in options:
        assert np.abs(grid.share_failing - drawn.share_failing).max() < 0.01


def test_trials_under_way_are_no_counts_and_no_clutch_lost_yet():
    frame = pd.DataFrame({"pair": ["A", "B", "B"], "hatched": [3, 3, 0], "weaned": 0, "alive": [0.2, 0.0, 1.6]})
    columns = ("hatched", "weaned", ("pair",))
    found = pooled(frame, *columns, failures=True, pending="alive")
    assert found.groups[["tried", "worked"]].to_numpy().tolist() == [[3, 0], [3, 0]]
    assert found.groups["raw"].tolist() == [0.0, 0.0]
    assert found.failed.index.tolist() == [1]  # A's young are not all lost yet
    over = pooled(frame.assign(alive=0.0), *columns, failures=True, pending="alive")
    pd.testing.assert_frame_equal(over.groups, pooled(frame, *columns, failures=True).groups)
    assert (found.groups["mean"] > over.groups["mean"] + 0.05).all()


@pytest.mark.parametrize("scatter", [False, True])
@pytest.mark.parametrize("groups", [("pair",), ("pair", "cage")])
def test_trials_under_way_and_scatter_change_no_digit_with_the_order_of_rows(groups, scatter):
    rng = np.random.default_rng(1)
    frame = clutches("failed").assign(alive=lambda rows: rng.random(len(rows)).round(3))
    options = {"groups": groups, "failures": True, "pending": "alive", "scatter": scatter}
    one, other = (pooled(rows, **options) for rows in (frame, frame.sample(frac=1, random_state=2)))
    pd.testing.assert_frame_equal(one.groups, other.groups, check_exact=True)
    assert np.array_equal(one.rates(pair="P05"), other.rates(pair="P05"))
    assert (one.scatter is None) == (not scatter)
    assert not scatter or np.array_equal(one.scatter, other.scatter)


# -- the same answer, whatever the order and the names


def test_the_same_digits_for_the_same_seed_whatever_the_order_of_rows(crossed):
    frame = clutches("crossed")
    again = pooled(frame.sample(frac=1, random_state=3))
    pd.testing.assert_frame_equal(again.groups, crossed.groups)
    assert np.array_equal(again.rates(pair="P05", cage="G2"), crossed.rates(pair="P05", cage="G2"))
    renamed = frame.assign(pair="x" + frame["pair"], cage="y" + frame["cage"])
    assert np.array_equal(pooled(renamed).groups["mean"], crossed.groups["mean"])
    other = pooled(frame, seed=1).groups
    assert not other["mean"].equals(crossed.groups["mean"])
    assert np.abs(other["mean"] - crossed.groups["mean"]).max() < 0.005


def test_draws_agree_with_the_table(crossed):
    for name, row in level(crossed, "pair").iterrows():
        draws = crossed.rates(pair=name)
        assert draws.mean() == pytest.approx(row["mean"], abs=0.01)
        assert np.quantile(draws, 0.025) == pytest.approx(row["low"], abs=0.03)
    unseen = crossed.rates(pair="P99")
    assert crossed.rates(pair="P13").mean() < unseen.mean() < crossed.rates(pair="P06").mean()
    assert unseen.std() > crossed.rates(pair="P06").std()
    with pytest.raises(ValueError, match="rates were worked out for pair, cage, not for room"):
        crossed.rates(room="R1")


def test_another_spread_beforehand_is_a_fit_with_that_prior(crossed, monkeypatch):
    monkeypatch.setattr(sys.modules["analysis.rates.pooling.grid"], "SD_SCALE", 0.5)
    narrow = level(pooled(clutches("crossed")), "pair")["mean"]
    assert np.abs(crossed.under(0.5) - narrow).max() < 0.02
    assert np.abs(crossed.under(1.0) - narrow).max() > 0.03


def test_beyond_sixty_effects_another_method_says_so_and_agrees(monkeypatch):
    rng = np.random.default_rng(4)
    pair, cage, eggs = np.arange(180) % 60, rng.integers(0, 20, 180), rng.integers(3, 6, 180)
    effects = 1.4 + rng.normal(0, 0.9, 60)[pair] + rng.normal(0, 0.5, 20)[cage]
    frame = pd.DataFrame(
        {"pair": pair, "cage": cage, "eggs": eggs, "hatched": rng.binomial(eggs, 1 / (1 + np.exp(-effects)))}
    )
    exact = pooled(frame)
    monkeypatch.setattr(sys.modules["analysis.rates.pooling.answer"], "is_large", lambda model: True)
    nested = pooled(frame)
    assert ("importance sampling" in exact.method, "nested Laplace" in nested.method) == (True, True)
    assert any("nested Laplace" in note for note in nested.notes), nested.notes
    ends = np.abs(exact.groups[["mean", "low", "high"]] - nested.groups[["mean", "low", "high"]]).max()
    assert ends["mean"] < 0.01
    assert ends[["low", "high"]].max() < 0.03


# -- what cannot be told apart


def notes(rows):
    return not_told_apart(pd.DataFrame(rows, columns=["pair", "cage"]).assign(eggs=4))


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([("P1", "C1"), ("P1", "C2"), ("P2", "C1"), ("P2", "C2")], []),
        ([("P1", "C1"), ("P1", "C2"), ("P2", "C1"), ("P9", "C9")], ["cannot be told apart here: P9, C9."]),
        ([("P1", "C1"), ("P2", "C2")], ["cannot be told apart at all: P1, C1; P2, C2."]),
        ([("P1", "C1"), ("P2", "C1")], ["All clutches are of one cage (C1)"]),
        (
            [("P1", "C1"), ("P1", "C2"), ("P2", "C1"), ("P3", "C3"), ("P3", "C4"), ("P4", "C3"), ("P4", "C5")],
            ["P1 and P2 were only ever with C1 and C2, and these with no others"],
        ),
        ([("P1", "C1"), ("P2", "C1"), ("P3", "C2"), ("P4", "C2")], ["No pair was with more than one cage"]),
        ([("P1", ""), ("P2", "C1"), ("P1", "C1")], ["Some clutches name no cage"]),
    ],
)
def test_what_cannot_be_told_apart_is_said_by_name(rows, said):
    found = notes(rows)
    assert len(found) == len(said), found
    for note, words in zip(found, said, strict=True):
        assert words in in_words(note)


def test_the_rank_of_all_groups_together_is_asked_too():
    # Each two of the groups are crossed, all three are not: kind is 1 just where pair and cage differ.
    rows = [("P1", "C1", "a"), ("P1", "C2", "b"), ("P2", "C1", "b"), ("P2", "C2", "a")]
    frame = pd.DataFrame(rows, columns=["pair", "cage", "kind"]).assign(eggs=4)
    assert not_told_apart(frame, groups=("pair", "cage", "kind")) == ()
    short = frame.iloc[:3]
    assert "rates.hardly-linked" in {note.code for note in not_told_apart(short, groups=("pair", "cage", "kind"))}


# -- bad input: an answer or a plain reason


@pytest.mark.parametrize(
    "frame",
    [
        pd.DataFrame({"pair": ["P1"], "cage": "C1", "eggs": [1], "hatched": [1]}),
        pd.DataFrame({"pair": ["P1", "P2"], "cage": "C1", "eggs": 5, "hatched": 5}),
        pd.DataFrame({"pair": ["P1", "P2"], "cage": "C1", "eggs": 5, "hatched": 0}),
        pd.DataFrame({"pair": ["P1", "P2"], "cage": [None, ""], "eggs": [4, 0], "hatched": [2, 0]}),
        pd.DataFrame({"pair": [1, 2], "cage": [3, 3], "eggs": [4, 4], "hatched": [2, 1]}).astype("Int64"),
    ],
)
@pytest.mark.parametrize("options", [{}, {"never": True, "failures": True}])
def test_there_is_an_answer_for_hardly_anything(frame, options):
    found = pooled(frame, **options)
    told = found.groups
    assert told[["mean", "low", "high", "p_below_typical"]].notna().all(axis=None)
    assert ((told["low"] < told["mean"]) & (told["mean"] < told["high"])).all()
    assert told["tried"].sum() == 2 * frame["eggs"].sum()


def test_nothing_at_all_and_missing_counts_are_said():
    columns = ["pair", "cage", "eggs", "hatched"]
    empty = pooled(pd.DataFrame(columns=columns))
    assert (len(empty.groups), empty.notes) == (0, ("Nothing was counted, so nothing is known.",))
    assert [note.code for note in empty.found] == ["rates.nothing-counted"]
    assert 0.45 < empty.rates(pair="P1").mean() < 0.55  # the prior
    partly = pooled(pd.DataFrame([("P1", "C1", 4, None), ("P1", "C1", 4, 3)], columns=columns))
    assert partly.notes[0] == "1 clutch without both counts left out."
    assert (partly.found[0].code, partly.found[0].facts) == ("rates.left-out", {"clutches": 1})
    assert partly.groups["tried"].tolist() == [4, 4]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"groups": ("pair", "room")}, "missing: room"),
        ({"groups": ()}, "got none"),
        ({"groups": ("pair", "pair")}, "different columns"),
        ({"groups": ("pair", "cage", "eggs", "hatched")}, "one to three"),
        ({"worked": "eggs", "tried": "hatched"}, "got 5 of 3"),
        ({"worked": "half"}, "whole numbers, got 2.5 of 5"),
        ({"worked": "less"}, "got -1 of 5"),
        ({"pending": "alive"}, "missing: alive"),
        ({"pending": "less"}, "less must be 0 or more, got -1"),
        ({"centre": np.nan}, "centre must be a number, got nan"),
        ({"spread": 0.0}, "spread must be above 0, got 0.0"),
        ({"failing": -1.0}, "failing must be above 0, got -1.0"),
    ],
)
def test_what_cannot_be_is_refused_with_what_was_got(change, said):
    frame = pd.DataFrame({"pair": ["P1"], "cage": "C1", "eggs": 5, "hatched": 3, "half": 2.5, "less": -1})
    with pytest.raises(ValueError, match=said):
        pooled(frame, **change)
