"""Who is credited for chicks: who had them first, what was taken away, and how hard their broods were to rear."""

import numpy as np
import pandas as pd

from analysis import chapters
from analysis.names import NOT_WRITTEN
from analysis.pairs import Pairs
from analysis.pairs.credit import chicks_counted, in_broods, taken_away, taken_said
from analysis.rates import stage_rates
from analysis.say import in_words
from support import demo, demo_judged, table_shown


def kept(seed, pairs=400, chicks=5):
    """Chicks of pairs that wean 0.863 of them, whose keeper takes seven in ten of those that fail; hand saves half."""
    rng = np.random.default_rng(seed)
    fails = rng.random(pairs * chicks) > 0.863
    taken = fails & (rng.random(len(fails)) < 0.7)
    weaned = ~fails | (taken & (rng.random(len(fails)) < 0.5))
    laid = np.repeat([f"P{n}" for n in range(pairs)], chicks)
    return pd.DataFrame(
        {
            "pair": laid,
            "clutch": "1",
            "first_reared_by": "pairs",
            "reared_by": np.where(taken, "hand", "pairs"),
            "fate": np.where(weaned, "weaned", "lost"),
            "taken_on": pd.Series(pd.NaT, index=range(len(laid))).mask(taken, pd.Timestamp("2026-05-01")),
            "taken_why": np.where(taken, "not fed", ""),
        }
    )


def test_the_last_rearer_gets_too_much_and_the_truth_lies_between_the_bounds():
    chicks = kept(0)
    last, first = (
        stage_rates(pd.DataFrame(columns=["pair"]), chicks, by=by).set_index("name")["rate"]
        for by in ("reared_by", "first_reared_by")
    )
    row = taken_away(chicks).iloc[0]
    assert last["pairs"] > 0.93
    assert last["hand"] < 0.57
    assert 0.863 < first["pairs"] < last["pairs"] - 0.02
    assert abs(row["least"] / row["had"] - 0.863) < 0.02  # only failing ones were taken: none would have lived there
    assert row["least"] < 0.863 * row["had"] + 40 < row["most"]


def test_what_was_taken_is_said_with_what_became_of_it_and_why():
    chicks = pd.DataFrame(
        {
            "first_reared_by": ["P1", "P1", "P1", "P2", "P2", ""],
            "fate": ["weaned", "lost", "being reared", "weaned", "weaned", "lost"],
            "taken_on": pd.to_datetime([None, "2026-05-01", "2026-05-02", "2026-05-03", None, None]),
            "taken_why": ["never taken", "thin", "thin", "", "", ""],
        }
    )
    table = taken_away(chicks).set_index("name", drop=False)
    assert [in_words(taken_said(row) or "") for row in table.to_dict("records")] == [
        "2, of them 1 lost, 1 still being reared (thin)",
        "1, not lost",
        "",
    ]
    assert table.index[-1] == NOT_WRITTEN
    assert table[["had", "weaned", "least", "most"]].to_numpy().tolist() == [[2, 1, 1, 2], [2, 2, 1, 2], [1, 0, 0, 0]]


def test_the_demo_shows_who_had_them_first_beside_who_had_them_last():
    shown = table_shown(chapters.pairs.as_parents(demo())).set_index("reared by")
    assert shown.loc["P01"].str.split(",").str[0].tolist() == ["5 of 5", "8 of 10", "5"]
    assert shown.loc["P07", "weaned, had them last"] == "–"
    assert shown.loc["P08", "taken from it"] == "3, of them 1 lost (taken to be tame)"


def test_chicks_that_were_set_aside_count_in_neither():
    record = demo_judged().record
    left = set(record.birds.chicks["chick"]) - set(chicks_counted(record)["chick"])
    assert len(left) == len({chick for one in record.excluded.values() for chick in one.chicks}) > 0
    all_of_them, counted = (
        taken_away(chicks).set_index("name")["had"] for chicks in (record.birds.chicks, chicks_counted(record))
    )
    assert all_of_them["P08"] - 1 == counted["P08"] == in_broods(record).pairs.set_index("name").loc["P08", "ended"]


HATCHES = "pair,clutch,egg,laid_on,outcome,hatched_at,chick,weaned_on\n"


def nest(pair, hatched, weaned):
    """A clutch of one pair: the days in May on which its chicks hatched, and how many of the first were weaned."""
    done = ["2026-07-20"] * weaned + [""] * (len(hatched) - weaned)
    return "".join(
        f"{pair},1,{n},2026-04-{10 + n:02d},hatched,2026-05-{day:02d},{pair}-{n},{weaned_on}\n"
        for n, (day, weaned_on) in enumerate(zip(hatched, done, strict=True), 1)
    )


def test_a_pair_with_large_broods_is_held_against_such_broods(open_logs):
    large, small = [f"P{n}" for n in range(1, 7)], [f"P{n}" for n in range(7, 19)]
    rows = "".join(nest(pair, [1, 3, 5, 7, 9], 3) for pair in large) + "".join(nest(pair, [2, 2], 2) for pair in small)
    pairs = "pair,species,cock,hen,cage\n" + "".join(f"{p},budgerigar,c{p},h{p},C{p}\n" for p in [*large, *small])
    days = pd.date_range("2026-05-12", periods=len(large), freq="9D")  # on one day they would be set aside
    lost = "chick,found_on\n" + "".join(
        f"{p}-{n},{day:%Y-%m-%d}\n" for p, day in zip(large, days, strict=True) for n in (4, 5)
    )
    judged = Pairs.of(open_logs(pairs=pairs, hatches=HATCHES + rows, losses=lost))
    broods = in_broods(judged.record)
    assert broods.chicks.groupby("size")["place"].max().to_dict() == {2: 1, 5: 5}  # two of one day share the first
    told = broods.pairs.set_index("name")
    assert told.loc["P1", ["weaned", "ended"]].tolist() == [3, 5]
    assert told.loc["P1", "expected"] < 3.6  # where the aviary weans 42 of 54: 3.9 of five
    assert told.loc["P7", "expected"] > 1.75
    assert broods.told.coefficients.loc["place", "high"] < 0


def test_of_eleven_chicks_nothing_is_told(open_logs):
    pairs = "pair,species,cock,hen,cage\nP1,budgerigar,c,h,C1\nP2,budgerigar,d,i,C2\n"
    season, more = (
        open_logs(pairs=pairs, hatches=HATCHES + nest("P1", range(1, 6), 5) + nest("P2", range(1, last), last - 1))
        for last in (7, 8)
    )
    assert in_broods(Pairs.of(more).record) is not None
    assert in_broods(Pairs.of(season).record) is None
    (shown,) = chapters.pairs.by_brood(Pairs.of(season))
    assert "Fewer than 12 chicks" in str(shown._repr_mimebundle_())
