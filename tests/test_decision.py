"""What each decision on a pair is worth: worse than a new one, chicks at stake, the check worth most, other priors."""

from dataclasses import replace

import numpy as np
import pytest

from analysis import chapters, pooled
from analysis.pairs.beforehand import beforehand
from analysis.pairs.beside_new import BesideNew, other_priors, p_worse_than_new
from analysis.pairs.evidence import NEW, ClutchValue, StageDraws, clutch_value, evidence_otherwise, stage_evidence
from analysis.pairs.of_season import Pairs
from analysis.pairs.record import FERTILE, HATCH, STAGES, begun
from analysis.pairs.verdict import CHECK, KEEP, NOT_ENOUGH, NOTHING_AGAINST, Verdict, word_of
from analysis.say import in_words
from support import demo_judged, table_shown

HEAD = "pair,clutch,egg,laid_on,outcome,hatched_at,chick,weaned_on\n"


def clutch(pair, number, hatched, clear):
    rows = []
    for n in range(1, hatched + clear + 1):
        out = f"hatched,2026-{number + 1:02d}-2{n},{pair}{number}{n},2026-{number + 3:02d}-0{n}"
        rows.append(f"{pair},{number},{n},2026-{number:02d}-0{n},{out if n <= hatched else 'clear,,,'}\n")
    return "".join(rows)


@pytest.fixture
def judged(open_logs):
    """Four good pairs of two clutches, P5 clear in both, P6 with a good clutch, P7 with a clear one, P8 with none."""
    eggs = "".join(clutch(f"P{p}", n, 4, 0) for p in range(1, 5) for n in (2, 4))
    eggs += clutch("P5", 2, 0, 5) + clutch("P5", 4, 0, 5) + clutch("P6", 2, 5, 0) + clutch("P7", 2, 0, 4)
    pairs = "pair,species,cage,cock,hen\n" + "".join(f"P{n},cockatiel,C{n},c{n},h{n}\n" for n in range(1, 9))
    return Pairs.of(open_logs(pairs=pairs, hatches=HEAD + eggs))


def stage(rate, failing=0.0):
    return StageDraws(np.asarray(rate), np.full(len(rate), failing), np.zeros(len(rate)))


def test_a_pair_is_held_against_a_new_one_that_settles_over_three_seasons():
    # Own: 4 eggs at 0.5; new: at 0.4, 0.5, 0.6, 0.9. Short by a tenth these give 1.44, 1.8, 2.16 and 3.24 against 2.
    one, rates = np.ones(4), np.array([0.4, 0.5, 0.6, 0.9])
    sure = ClutchValue(4 * one, stage(one), stage(0.5 * one), stage(one), stage(one))
    beside = BesideNew(sure, replace(sure, fertile=stage(rates)), short=0.1)
    assert beside.worse.tolist() == [0, 0, 1, 1]
    assert replace(beside, short=0.5).worse.tolist() == [0, 0, 0, 0]
    assert beside.mended(FERTILE) == pytest.approx(4 * (rates - 0.5).mean())
    assert beside.mended(HATCH) == 0
    nobody_counted = replace(sure, eggs=np.nan * one)
    assert np.isnan(replace(beside, own=nobody_counted).worse).all()


@pytest.mark.parametrize(
    ("word", "clutches", "p", "said"),
    [
        (NOT_ENOUGH, 1, 0.20, NOTHING_AGAINST),
        (NOT_ENOUGH, 1, 0.21, NOT_ENOUGH),
        (NOT_ENOUGH, 0, 0.10, NOT_ENOUGH),  # nothing of its own is known
        (NOT_ENOUGH, 1, np.nan, NOT_ENOUGH),
        (CHECK, 3, 0.10, CHECK),
        (KEEP, 3, 0.90, KEEP),  # worse than a new one is no verdict
    ],
)
def test_nothing_is_against_a_pair_that_is_as_good_as_a_new_one(word, clutches, p, said):
    assert word_of(Verdict(word, ()), clutches, p) == said


def test_each_decision_is_told_by_what_it_is_worth(judged):
    table, review = judged.decision.set_index("pair"), judged.review.set_index("pair")
    assert table["p_worse_than_new"].tolist() == review["p_worse_than_new"].tolist()
    assert table["p_worse_than_new"].between(0, 1).all()
    assert table.loc["P5", "p_worse_than_new"] > 0.85
    assert (table.loc[["P1", "P2", "P3", "P4", "P6"], "p_worse_than_new"] < 0.5).all()
    assert 0.2 < table.loc["P8", "p_worse_than_new"] < 0.5  # nothing of it is known: a new one, but for what it costs
    assert table.loc["P5", "at_stake"] < -2
    assert (table.loc[["P1", "P2", "P3", "P4"], "at_stake"] > 1).all()
    short = table["weaned"] - table["at_stake"]
    assert short.to_numpy() == pytest.approx(0.7 * judged.outlook.pairs["weaned_new"].to_numpy())
    assert table.loc[["P5", "P7"], "check"].map(in_words).unique().tolist() == ["whether these are a cock and a hen"]
    assert (table.loc[["P5", "P7"], "gain"] > 1).all()
    assert table.loc[["P1", "P6", "P8"], "check"].tolist() == [None] * 3
    shown = table_shown(chapters.advice.decision(judged)).set_index("pair")
    assert shown["chicks at stake next season"]["P5"] == f"{-table.loc['P5', 'at_stake']:.1f} fewer if kept"
    assert shown["chicks at stake next season"]["P1"] == f"{table.loc['P1', 'at_stake']:.1f} more if kept"


def test_what_settling_costs_is_the_keepers_to_say(judged, open_logs):
    dear = replace(judged.season.settings, values={"settling_cost": "0.9"})
    record = judged.record
    costly = replace(record, season=replace(record.season, settings=dear))
    for pair in ("P1", "P5"):
        usual, less = (p_worse_than_new(one, BesideNew.of(one, pair)) for one in (record, costly))
        assert less < usual


def test_a_new_pair_is_drawn_from_the_spread_of_the_others(judged):
    # The same drawn here: a share never works, the others lie about the mean as far apart as pairs do.
    record, rng = judged.record, np.random.default_rng(3)
    even = record.rates[FERTILE].even
    usual = 1 / (1 + np.exp(-(even.mu + even.sd["pair"] * rng.standard_normal(len(even.mu)))))
    direct = np.where(rng.random(len(usual)) < even.share_never, rng.beta(1, 24, len(usual)), usual)
    new = clutch_value(record, "P5", new=True).fertile.rate
    drawn = record.draws(FERTILE, pair=NEW)
    assert drawn.mean() == pytest.approx(direct.mean(), abs=0.02)
    assert np.quantile(drawn, [0.1, 0.5]) == pytest.approx(np.quantile(direct, [0.1, 0.5]), abs=0.06)
    assert new.mean() > clutch_value(record, "P5").fertile.rate.mean() + 0.5


def test_other_priors_are_what_working_it_out_anew_gives(judged):
    record = judged.record
    told = dict(zip(STAGES, beforehand(["cockatiel"]), strict=True))[HATCH]
    lower = pooled(
        begun(record.rows[HATCH]),
        "tried",
        "worked",
        ["pair", "place"],
        **told | {"centre": told["centre"] - told["spread"]},
    )
    priors = other_priors(record)
    evidence = stage_evidence(record)
    otherwise = evidence_otherwise(record, evidence, priors)["pairs.prior-lower"]
    at = (evidence["stage"] == HATCH) & (evidence["pair"] == "P5")
    # Of P5 no egg was fertile: what is thought of it is what is thought of all, so that the prior counts most.
    anew = lower.rates(pair="P5").mean()
    assert otherwise.loc[at, "mean"].iloc[0] == pytest.approx(anew, abs=0.02)
    assert evidence.loc[at, "mean"].iloc[0] > anew + 0.01


def test_of_a_colony_nothing_is_told_and_a_rule_asks_before_any_count():
    table = demo_judged().decision.set_index("pair")
    assert table.loc["P14", ["p_worse_than_new", "at_stake"]].isna().all()
    assert table.loc["P14", "check"] is None
    assert table.loc["P03", "check"].code == "pairs.worth-sexes"  # eggs faster than one hen lays
    assert np.isnan(table.loc["P03", "gain"])
    assert table.loc["P05", "check"].code == "pairs.worth-kin"
    assert table.loc["P06", "check"].code == "pairs.worth-own-limit"


def test_a_sign_goes_before_an_age_limit(open_logs):
    judged = Pairs.of(
        open_logs(
            pairs="pair,species,cage,cock,hen\nP1,cockatiel,C1,c1,h1\n",
            hatches=HEAD + clutch("P1", 2, 3, 1),
            birds="bird,hatched_on\nh1,2015-01-01\n",
            species="species,hen_oldest_y\ncockatiel,5\n",
            signs="who,seen_at,sign\nh1,2026-06-01,egg binding\n",
        )
    )
    assert judged.decision["check"].map(in_words).tolist() == ["what was seen, by an avian veterinarian"]
