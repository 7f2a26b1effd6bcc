"""Survival to an age by group: against the curve itself, by hand, and the log-rank test against published numbers."""

import numpy as np
import pandas as pd
import pytest

from analysis.rates import come_through, interval, kaplan_meier, log_rank, survival_to
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


def alive_at(*ages, wean_d=100):
    return pd.DataFrame({"entry_d": 0, "exit_d": list(ages), "lost": False})


def test_before_any_loss_most_of_the_danger_is_thought_to_be_early():
    # All under watch to the end: losses of mean age 1/7 · 48 days of 48 are 1 - exp(-a 48/7) of the way to a.
    got = come_through(alive_at(100, *[100] * 10_000).assign(fate="weaned"), 100)
    assert got[0] == pytest.approx(1, abs=1e-12)
    watched = pd.concat([alive_at(*[100] * 10_000), alive_at(10, 25, 50)], ignore_index=True)
    early = [(1 - np.exp(-(age + 1) / 100 * 48 / 7)) / (1 - np.exp(-1.01 * 48 / 7)) for age in (10, 25, 50)]
    assert come_through(watched, 100)[-3:].tolist() == pytest.approx(early, abs=0.002)


def test_many_losses_say_themselves_when_the_danger_is():
    # Of 4,000 a quarter is lost at 5 days of 100, and a third of the rest at 50: H is 0.25 there, then 0.25 + 1/3.
    ages = [*[5] * 1000, *[50] * 1000, *[100] * 2000]
    spans = alive_at(*ages).assign(lost=[True] * 2000 + [False] * 2000)
    got = come_through(pd.concat([spans, alive_at(4, 20, 60, 130)], ignore_index=True), 100)[-4:]
    assert got.tolist() == pytest.approx([0, 0.25 / (0.25 + 1 / 3), 1, 1], abs=0.005)


def test_what_was_come_through_elsewhere_is_not_counted_and_species_are_on_their_own_way():
    hatched, came = alive_at(80, 40), alive_at(80, 80).assign(entry_d=[0, 30])
    finch_beside_conure = come_through(hatched, pd.Series([100.0, 50.0]))
    assert finch_beside_conure[0] == finch_beside_conure[1]
    here, later = come_through(came, 100)
    assert 0 < later < here / 4
    assert come_through(hatched, pd.Series([100.0, np.nan])).tolist()[1] == 0
    assert come_through(hatched[:0], 100).empty


MID = "pair,clutch,egg,species,chick,hatched_at,weaned_on,left_on\n"


def test_chicks_still_being_reared_know_how_far_they_have_come(open_logs):
    rows = "P1,1,1,lory,K1,2026-04-01,2026-05-11,\nP1,1,2,lory,K2,2026-04-01,,\nP2,1,1,lory,K3,2026-05-02,,\n"
    rows += "P2,1,2,lory,K4,2026-05-02,,2026-05-12\nP2,1,3,lory,K5,,,\nP2,1,4,lory,K6,2026-05-20,,\n"
    season = open_logs(hatches=MID + rows, losses="chick,found_on\nK6,2026-05-22\n")
    come = season.chicks.set_index("chick")["come_through"]
    assert come[["K1", "K5", "K6"]].tolist() == [0, 0, 0]  # weaned; of no known age; lost
    assert come["K2"] == pytest.approx(1)  # 51 days, past the 40 at which the first was weaned
    assert 0.1 < come["K4"] < come["K3"] < 1  # ten days, when it left, and twenty


def test_where_nobody_is_written_as_weaned_or_lost_silence_is_no_sign_of_life(open_logs):
    logs = {"weights": "chick,weighed_at,weight\nK1,2026-06-20,90\n"}
    assert not open_logs(hatches=MID + "P1,1,1,lory,K1,2026-04-01,,\n", **logs).chicks["come_through"].any()


@pytest.mark.parametrize(
    ("species", "log", "half_d"),
    [("lory", "", 22.5), ("cockatiel", "", 29.75), ("lory", "species,wean_from_d,wean_to_d\nLory,50,70\n", 30)],
)
def test_the_way_to_weaning_is_the_keepers_else_what_was_read_else_practice(open_logs, species, log, half_d):
    # Half of the way is 22.5 days of 45 (practice), 29.75 of the middle of 42 to 77 (read), 30 of the keeper's 60.
    def come(days):
        rows = f"P1,1,1,{species},K1,2026-04-01,,\nP1,1,2,{species},K2,2026-04-01,,\n"
        last = pd.Timestamp("2026-04-01") + pd.Timedelta(days=days)
        logs = {"losses": "chick,found_on\nK2,2026-04-02\n", "weights": f"chick,weighed_at,weight\nK1,{last:%F},9\n"}
        return open_logs(hatches=MID + rows, **logs, **({"species": log} if log else {})).chicks["come_through"][0]

    assert come(int(np.floor(2 * half_d)) - 1) < 1
    assert come(int(np.ceil(2 * half_d))) == pytest.approx(1)
