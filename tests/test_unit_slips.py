"""Ten-fold and unit slips, told by a chick's own neighbours and by the whole morning."""

import math

import pytest

from analysis.logs.cells import GRAMS
from analysis.season.weighings import OUNCE, TEN, slip_factors
from support import codes


@pytest.mark.parametrize(
    ("mass", "off"),
    [
        ([4, 5, 60, 7, 8], [0, 0, TEN, 0, 0]),
        ([4, 5, 0.6, 7, 8], [0, 0, -TEN, 0, 0]),
        ([40, 5, 6, 7], [TEN, 0, 0, 0]),
        ([40, 41, 42, 430], [0, 0, 0, TEN]),
        ([40, 41, 42 / 28.35, 43 / 28.35, 44, 45], [0, 0, -OUNCE, -OUNCE, 0, 0]),
        ([4, 4.8, 5.8, 6.9, 8.3, 10, 12, 14.4], [0] * 8),  # 20 % a day is growth
        ([90, 84, 70, 60, 50], [0] * 5),  # a sick chick is no slip
        ([4, 40], [0, 0]),  # nobody can tell which
    ],
)
def test_leaps(mass, off):
    assert slip_factors(range(len(mass)), mass) == pytest.approx(off, abs=1e-3)


def test_far_apart_weights_say_nothing():
    assert slip_factors([0, 12], [4, 45]) == [0, 0]


def test_ten_fold_is_not_used_and_shown(open_logs):
    season = open_logs(
        hatches="chick,hatched_at\nK1,2026-04-01\n",
        weights="weighed_at,K1\n2026-04-04,8\n2026-04-05,95\n2026-04-06,11\n",
    )
    assert codes(season) == ["ten-fold"]
    assert season.weights["mass_g"].tolist() == [8, 11]
    assert season.not_used["cells"].tolist() == ["K1 | 2026-04-05 | 95"]


def test_a_morning_in_ounces(open_logs):
    grams = {"2026-04-04": (8, 9), "2026-04-05": (9.5, 10.5), "2026-04-06": (11, 12.5)}
    grid = "\n".join(
        ",".join([day, *(f"{g / 28.35 if day.endswith('05') else g:.3g}" for g in row)]) for day, row in grams.items()
    )
    hatches = "chick,hatched_at\nK1,2026-04-01\nK2,2026-04-01\n"
    season = open_logs(hatches=hatches, weights=f"date,K1,K2\n{grid}\n")
    assert codes(season) == ["another-unit"] * 2
    assert len(season.weights) == 4
    # one chick of three that leaps 28-fold is not "the morning's unit"
    one = "date,K1,K2,K3\n2026-04-04,8,9,9\n2026-04-05,0.34,10,10\n2026-04-06,11,12,12\n"
    assert codes(open_logs(hatches=hatches + "K3,2026-04-01\n", weights=one)) == []


def test_the_factors():
    assert pytest.approx(28.349523125) == math.exp(OUNCE)  # 1 oz in grams, exact by definition


GROWING = {"K1": (9, 24, 48, 70, 82), "K2": (8.4, 22, 45, 66, 80)}  # a cockatiel of 4, 9, 15, 20 and 26 days, in gram


def log_in(unit, heading="weight", growing=GROWING):
    """A log of weights in a unit."""
    days = ("04-05", "04-10", "04-16", "04-21", "04-27")
    weighed = ((chick, *one) for chick, all_g in growing.items() for one in zip(days, all_g, strict=True))
    rows = (f"{chick},2026-{day},{mass_g / GRAMS[unit]:.4g}\n" for chick, day, mass_g in weighed)
    return f"chick,weighed_at,{heading}\n" + "".join(rows)


@pytest.mark.parametrize(
    ("unit", "said"),
    [
        ("kg", "0.082 g for K1, 26 days old. 82 g if it is in kg, 37 g if it is in lb."),
        ("lb", "0.181 g for K1, 26 days old. 181 g if it is in kg, 5.1 g if it is in oz, 82 g if it is in lb."),
        ("oz", "2.89 g for K1, 26 days old. 2892 g if it is in kg, 82 g if it is in oz, 1312 g if it is in lb."),
    ],
)
def test_a_whole_log_in_another_unit_is_asked_about_and_not_used(open_logs, unit, said):
    hatches = "chick,hatched_at\nK1,2026-04-01\nK2,2026-04-01\n"
    season = open_logs(hatches=hatches, weights=log_in(unit))
    assert codes(season) == ["log-in-another-unit"]
    assert said in season.problems["advice"].item()
    assert season.weights.empty
    assert season.accounting.set_index("log").loc["weights"].tolist() == [10, 0, 10]
    for mended in ({"weights": log_in(unit, f"weight ({unit})")}, {"settings": f"setting,value\nweight_unit,{unit}\n"}):
        season = open_logs(**{"hatches": hatches, "weights": log_in(unit)} | mended)
        assert season.weights["mass_g"].tolist() == pytest.approx([*GROWING["K1"], *GROWING["K2"]], rel=1e-3)


def test_the_smallest_finches_and_a_few_slips_are_no_other_unit(open_logs):
    hatches = "chick,hatched_at\nK1,2026-04-01\nK2,2026-04-01\n"
    finches = {"K1": (2.6, 7.5, 10.5, 11.4, 12), "K2": (0.7, 5.5, 9.2, 10.8, 11.5)}
    season = open_logs(hatches=hatches, weights=log_in("g", growing=finches))
    assert (codes(season), len(season.weights)) == ([], 10)
    season = open_logs(hatches=hatches, weights=log_in("g", growing=GROWING | {"K2": (8.4, 0.022, 0.045, 0.066, 80)}))
    assert "log-in-another-unit" not in codes(season)
