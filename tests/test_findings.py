"""What a season says: true to its counts, silent where they cannot tell, and blaming nobody."""

import pandas as pd
import pytest

from analysis import chapters, open_season
from analysis.chapters.first_page import open_questions, season_line, whereabouts
from analysis.chapters.pairs import rates_table
from analysis.chicks.of_season import Chicks
from analysis.day.round import attention, round_of
from analysis.pairs.of_season import Pairs
from analysis.rates import clutch_counts, stage_rates
from analysis.say import in_words
from support import as_read, table_shown

PAIRS = "pair,species,cage,put_up_on\nP1,cockatiel,C1,2026-01-01\nP2,cockatiel,C2,2026-01-01\n"


def eggs(pair, outcomes, first=1, clutch=1):
    """Write rows of hatches: an outcome an egg; a hatched egg has a chick."""
    rows = []
    for n, outcome in enumerate(outcomes, first):
        hatched = f"2026-04-{n:02d},{pair}-{n}" if outcome == "hatched" else ","
        rows.append(f"{pair},{clutch},{n},{outcome},{hatched}")
    return "\n".join(rows) + "\n"


HEAD = "pair,clutch,egg,outcome,hatched_at,chick\n"


def said(season):
    return dict(as_read(attention(round_of(season), Pairs.of(season))))


def test_numbers_of_the_first_page(open_logs):
    hatches = HEAD + eggs("P1", ["hatched"] * 3 + ["clear"])
    season = open_logs(pairs=PAIRS, hatches=hatches, losses="chick,found_on\nP1-1,2026-04-05\n")
    assert list(map(tuple, chapters.first_page.numbers(season)[0].data["items"])) == [
        ("4", "eggs laid", "1 clutch of 1 pair"),
        # one clutch of four: Wilson of 3 of 4 over 1 + 3 · 0.3, see test_intervals
        ("75 %", "hatched, of eggs with a known outcome", "3 of 4 · 95 %: 20–97"),
        # one lost at four days; what two and three days old have come through is 0.2 of a chick each
        (
            "30 %",
            "weaned; those still being reared count in part, by how far they have come",
            "0 of 1 and 2 in part · 95 %: 3–88",
        ),
        (
            "0",
            "chicks weaned",
            "about 0.8 for each clutch that is off its eggs, once all are reared · 2 still being reared",
        ),
    ]
    assert in_words(season_line(season)) == "2 pairs · 1 clutch · 3 chicks"


def judged(season):
    return dict(as_read(attention(round_of(season), Pairs.of(season))))


def test_a_pair_of_clear_eggs_is_asked_about_and_not_judged(open_logs):
    clear = eggs("P1", ["clear"] * 5) + eggs("P1", ["clear"] * 4, first=6, clutch=2)
    fine = eggs("P2", ["hatched"] * 5) + eggs("P2", ["hatched"] * 4, first=6, clutch=2)
    season = open_logs(pairs=PAIRS, hatches=HEAD + clear + fine)
    found = judged(season)
    assert found["P1"].startswith("Check first: All 9 candled eggs were clear, over 2 clutches")
    assert "Clear is not the same as infertile." in found["P1"]
    assert "P2" not in found


def test_a_first_clutch_is_listed_and_not_judged(open_logs):
    season = open_logs(pairs=PAIRS, hatches=HEAD + eggs("P1", ["clear"] * 7) + eggs("P2", ["hatched"] * 9))
    found = judged(season)
    assert set(found) & {"P1", "P2"} == set()
    assert found["Other pairs"] == (
        "Nothing against it so far: P2; not enough to judge: P1. The page on pairs says why."
    )


def test_losses_that_came_together_blame_no_pair(open_logs):
    hatches = HEAD + eggs("P1", ["hatched"] * 2) + eggs("P2", ["hatched"] * 2)
    losses = "chick,found_on,cause\n" + "".join(f"{p}-{n},2026-05-01,power cut\n" for p in ("P1", "P2") for n in (1, 2))
    found = said(open_logs(pairs=PAIRS, hatches=hatches, losses=losses))
    assert found["Lost together"] == (
        "4 chicks of 2 pairs on 1 May 2026 (P1-1, P1-2, P2-1 and P2-2). As written: power cut. "
        "Losses on one day may be one event, and say little of a pair."
    )
    assert "cold, heat or power 4" in found["Losses"]


def test_a_recent_sign_goes_to_a_veterinarian_and_one_of_the_lost_does_not(open_logs):
    season = open_logs(
        hatches="chick,hatched_at\nK1,2026-04-01\nK2,2026-04-01\n",
        losses="chick,found_on\nK2,2026-04-20\n",
        signs="who,seen_at,sign\nK1,2026-04-19,crop not emptying\nK2,2026-04-19,cold\nK1,2026-03-01,limp\n",
    )
    found = said(season)
    assert found["K1"].startswith("Crop not emptying, seen 19 April 2026.")
    assert "avian veterinarian" in found["K1"]
    assert "K2" not in found


def test_nothing_is_said_where_nothing_is_wrong(open_logs):
    season = open_logs(hatches="chick,hatched_at\nK1,2026-04-01\n")
    assert as_read(attention(round_of(season), Pairs.of(season))) == [
        ("Nothing", "Nothing in these logs asks for attention.")
    ]


@pytest.mark.parametrize(
    ("logs", "missing"),
    [
        ({"hatches": "chick\nK1\n"}, ["Hatching", "Weaning", "Pairs", "Ages", "Growth", "Species"]),
        ({"clutches": "pair,clutch,eggs,hatched\nP1,1,4,3\n"}, ["Fertility", "Growth"]),
        ({"hatches": HEAD + eggs("P1", ["clear"]), "pairs": PAIRS}, ["Growth", "Pair or cage"]),
    ],
)
def test_what_cannot_be_told(open_logs, logs, missing):
    assert [what for what, _ in as_read(open_questions(open_logs(**logs)))] == missing


def test_two_pairs_in_one_cage_in_turn_can_be_told_apart_from_it(open_logs):
    season = open_logs(
        pairs="pair,species,cage,put_up_on,parted_on\nP1,a,C1,2026-01-01,2026-03-01\nP2,a,C1,2026-04-01,\n",
        hatches="pair,clutch,egg,laid_on,outcome\nP1,1,1,2026-02-01,clear\nP2,1,1,2026-04-20,clear\n",
    )
    assert "Pair or cage" not in dict(as_read(open_questions(season)))


def test_tables_of_rates_show_counts_and_intervals(open_logs):
    season = open_logs(pairs=PAIRS, hatches=HEAD + eggs("P1", ["hatched"] * 3 + ["clear"]))
    rates = stage_rates(clutch_counts(season.eggs, season.clutches), season.chicks, by="pair")
    table = rates_table(rates, "pair")
    assert table.loc[0, "showed fertile"] == "3 of 4, 75 % (20–97)"
    assert table.loc[0, "weaned"] == "none yet"
    assert table.loc[0, "beside"] == "3 being reared"


def test_growth_of_a_season(open_logs):
    ages = range(1, 40)
    mass = [100 / (1 + 2.718281828 ** (-0.3 * (age - 12))) for age in ages]
    log = "".join(f"K1,2026-04-{1 + a:02d},{m:.1f}\n" for a, m in zip(ages, mass, strict=True) if a < 29)
    season = open_logs(
        hatches="chick,hatched_at\nK1,2026-04-01\nK2,2026-04-01\n",
        weights="chick,weighed_at,weight\n" + log + "K2,2026-04-03,5\n",
    )
    growth = Chicks.of(season)
    one, two = growth.chicks.itertuples()
    assert one.A_g == pytest.approx(100, rel=0.01)
    assert one.kind == "species not written, by hand"
    assert (pd.isna(two.A_g), two.why.code) == (True, "growth.own-too-few")
    assert growth.curves["age_d"].agg(["min", "max"]).tolist() == [1, 28]
    assert set(growth.curves["chick"]) == {"K1"}


def test_alike_problems_stand_in_one_line(open_logs):
    weights = "".join(f"K{n},2026-04-0{n},5\n" for n in range(2, 8)) + "K1,2026-04-02,x\n"
    season = open_logs(hatches="chick,hatched_at\nK1,2026-04-01\n", weights="chick,weighed_at,weight\n" + weights)
    table = table_shown(chapters.logs.not_used(season))
    assert table["rows"].tolist() == ["2–7", "8"]
    assert table["as written"].tolist() == ["K2, K3, K4 and 3 more", "x"]


def test_survival_to_weaning_is_credited_to_who_reared(open_logs):
    chicks = [("K1", "P1", "2026-05-20"), ("K2", "P1", "2026-05-21"), ("K3", "hand", ""), ("K4", "hand", "2026-05-25")]
    rows = "".join(f"{c},2026-04-01,{by},{weaned}\n" for c, by, weaned in chicks)
    season = open_logs(
        pairs=PAIRS, hatches="chick,hatched_at,reared_by,weaned_on\n" + rows, losses="chick,found_on\nK3,2026-04-11\n"
    )
    table = table_shown(chapters.losses.by_group(season)).set_index(["by", "name"])
    assert table.loc[("rearer", "hand"), ["chicks", "lost"]].tolist() == ["2", "1"]
    assert table.loc[("rearer", "P1"), "alive at weaning age"] == "100 % (34–100)"  # Wilson for 2 of 2
    assert table.columns.tolist() == ["chicks", "lost", "alive at weaning age", "beside"]  # one estimate, not two
    assert table_shown(chapters.losses.by_group(open_logs(hatches="chick\nK1\n"))).empty


def test_a_chick_that_went_before_it_came_is_no_error(open_logs):
    hatches = "chick,hatched_at,arrived_on,weaned_on\nK1,2026-04-01,2026-05-20,2026-05-10\nK2,2026-04-01,,2026-05-20\n"
    assert table_shown(chapters.losses.by_group(open_logs(hatches=hatches)))["chicks"].astype(int).sum() == 4


def test_chicks_that_are_neither_weaned_nor_lost_are_named(open_logs):
    season = open_logs(
        hatches="chick,hatched_at,weaned_on,left_on\nK1,2026-04-01,2026-05-20,\nK2,2026-05-01,,\nK3,2026-04-01,,2026-05-02\n"
    )
    assert in_words(whereabouts(season)) == (
        "Still being reared on 20 May 2026: K2. Gone to another home before they were weaned: K3."
    )


# -- losses by age: one count


def test_losses_by_age_agree_on_every_page(open_logs):
    hatches = HEAD + eggs("P1", ["hatched"] * 5) + "P2,1,9,hatched,,P2-9\n"
    losses = (
        "chick,found_on,last_seen_well_on\n"
        "P1-1,2026-04-03,2026-04-02\n"  # day 2
        "P1-2,2026-04-05,2026-04-03\n"  # found on day 3, and seen well on day 1
        "P1-3,2026-05-10,2026-05-10\n"
        "P2-9,2026-04-20,\n"  # nobody knows how old
    )
    season = open_logs(pairs=PAIRS, hatches=hatches, losses=losses)
    ages = table_shown(chapters.losses.table(season))["age (d)"]
    assert [age for age in ages if age] == ["2", "3", "37"]
    shown = chapters.losses.ages_and_causes(season)
    drawn = next(one.to_dict()["description"] for one in shown if hasattr(one, "to_dict"))
    assert drawn.startswith("Chicks lost by age in days: 0–2, 1 of 5; 3–7, 1 of 4; 8–14, 0 of 3;")
    assert "Not counted here: 1 chick lost at an age that is not known." in " ".join(
        one.text for one in shown if hasattr(one, "text")
    )
    assert (
        "4 chicks lost before weaning, 1 of them on days 0–2, 1 at an age that is not known" in said(season)["Losses"]
    )


def test_an_unknown_age_is_said_also_where_no_other_loss_has_one(open_logs):
    season = open_logs(hatches="chick\nK1\nK2\n", losses="chick,found_on\nK1,2026-04-20\n")
    assert "1 chick lost before weaning, 1 at an age that is not known: K1" in said(season)["Losses"]


def test_files_that_were_read_alike_are_told_together_whatever_they_are_called(write_logs):
    folder = write_logs(hatches="chick,hatched_at\nK1,2026-04-01\n", losses="chick,found_on\nK1,2026-04-05\n")
    (folder / "hatches: a copy.csv").write_text((folder / "hatches.csv").read_text().replace("K1", "K2"))
    season = open_season(folder)
    lines = chapters.logs.assumed(season)[0].text.split("\n\n")
    assert sum("columns parted by" in line for line in lines) == 1
    assert any("hatches: a copy.csv" in line.split("utf", 1)[0] for line in lines), lines
