"""Daily survival: published numbers, a logistic regression beside it, and the ends where nothing or all was lost."""

import numpy as np
import pandas as pd
import pytest

from analysis.rates import daily_survival, exposure, losses_by_age


@pytest.mark.parametrize(("days", "share"), [(2, 0.922), (3, 0.885), (30, 0.2939), (35, 0.2396)])
def test_over_several_days(days, share):
    # Klett et al. 1986, a share of 0.96 a day (read; trade-facts.md, daily survival). 4 lost in 100 days gives it.
    got = daily_survival(4, 100, over_d=days)["survival"].item()
    assert round(got, len(str(share)) - 2) == share


def test_mayfields_warblers_and_johnsons_error():
    # Mayfield 1961: 35 losses in 878 nest-days; Johnson 1979: its standard error (memory; arithmetic recomputed).
    got = daily_survival(35, 878).iloc[0]
    assert round(got["daily"], 4) == 0.9601
    assert round(got["se"], 6) == 0.006602


@pytest.mark.parametrize(("lost", "days"), [(1, 20), (3, 57), (35, 878), (50, 60)])
def test_interval_is_that_of_a_logistic_regression_on_the_days(lost, days):
    import statsmodels.api as sm

    fit = sm.GLM([[days - lost, 0], [0, lost]], np.ones((2, 1)), family=sm.families.Binomial()).fit(tol=1e-14)
    low, high = 1 / (1 + np.exp(-fit.conf_int()[0]))
    got = daily_survival(lost, days).iloc[0]
    assert (got["daily_low"], got["daily_high"]) == pytest.approx((low, high), abs=1e-7)
    assert 0 < got["daily_low"] < got["daily"] < got["daily_high"] < 1


def test_none_lost_and_all_lost_are_not_certain():
    from statsmodels.stats.proportion import proportion_confint

    got = daily_survival([0, 7], [50, 7])
    exact = [proportion_confint(k, n, method="beta") for k, n in ((50, 50), (0, 7))]
    assert got["daily_low"].tolist() == pytest.approx([low for low, _ in exact], abs=1e-12)
    assert got["daily_high"].tolist() == pytest.approx([high for _, high in exact], abs=1e-12)
    assert got["se"].isna().all()
    assert (got["high"] > got["low"]).all()


def test_the_interval_over_days_is_that_of_one_day_to_their_power():
    one, ten = daily_survival(3, 57).iloc[0], daily_survival(3, 57, over_d=10).iloc[0]
    assert [ten["low"], ten["high"]] == pytest.approx([one["low"] ** 10, one["high"] ** 10])


def test_without_days_nothing_is_known():
    got = daily_survival([0, 1, 3], [0, 0, 2.5], over_d=30)
    assert got[["daily", "survival", "se"]].isna().all(axis=None)
    assert got[["low", "high"]].to_numpy().tolist() == [[0, 1]] * 3


@pytest.mark.parametrize("wrong", [(-1, 5, 1), (0.5, 5, 1), (np.nan, 5, 1), (1, -5, 1), (1, np.nan, 1), (1, 5, -1)])
def test_what_is_no_count_is_refused(wrong):
    with pytest.raises(ValueError, match="must be"):
        daily_survival(*wrong)


SPANS = pd.DataFrame(
    {
        "entry_d": [0, 0, 8.5, 20],
        "exit_d": [2.5, 30, 30, 41],
        "lost": [True, False, True, False],
        "cage": ["C10", "C2", "", "C2"],
    }
)


def test_exposure_by_hand():
    assert exposure(SPANS).to_numpy().tolist() == [["aviary", "aviary", 4, 2, 75.0]]
    assert exposure(SPANS, by="cage").drop(columns="group").to_numpy().tolist() == [
        ["C2", 2, 0, 51.0],
        ["C10", 1, 1, 2.5],
        ["not written", 1, 1, 21.5],
    ]


def test_exposure_is_that_of_the_bands_of_age():
    bands, all_ = losses_by_age(SPANS), exposure(SPANS).iloc[0]
    assert (bands["lost"].sum(), bands["chick_days"].sum()) == (all_["losses"], all_["exposure_d"])


def test_exposure_refuses_what_cannot_be():
    with pytest.raises(ValueError, match="go before it comes"):
        exposure(SPANS.assign(exit_d=5.0))
