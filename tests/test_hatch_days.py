"""When eggs are expected: whole published ranges without own eggs, own eggs with them, and nothing made up."""

import numpy as np
import pandas as pd
import pytest

from analysis.eggs.hatch_days import expected_hatch, how_far

# Days from the start of real incubation, general tables as read for this project; marked ones are from memory.
USUAL = {
    "grey parrot": (28, 28),
    "amazon": (26, 28),
    "blue-and-gold macaw": (25, 29),
    "caique": (25, 27),
    "pionus": (24, 26),
    "rosella": (21, 21),
    "barred parakeet": (18, 20),
    "cockatiel": (19, 21),
    "budgerigar": (17, 20),
    "sun conure": (23, 27),
    "zebra finch": (12, 15),
    "peach-faced lovebird": (22, 24),  # memory
    "canary": (13, 14),  # memory
}
SET = pd.Timestamp("2026-05-01")


def egg(species="cockatiel", usual=(19, 21), set_on=SET, laid_on=pd.NaT, n=1):
    rows = {"species": species, "set_on": set_on, "laid_on": laid_on, "usual_from_d": usual[0], "usual_to_d": usual[1]}
    return pd.DataFrame([rows] * n, columns=list(rows)).astype(
        {"set_on": "datetime64[us]", "laid_on": "datetime64[us]"}
    )


def own(days, species="cockatiel", start="set_on"):
    begun = pd.Timestamp("2025-04-01")
    rows = [
        {"species": species, "set_on": pd.NaT, "laid_on": pd.NaT, "hatched_at": begun + pd.Timedelta(days=d)}
        for d in days
    ]
    columns = ["species", "set_on", "laid_on", "hatched_at"]
    frame = pd.DataFrame(rows, columns=columns)
    frame[start] = begun
    return frame.astype({"set_on": "datetime64[us]", "laid_on": "datetime64[us]"})


NONE = own([])


@pytest.mark.parametrize("species", USUAL)
def test_without_own_eggs_the_published_range_is_within_and_not_much_less(species):
    low, high = USUAL[species]
    found = expected_hatch(egg(species, (low, high)), NONE).iloc[0]
    assert found["low_d"] <= low
    assert found["high_d"] >= high
    assert found["high_d"] - found["low_d"] <= high - low + 6
    assert low <= found["likely_d"] <= high
    assert found["own"] == 0


def test_many_own_eggs_pull_it_to_themselves():
    alone = expected_hatch(egg(), NONE).iloc[0]
    found = expected_hatch(egg(), own([22, 22, 23, 22, 22, 21, 22, 22, 23, 22] * 3)).iloc[0]
    assert found["likely_d"] == 22 > alone["likely_d"]
    assert found["high_d"] - found["low_d"] < alone["high_d"] - alone["low_d"]
    assert found["own"] == 30


def test_the_predictive_of_many_own_eggs_is_their_own_distribution():
    """With 400 eggs the range is the narrowest run of days that held 95 % of them."""
    days = np.round(np.random.default_rng(3).normal(21.3, 1.0, 400))
    found = expected_hatch(egg(), own(days)).iloc[0]
    held = np.mean((days >= found["low_d"]) & (days <= found["high_d"]))
    narrower = np.mean((days > found["low_d"]) & (days <= found["high_d"]))
    assert held >= 0.94
    assert narrower < 0.95


def test_a_mistaken_date_moves_nothing():
    sound = [20, 20, 21, 19, 20, 20]
    plain = expected_hatch(egg(), own(sound)).iloc[0]
    wrong = expected_hatch(egg(), own([*sound, 50, -3])).iloc[0]
    assert wrong[["likely_d", "low_d", "high_d", "own"]].equals(plain[["likely_d", "low_d", "high_d", "own"]])


def test_only_eggs_of_the_species_and_the_same_beginning_speak():
    other = pd.concat([own([24] * 20, "budgerigar"), own([24] * 20, start="laid_on")])
    assert expected_hatch(egg(), other).equals(expected_hatch(egg(), NONE))
    assert expected_hatch(egg("COCKATIEL "), own([22] * 20)).iloc[0]["own"] == 20


def test_counted_from_laying_it_is_later_and_wider():
    since_set = expected_hatch(egg(), NONE).iloc[0]
    laid = expected_hatch(egg(set_on=pd.NaT, laid_on=SET), NONE).iloc[0]
    assert laid["counted_from"] == "laid"
    assert laid["likely_d"] == since_set["likely_d"] + 2  # incubation begins with the second or third egg (practice)
    assert laid["high_d"] - laid["low_d"] > since_set["high_d"] - since_set["low_d"]


def test_dates_shift_together_and_order_does_not_matter():
    eggs = pd.concat([egg(), egg("budgerigar", (17, 20)), egg(set_on=pd.NaT, laid_on=SET)], ignore_index=True)
    found = expected_hatch(eggs, own([20, 21]))
    later = expected_hatch(
        eggs.assign(set_on=eggs["set_on"] + pd.Timedelta(days=9), laid_on=eggs["laid_on"] + pd.Timedelta(days=9)),
        own([20, 21]),
    )
    dates = [name for name in found if name.endswith("_on")]
    assert ((later[dates] - found[dates]) == pd.Timedelta(days=9)).all(axis=None)
    assert expected_hatch(eggs[::-1], own([20, 21])).loc[eggs.index].equals(found)


def test_pipping_comes_before_hatch_in_its_order():
    # external pip 24-72 h before hatch, internal pip 12-48 h before that: a husbandry manual, read
    found = expected_hatch(egg(), NONE).iloc[0]
    assert found["internal_low_on"] <= found["external_low_on"] < found["hatch_low_on"]
    assert found["internal_high_on"] <= found["external_high_on"] < found["hatch_high_on"]
    assert (found["hatch_low_on"] - found["external_low_on"]).days <= 3
    assert 0 <= (found["external_low_on"] - found["internal_low_on"]).days <= 2
    assert 0 <= (found["external_high_on"] - found["internal_high_on"]).days <= 2


def test_nothing_is_made_up():
    undated = expected_hatch(egg(set_on=pd.NaT), NONE).iloc[0]
    unknown = expected_hatch(egg("toucan", (np.nan, np.nan)), NONE).iloc[0]
    for found in (undated, unknown):
        assert found.drop("own").isna().all()
    assert how_far(expected_hatch(egg(set_on=pd.NaT), NONE), SET).tolist() == [""]
    assert expected_hatch(egg(n=0), NONE).empty


def test_three_own_eggs_stand_in_for_usual_days():
    asked = egg("toucan", (np.nan, np.nan))
    assert pd.isna(expected_hatch(asked, own([18, 18], "toucan")).iloc[0]["likely_d"])
    assert expected_hatch(asked, own([18, 18, 19], "toucan")).iloc[0]["likely_d"] == 18


@pytest.mark.parametrize(
    ("day", "word"), [(10, "incubating"), (15, "may pip"), (17, "may hatch"), (22, "may hatch"), (23, "overdue")]
)
def test_how_far_an_egg_is(day, word):
    found = expected_hatch(egg(), NONE)
    assert (found["low_d"].item(), found["high_d"].item()) == (17, 22)
    assert how_far(found, SET + pd.Timedelta(days=day)).tolist() == [word]


def test_the_last_day_is_not_overdue_in_the_evening():
    assert how_far(expected_hatch(egg(), NONE), SET + pd.Timedelta(days=22, hours=20)).tolist() == ["may hatch"]


@pytest.mark.parametrize(("usual", "days"), [((28, 28), 31), ((28, 28), 33), ((19, 21), 25), ((14, 14), 18)])
def test_own_eggs_far_from_the_usual_days_are_believed(usual, days):
    """A cool incubator: forty own eggs days later than the tables say."""
    came = np.round(np.random.default_rng(1).normal(days, 0.8, 40))
    found = expected_hatch(egg(usual=usual), own(came)).iloc[0]
    assert found["likely_d"] == days
    assert found["high_d"] - found["low_d"] <= 4
    assert found["low_d"] > usual[0]


def test_mistaken_dates_speak_of_nothing_without_usual_days_either():
    asked = egg("toucan", (np.nan, np.nan))
    found = expected_hatch(asked, own([18, 18, 19, 90], "toucan")).iloc[0]
    assert (found["likely_d"], found["own"]) == (18, 3)
    assert pd.isna(expected_hatch(asked, own([18, 19, 60], "toucan")).iloc[0]["likely_d"])
    a_year_early = expected_hatch(asked, own([18, 18, 19, -347, -347, -346, -347], "toucan")).iloc[0]
    assert (a_year_early["likely_d"], a_year_early["own"]) == (18, 3)


def test_eggs_of_no_written_species_do_not_speak_of_each_other():
    found = expected_hatch(egg("", (np.nan, np.nan)), own([14, 14, 14], "")).iloc[0]
    assert pd.isna(found["likely_d"])
    assert found["own"] == 0


@pytest.mark.parametrize("usual", [(np.nan, 21), (21, np.nan)])
def test_one_usual_day_stands_for_both(usual):
    assert expected_hatch(egg(usual=usual), NONE).equals(expected_hatch(egg(usual=(21, 21)), NONE))


@pytest.mark.parametrize("index", [[7, 7], pd.MultiIndex.from_tuples([("P1", 1), ("P1", 2)]), ["b", "a"]])
def test_any_index(index):
    later = pd.Timedelta(days=5)
    eggs = pd.concat([egg(), egg(set_on=SET + later)]).set_axis(index)
    found = expected_hatch(eggs, NONE)
    assert found.index.equals(eggs.index)
    assert found["hatch_on"].tolist() == [SET + pd.Timedelta(days=20), SET + pd.Timedelta(days=25)]


def test_of_two_runs_as_likely_the_first_is_taken():
    found = expected_hatch(pd.concat([egg(usual=(n, n + 2), n=1) for n in range(14, 28)]), NONE)
    assert set(found["low_d"] - np.arange(14, 28)) == {-2}  # the same for all, whatever the last digit of a sum


@pytest.mark.parametrize(("days", "spoken_of"), [(27, 1), (28, 0), (13, 1), (12, 0)])
def test_six_days_outside_the_usual_days_are_a_mistaken_date(days, spoken_of):
    """19 to 21 days are usual, so 13 to 27 are believed (practice)."""
    assert expected_hatch(egg(), own([days])).iloc[0]["own"] == spoken_of


def test_an_egg_laid_and_set_is_counted_from_setting():
    both = expected_hatch(egg(laid_on=SET - pd.Timedelta(days=6)), NONE)
    assert both.equals(expected_hatch(egg(), NONE))


def test_pip_is_as_many_days_before_hatch_as_was_read():
    # external pip 24 to 72 h before hatch, so 2 days in the middle, and internal pip 12 to 48 h before that: a
    # husbandry manual, read. Two hundred own eggs that took 20 days tell the day of hatch to half a day.
    found = expected_hatch(egg(), own([20] * 200)).iloc[0]
    external, internal = (
        ((found[f"{name}_low_on"] - SET).days, (found[f"{name}_high_on"] - SET).days)
        for name in ("external", "internal")
    )
    assert external == (17, 19)
    assert sum(internal) / 2 == pytest.approx(20 - 2 - 30 / 24, abs=0.5)


def test_small_finches_pip_within_a_day_of_hatching():
    # external pip 6 to 24 h before hatch in small finches, internal pip about a day before that: from memory
    finch = egg("zebra finch", (12, 15)).assign(pip_from_h=6.0, pip_to_h=24.0)
    found = expected_hatch(finch, own([13] * 200, "zebra finch")).iloc[0]
    days = {name: (found[name] - SET).days for name in found.index if name.endswith("_on")}
    assert (days["external_low_on"], days["external_high_on"]) == (12, 13)
    assert (days["internal_low_on"], days["internal_high_on"]) == (11, 12)


def test_hours_that_nobody_gives_are_those_of_parrots():
    given = egg().assign(pip_from_h=24.0, pip_to_h=72.0)
    missing = egg().assign(pip_from_h=np.nan, pip_to_h=np.nan)
    assert expected_hatch(given, NONE).equals(expected_hatch(egg(), NONE))
    assert expected_hatch(missing, NONE).equals(expected_hatch(egg(), NONE))
