"""The trade's rule in its three readings, worked by hand, by a loop, and against the false alarms of simulated chicks.

The rule: Duerr & Gage (eds), *Hand-Rearing Birds*, 2nd ed., Wiley-Blackwell 2020, p. 617: no gain two days running,
or any drop, in a chick not yet fledging. Day 3 on: practice.
"""

import numpy as np
import pandas as pd
import pytest
from pandas.testing import assert_frame_equal

from analysis.growth import CURVES
from analysis.growth.trade_rule import READINGS, trade_alarms, trade_rule

DROP, TWICE, OVER_TWO = READINGS


def chick(mass_g, age_d=None, name="K1"):
    age_d = range(3, 3 + len(mass_g)) if age_d is None else age_d
    return pd.DataFrame({"chick": name, "age_d": np.array(age_d, float), "mass_g": np.array(mass_g, float)})


def starts(frame, reading, **options):
    alarms = trade_alarms(frame, **options)
    return alarms.loc[alarms["reading"] == reading, "age_d"].tolist()


# --- by hand ---


@pytest.mark.parametrize(
    ("mass_g", "drop", "twice", "over_two"),
    [
        ([8, 9, 10, 11], [], [], []),
        ([8, 9, 9, 10], [], [], []),  # one standstill: neither a drop nor two days
        ([8, 9, 9, 9, 10], [], [6], [6]),
        ([8, 9, 8.9, 9.1, 9.3], [5], [], []),  # a slip of the crop: above two days before by the next morning
        ([8, 9, 8, 8.5, 9.5], [5], [], [5]),  # day 5 is no heavier than day 3, day 6 than day 4: one call
        ([8, 9, 8, 7, 6], [5], [6], [5]),
        ([8, 7, 9, 8, 10], [4, 6], [], []),
    ],
)
def test_by_hand(mass_g, drop, twice, over_two):
    frame = chick(mass_g)
    assert [starts(frame, reading) for reading in READINGS] == [drop, twice, over_two]


def test_the_first_days_and_those_after_the_peak_are_not_read():
    frame = chick([3, 2.8, 2.7, 2.6, 3, 4, 5, 4.8], range(0, 8))
    assert starts(frame, DROP) == [3, 7]
    until = pd.Series({"K1": 6.0})
    assert starts(frame, DROP, until=until) == [3]
    # A chick without a last age is read to its end.
    assert starts(frame, DROP, until=pd.Series({"another": 2.0})) == [3, 7]
    assert starts(frame, DROP, until=pd.Series({"K1": np.nan})) == [3, 7]


def test_days_without_a_weighing():
    # Each weighing is held against earlier ones that were made: after a gap against the last before it.
    frame = chick([8, 10, 10, 12, 11.9], [3, 5, 8, 9, 14])
    assert starts(frame, DROP) == [14]
    assert starts(frame, TWICE) == []
    # Day 8 is no heavier than day 5; day 9 heavier than day 5 (day 8 is one day before); day 14 lighter than day 9.
    assert starts(frame, OVER_TWO) == [8, 14]


def test_two_days_from_clock_times():
    # Weighed at nearly the same hour: two days less a rounding are two days.
    assert starts(chick([9, 10, 9], [3.3, 4.3, 5.3 - 1e-9]), OVER_TWO) == [pytest.approx(5.3)]
    # Twice a day: two days before is four weighings before.
    frame = chick([9, 9.5, 9.4, 9.6, 9.0, 10], [3, 3.5, 4, 4.5, 5, 5.5])
    assert starts(frame, OVER_TWO) == [5]


def test_chicks_do_not_reach_into_each_other():
    frame = pd.concat([chick([8, 9, 10]), chick([5, 6, 7], name="K2"), chick([4, 3, 2], name="K3")])
    assert set(trade_alarms(frame)["chick"]) == {"K3"}
    # Nor by ages: the second chick's first day is far before the first one's last.
    assert starts(pd.concat([chick([9, 10], [40, 41]), chick([1, 2], [3, 4], "K2")]), OVER_TWO) == []


# --- by a loop ---


def by_loop(ages, masses, reading):
    """The rule read word by word."""
    calls = []
    for i, (age, mass) in enumerate(zip(ages, masses, strict=True)):
        if reading == DROP:
            holds = i >= 1 and mass < masses[i - 1]
        elif reading == TWICE:
            holds = i >= 2 and mass <= masses[i - 1] <= masses[i - 2]
        else:
            earlier = [j for j in range(i) if ages[j] <= age - 2]
            holds = bool(earlier) and mass <= masses[earlier[-1]]
        calls.append(holds and age >= 3)
    return [ages[i] for i in range(len(ages)) if calls[i] and not (i and calls[i - 1])]


def many(seed=1, chicks=200):
    rng = np.random.default_rng(seed)
    frames = []
    for i in range(chicks):
        ages = np.sort(rng.choice(np.arange(0, 40), int(rng.integers(1, 30)), replace=False))
        mass_g = CURVES["logistic"].mass(ages, 90, 0.3, 10) * np.exp(0.05 * rng.standard_normal(len(ages)))
        frames.append(chick(mass_g.round(0) + 1, ages, f"C{i:03}"))
    return pd.concat(frames, ignore_index=True)


def test_as_by_a_loop():
    frame = many()
    alarms, table = trade_alarms(frame), trade_rule(frame).set_index(["chick", "reading"])
    assert len(table) == 3 * frame["chick"].nunique()
    for (name, reading), row in table.iterrows():
        one = frame[frame["chick"] == name]
        expected = by_loop(one["age_d"].tolist(), one["mass_g"].tolist(), reading)
        found = alarms[(alarms["chick"] == name) & (alarms["reading"] == reading)]
        assert found["age_d"].tolist() == expected
        assert row["alarms"] == len(expected)
        assert np.array_equal(row["age_d"], expected[0] if expected else np.nan, equal_nan=True)


def test_order_of_rows_and_names_do_not_matter():
    frame = many(chicks=30)
    assert_frame_equal(trade_rule(frame.sample(frac=1, random_state=1)), trade_rule(frame))
    assert trade_rule(frame)["reading"].tolist()[:3] == list(READINGS)


def test_one_pass_over_many_weighings():
    frame = pd.concat([many(chicks=100).assign(chick=lambda f, i=i: f["chick"] + str(i)) for i in range(40)])
    found = trade_rule(frame)
    assert found["chick"].nunique() == frame["chick"].nunique() == 4000
    assert len(found) == 3 * 4000


def test_healthy_chicks_that_are_called_all_the_same():
    # The design's draft on 3 % scatter, days 3 to 35: a drop calls once in about two chick-weeks while the plateau is
    # in it; two in a row and no gain over two days far more seldom. Orders of size, not digits.
    rng = np.random.default_rng(4)
    ages = np.arange(0, 36)
    mass_g = CURVES["logistic"].mass(ages, 90, 0.22, 11) * np.exp(0.03 * rng.standard_normal((400, 36)))
    frame = pd.DataFrame(
        {"chick": np.repeat(np.arange(400), 36), "age_d": np.tile(ages, 400), "mass_g": mass_g.ravel()}
    )
    until = pd.Series(21.0, index=range(400))
    weeks = 400 * (21 - 3 + 1) / 7
    each = weeks / trade_rule(frame, until).groupby("reading")["alarms"].sum()
    assert 1 < each[DROP] < 4
    assert each[TWICE] > 4 * each[DROP]
    assert each[DROP] < each[OVER_TWO] < each[TWICE]


# --- poor frames ---


def test_no_weighings_and_one():
    empty = pd.DataFrame(columns=["chick", "age_d", "mass_g"])
    assert list(trade_rule(empty)) == ["chick", "reading", "age_d", "alarms"]
    assert len(trade_rule(empty)) == 0
    assert len(trade_alarms(empty)) == 0
    assert trade_rule(chick([5.0]))["alarms"].tolist() == [0, 0, 0]


def test_wrong_frames_say_what_is_wrong():
    with pytest.raises(ValueError, match="missing: mass_g"):
        trade_rule(chick([5.0]).drop(columns="mass_g"))
