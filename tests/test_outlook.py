"""Next season from the record: what is drawn, which pairs are kept and why, one pair more or less, and the command."""

import numpy as np
import pandas as pd
import pytest
from click.testing import CliRunner

from analysis import SeasonError
from analysis.cli import main
from analysis.pairs.draws_ahead import NextSeason, SetAside, draw, set_aside
from analysis.pairs.evidence import ClutchSizes, ClutchValue, StageDraws
from analysis.pairs.next_season import not_kept, outlook, outlook_lines
from analysis.pairs.of_season import outlook_findings
from analysis.pairs.record import HATCH, WEAN
from analysis.pairs.verdict import CHECK, KEEP, NOT_ENOUGH, RE_PAIR, REST, STOP, WATCH
from analysis.say import in_words
from support import DEMO, demo, demo_judged

DRAWS = 20_000
TWO = np.array([0.0, 0.0, 1.0])  # two clutches for sure
FOUR = ClutchSizes(np.array([4.0]), np.ones((DRAWS, 1)))
NEVER = SetAside(0, 1, 0.0, 0.0, 0.0)
PAIRS = "pair,species,cage,cock,hen\nP1,cockatiel,C1,A,B\nP2,cockatiel,C2,C,D\nP3,cockatiel,C3,E,F\n"
EGGS = "egg,pair,clutch,laid_on,set_on,hatched_at,chick,weaned_on\n" + "".join(
    f"{pair}{clutch}{n},{pair},{clutch},{day}-0{n},{day}-05,{out},{pair}{clutch}{n}k,{weaned}\n"
    for pair in ("P1", "P2")
    for clutch, day, out, weaned in (
        (1, "2026-01", "2026-01-24", "2026-03-15"),
        (2, "2026-04", "2026-04-24", "2026-06-15"),
    )
    for n in range(1, 5)
)


@pytest.fixture(scope="module")
def record():
    return demo_judged().record


def sure(**stages):
    one = dict.fromkeys(("intact", "fertile", "hatch", "wean"), at(1.0)) | stages
    return ClutchValue(eggs=np.full(DRAWS, 4.0), **one)


def at(rate, failing=0.0, scatter=0.0):
    return StageDraws(*(np.full(DRAWS, value) for value in (rate, failing, scatter)))


def shared(seed=1, sd=0.0, **spoilt):
    """A next season that moves every stage by a normal of `sd` on the logit."""
    rng = np.random.default_rng(seed)
    effects = {stage: sd * rng.standard_normal(DRAWS) for stage in ("intact", "fertile", "hatch", "wean")}
    aside = {"hatch": (NEVER, np.zeros(DRAWS)), "wean": (NEVER, np.zeros(DRAWS))} | spoilt
    return NextSeason(effects, aside)


def drawn(value, season=None, seed=1, chances=TWO):
    return draw(chances, FOUR, value, season or shared(), np.random.default_rng(seed))


def test_sure_rates_give_whole_clutches_as_often_as_the_pair_lays():
    assert set(drawn(sure())) == {8.0}
    often = drawn(sure(), chances=np.array([0.25, 0.5, 0.25]))
    assert [float((often == n).mean()) for n in (0, 4, 8)] == pytest.approx([0.25, 0.5, 0.25], abs=0.015)


def test_eggs_of_a_clutch_and_of_a_season_fare_alike():
    # of a pair in one season the logit is moved by a normal of 0.3, and its mean is kept: by quadrature
    nodes, weights = np.polynomial.hermite_e.hermegauss(40)
    of_pair = float(weights @ (1 / (1 + np.exp(-0.3 * nodes)) - 0.5) ** 2 / weights.sum())
    plain = drawn(sure(hatch=at(0.5)))
    assert plain.mean() == pytest.approx(4, abs=0.05)
    assert plain.var() == pytest.approx(8 * 0.25 + 8 * 7 * of_pair, rel=0.05)
    # beta-binomial: n p (1 - p) (1 + (n - 1) rho) a clutch of four
    alike = drawn(sure(hatch=at(0.5, scatter=0.15)))
    assert alike.mean() == pytest.approx(4, abs=0.05)
    assert alike.var() - plain.var() == pytest.approx(2 * 4 * 0.25 * 3 * 0.15, rel=0.2)
    # clutches fail whole: the same mean, wider
    failing = drawn(sure(hatch=at(1.0, failing=0.5)))
    assert failing.mean() == pytest.approx(4, abs=0.1)
    assert failing.var() == pytest.approx(2 * 16 * 0.25, rel=0.05)


def test_eggs_broken_come_off_before_the_others_are_counted():
    assert drawn(sure(intact=at(0.5))).mean() == pytest.approx(4, abs=0.05)


def test_what_a_season_does_is_shared_by_all_pairs_and_keeps_their_rates():
    season = shared(sd=0.4)
    value = sure(hatch=at(0.8))
    one, other = drawn(value, season, seed=2), drawn(value, season, seed=3)
    assert one.mean() == pytest.approx(8 * 0.8, abs=0.05)
    alone = np.corrcoef(one, drawn(value, shared(), seed=3))[0, 1]
    assert abs(alone) < 0.03 < 0.08 < np.corrcoef(one, other)[0, 1]


def test_what_was_set_aside_comes_again_as_often_as_it_came():
    rng = np.random.default_rng(1)
    night = SetAside(happened=1, seasons=3, clutches=0.5, met=1.0, works=0.0)
    share = night.draw(DRAWS, rng)
    assert set(share) == {0.0, 0.5}
    assert share.mean() == pytest.approx(0.5 * 1.5 / 4, abs=0.01)  # Beta(1.5, 2.5): one season in three, not for sure
    assert set(NEVER.draw(DRAWS, rng)) == {0.0}
    again = drawn(sure(), shared(wean=(night, share)))
    assert again.mean() == pytest.approx(8 * (1 - 0.5 * 1.5 / 4), abs=0.1)
    half = SetAside(happened=1, seasons=3, clutches=1.0, met=0.5, works=0.5)
    assert drawn(sure(), shared(hatch=(half, np.ones(DRAWS)))).mean() == pytest.approx(8 * 0.75, abs=0.05)


def test_what_was_set_aside_is_counted_from_the_rows_that_say_so(record):
    rows = record.rows[WEAN]
    chicks, eggs = set_aside(record, WEAN), set_aside(record, HATCH)
    lost = sum(len(one.chicks) for one in record.excluded.values())
    assert lost > 0
    hit = rows[rows["excluded"] > 0]
    assert hit["excluded"].sum() == lost
    assert (chicks.happened, chicks.seasons, chicks.works) == (hit["season"].nunique(), rows["season"].nunique(), 0.0)
    assert 0 < chicks.clutches < 1
    assert chicks.met == pytest.approx(lost / hit[["tried", "excluded"]].to_numpy().sum())
    spoilt = pd.concat([one.spoilt for one in record.excluded.values()])
    assert eggs.happened == sum(len(one.spoilt) > 0 for one in record.excluded.values())
    assert eggs.works == pytest.approx(spoilt["hatched"].sum() / max(spoilt["tried"].sum(), 1))


def test_a_pair_that_laid_nothing_is_not_foretold_a_full_brood(open_logs):
    season = open_logs(pairs=PAIRS, hatches=EGGS, signs="who,seen_at,sign\nP1,2026-09-01,eating alone\n")
    pairs = outlook(season).pairs.set_index("pair")
    assert pairs.loc["P3", "weaned"] < 0.75 * pairs.loc["P1", "weaned"]
    assert pairs.loc["P3", "low"] == 0
    assert pairs.loc["P3", "high"] > 2  # nor nothing at all


def test_pairs_add_up_and_one_more_or_less_is_told(record):
    season = record.season
    both, one = (outlook(season, keep, record=record) for keep in (["p07", "P01"], ["P01"]))
    assert both.keep == ("P01", "P07")
    pairs = both.pairs.set_index("pair")
    assert both.total["mean"] == pytest.approx(pairs.loc[["P01", "P07"], "weaned"].sum())
    assert pairs.loc["P07", "total_without"] == pytest.approx(one.total["mean"])
    assert pairs.loc["P12", "total_with"] == pytest.approx(both.total["mean"] + pairs.loc["P12", "weaned"])
    assert both.total["low"] < both.total["middle"] < both.total["high"]
    again = outlook(season, ["P01", "P07"], record=record)
    assert again.total.equals(both.total)
    assert outlook(season, [], record=record).total["mean"] == 0


def test_next_season_holds_what_this_one_gave(record):
    everything = outlook(record.season, list(record.season.pairs["pair"]), record=record)
    weaned = (record.season.chicks["fate"] == "weaned").sum()
    assert everything.total["low"] < weaned < 2 * everything.total["high"]


def test_kept_are_the_pairs_whose_advice_speaks_not_against_them(record):
    words = [KEEP, WATCH, REST, NOT_ENOUGH, CHECK, RE_PAIR, STOP]
    pairs = sorted(record.season.pairs["pair"])
    review = pd.DataFrame({"pair": pairs, "advice": [*words, *[KEEP] * (len(pairs) - len(words))]})
    ahead = outlook(record.season, record=record, review=review)
    assert ahead.keep == ("P01", "P02", "P03", "P04", *pairs[7:])
    left = ahead.pairs[~ahead.pairs["kept"]]
    assert [in_words(why) for why in left["why"]] == ["advice: check first", "advice: re-pair", "advice: stop breeding"]
    assert ahead.pairs.loc[ahead.pairs["kept"], "why"].isna().all()
    told = in_words(not_kept(ahead))
    assert told == "Not in it: P05 (advice: check first); P06 (advice: re-pair); P07 (advice: stop breeding)."
    assert told in "\n".join(outlook_lines(ahead))
    assert told in [in_words(one) for one in outlook_findings(ahead)]
    asked = outlook(record.season, ["P05", "P01"], record=record, review=review)  # who is asked for is kept, whatever
    assert asked.keep == ("P01", "P05")
    assert in_words(asked.pairs.set_index("pair").loc["P02", "why"]) == "not asked for"


def test_where_no_pair_is_kept_why_is_said(record):
    review = pd.DataFrame({"pair": record.season.pairs["pair"], "advice": CHECK})
    ahead = outlook(record.season, record=record, review=review)
    lines = list(outlook_lines(ahead))
    assert lines[0] == "Next season with no pair: no chicks."
    assert lines[1].endswith("P13 and P14 (advice: check first).")
    assert [in_words(one) for one in outlook_findings(ahead)] == lines


def test_a_name_that_is_no_pair_and_a_season_without_eggs_are_plain(record, open_logs):
    with pytest.raises(SeasonError, match="No pair of this season is called P99"):
        outlook(record.season, ["P99"], record=record)
    with pytest.raises(SeasonError, match="Nothing was laid"):
        outlook(open_logs(pairs="pair,species\nP1,cockatiel\n"))


def test_the_command_prints_it(monkeypatch):
    monkeypatch.setattr("analysis.season.open_season", lambda *_: demo())  # what is judged of it
    done = CliRunner().invoke(main, ["outlook", str(DEMO), "--keep", "P01,P02"])
    assert (done.exit_code, done.stderr) == (0, "")
    assert done.stdout.startswith("Next season with P01 and P02: ")
    assert "without it" in done.stdout
    assert "(advice: stop breeding)" in done.stdout  # P06, past the keeper's own limit
    assert "\n  31 December 2026    The last day of rest for P01, which laid 3 clutches this season.\n" in done.stdout
    assert "no advice to breed" in done.stdout
    assert "You decide which pairs to keep." in done.stdout
    wrong = CliRunner().invoke(main, ["outlook", str(DEMO), "--keep", "P01,Q9"])
    assert (wrong.exit_code, wrong.stdout) == (2, "")
    assert wrong.stderr.startswith("season: No pair of this season is called Q9.")


def test_lines_for_no_pair(record):
    lines = list(outlook_lines(outlook(record.season, [], record=record)))
    assert lines[0] == "Next season with no pair: no chicks."
    assert len(lines) == 2
