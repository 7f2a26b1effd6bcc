"""Incubators out of range: which readings make a spell, and which eggs were in it."""

import pandas as pd
import pytest

from analysis.eggs.incubators import inside, spells

RANGE = {"low_c": 36.9, "high_c": 37.8}


def readings(*temperatures, place="drawer"):
    days = pd.date_range("2026-06-01", periods=len(temperatures))
    return pd.DataFrame({"place": place, "read_at": days, "temperature": temperatures})


@pytest.mark.parametrize(
    ("seen", "expected"),
    [
        (readings(37.5, 37.8, 36.9), []),  # the ends are in range
        (readings(37.5, 38.1, 38.4, 37.5), [("2026-06-02", "2026-06-03", 38.4, True)]),
        (readings(36.0, 38.2), [("2026-06-01", "2026-06-01", 36.0, False), ("2026-06-02", "2026-06-02", 38.2, True)]),
        (readings(38.5, None, 38.2), [("2026-06-01", "2026-06-03", 38.5, True)]),  # humidity alone was read on the 2nd
        (readings(), []),
    ],
)
def test_spells(seen, expected):
    found = spells(seen, **RANGE)
    told = [(f"{row.from_on:%Y-%m-%d}", f"{row.to_on:%Y-%m-%d}", row.worst_c, row.warm) for row in found.itertuples()]
    assert told == expected


def test_two_places_do_not_mix():
    both = pd.concat([readings(38.5, 37.5), readings(37.5, 38.5, place="box")])
    assert spells(both, **RANGE)["place"].tolist() == ["box", "drawer"]


@pytest.mark.parametrize(
    ("set_on", "hatched_at", "there"),
    [
        ("2026-05-20", None, True),
        ("2026-06-03", None, True),  # set on the last day
        ("2026-06-04", None, False),  # set after it
        ("2026-05-20", "2026-06-01 06:00", False),  # hatched on its first day
        ("2026-05-20", "2026-06-02", True),
        ("2026-05-01", None, False),  # long over
        (None, None, False),
    ],
)
def test_which_eggs_were_inside(set_on, hatched_at, there):
    eggs = pd.DataFrame({"incubated_by": ["drawer"], "set_on": [set_on], "laid_on": [None], "hatched_at": [hatched_at]})
    spell = pd.Series({"place": "drawer", "from_on": pd.Timestamp("2026-06-01"), "to_on": pd.Timestamp("2026-06-03")})
    assert inside(eggs, spell, longest_d=21).tolist() == [there]
    assert not inside(eggs.assign(incubated_by="P01"), spell, longest_d=21).any()
