"""Ten-fold and unit slips, told by a chick's own neighbours and by the whole morning."""

import math

import pytest

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
