"""The names a reader meets: all of them from `analysis` itself, and none of them heavy until it is asked for."""

import doctest
import subprocess
import sys

import pytest

import analysis
import analysis.growth
import analysis.rates
from support import ROOT

# in the order a reader meets them
NAMES = ["open_season", "Season", "SeasonError", "fit_each", "fit_mixed", "find_flags", "reference_curve"]
NAMES += ["interval", "pooled", "kaplan_meier", "review_pairs", "outlook", "places", "hens", "simulate_season"]
HEAVY = {"numpy", "pandas", "scipy", "statsmodels", "altair", "openpyxl", "papermill", "IPython"}


def test_the_names_are_offered_in_order():
    assert analysis.__all__ == [*NAMES, "__version__"]
    assert set(dir(analysis)) == set(analysis.__all__)


@pytest.mark.parametrize("name", NAMES)
def test_each_name_is_there_and_shows_how_it_is_used(name):
    thing = getattr(analysis, name)
    assert callable(thing), "a function or class, and not the module of that name"
    assert thing.__name__ == name
    assert doctest.DocTestParser().get_examples(thing.__doc__), "an example that runs with the other doctests"
    room = ROOT / "analysis" / thing.__module__.split(".")[1]
    taken = [place for folder in (ROOT / "analysis", room) for place in (folder / name, folder / f"{name}.py")]
    assert not [place for place in taken if place.exists()], "no room and no module bears the name of what it holds"


@pytest.mark.parametrize(
    ("room", "names"),
    [
        (analysis.growth, ["fit_each", "fit_mixed", "find_flags", "reference_curve"]),
        (analysis.rates, ["interval", "pooled", "kaplan_meier"]),
    ],
)
def test_a_room_has_its_own_names(room, names):
    for name in names:
        assert getattr(room, name) is getattr(analysis, name)
        assert name in room.__all__


@pytest.mark.parametrize("first", ["analysis.pairs.next_season", "analysis.pairs.review", "analysis.chapters.advice"])
def test_the_names_stay_whatever_is_imported_first(first):
    code = f"import {first}; from analysis import outlook, places, hens, review_pairs, Season; print(*map(callable, "
    assert ran(code + "(outlook, places, hens, review_pairs, Season)))") == ["True"] * 5


def test_importing_the_package_loads_nothing_heavy():
    assert not set(ran("import sys, analysis; dir(analysis); print(*sys.modules)")) & HEAVY
    assert set(ran("import sys; from analysis import fit_each; print(*sys.modules)")) & HEAVY == {"numpy", "pandas"}


@pytest.mark.parametrize(
    ("wrong", "near"), [("fit_eech", "fit_each"), ("openseason", "open_season"), ("review_pair", "review_pairs")]
)
def test_a_slip_of_the_pen_is_answered_with_the_near_name(wrong, near):
    with pytest.raises(AttributeError, match=f"no name {wrong}. Did you mean {near}\\?$"):
        getattr(analysis, wrong)


def test_a_name_like_none_of_them_is_told_what_there_is():
    with pytest.raises(AttributeError, match=r"no name xyzzy. There are: open_season, Season, .*simulate_season\.$"):
        _ = analysis.xyzzy


def ran(code):
    command = [sys.executable, "-c", code]
    return subprocess.run(command, capture_output=True, text=True, check=True, cwd=ROOT).stdout.split()
