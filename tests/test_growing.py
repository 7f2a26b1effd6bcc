"""A season's weights looked at: kinds, earlier seasons, sentences, tables."""

import numpy as np
import pandas as pd
import pytest

from analysis import chapters, open_season
from analysis.chapters.growth import outside_tables, states_table
from analysis.chapters.one_chick import about_chick, not_known_of_chick
from analysis.chicks.fed import chick_named
from analysis.chicks.loss_warnings import first_warnings
from analysis.chicks.of_season import Chicks
from analysis.chicks.status import how_it_stands
from analysis.chicks.warnings import scale_and_losses, warnings, watched
from analysis.day.round import attention, round_of
from analysis.growth import CURVES
from analysis.pairs.of_season import Pairs
from analysis.say import in_words
from support import as_read, read_first, rows_as_read, table_shown

PAIRS = "pair,species,cock,hen,put_up_on\nP1,cockatiel,Ash,Elm,2026-01-01\nP2,cockatiel,Oak,Fir,2026-01-01\n"


def brood(chicks=8, *, still="", seed=1, first="2026-03-01"):
    """Hatches and weights of chicks weaned on day 50; one (`still`) is here yet, and has stopped growing."""
    rng, age_d = np.random.default_rng(seed), np.arange(1, 41)
    hatches, weights = ["pair,clutch,hatched_at,chick,weaned_on"], ["chick,weighed_at,weight"]
    for i in range(chicks):
        name, pair = f"K{i + 1}", f"P{i % 2 + 1}"
        hatched = pd.Timestamp(first) + pd.Timedelta(days=i)
        weaned = "" if name == still else f"{hatched + pd.Timedelta(days=50):%Y-%m-%d}"
        hatches.append(f"{pair},{i // 4 + 1},{hatched:%Y-%m-%d},{name},{weaned}")
        mass_g = CURVES["logistic"].mass(age_d, 90 * np.exp(0.06 * rng.standard_normal()), 0.22, 11)
        mass_g = mass_g * np.exp(0.015 * rng.standard_normal(len(age_d)))
        last = 14 if name == still else 40
        if name == still:
            mass_g[11:] = mass_g[10]
        days = hatched + pd.to_timedelta(age_d[:last], "D")
        weights += [f"{name},{day:%Y-%m-%d},{mass:.1f}" for day, mass in zip(days, mass_g, strict=False)]
    return {"pairs": PAIRS, "hatches": "\n".join(hatches), "weights": "\n".join(weights)}


def test_a_chick_that_stops_growing_is_on_the_first_page(open_logs):
    season = open_logs(**brood(9, still="K9"), up_to="2026-03-23")
    assert season.chicks.set_index("chick").loc["K9", "fate"] == "being reared"
    growth = Chicks.of(season)
    assert growth.watch.kinds["cockatiel, by parents"].why.code == "growth.no-models"
    said = dict(as_read(attention(round_of(season), Pairs.of(season))))
    assert "veterinarian" in said["K9"]
    assert "(day 1" in said["K9"]
    later = open_logs(**brood(9, still="K9"))
    assert "K9" not in dict(as_read(attention(round_of(later), Pairs.of(later))))  # weeks ago: on the chapter's pages


def light_one(open_logs, by, *, rearer="", up_to=20):
    """Eight chicks that were weaned, and since then K9: `by` gives the share of a typical weight by age."""
    logs, hatched = brood(8), pd.Timestamp("2026-05-10")
    weights, hatches = [logs["weights"]], logs["hatches"].splitlines()
    for age in range(1, up_to + 1):
        mass_g = by(age) * CURVES["logistic"].mass(np.array([age]), 90, 0.22, 11)[0]
        weights.append(f"K9,{hatched + pd.Timedelta(days=age):%Y-%m-%d},{mass_g:.1f}")
    rows = [f"{hatches[0]},reared_by", *(f"{row},{rearer}" for row in [*hatches[1:], f"P1,9,{hatched:%Y-%m-%d},K9,"])]
    last = f"{hatched + pd.Timedelta(days=up_to):%Y-%m-%d}"
    return Chicks.of(open_logs(pairs=PAIRS, hatches="\n".join(rows), weights="\n".join(weights), up_to=last))


def small(growth):
    """What is said of K9 as small for its age, and whether it is so no longer."""
    warned = warnings(growth)
    rows = warned[(warned["chick"] == "K9") & (warned["flag"] == "small for age")]
    return list(zip(rows["level"], rows["said"].map(in_words), rows["back"], strict=True))


def test_a_chick_a_fifth_lighter_gets_a_look_and_no_alarm(open_logs):
    growth = light_one(open_logs, lambda age: 0.77, up_to=17)
    ((level, look, back),) = small(growth)
    assert (level, back) == ("look", False)
    stands = dict(as_read(how_it_stands(growth, "K9", round_of(growth.season).of("K9"))))
    for said in (look, dict(as_read(watched(growth)))["K9"], stands["Beside its kind"]):
        assert "are its toes and wings thin, is its head large for its body, are its eyes late to open?" in said
        assert "It is small from hatch, 2" in said
        assert "and grows as the others do" in said
        assert "whether its crop is as full as its nest mates'" in said
        assert "an avian veterinarian today" in said
        assert "no alarm" in said
    assert "Act today" not in stands
    assert in_words(states_table(growth).set_index("chick").loc["K9", "state"]) == "light"


def test_what_is_looked_at_fits_the_chick(open_logs):
    said = dict(as_read(watched(light_one(open_logs, lambda age: 0.77, rearer="hand", up_to=24))))["K9"]
    assert "do the feathers of its head stand oddly" in said
    assert "eyes" not in said
    assert "Go over its feeds, the mix and the brooder's warmth too." in said
    falling = light_one(open_logs, lambda age: 0.84 - 0.006 * age)
    assert "It falls further behind: 1" in dict(as_read(watched(falling)))["K9"]


def test_a_light_chick_is_read_of_first_as_a_look_and_fed_as_ever(open_logs):
    growth = light_one(open_logs, lambda age: 0.77, rearer="hand", up_to=17)
    today = round_of(growth.season, growth.season.last_day)
    ((who, _, said),) = read_first(today)
    assert (who, "are its toes and wings thin" in said) == ("K9", True)
    row = today.chicks.set_index("chick").loc["K9"]
    assert not row["needs_vet"]
    assert row["high_ml"] > 0


def test_a_light_chick_that_catches_up_is_not_accused_each_morning(open_logs):
    def catches_up(age):
        return 0.76 if age < 16 else 0.95

    raised = light_one(open_logs, catches_up).raised.query("chick == 'K9' and flag == 'small for age'")
    (age_d,) = raised["age_d"]
    assert small(light_one(open_logs, catches_up, up_to=int(age_d)))[0][2] is False
    ((_, said, back),) = small(light_one(open_logs, catches_up, up_to=18))
    assert back
    assert said.endswith("Since then it is less than a fifth lighter.")
    assert small(light_one(open_logs, lambda age: 0.77, up_to=int(age_d) + 7)) == []  # the same, told for a week


def test_so_light_a_chick_is_for_a_veterinarian_to_judge(open_logs):
    # below 75 % chicks do poorly: Klaassen & Bech 1992, arctic tern
    growth = light_one(open_logs, lambda age: 0.73)
    assert growth.flags.query("chick == 'K9' and flag == 'light for age'").empty
    assert "An avian veterinarian should judge so light a chick." in dict(as_read(watched(growth)))["K9"]
    assert "no alarm" not in dict(as_read(watched(growth)))["K9"]


LOSS = "chick,found_on,cause\n"


def test_a_slip_of_the_pen_is_no_warning_and_a_deep_fall_is_one(open_logs):
    logs = brood(9)
    hatched = pd.Timestamp("2026-03-01")
    slip = f"K1,{hatched + pd.Timedelta(days=8):%Y-%m-%d},"
    rows = [f"{slip}99" if row.startswith(slip) else row for row in logs["weights"].splitlines()]
    fall = {36: 82, 37: 76, 38: 72, 39: 70, 40: 70}
    for age, mass_g in fall.items():
        day = f"K2,{hatched + pd.Timedelta(days=1 + age):%Y-%m-%d},"
        rows = [f"{day}{mass_g}" if row.startswith(day) else row for row in rows]
    hatches = [
        row.rsplit(",", 1)[0] + "," if ",K1," in row or ",K2," in row else row for row in logs["hatches"].splitlines()
    ]
    losses = (
        f"{LOSS}K1,{hatched + pd.Timedelta(days=41):%Y-%m-%d},cat\nK2,{hatched + pd.Timedelta(days=43):%Y-%m-%d},\n"
    )
    season = open_logs(pairs=PAIRS, hatches="\n".join(hatches), weights="\n".join(rows), losses=losses)
    items = as_read(watched(Chicks.of(season)))
    said = dict(items)
    assert said["Lost, and seen in time"].startswith(
        "2 weighed chicks were lost; 1 had been flagged by weight at least"
    )
    assert "K2 (day 3" in said["Lost, and seen in time"]
    assert "veterinarian" not in said["K2"]  # nothing can be done any more
    assert ("K1", "Lost on day 41; not flagged before: its 40 weighings gave no sign of it.") in items


def test_the_first_day_of_a_season_has_its_states(open_logs):
    logs = {"pairs": PAIRS, "hatches": "pair,clutch,hatched_at,chick\nP1,1,2026-03-01,K1\n"}
    growth = Chicks.of(open_logs(**logs, weights="chick,weighed_at,weight\nK1,2026-03-02,5\n"))
    assert states_table(growth)["state"].map(in_words).tolist() == ["no curve yet"]
    for show in ("watched", "flagged", "kinds", "curves", "chicks", "pairs", "rule", "panels", "table"):
        getattr(chapters.growth, show)(growth)
    strangers = Chicks.of(open_logs(weights="chick,weighed_at,weight\nK1,2026-04-02,5\n"))
    assert scale_and_losses(strangers) == []


def test_the_states_say_what_the_next_weighing_should_be(open_logs):
    growth = Chicks.of(open_logs(**brood(9, still="K9")))
    table = states_table(growth).set_index("chick")
    assert in_words(table.loc["K1", "state"]) == "as the others"
    assert table.loc["K1", "next, a day on (g)"] == ""  # weaned
    assert in_words(table.loc["K9", "state"]).startswith("stall (day 1")
    assert table.loc["K9", "next, a day on (g)"] == ""  # not on its course
    here = open_logs(**brood(9, still="K9"), up_to="2026-04-15")
    table = states_table(Chicks.of(here)).set_index("chick")
    low, high = map(float, in_words(table.loc["K8", "next, a day on (g)"]).split("–"))
    assert 0.9 < low / table.loc["K8", "last weight (g)"] < 1 < high / table.loc["K8", "last weight (g)"] < 1.1
    table = states_table(growth).set_index("chick")
    assert table["weighings"].tolist() == [40] * 8 + [14]
    assert table["kind"].unique().tolist() == ["cockatiel, by parents"]


def test_earlier_seasons_help_and_are_told_apart(tmp_path, write_logs):
    now = write_logs(**brood(3))
    before = now.rename(tmp_path / "before")
    text = (before / "hatches.csv").read_text().replace("2026", "2025")
    (before / "hatches.csv").write_text(text)
    (before / "weights.csv").write_text((before / "weights.csv").read_text().replace("2026", "2025"))
    (before / "pairs.csv").write_text(PAIRS.replace("2026", "2025").replace("Ash", "Yew"))
    (before / "settings.csv").write_text("setting,value\nseason,2025\n")
    season = open_season(write_logs(**brood(3, seed=2)), earlier=[before])
    growth = Chicks.of(season)
    kind = growth.watch.kinds["cockatiel, by parents"]
    assert kind.enough
    assert set(kind.log.rows.chicks) == {"K1", "K2", "K3", "K1 (2025)", "K2 (2025)", "K3 (2025)"}
    assert set(growth.weights["chick"]) == {"K1", "K2", "K3"}
    # P1 is another cock's now; P2 is the same two birds.
    assert set(growth.joined["pair"]) == {"P1", "P1 (2025)", "P2"}
    alone = Chicks.of(open_season(season.folder))
    assert not alone.watch.kinds["cockatiel, by parents"].enough
    assert states_table(alone)["state"].map(in_words).unique().tolist() == ["no curve yet"]
    assert ("cockatiel, by parents", True) in {
        (who, "trade's own rule" in said) for who, said in as_read(watched(alone))
    }


def test_a_table_from_outside_is_drawn_beside(open_logs):
    table = "species,age_d,median,low,high,rearing,source\nCockatiel,10,40,35,45,,a book\n"
    table += "Cockatiel,10,41,,,hand,a leaflet\n"
    growth = Chicks.of(open_logs(**brood(6), reference=table))
    outside = outside_tables(growth)
    assert outside[["kind", "median_g", "source"]].values.tolist() == [["cockatiel, by parents", 40.0, "a book"]]
    (chart,) = chapters.growth.kinds(growth)
    assert "a book" in str(chart.to_dict())
    assert "a leaflet" not in str(chart.to_dict())


def test_the_rule_is_counted_beside_the_flags(open_logs):
    table = table_shown(chapters.growth.rule(Chicks.of(open_logs(**brood(9, still="K9"))))).set_index("rule")
    assert int(table.loc["trade's rule: no gain over two days", "chicks called"]) >= 1
    assert table.loc["stalls flagged here", ["calls", "chicks called"]].tolist() == ["1", "1"]
    assert "of 0 lost, called in time" in table


def test_a_season_without_weights_says_so(open_logs):
    logs = brood(3)
    growth = Chicks.of(open_logs(pairs=logs["pairs"], hatches=logs["hatches"]))
    assert watched(growth) == []
    assert scale_and_losses(growth) == []
    for show in ("watched", "flagged", "kinds", "curves", "chicks", "pairs", "rule", "panels", "table"):
        getattr(chapters.growth, show)(growth)


# -- where a chick stands beside its kind: one decision


def stops(share=1.0):
    """A chick that grew as the others did, and gains nothing any more from day 15 on."""
    ends = {15: 0.97, 16: 0.90, 17: 0.80}
    return lambda age: share * ends.get(age, 1.0)


def everything_said(growth, chick):
    """All that stands on a chick's page, in its chapter and in the tables, of this chick."""
    name = chick_named(growth.season, chick)
    items = as_read(how_it_stands(growth, name, round_of(growth.season).of(name)))
    items += [item for item in as_read(watched(growth)) if item[0] == name]
    states = states_table(growth).set_index("chick")
    return " ".join([*(f"{what}: {said}" for what, said in items), in_words(states.loc[name, "state"])])


def test_a_last_weight_below_the_lower_line_is_never_as_heavy_as_the_others(open_logs):
    growth = light_one(open_logs, stops(), up_to=17)
    lines = growth.references["cockatiel, by parents"].centiles([17]).set_index("share")["mass_g"]
    last = growth.weights.query("chick == 'K9'")["mass_g"].iloc[-1]
    assert last < lines[0.05]
    said = everything_said(growth, "K9")
    assert "s heavy as the others" not in said
    assert f"57 g on day 17, below the lower line of its kind at that age, {lines[0.05]:.0f} g" in said
    assert in_words(states_table(growth).set_index("chick").loc["K9", "state"]) != "as the others"


def test_a_heavier_chick_below_the_line_is_not_called_heavier(open_logs):
    said = everything_said(light_one(open_logs, stops(1.06), up_to=17), "K9")
    assert "below the lower line of its kind" in said
    assert "heavier than the others" not in said


def test_within_the_lines_words_and_state_agree(open_logs):
    growth = light_one(open_logs, lambda age: 0.98, up_to=17)
    assert "Beside its kind: As heavy as the others of its kind that did well." in everything_said(growth, "K9")
    assert in_words(states_table(growth).set_index("chick").loc["K9", "state"]) == "as the others"


def test_past_its_peak_a_chick_that_falls_is_not_held_against_the_line(open_logs):
    def weans(age):
        return 0.98 * (1.0 if age < 35 else 1 - 0.02 * (age - 34))

    growth = light_one(open_logs, weans, up_to=40)
    assert growth.watch.peaks["K9"] < 40
    said = everything_said(growth, "K9")
    assert "Beside its kind: Up to its peak within 2 % of the others of its kind that did well." in said
    assert "lower line" not in said


def test_a_chick_whose_kind_has_a_curve_is_not_told_that_it_has_none(open_logs):
    weighed_once = light_one(open_logs, lambda age: 1.0, up_to=1)
    assert weighed_once.watch.kinds["cockatiel, by parents"].enough
    said = everything_said(weighed_once, "K9")
    assert "Too few" not in said
    assert "Weighed once so far" in said

    logs = brood(9, still="K9")
    head, *rows = logs["hatches"].splitlines()
    guessed = "\n".join([f"{head},sure_to_days", *(f"{row},{5 if ',K9,' in row else ''}" for row in rows)])
    growth = Chicks.of(open_logs(pairs=PAIRS, hatches=guessed, weights=logs["weights"]))
    said = everything_said(growth, "K9")
    assert "Too few" not in said
    assert "Its age is a guess" in said

    none = Chicks.of(open_logs(**brood(3)))
    assert "Too few chicks of its kind did well so far" in everything_said(none, "K1")


def test_why_nothing_is_expected_of_the_next_weighing_is_said_of_each_case(open_logs):
    def of_the_next(growth, chick="K9"):
        return dict(as_read(how_it_stands(growth, chick, [])))["Next weighing"]

    off_course = light_one(open_logs, stops(), up_to=17)
    assert of_the_next(off_course) == (
        "57 g on day 17 is not what its weighings before led to expect, so its next weight cannot be told beforehand."
    )
    slip = light_one(open_logs, lambda age: 2.0 if age == 17 else 1.0, up_to=17)
    assert of_the_next(slip) == "142 g on day 17 looks mistaken, so its next weight cannot be told beforehand."
    few = Chicks.of(open_logs(**brood(4, still="K4"), up_to="2026-03-17"))
    assert of_the_next(few, "K4") == (
        "No curve yet: no chick that did well with 5 weighings, and 6 are needed. So its next weight cannot be "
        "told beforehand."
    )


def test_a_kind_with_a_curve_to_judge_by_is_not_said_to_have_none(open_logs):
    # one of the six was weighed five times, the last two on its way down: enough to judge by, too few to draw
    logs = brood(6)
    rows = [row.split(",") for row in logs["weights"].splitlines()]
    born = pd.Timestamp("2026-03-06")
    falls = {f"{born + pd.Timedelta(days=age):%Y-%m-%d}": mass for age, mass in {12: 50, 22: 83, 30: 90}.items()}
    falls |= {f"{born + pd.Timedelta(days=age):%Y-%m-%d}": mass for age, mass in {36: 80, 40: 78}.items()}
    rows = [row for row in rows if row[0] != "K6"] + [["K6", day, str(mass)] for day, mass in falls.items()]
    growth = Chicks.of(open_logs(**logs | {"weights": "\n".join(map(",".join, rows))}))
    kind = "cockatiel, by parents"
    assert growth.watch.kinds[kind].enough
    assert growth.references[kind].why
    curve = table_shown(chapters.growth.curves(growth)).set_index("kind").loc[kind, "curve"]
    assert curve == "logistic, to judge by; too few weighings up to the peak to draw it"


# -- chicks that were lost, weaned or left


def runt(*, mates=True, last=33):
    """Four nest mates of a kind without a curve; K4 weighs 33 g on day 13, the others about 53 g, and is lost."""
    hatches = ["pair,clutch,hatched_at,chick,weaned_on"]
    weights = ["chick,weighed_at,weight"]
    for n, share in (*(((1, 1.0), (2, 1.02), (3, 0.97)) if mates else ()), (4, last / 53)):
        hatched = pd.Timestamp("2026-05-01") + pd.Timedelta(days=n)
        hatches.append(f"P1,1,{hatched:%Y-%m-%d},K{n},")
        for age in range(1, 14):
            mass_g = share ** min(age / 6, 1) * 53 * CURVES["logistic"].mass(np.array([age]), 90, 0.22, 11)[0]
            mass_g /= CURVES["logistic"].mass(np.array([13]), 90, 0.22, 11)[0]
            weights.append(f"K{n},{hatched + pd.Timedelta(days=age):%Y-%m-%d},{mass_g:.1f}")
    losses = f"{LOSS}K4,2026-05-20,\n"
    return {"pairs": PAIRS, "hatches": "\n".join(hatches), "weights": "\n".join(weights), "losses": losses}


def test_a_runt_that_was_lost_is_said_to_have_been_light_beside_its_nest_mates(open_logs):
    growth = Chicks.of(open_logs(**runt()))
    assert not growth.watch.kinds["cockatiel, by parents"].enough
    said = dict(as_read(watched(growth)))["K4"]
    assert said == (
        "Lost on day 15; light beside its nest mates: 33 g on day 13, where K1 weighed 53 g, K2 54 g and K3 51 g at "
        "that age."
    )
    assert "gave no sign" not in " ".join(said for _, said in as_read(watched(growth)))
    (row,) = rows_as_read(first_warnings(growth)).to_dict("records")
    assert row["by weight"] == "light beside its nest mates, day 8"  # the first of the week before
    assert row["days_before"] == 7


def test_one_as_heavy_as_its_nest_mates_and_one_without_any(open_logs):
    said = dict(as_read(watched(Chicks.of(open_logs(**runt(last=52))))))["K4"]
    assert said == "Lost on day 15; not flagged before: beside its nest mates its 13 weighings gave no sign of it."
    alone = dict(as_read(watched(Chicks.of(open_logs(**runt(mates=False))))))["K4"]
    assert alone == (
        "Lost on day 15; its weighings cannot tell: its kind has no curve yet, and no nest mate was weighed at its age."
    )


def test_nest_mates_are_of_its_clutch_and_of_its_age(open_logs):
    other = runt()
    other["hatches"] = other["hatches"].replace("P1,1,2026-05-05,K4", "P1,2,2026-05-05,K4")
    assert "its weighings cannot tell" in dict(as_read(watched(Chicks.of(open_logs(**other)))))["K4"]
    older = runt()
    rows = [row for row in older["weights"].splitlines() if row.startswith(("K4", "chick")) or row.endswith("2026")]
    rows += ["K1,2026-05-22,80", "K1,2026-05-23,84"]  # twenty days old
    older["weights"] = "\n".join(rows)
    assert "its weighings cannot tell" in dict(as_read(watched(Chicks.of(open_logs(**older)))))["K4"]


def test_a_drop_before_a_loss_is_no_missing_sign_where_there_is_no_curve(open_logs):
    logs = runt(mates=False)
    logs["weights"] = logs["weights"].replace("K4,2026-05-18,33.0", "K4,2026-05-18,24.0")
    said = dict(as_read(watched(Chicks.of(open_logs(**logs)))))["K4"]
    assert "the trade's own rule would have called a veterinarian on day 13" in said
    assert "cannot tell" not in said


ASKS = (
    *("veterinarian", "ack to feeding", "still have to be fed", "ee that it eats", "Look at it"),
    *("weigh it again", "Never overfill", "no alarm"),
)


def gone(open_logs, fate):
    """K9 fell by a fifth and was cold on its last day, and then was lost, weaned or left."""
    by = light_one(open_logs, lambda age: 1.0 if age < 35 else 1 - 0.04 * (age - 34), rearer="hand", up_to=40)
    folder = by.season.folder
    day = "2026-06-20"
    hatches = (folder / "hatches.csv").read_text().splitlines()
    ends = {"weaned": f"{day},,hand", "left": f",{day},hand", "lost": ",,hand"}[fate]
    head = "pair,clutch,hatched_at,chick,weaned_on,left_on,reared_by"
    rows = [row.split(",") for row in hatches[1:]]
    rows = [",".join([*row[:4], ends]) if row[3] == "K9" else ",".join([*row[:5], "", row[5]]) for row in rows]
    logs = {"hatches": "\n".join([head, *rows]), "weights": (folder / "weights.csv").read_text(), "pairs": PAIRS}
    logs |= {"signs": f"who,seen_at,sign\nK9,{day},cold\n"} if fate != "weaned" else {}
    logs |= {"losses": f"{LOSS}K9,{day},\n"} if fate == "lost" else {}
    # a weaned one is still here, and hot food burns it too
    logs |= {} if fate == "weaned" else {"feeds": f"fed_at,who,food,amount,temperature\n{day} 07:00,K9,formula,30,44\n"}
    return Chicks.of(open_logs(**logs))


@pytest.mark.parametrize("fate", ["lost", "weaned", "left"])
def test_nothing_is_asked_of_a_chick_that_is_gone(open_logs, fate):
    growth = gone(open_logs, fate)
    season, today = growth.season, round_of(growth.season)
    assert season.chicks.set_index("chick").loc["K9", "fate"] == fate
    assert (growth.flags.query("chick == 'K9'")["level"] == "act").any()
    assert "K9" not in {who for who, _, _ in read_first(today)}
    shown = [*chapters.one_chick.about(season, "K9"), *chapters.one_chick.stands(today, "K9")]
    shown += [*chapters.one_chick.weights(growth, "K9")[:1], *chapters.one_chick.fed(season, "K9")]
    text = " ".join([str(dict(one.data)) for one in shown] + [everything_said(growth, "K9")])
    text += " ".join(str(chart.to_dict()) for chart in chapters.growth.flagged(growth))
    said = [words for words in ASKS if words in text]
    assert said == []
    if fate == "lost":
        assert "takes now" not in text
    if fate != "left":
        assert "feeds itself" not in not_known_of_chick(season, "K9")[1]


def test_a_chick_that_is_here_is_still_asked_about(open_logs):
    growth = light_one(open_logs, lambda age: 1.0 if age < 35 else 1 - 0.04 * (age - 34), rearer="hand", up_to=40)
    text = everything_said(growth, "K9") + str(as_read(about_chick(growth.season, "K9")))
    assert "Back to feeding." in text
    assert "avian veterinarian" in text
    assert "it may still have to be fed" in text


def test_a_small_chick_that_was_lost_is_spoken_of_as_past(open_logs):
    growth = light_one(open_logs, lambda age: 0.87)
    folder = growth.season.folder
    logs = {name: (folder / f"{name}.csv").read_text() for name in ("pairs", "hatches", "weights")}
    lost = Chicks.of(open_logs(**logs, losses=f"{LOSS}K9,2026-05-31,\n"))
    said = " ".join(text for who, text in as_read(watched(lost)) if who == "K9")
    assert "no alarm" not in said
    assert "growing as they do" not in said
