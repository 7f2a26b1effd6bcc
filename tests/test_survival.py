import numpy as np
import pandas as pd
import pytest

from analysis.rates import interval, kaplan_meier, losses_by_age, losses_by_cause


def spans(*rows):
    return pd.DataFrame(rows, columns=["entry_d", "exit_d", "lost"])


# Freireich et al. 1963, Blood 21:699, weeks in remission under 6-MP: relapses, and those censored ("+").
RELAPSED = [6, 6, 6, 7, 10, 13, 16, 22, 23]
CENSORED = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
FREIREICH = spans(*[(0, week, True) for week in RELAPSED], *[(0, week, False) for week in CENSORED])


def test_freireich_survival_and_standard_errors():
    # Published table (trade-facts.md §8: read; recomputed).
    published = {
        6: (0.8571, 0.0764),
        7: (0.8067, 0.0869),
        10: (0.7529, 0.0963),
        13: (0.6902, 0.1068),
        16: (0.6275, 0.1141),
        22: (0.5378, 0.1282),
        23: (0.4482, 0.1346),
    }
    curve = kaplan_meier(FREIREICH).set_index("age_d")
    assert curve.index.tolist() == [0, *published, 35]
    got = curve.loc[list(published), ["survival", "se"]].round(4)
    assert [tuple(row) for row in got.to_numpy()] == list(published.values())
    assert curve.loc[[6, 7, 35], "at_risk"].tolist() == [21, 17, 1]
    assert curve["lost"].sum() == 9
    assert curve["sound"].all()


def test_freireich_intervals():
    # lifelines 0.30.3, KaplanMeierFitter (log-log Greenwood): confidence_interval_; a general
    # statistics package prints the same at 6 weeks, .6197 to .9516 (from memory).
    ends = {
        6: (0.619718, 0.951552),
        7: (0.563147, 0.922809),
        10: (0.503200, 0.889362),
        13: (0.431610, 0.849066),
        16: (0.367511, 0.804912),
        22: (0.267779, 0.746791),
        23: (0.188052, 0.680143),
    }
    curve = kaplan_meier(FREIREICH).set_index("age_d")
    got = curve.loc[list(ends), ["low", "high"]].to_numpy()
    assert got == pytest.approx(np.array(list(ends.values())), abs=1e-6)


# Five hatched here, two bought in at 8.5 days, one at 20.5.
LATE = spans(
    (0, 1, True),
    (0, 12, True),
    (0, 30, False),
    (0, 30, False),
    (0, 15, False),
    (8.5, 12, False),
    (8.5, 30, True),
    (20.5, 25, True),
)


def test_late_entry_by_hand():
    # At 1: 1 of 5. At 12: 1 of 6 (four of the five, and the two of 8.5). At 25: 1 of 4. At 30: 1 of 3.
    curve = kaplan_meier(LATE).set_index("age_d")
    assert curve["at_risk"].to_dict() == {0: 5, 1: 5, 12: 6, 25: 4, 30: 3}
    assert curve["survival"].tolist() == pytest.approx([1, 4 / 5, 2 / 3, 1 / 2, 1 / 3], abs=1e-12)
    greenwood = 1 / (5 * 4) + 1 / (6 * 5) + 1 / (4 * 3)
    assert curve.loc[25, "se"] == pytest.approx(0.5 * np.sqrt(greenwood), abs=1e-12)


def test_late_entry_against_another_library():
    # lifelines 0.30.3, KaplanMeierFitter().fit(exit, lost, entry=entry), at 1, 12, 25 and 30 days.
    curve = kaplan_meier(LATE).set_index("age_d").loc[[1, 12, 25, 30]]
    assert curve["low"].tolist() == pytest.approx([0.203809, 0.194617, 0.110948, 0.046082], abs=1e-6)
    assert curve["high"].tolist() == pytest.approx([0.969180, 0.904434, 0.803709, 0.675564], abs=1e-6)


def test_a_chick_is_at_risk_on_the_day_it_comes_and_on_the_day_it_goes():
    # Lost on the day of hatch: 1 of 4. Arrived and lost on day 9: 1 of 4 (three, and itself).
    curve = kaplan_meier(spans((0, 0, True), (0, 20, False), (0, 20, False), (0, 20, False), (9, 9, True)))
    assert curve[["age_d", "at_risk", "lost"]].to_numpy().tolist() == [[0, 4, 1], [9, 4, 1], [20, 3, 0]]
    assert curve["survival"].tolist() == pytest.approx([3 / 4, 9 / 16, 9 / 16], abs=1e-12)


def test_where_all_were_lost_and_others_came_later_the_curve_says_so():
    curve = kaplan_meier(spans((0, 2, True), (0, 3, True), (9, 30, False), (9, 12, True)))
    assert curve["age_d"].tolist() == [0, 2, 3, 12, 30]
    assert curve["sound"].tolist() == [True, True, False, False, False]
    assert curve["survival"].tolist() == [1, 0.5, 0, 0, 0]


def test_where_nobody_was_under_watch_for_a_while_the_curve_says_so():
    curve = kaplan_meier(spans((0, 2, True), (0, 6, False), (9, 30, False), (9, 12, True)))
    assert curve.set_index("age_d")["sound"].to_dict() == {0: True, 2: True, 12: False, 30: False}


def test_a_chick_that_comes_on_the_day_the_last_one_goes_leaves_no_gap():
    assert kaplan_meier(spans((0, 6, False), (6, 12, True), (8, 20, False)))["sound"].all()


def test_none_lost_is_not_certainty():
    curve = kaplan_meier(spans(*[(0, 30, False)] * 3))
    assert curve["survival"].tolist() == [1, 1]
    assert curve["low"].tolist() == [float(interval(3, 3)[0])] * 2
    assert curve["high"].tolist() == [1, 1]


def test_all_lost_keeps_the_high_end_of_before():
    curve = kaplan_meier(spans((0, 3, True), (0, 3, True), (0, 5, True), (0, 8, True)))
    assert np.isnan(curve["se"].iloc[-1])
    assert curve["low"].iloc[-1] == 0
    assert curve["high"].iloc[-1] == curve["high"].iloc[-2] < 1


def test_row_order_and_a_shift_in_days_change_nothing():
    curve, turned = kaplan_meier(LATE), kaplan_meier(LATE[::-1])
    pd.testing.assert_frame_equal(curve, turned)
    later = kaplan_meier(LATE.assign(entry_d=LATE["entry_d"] + 3, exit_d=LATE["exit_d"] + 3))
    pd.testing.assert_frame_equal(curve.assign(age_d=curve["age_d"] + 3), later)


def test_no_chicks_no_rows():
    assert kaplan_meier(LATE[:0]).empty
    assert losses_by_age(LATE[:0])["entered"].tolist() == [0] * 5


@pytest.mark.parametrize(
    ("row", "says"),
    [((5, 4, True), "goes at 4 d, before it comes at 5 d"), ((0, np.nan, True), "must be known")],
)
def test_spans_that_cannot_be_are_refused(row, says):
    with pytest.raises(ValueError, match=says):
        kaplan_meier(spans((0, 9, False), row))


def test_losses_by_age_by_hand():
    # Days in 0-2 (until 3), 3-7 (until 8), 8-14 (until 15), 15-28 (until 29), 29 and over:
    #   0 to 0 lost:   0
    #   0 to 2.5 lost: 2.5
    #   0 to 30:       3, 5, 7, 14, 1
    #   10 to 14 lost: -, -, 4
    table = losses_by_age(spans((0, 0, True), (0, 2.5, True), (0, 30, False), (10, 14, True)))
    assert table.to_dict("list") == {
        "band": ["0–2", "3–7", "8–14", "15–28", "29 and over"],
        "lost": [2, 0, 1, 0, 0],
        "entered": [3, 1, 2, 1, 1],
        "chick_days": [5.5, 5.0, 11.0, 14.0, 1.0],
    }


def test_all_days_and_losses_are_in_the_bands():
    table = losses_by_age(LATE)
    assert table["chick_days"].sum() == (LATE["exit_d"] - LATE["entry_d"]).sum()
    assert table["lost"].sum() == LATE["lost"].sum()


def test_bands_that_lose_a_loss_are_refused():
    with pytest.raises(ValueError, match="a loss at 12 d falls in no band"):
        losses_by_age(LATE, bands=((0, 2), (20, None)))
    with pytest.raises(ValueError, match="must be in order and not overlap"):
        losses_by_age(LATE, bands=((0, 5), (5, None)))


def test_losses_by_cause_by_hand():
    losses = pd.DataFrame(
        {
            "cause": ["Chilled", "cold night", "Chilled", "", "sour crop; again", "?"],
            "cause_group": ["cold", "cold", "cold", "", "crop", None],
        }
    )
    assert losses_by_cause(losses).to_numpy().tolist() == [
        ["cold", 3, "Chilled; cold night"],
        ["crop", 1, "sour crop; again"],
        ["not written", 2, "?"],
    ]
    assert losses_by_cause(losses[:0]).empty


# -- broods taken as wholes

BROODS = spans(
    *[(0, 3, True)] * 4,
    *[(0, 40, False)] * 4,
    *([(0, 5, True)] + [(0, 40, False)] * 3),
    *([(0, 7, True), (0, 9, True)] + [(0, 40, False)] * 2),
    *[(0, 40, False)] * 4,
).assign(brood=np.repeat(["a", "b", "c", "d", "e"], 4))


def test_the_error_by_brood_joins_the_jackknife_with_greenwoods():
    # 13 of 20 lived. With broods of one size and nobody leaving early, leaving out each brood in turn is the cluster-
    # robust variance (statsmodels, OLS of a constant). Greenwood's: 0.65 · 0.35 / 20; effect 1 + 3 · 0.3 = 1.9.
    import statsmodels.api as sm

    lived = (~BROODS["lost"]).astype(float)
    by = {"groups": pd.factorize(BROODS["brood"])[0]}
    robust = sm.OLS(lived, np.ones(20)).fit(cov_type="cluster", cov_kwds=by).bse.iloc[0] ** 2
    greenwood = 0.65 * 0.35 / 20
    got, alone = kaplan_meier(BROODS).iloc[-1], kaplan_meier(BROODS.drop(columns="brood")).iloc[-1]
    assert got["survival"] == alone["survival"] == 0.65
    assert alone["se"] ** 2 == pytest.approx(greenwood, abs=1e-12)
    assert got["se"] ** 2 == pytest.approx((4 * robust + 8 * 1.9 * greenwood) / 12, abs=1e-12)
    assert (got["low"] < alone["low"], got["high"] > alone["high"]) == (True, True)


def test_broods_never_make_it_surer_and_chicks_of_no_known_brood_are_each_their_own():
    even = spans(*([(0, 5, True)] + [(0, 40, False)] * 3) * 20).assign(brood=np.repeat(range(20), 4))  # all lose one
    curve, alone = kaplan_meier(even), kaplan_meier(even.drop(columns="brood"))
    assert (curve["se"] >= alone["se"] - 1e-12).all()
    none, each = kaplan_meier(BROODS.assign(brood="")), kaplan_meier(BROODS.assign(brood=range(20)))
    pd.testing.assert_frame_equal(none, each)
    assert none["se"].iloc[-1] == pytest.approx(np.sqrt(0.65 * 0.35 / 20), rel=0.02)


def test_none_lost_in_one_brood_says_less_than_none_lost_in_three():
    three = spans(*[(0, 30, False)] * 3)
    low = kaplan_meier(three.assign(brood="a"))["low"].iloc[-1]
    assert low == pytest.approx(1 / (1 + 1.959964**2 * 1.6 / 3), abs=1e-6)  # Wilson of n of n is n / (n + z²)
    assert low < kaplan_meier(three.assign(brood=[1, 2, 3]))["low"].iloc[-1] == float(interval(3, 3)[0])
