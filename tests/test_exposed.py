"""Clutches that stood in the heat, against their own pairs' others: whole clutches are dealt."""

from itertools import permutations, product

import numpy as np
import pandas as pd
import pytest

from analysis.rates import chance_of_exposed


def clutches(worked, pair=None, tried=5):
    """A clutch a row; of each pair two in a row, where not told."""
    pair = [f"P{n // 2:02d}" for n in range(len(worked))] if pair is None else pair
    return pd.DataFrame({"pair": pair, "worked": worked, "tried": tried})


def exposed(count, *which):
    """(clutches, exposures): shares, whole clutches by number."""
    share = np.zeros((count, len(which)))
    for spell, numbers in enumerate(which):
        share[list(numbers), spell] = 1
    return share


def test_every_deal_counted_one_by_one():
    # Four pairs of two clutches and one of three: all 4! · 2^4 · 3! deals
    worked, pair = [1, 4, 2, 4, 5, 3, 4, 4, 2, 5, 4], list("AABBCCDDEEE")
    heat = np.array([1, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0])
    rate = pd.Series(worked) / 5
    below = rate.groupby(pair).transform("mean") - rate
    twos, three = below[:8].to_numpy().reshape(4, 2), below[8:].to_numpy()
    sums = []
    for pairs in permutations(range(4)):
        for turned in product((0, 1), repeat=4):
            first = [twos[of][side] for of, side in zip(pairs, turned, strict=True)]
            sums += [first[0] + first[1] + dealt[0] for dealt in permutations(three)]
    expected = (np.array(sums) >= float(below @ heat) - 1e-9).mean()
    assert 0.01 < expected < 0.3
    assert chance_of_exposed(clutches(worked, pair), heat[:, None]) == pytest.approx([expected], abs=0.02)


def test_a_weak_pair_convicts_no_incubator():
    fine, heat = [4, 5, 4, 5] * 4, exposed(20, [0, 2])
    weak = chance_of_exposed(clutches([1, 1, 1, 1, *fine]), heat)
    now_weak = chance_of_exposed(clutches([1, 5, 1, 4, *fine]), heat)
    assert now_weak[0] < 0.02 < 0.3 < weak[0]


def test_a_pair_with_no_other_clutch_tells_nothing():
    pair = ["A", "B", "C", *[f"P{n // 2}" for n in range(10)]]
    assert chance_of_exposed(clutches([0, 0, 0, *[4, 5] * 5], pair), exposed(13, range(3))).tolist() == [1]


def test_a_clutch_that_fails_whole_is_one_clutch_and_several_are_no_chance():
    worked = [0, 4, 4, 0, *[4, 5, 5, 5] * 3]
    assert chance_of_exposed(clutches(worked), exposed(16, [0]))[0] == pytest.approx(2 / 16, abs=0.02)
    assert chance_of_exposed(clutches(worked), exposed(16, [0, 3]))[0] < 0.03


def test_having_looked_at_many_spells_is_paid_for():
    worked = [1, 4, 5, 2, 3, 4, 2, 5, 5, 3, 3, 5]
    alone = chance_of_exposed(clutches(worked), exposed(12, [0, 3, 4]))[0]
    among = chance_of_exposed(clutches(worked), exposed(12, [0, 3, 4], [6, 9], [7, 10], [8, 11], [1, 5]))
    assert alone < among[0] / 1.5
    assert (among[1:] > 0.2).all()


def test_order_is_nothing_and_nothing_says_nothing():
    seen, share = clutches([1, 2, 5, 4, 4, 5, 3, 5], list("AABBCCDD")), exposed(8, [0, 2], [5])
    turned = np.random.default_rng(2).permutation(8)
    assert chance_of_exposed(seen, share).tolist() == chance_of_exposed(seen.iloc[turned], share[turned]).tolist()
    assert chance_of_exposed(seen, np.zeros((8, 2))).tolist() == [1, 1]
    assert chance_of_exposed(seen, np.ones((8, 1))).tolist() == [1]  # all were in it: beside what?
    assert chance_of_exposed(seen[:0], share[:0]).tolist() == [1, 1]
    with pytest.raises(ValueError, match="worked <= tried"):
        chance_of_exposed(seen.assign(tried=2), share)
