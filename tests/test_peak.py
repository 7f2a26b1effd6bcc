"""The peak before weaning: found on smoothed weights, cut only where the chick really fell."""

import numpy as np
import pandas as pd
import pytest

from analysis.growth import fit_each, up_to_peak

AGES = np.arange(1.0, 51.0)
RISE = 100 / (1 + np.exp(-0.3 * (AGES - 12)))


def frame(mass_g):
    return pd.DataFrame({"chick": "K1", "age_d": AGES[: len(mass_g)], "mass_g": mass_g})


def falling(to=0.9, since=35):
    return RISE * np.where(since < AGES, 1 - (1 - to) * (AGES - since) / (50 - since), 1)


def test_a_chick_that_levels_off_keeps_all_its_weights():
    kept, peaks = up_to_peak(frame(RISE))
    assert len(kept) == 50
    assert peaks.loc[0, ["fall", "after"]].tolist() == [0, 0]


def test_the_fall_is_cut_off_and_told():
    kept, peaks = up_to_peak(frame(falling()))
    assert kept["age_d"].max() == pytest.approx(35, abs=1)
    assert peaks["fall"][0] == pytest.approx(0.1, abs=0.01)


def test_the_level_is_the_peaks_and_not_the_falls():
    cut = fit_each(up_to_peak(frame(falling()))[0])["A_g"].iloc[0]
    through = fit_each(frame(falling()))["A_g"].iloc[0]
    assert cut == pytest.approx(100, rel=1e-3)
    assert abs(through - 100) > 2


def test_a_single_slip_is_no_peak():
    mass = RISE.copy()
    mass[24] = 140
    kept, _ = up_to_peak(frame(mass))
    assert len(kept) == 50


def test_row_order_does_not_matter_and_short_series_do_no_harm():
    shuffled = frame(falling()).sample(frac=1, random_state=1)
    assert set(up_to_peak(shuffled)[0]["age_d"]) == set(up_to_peak(frame(falling()))[0]["age_d"])
    assert len(up_to_peak(frame([5.0]))[0]) == 1
    assert len(up_to_peak(frame([5.0, 9.0]))[0]) == 2
    assert up_to_peak(frame([]))[0].empty


def test_what_a_scale_and_a_crop_do_is_no_fall():
    kept, peaks = up_to_peak(frame(falling(to=0.98)))
    assert (len(kept), peaks["fall"][0]) == (50, 0)
