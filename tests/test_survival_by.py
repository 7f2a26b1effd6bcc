"""Survival to an age by group: against the curve itself, by hand, and the log-rank test against published numbers."""

import numpy as np
import pandas as pd
import pytest

from analysis.rates import interval, kaplan_meier, log_rank, survival_to
from analysis.say import in_words
from analysis.season import chick_spans

# Freireich et al. 1963, Blood 21:699, weeks in remission (trade-facts.md §8: read; recomputed).
RELAPSED = [6, 6, 6, 7, 10, 13, 16, 22, 23]
CENSORED = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
PLACEBO = [1, 1, 2, 2, 3, 4, 4, 5, 5, 8, 8, 8, 8, 11, 11, 12, 12, 15, 17, 22, 23]
FREIREICH = pd.DataFrame(
    {
        "entry_d": 0,
        "exit_d": [*RELAPSED, *CENSORED, *PLACEBO],
        "lost": [True] * 9 + [False] * 12 + [True] * 21,
        "cage": ["6-MP"] * 21 + ["placebo"] * 21,
    }
)


def test_log_rank_of_freireich():
    statistic, chance = log_rank(FREIREICH, FREIREICH["cage"])
    assert round(statistic, 2) == 16.79
    assert chance == 1 / 2000  # chi-square, 1 degree: 0.00004


def late(seed, groups, chicks):
    rng = np.random.default_rng(seed)
    entry = rng.choice([0, 0, 5, 10], chicks)
    exit_ = entry + rng.integers(1, 25, chicks)
    group = rng.integers(0, groups, chicks).astype(str)
    return pd.DataFrame({"entry_d": entry, "exit_d": exit_, "lost": rng.random(chicks) < 0.4, "cage": group})


@pytest.mark.parametrize(("groups", "chicks"), [(2, 30), (3, 90), (5, 200)])
def test_log_rank_with_late_entry_against_another_library(groups, chicks):
    from statsmodels.duration.survfunc import survdiff

    spans = late(groups, groups, chicks)
    came = np.nextafter(spans["entry_d"].to_numpy(dtype=float), -np.inf)  # there, at risk only after the entry
    other, chance = survdiff(spans["exit_d"].to_numpy(float), spans["lost"].to_numpy(int), spans["cage"], entry=came)
    got = log_rank(spans, spans["cage"])
    assert got[0] == pytest.approx(other, rel=1e-9)
    assert got[1] == pytest.approx(chance, abs=0.04 if chicks > 50 else 0.2)  # few chicks: chi-square is rough


def test_one_chick_lost_early_in_a_group_of_its_own_is_no_proof():
    # Chi-square would say 1 in 10,000 and less; any of 41 chicks may be the one that is lost first.
    spans = pd.DataFrame({"entry_d": 0, "exit_d": [1, 8, 9, 10, 11, *[40] * 36], "lost": [True] * 5 + [False] * 36})
    statistic, chance = log_rank(spans, pd.Series(["C1"] + ["C2"] * 40))
    assert statistic > 16
    assert chance == pytest.approx(1 / 41, abs=0.01)


def test_groups_that_live_equally_well_rarely_seem_to_differ():
    spans = [late(seed, 4, 40) for seed in range(100, 300)]
    said = np.mean([log_rank(one, one["cage"])[1] <= 0.05 for one in spans])
    assert 0 < said <= 0.08


def test_too_little_to_compare():
    few = FREIREICH.iloc[[0, 1, 2, 10, 25]]
    assert np.isnan(log_rank(few, few["cage"])).all()
    assert np.isnan(log_rank(FREIREICH, pd.Series("one", index=FREIREICH.index))).all()


@pytest.mark.parametrize(("age", "share"), [(6, 0.8571), (9, 0.8067), (10, 0.7529), (20, 0.6275), (23, 0.4482)])
def test_freireich_to_an_age(age, share):
    got = survival_to(FREIREICH, age, by="cage").set_index("name").loc["6-MP"]
    curve = kaplan_meier(FREIREICH[FREIREICH["cage"] == "6-MP"])
    then = curve[curve["age_d"] <= age].iloc[-1]
    assert round(got["survival"], 4) == share
    assert (got["low"], got["high"]) == pytest.approx((then["low"], then["high"]), abs=1e-12)
    assert got["at_risk_at_end"] == sum(week >= age for week in [*RELAPSED, *CENSORED])
    assert got["lost"] == sum(week <= age for week in RELAPSED)
    assert got["sound"]


def test_a_chick_lost_after_the_age_lived_to_it():
    got = survival_to(FREIREICH[:9], 5.9).iloc[0]
    assert (got["survival"], got["lost"], got["at_risk_at_end"], got["high"]) == (1, 0, 9, 1)
    assert got["low"] == pytest.approx(float(interval(9, 9)[0]))


BROODS = pd.DataFrame(
    {
        "species": ["finch"] * 3 + ["conure"] * 3 + ["lory"],
        "entry_d": [0, 0, 0, 0, 0, 21, 0],
        "exit_d": [10, 30, 33, 60, 70, 40, 9],
        "lost": [True, False, False, True, False, False, False],
        "fate": ["lost", "weaned", "weaned", "lost", "weaned", "being reared", "being reared"],
        "wean_d": [35, 35, 35, 70, 70, 70, np.nan],
        "room": ["front", "front", "", "", "front", "back", "front"],
    }
)


def test_each_chick_is_followed_to_the_age_of_its_species():
    # As shares of the way: at 10/35 = 0.286 one of five is lost (the conure that came at 0.3 is not there yet); at
    # 60/70 = 0.857 one of four (two finches weaned, two conures; the third went out of sight at 0.571): 4/5 · 3/4.
    got = survival_to(BROODS, "wean_d").iloc[0]
    assert got["survival"] == pytest.approx(3 / 5)
    assert (got["chicks"], got["lost"], got["at_risk_at_end"], got["sound"]) == (6, 2, 3, True)
    assert in_words(got["beside"]) == "1 still being reared, 1 chick of no known age at weaning"
    ages = {"finch": 35, "conure": 70}
    pd.testing.assert_frame_equal(survival_to(BROODS, ages), survival_to(BROODS, "wean_d"))


def test_a_chick_weaned_early_lived_to_weaning():
    got = survival_to(BROODS, "wean_d", by="species").set_index("name")
    assert got.loc["finch", ["survival", "at_risk_at_end", "sound"]].tolist() == [pytest.approx(2 / 3), 2, True]
    unknown = survival_to(BROODS.drop(columns="fate"), "wean_d", by="species").set_index("name")
    assert unknown.loc["finch", ["at_risk_at_end", "sound"]].tolist() == [0, False]


def test_a_share_of_which_a_part_of_the_way_was_not_seen_is_not_sound():
    got = survival_to(BROODS, "wean_d", by="room").set_index("name")
    assert got.index.tolist() == ["back", "front", "not written"]
    assert got["sound"].to_dict() == {"back": False, "front": True, "not written": True}
    lory = survival_to(BROODS, "wean_d", by="species").set_index("name").loc["lory"]
    assert (lory["chicks"], lory["low"], lory["high"], lory["sound"]) == (0, 0, 1, False)
    assert np.isnan(lory["survival"])


def test_a_group_of_which_none_was_seen_from_hatch_is_not_sound():
    bought = BROODS.iloc[[4, 5]].assign(entry_d=[12, 21], fate="weaned")
    got = survival_to(bought, 70).iloc[0]
    assert (got["survival"], got["at_risk_at_end"], got["sound"]) == (1, 2, False)


def test_one_species_on_its_days_or_on_shares_of_them_is_the_same():
    conures = BROODS[BROODS["species"] == "conure"]
    pd.testing.assert_frame_equal(survival_to(conures, 70), survival_to(conures, "wean_d"))


def test_chicks_that_came_after_the_age_are_counted_beside():
    got = survival_to(BROODS, 14).iloc[0]
    assert (got["chicks"], in_words(got["beside"])) == (6, "1 still being reared, 1 came later")


@pytest.mark.parametrize(
    ("species", "age"),
    [
        ("species,wean_from_d,wean_to_d\ncockatiel,46,56\n", 56),  # the keeper's latest
        ("species,wean_from_d,wean_to_d\ncockatiel,46,\n", 51),  # the latest of this season
        ("species,wean_from_d,wean_to_d\nfinch,28,35\n", 51),
    ],
)
def test_the_age_at_weaning_is_the_keepers_or_the_latest_here(open_logs, species, age):
    hatches = "chick,species,hatched_at,weaned_on\nK1,Cockatiel,2026-04-01,2026-05-20\n"
    hatches += "K2,cockatiel,2026-04-01 20:00,2026-05-22\nK3,cockatiel,2026-04-01,\n"
    assert chick_spans(open_logs(hatches=hatches, species=species))["wean_d"].tolist() == [age] * 3


def test_the_keepers_first_age_stands_where_none_was_weaned(open_logs):
    hatches = "chick,species,hatched_at\nK1,cockatiel,2026-04-01\nK2,lory,2026-04-01\n"
    log = "species,wean_from_d,wean_to_d\ncockatiel,46,\n"
    got = chick_spans(open_logs(hatches=hatches, species=log))["wean_d"]
    assert got[0] == 46
    assert np.isnan(got[1])


def test_no_chicks_no_rows():
    assert survival_to(BROODS[:0], 30, by="room").empty


@pytest.mark.parametrize(
    ("age", "by", "says"), [(0, None, "above zero"), ("weaned_at", None, "no column"), (9, "x", "no")]
)
def test_what_cannot_be_is_refused(age, by, says):
    with pytest.raises(ValueError, match=says):
        survival_to(BROODS, age, by=by)
