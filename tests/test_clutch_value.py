"""What a clutch gives: its stages multiply to what was logged, eggs broken or gone too, and start from counts."""

import numpy as np
import pandas as pd
import pytest

from analysis import chapters
from analysis.chapters.pair_page import PairPages
from analysis.logs import Settings
from analysis.pairs.beforehand import beforehand
from analysis.pairs.evidence import clutch_sizes, clutch_value, stage_evidence
from analysis.pairs.limits import Limits
from analysis.pairs.of_season import weight_of_prior
from analysis.pairs.record import FERTILE, HATCH, INTACT, STAGES, WEAN, read_record
from analysis.pairs.review import review_pairs
from analysis.pairs.verdict import CHECK, KEEP, WATCH, verdict
from analysis.rates import clutch_counts, stage_rates
from analysis.say import in_words
from support import table_shown

EGGS = "pair,clutch,egg,laid_on,candled,outcome,hatched_at,chick,weaned_on\n"
DEAD = "dead in shell"  # a fertile egg that did not hatch
ALIKE = ("clear", DEAD, "hatched", "hatched", "hatched")


def pairs(number, species="cockatiel"):
    rows = "".join(f"P{i},{species},pair,cock{i},hen{i},C{i}\n" for i in range(1, number + 1))
    return "pair,species,kind,cock,hen,cage\n" + rows


def eggs(pair, clutch, outcomes):
    """Rows of one clutch, an outcome an egg; "fertile, missing" had shown fertile. What hatched was weaned."""
    rows, start = [], pd.Timestamp("2026-02-01") + pd.Timedelta(days=80 * (clutch - 1))
    for n, outcome in enumerate(outcomes):
        was_fertile, _, fate = outcome.rpartition(", ")
        candled = "fertile" if was_fertile or fate in (DEAD, "hatched") else "clear" if fate == "clear" else ""
        out, weaned = (f"{start + pd.Timedelta(days=2 * n + days):%Y-%m-%d}" for days in (22, 70))
        hatched = f"{out},{pair}-{clutch}-{n},{weaned}" if fate == "hatched" else ",,"
        rows.append(f"{pair},{clutch},{n},{start + pd.Timedelta(days=2 * n):%Y-%m-%d},{candled},{fate},{hatched}\n")
    return "".join(rows)


def alike(open_logs, number, clutches, outcomes=ALIKE):
    rows = "".join(eggs(f"P{i}", c, outcomes) for i in range(1, number + 1) for c in range(1, clutches + 1))
    return read_record(open_logs(pairs=pairs(number), hatches=EGGS + rows, losses="chick,found_on,cause\n"))


# -- what is printed comes back to what was logged


@pytest.mark.parametrize(
    ("number", "clutches", "outcomes", "within"),
    [
        (3, 1, ALIKE, 0.16),
        (12, 1, ALIKE, 0.10),
        (12, 2, ALIKE, 0.07),
        (12, 2, ("missing", "hatched", "hatched", "hatched", DEAD), 0.08),
        (12, 2, ("missing", "broken", "hatched", "hatched", DEAD), 0.08),
        (12, 2, ("fertile, missing", "clear", "hatched", "hatched", DEAD), 0.08),
        (12, 2, ("fertile, broken", "broken", "clear", "hatched", "hatched"), 0.08),
    ],
)
@pytest.mark.slow
def test_clutches_all_alike_come_back(open_logs, number, clutches, outcomes, within):
    record = alike(open_logs, number, clutches, outcomes)
    review, logged = review_pairs(record.season, record), outcomes.count("hatched")
    assert review["hatched_per_clutch"].mean() == pytest.approx(logged, rel=within)
    assert review["weaned_per_clutch"].mean() == pytest.approx(logged, rel=within)
    assert (review["weaned_per_clutch_low"] < logged).all()
    assert (review["weaned_per_clutch_high"] > logged).all()


def test_counts_of_clutches_give_what_the_same_eggs_give(open_logs):
    outcomes = ("missing", "clear", DEAD, "hatched", "hatched")
    as_eggs = alike(open_logs, 4, 2, outcomes)
    rows = "".join(f"P{i},{c},5,1,1,1,2\n" for i in range(1, 5) for c in (1, 2))
    counted = "pair,clutch,eggs,clear,died_in_egg,broken_or_gone,hatched\n" + rows
    as_counts = read_record(open_logs(pairs=pairs(4), clutches=counted))
    for stage in (INTACT, FERTILE, HATCH):
        columns = ["pair", "clutch", "worked", "tried"]
        one, other = (record.rows[stage][columns].astype(str) for record in (as_eggs, as_counts))
        assert one.values.tolist() == other.values.tolist()


def test_pairs_of_which_no_cage_and_no_species_is_written_have_rates(open_logs):
    rows = eggs("P1", 1, ALIKE) + eggs("P2", 1, ALIKE)
    record = read_record(open_logs(hatches=EGGS + rows, losses="chick,found_on,cause\n"))
    assert not any(frame[["place", "kind"]].isna().any(axis=None) for frame in record.rows.values())
    assert stage_evidence(record)[["typical", "usual_there"]].notna().all(axis=None)


def test_each_egg_counts_at_the_stage_where_it_was_lost(open_logs):
    fates = (
        "broken",
        "fertile, missing",
        "abandoned",
        "fertile, abandoned",
        "clear",
        DEAD,
        "hatched",
        "still incubating",
    )
    record = read_record(open_logs(pairs=pairs(1), hatches=EGGS + eggs("P1", 1, fates)))
    counts = {stage: record.rows[stage][["worked", "tried"]].iloc[0].tolist() for stage in STAGES if stage != WEAN}
    # of 8 eggs one is still incubating: broken, missing and left before anybody knew are lost at the first stage;
    # missing, left late, dead and hatched had shown fertile; of the two that were whole and not left one hatched
    assert counts == {INTACT: [5, 8], FERTILE: [4, 5], HATCH: [1, 3]}
    public = stage_rates(clutch_counts(record.season.eggs, record.season.clutches), record.season.chicks)
    assert public.set_index("stage").loc[HATCH, ["worked", "tried"]].tolist() == [1, 4]  # its denominator stays


# -- what is thought beforehand


@pytest.mark.parametrize(
    ("species", "fertile"),
    [
        # published counts: see analysis/pairs/beforehand.py
        (["budgerigar", "Zebra finches"], 0.90),
        (["African grey", "blue-fronted amazon", "galah"], 0.65),
        (["amazon", "macaws"], 0.65),
        (["cockatiel", "galah"], 0.82),
        (["canary"], 0.82),
        (["cockatiel", ""], 0.82),
        ([], 0.82),
    ],
)
def test_stages_start_from_published_counts_of_such_birds(species, fertile):
    centres = [1 / (1 + np.exp(-stage["centre"])) for stage in beforehand(species)]
    failing = 1 / 20  # of Beta(1, 19): published counts hold the clutches that fail
    assert np.allclose(np.array(centres) * [1, 1, 1 - failing, 1 - failing], [0.90, fertile, 0.80, 0.75])


def test_where_little_is_counted_the_published_counts_speak(open_logs):
    record = read_record(open_logs(pairs=pairs(2), hatches=EGGS + eggs("P1", 1, ("", "", "", "", ""))))
    value = clutch_value(record, "P2")
    # 24, 30, 66 and 91 % of eggs laid were weaned in four published studies
    low, share, high = np.quantile(value.weaned / value.eggs, [0.1, 0.5, 0.9])
    assert low < 0.30 < 0.45 < share < 0.70 < high


def test_a_clear_clutch_is_not_put_down_to_a_fright(open_logs):
    rows = "".join(eggs(f"P{i}", c, ALIKE) for i in range(1, 9) for c in (1, 2)) + eggs("P9", 1, ["clear"] * 13)
    record = read_record(open_logs(pairs=pairs(9), hatches=EGGS + rows, losses="chick,found_on,cause\n"))
    likely = stage_evidence(record).set_index(["pair", "stage"]).loc[("P9", FERTILE)]
    assert likely["high"] < 0.2
    assert np.all(clutch_value(record, "P9").fertile.failing == 0)


# -- how many eggs


def test_the_size_of_a_clutch_is_the_pairs_own_beside_two_of_its_species(open_logs):
    sizes = {("P1", 1): 3, ("P1", 2): 3, ("P2", 1): 6, ("P2", 2): 6, ("P3", 1): 6}
    rows = "".join(eggs(pair, clutch, ["clear"] * n) for (pair, clutch), n in sizes.items())
    record = read_record(open_logs(pairs=pairs(4), hatches=EGGS + rows))
    usual = np.mean(list(sizes.values()))
    for pair, mean in (("P1", (2 * 3 + 2 * usual) / 4), ("P2", (2 * 6 + 2 * usual) / 4), ("P4", usual)):
        drawn = clutch_sizes(record, pair, 20000)
        assert drawn.mean.mean() == pytest.approx(mean, abs=0.03)
        one = drawn.drawn(np.random.default_rng(1))
        assert set(one) <= {3.0, 6.0}
        assert one.mean() == pytest.approx(mean, abs=0.05)
    assert np.array_equal(clutch_sizes(record, "P1", 4000).mean, clutch_value(record, "P1").eggs)


def test_one_clutch_alone_does_not_make_its_size_sure(open_logs):
    record = read_record(open_logs(pairs=pairs(2), hatches=EGGS + eggs("P1", 1, ["clear"] * 4)))
    drawn = clutch_sizes(record, "P2", 4000)
    assert drawn.mean.mean() == pytest.approx(4, abs=0.05)
    assert set(drawn.drawn(np.random.default_rng(1))) == {3.0, 4.0, 5.0}
    nothing = read_record(open_logs(pairs=pairs(2), hatches="chick\nK1\n"))
    assert np.isnan(clutch_sizes(nothing, "P1", 10).mean).all()


# -- eggs broken or gone are never a reason to part


def breaking(open_logs, broken, clutches, checked=""):
    """Eight pairs, of which one loses so many of five eggs in each clutch."""
    rows = "".join(eggs(f"P{i}", c, ("hatched",) * 5) for i in range(1, 8) for c in (1, 2))
    rows += "".join(eggs("P8", c, ("broken",) * broken + ("hatched",) * (5 - broken)) for c in range(1, clutches + 1))
    rows += "".join(eggs("P8", c, ("hatched",) * 5) for c in range(clutches + 1, 4))
    logs = {
        "pairs": pairs(8),
        "hatches": EGGS + rows,
        "settings": f"setting,value\nchecked,{checked}\nclutches_then_rest,4\n",
    }
    return read_record(open_logs(losses="chick,found_on,cause\n", **logs))


@pytest.mark.slow
def test_eggs_broken_again_and_again_are_looked_into(open_logs):
    for checked in ("", "P8"):
        record = breaking(open_logs, broken=3, clutches=3, checked=checked)
        review = review_pairs(record.season, record).set_index("pair")
        row = review.loc["P8"]
        assert row["advice"] == CHECK
        assert "9 of 15 eggs were broken or gone, in 3 of 3 clutches; typical of its kind is" in row["reasons"]
        assert "First look at the nest box and what covers its floor, at calcium" in row["reasons"]
        assert "It is no reason to part a pair." in row["reasons"]
        assert "not broken or gone 6 of 15" in row["evidence"]
        assert row["first"].facts["low"].code == "pairs.low-whole"
        assert (review["advice"].drop("P8") == KEEP).all()
        assert not review["evidence"].drop("P8").str.contains("broken").any()
    pages = PairPages.of(record.season)
    shown = [table_shown(chapters.pair_sheet.record(pages, pair)) for pair in ("P8", "P1")]
    assert [table.columns[3] for table in shown] == ["not broken or gone", "showed fertile"]
    assert shown[0].iloc[0, 3] == "6 of 15"
    (picture,) = chapters.advice.stages(pages.judged)
    assert "P8 not broken or gone 6 of 15, showed fertile" in str(picture.to_dict())
    assert any("Not broken or gone: if we had" in in_words(said) for said in weight_of_prior(pages.judged))


@pytest.mark.parametrize(("broken", "clutches"), [(5, 1), (1, 3), (0, 3)])
def test_a_clutch_broken_once_or_an_egg_now_and_then_is_not_spoken_of(open_logs, broken, clutches):
    record = breaking(open_logs, broken, clutches)
    row = review_pairs(record.season, record).set_index("pair").loc["P8"]
    assert (row["advice"], "pairs.low-whole" in row["reason_codes"]) == (KEEP, False)


def held(stage, worked, p_low=0.99, lost_in=3, usual_there=0.9):
    counts = {"stage": stage, "worked": worked, "tried": 12, "clutches": 3, "lost_in": lost_in}
    return counts | {"typical": 0.9, "usual_there": usual_there, "p_low": p_low, "alone_in": ""}


@pytest.mark.parametrize(
    ("rows", "word", "low"),
    [
        ([held(INTACT, 5)], CHECK, (INTACT,)),
        ([held(INTACT, 5, p_low=0.9)], KEEP, ()),
        ([held(INTACT, 5, lost_in=1)], KEEP, ()),
        ([held(INTACT, 8)], WATCH, (INTACT,)),  # 4 of 12 gone: thrice the usual, yet more than 0.6 of 90 % left
        ([held(INTACT, 10)], KEEP, ()),  # 2 of 12, usual 1.2
        ([held(HATCH, 6)], "re-pair", (HATCH,)),
        ([held(HATCH, 6, usual_there=0.75)], WATCH, (HATCH,)),  # in places where others hatch less too
        ([held(INTACT, 5), held(FERTILE, 2)], "re-pair", (FERTILE, INTACT)),  # for its clear eggs, which come first
    ],
)
def test_what_is_said_of_broken_eggs(rows, word, low):
    said = verdict(pd.DataFrame(rows), 3, 12, Limits.of(Settings()), checked=True, with_others="")
    assert (said.advice, said.low) == (word, low)
