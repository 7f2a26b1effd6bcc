"""Whether the model fits: made-up seasons count as its formulas say, and what it has no room for lies outside."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from scipy.stats import betabinom

from analysis import chapters
from analysis.chapters.logs import NO_HATCHING
from analysis.pairs.of_season import Pairs
from analysis.pairs.predictive_checks import how_it_fits, predictive_checks
from analysis.pairs.record import FERTILE, HATCH, STAGES
from analysis.say import in_words
from support import demo_judged


def rows(worked, tried=4):
    """A row a clutch, all in one cage; `worked`: of each pair, by clutch."""
    numbers = [(f"P{i:02d}", c, k) for i, of_pair in enumerate(worked) for c, k in enumerate(of_pair)]
    frame = pd.DataFrame(numbers, columns=["pair", "clutch", "worked"])
    frame = frame.assign(tried=tried, excluded=0, pending=0.0, in_part=0, place="C1", kind="cockatiel", season="2026")
    return frame.assign(laid_by=frame["pair"], species="cockatiel", by="")


def of(hatch, fertile=None):
    """A record of these rows; nothing is known of the other stages."""
    fertile = hatch.assign(worked=hatch["tried"]) if fertile is None else fertile
    return replace(demo_judged().record, rows=dict.fromkeys(STAGES, hatch.iloc[:0]) | {FERTILE: fertile, HATCH: hatch})


def convolved(chances):
    """The chances of 0, 1, 2 … of independent events, each a row of draws of its chance, over all draws."""
    of_all = np.ones((chances.shape[1], 1))
    for chance in chances:
        of_all = np.pad(of_all * (1 - chance[:, None]), ((0, 0), (0, 1))) + np.pad(
            of_all * chance[:, None], ((0, 0), (1, 0))
        )
    return of_all.mean(axis=0).cumsum()


@pytest.mark.slow  # all rates of the demo, with its cages
def test_clutches_that_fail_are_as_many_as_the_formula_gives():
    record = demo_judged().record
    told, fit = predictive_checks(record).set_index("check"), record.rates[HATCH]
    clutches = record.rows[HATCH].query("tried > 0").groupby(["season", "laid_by", "clutch"])
    chances = []
    for _, parts in clutches:  # one that was divided fails where both parts do
        fails = np.ones(len(fit.failing))
        for row in parts.itertuples():
            rate, size = record.draws(HATCH, pair=row.pair, place=row.place, kind=row.kind), 1 / fit.scatter - 1
            none = betabinom.pmf(0, row.tried, rate * size, (1 - rate) * size)
            fails = fails * (fit.failing + (1 - fit.failing) * none)
        chances.append(fails)
    below = convolved(np.array(chances))
    low, high = told.loc["failed", ["low", "high"]].astype(int)
    assert told.loc["failed", "of"] == len(clutches)
    # 2,000 seasons are off by up to a quarter of what lies beyond an end
    assert (below[low - 1] if low else 0.0) < 0.032
    assert below[low] > 0.018
    assert below[high] > 0.968
    assert below[high - 1] < 0.982


def test_two_kinds_of_pairs_lie_outside_and_it_is_said():
    """Normal effects have no room for pairs of which all hatches or nothing does."""
    record = of(rows([[4] * 6] * 9 + [[0] * 6] * 5))
    told = predictive_checks(record).set_index("check")
    assert told.loc["apart", "seen"] == pytest.approx(2 * 9 / 14 * 5 / 14)  # by hand: 9 × 5/14 and 5 × 9/14, of 14
    assert not told.loc["apart", "fits"]
    said = [in_words(one) for one in how_it_fits(record)]
    assert "does not fit" in said[0]
    assert [line for line in said[1:] if "lies outside" in line] == [
        line for line in said if "points of a hundred" in line
    ]


def test_chance_alone_fits_and_few_clutches_tell_nothing():
    worked = np.random.default_rng(1).binomial(4, 0.8, (12, 3))
    record = of(rows(worked))
    told = predictive_checks(record).set_index("check")
    assert told["fits"].all()
    assert told.loc["clear", ["of", "seen"]].tolist() == [36, 0]
    assert told.loc["best", ["of", "seen"]].tolist() == [12, worked.sum(axis=1).max()]
    assert "fits, as far as 4 counts tell" in in_words(how_it_fits(record)[0])
    assert predictive_checks(of(rows(worked[:2])))["check"].tolist() == [
        "clear",
        "failed",
    ]  # of two pairs, six clutches
    assert how_it_fits(of(rows(worked[:2, :2]))) == []


def test_where_only_hatched_eggs_are_written_nothing_is_told(open_logs):
    """Nothing failed in such a log, whatever happened."""
    eggs = [f"P{c % 4},{c},{n},2026-02-01,hatched,P{c % 4}-{c}-{n}\n" for c in range(8) for n in range(3)]
    season = open_logs(hatches="pair,clutch,egg,laid_on,outcome,chick\n" + "".join(eggs))
    assert [shown.text for shown in chapters.advice.fits(Pairs.of(season))] == [in_words(NO_HATCHING)]
