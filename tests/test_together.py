"""Losses that come together: by hand, against binomial tables, on made seasons, and the demo's power cut."""

import numpy as np
import pandas as pd
import pytest

from analysis.rates import losses_together, without_events
from analysis.rates.together import (
    ChickDays,
    Losses,
    by_chance,
    chances,
    chick_days,
    most_broods,
    most_surprising,
    seasons_by_chance,
    windows,
)
from analysis.say import in_words
from analysis.season import chick_spans
from support import demo, rows_as_read

DAY = pd.Timedelta(days=1)
FIRST = pd.Timestamp("2026-03-01")


def spans(*rows):
    """Rows of chick, nest, place, day it hatched, age at its end, lost."""
    frame = pd.DataFrame(rows, columns=["chick", "nest", "place", "hatched", "age", "lost"])
    came = FIRST + frame["hatched"] * DAY
    return frame.assign(pair=frame["nest"], room="nursery", entry_d=0.0, came_on=came, out_on=came + frame["age"] * DAY)


def made(seed, *, failing=0.0, losses=1.0):
    """Make a season of twenty clutches, half of them pulled; each chick lost on its own, or its clutch whole."""
    rng = np.random.default_rng(seed)
    by_age = losses * np.select([np.arange(60) < 3, np.arange(60) < 8], [0.02, 0.008], 0.002)
    rows = []
    for clutch in range(20):
        hatched, fails, on = rng.integers(120), rng.random() < failing, rng.integers(25)
        place = "hand" if rng.random() < 0.5 else f"C{clutch % 12}"
        for nth in range(rng.integers(2, 6)):
            end = rng.integers(35, 60)
            hits = np.flatnonzero(rng.random(end) < by_age[:end])
            age, lost = (hits[0], True) if len(hits) else (end, False)
            failed = max(on - nth, 0) + rng.integers(2)
            age, lost = (failed, True) if fails and failed < age else (age, lost)
            rows.append((f"K{len(rows)}", f"P{clutch % 12}", place, hatched + nth, age, lost))
    return spans(*rows)


def night(*nests, day=30, place="hand"):
    """Thirty chicks of ten broods, and those named lost on one day."""
    lost = list(nests)
    rows = []
    for n in range(30):
        nest = f"P{n // 3}"
        gone = nest in lost and n // 3 * 2 < day
        if gone:
            lost.remove(nest)
        rows.append((f"K{n}", nest, place, n // 3 * 2, day - n // 3 * 2 if gone else 45, gone))
    return spans(*rows)


def test_chick_days_by_hand():
    # 0 to 2: K1 3, K2 2 days (ages 0, 1), one lost. 3 to 7: K1 3 days, none lost. K3 came at 21.5: 2 days of 15 to 28.
    frame = spans(("K1", "P1", "", 0, 5, False), ("K2", "P1", "", 2, 1, True), ("K3", "", "", 4, 1, False))
    days = chick_days(frame.assign(entry_d=[0, 0, 21.5]))
    assert days.chick.tolist() == [0] * 6 + [1] * 2 + [2] * 2
    assert days.day.tolist() == [0, 1, 2, 3, 4, 5, 2, 3, 4, 5]
    # One loss in 10 days: one more at that rate is 10 days more. (1 + 1) / (5 + 10), 1 / (3 + 10), 1 / (2 + 10)
    rate = np.array([2 / 15] * 3 + [1 / 13] * 3 + [2 / 15] * 2 + [1 / 12] * 2)
    assert days.hazard == pytest.approx(rate / rate.sum())


def test_as_many_losses_are_expected_as_there_were():
    season = made(3)
    days = chick_days(season)
    assert days.hazard.sum() == pytest.approx(season["lost"].sum())
    losses = seasons_by_chance(days, 4_000, seed=1)
    assert len(losses.season) / 4_000 == pytest.approx(season["lost"].sum(), rel=0.03)


def test_seasons_by_chance_are_binomial():
    # Twelve chicks on one day, each lost with 0.3: the count is binomial (scipy).
    from scipy.stats import binom

    days = ChickDays(np.arange(12), np.zeros(12, dtype=int), np.full(12, 0.3))
    counts = np.bincount(seasons_by_chance(days, 20_000, seed=5).season, minlength=20_000)
    seen = np.bincount(counts, minlength=13) / 20_000
    assert seen == pytest.approx(binom.pmf(range(13), 12, 0.3), abs=0.01)


@pytest.mark.parametrize("length", [1, 7])
def test_windows_against_counting_one_by_one(length):
    rng = np.random.default_rng(length)
    season, chick, day = rng.integers(0, 20, 300), rng.integers(0, 40, 300), rng.integers(0, 60, 300)
    place, brood = rng.integers(0, 3, 40), rng.integers(0, 12, 40)
    losses = {*zip(season, chick, day, strict=True)}
    season, chick, day = np.array(sorted(losses)).T
    slow = {
        (s, place[c], d): [c2 for s2, c2, d2 in losses if (s2, place[c2]) == (s, place[c]) and d <= d2 < d + length]
        for s, c, d in losses
    }
    found = windows(Losses(season, chick, day), place, brood, length)
    got = {(r.season, r.place, r.day): (r.lost, r.broods) for r in found.itertuples()}
    assert got == {key: (len(chicks), len({*brood[chicks]})) for key, chicks in slow.items()}
    assert most_broods(found, 20).tolist() == [max(b for (s, _, _), (_, b) in got.items() if s == n) for n in range(20)]


def test_looking_in_two_ways_is_paid_for():
    # In 99 seasons the first way gives 0 to 98, the second 98 to 0. A 97 has rank (1 + 2) / 100; two seasons have
    # as much by the first way, two others by the second.
    most = np.arange(99)
    first, second = chances([most, most[::-1]], [np.array([97]), np.array([], dtype=int)])
    assert first.tolist() == [(1 + 4) / 100]
    assert second.tolist() == []
    assert chances([most, most], [np.array([97]), np.array([97])]) == [[0.03], [0.03]]


def test_a_night_that_took_three_broods():
    got = losses_together(night("P2", "P3", "P3", "P5"))
    assert rows_as_read(got)[["event", "kind", "window", "place", "pairs", "broods"]].to_numpy().tolist() == [
        ["4 chicks of 3 pairs on 31 March 2026", "several broods", "night", "hand", 3, 3]
    ]
    assert got["chicks"].item() == ("K6", "K9", "K10", "K15")
    assert (got["from_d"].item(), got["to_d"].item()) == (FIRST + 30 * DAY,) * 2
    assert got["chance"].item() < 0.01
    assert got["set_aside"].item()
    assert 0 < got["expected"].item() < 0.5


def test_two_in_one_night_are_no_event():
    frame = night("P1", "P2")
    frame.loc[29, ["out_on", "lost"]] = [FIRST + 60 * DAY, True]
    assert frame["lost"].sum() == 3
    assert losses_together(frame).empty


def test_without_events_by_hand():
    chicks = pd.DataFrame({"chick": list("abcdef"), "pair": ["P10", "P2", "P2", "P2", "P2", None]})
    chicks["fate"] = ["lost", "weaned", "weaned", "lost", "being reared", "lost"]
    events = pd.DataFrame({"chicks": [("a", "c", "d"), ("f",)], "set_aside": [True, False]})
    got = without_events(chicks, events).set_index("name")
    assert got.T.to_dict("list") == {"P2": [2, 3, 1, 1], "P10": [0, 1, 0, 0], "not written": [0, 1, 0, 1]}
    assert without_events(chicks, events, by=None).to_numpy().tolist() == [["aviary", 2, 5, 1, 2]]


def test_one_brood_alone_is_a_clutch_that_failed():
    got = losses_together(night("P3", "P3", "P3"))
    assert rows_as_read(got)[["event", "kind", "set_aside"]].to_numpy().tolist() == [
        ["3 chicks of one brood on 31 March 2026", "one brood", False]
    ]
    assert np.isnan(got["chance"].item())


def test_a_failed_clutch_and_one_more_chick_are_no_event_of_the_aviary():
    got = losses_together(night("P3", "P3", "P3", "P5"))
    assert got["chicks"].tolist() == [("K9", "K10", "K11")]
    assert not got["set_aside"].any()


def test_chicks_of_one_pair_in_two_nests_are_not_set_aside():
    frame = night("P2", "P3", "P3", "P5").assign(pair="P2")
    assert not losses_together(frame)["set_aside"].any()


def test_two_events_and_each_chick_in_one():
    one, two = night("P1", "P2", "P3", "P4", "P5", day=30), night("P4", "P5", "P6", "P6", "P7", "P8", day=40)
    two = two.assign(chick="L" + two["chick"], nest="Q" + two["nest"], pair="Q" + two["pair"])
    got = losses_together(pd.concat([one, two]))
    assert got["set_aside"].tolist() == [True, True]
    assert rows_as_read(got["event"]).tolist() == [
        "5 chicks of 5 pairs on 31 March 2026",
        "6 chicks of 5 pairs on 10 April 2026",
    ]
    chicks = [chick for names in got["chicks"] for chick in names]
    assert len(chicks) == len(set(chicks)) == 11


def test_a_week_that_took_nine_broods():
    frame = night()
    for n in range(9):
        row = frame.index[frame["nest"] == f"P{n + 1}"][0]
        frame.loc[row, ["out_on", "lost"]] = [FIRST + (25 + n // 3) * DAY, True]
    got = losses_together(frame)
    assert rows_as_read(got)[["event", "window", "set_aside"]].to_numpy().tolist() == [
        ["9 chicks of 9 pairs from 26 March 2026 to 28 March 2026", "week", True]
    ]


def test_the_place_is_said_where_all_were_in_one():
    frame = night("P1", "P2", "P3", "P4")
    frame.loc[frame["nest"].isin(["P1", "P2"]), "place"] = "brooder"
    assert losses_together(frame)["place"].tolist() == ["nursery"]
    frame.loc[frame["nest"] == "P1", "room"] = "kitchen"
    assert losses_together(frame)["place"].tolist() == [""]


def test_spans_say_where_each_chick_was(open_logs):
    season = open_logs(
        pairs="pair,species,cage,put_up_on\nP1,cockatiel,C1,2026-01-01\nP2,cockatiel,C2,2026-01-01\n",
        cages="cage,room\nC1,front\nC2,back\nbrooder A,nursery\nC3,\n",
        hatches="""
            pair,clutch,chick,hatched_at,reared_by,arrived_on,weaned_on
            P1,1,K1,2026-04-01 18:00,,,2026-05-20
            P1,1,K2,2026-04-01,p2,,
            P1,1,K3,2026-04-01,,,
            P2,1,K4,2026-04-01,Brooder A,,
            ,,K5,2026-04-01,hand,2026-04-22,
            """,
        moves="what,on,to\nK3,2026-04-20,hand\n",
        losses="chick,found_on,last_seen_well_on\nK2,2026-04-09,2026-04-07\n",
        readings="place,read_at\nroom,2026-05-25\n",
    )
    got = chick_spans(season).set_index("chick")
    assert got[["nest", "place", "room"]].to_numpy().tolist() == [
        ["P1", "C1", "front"],
        ["P2", "C2", "back"],
        ["P1", "hand", "hand"],
        ["P2", "Brooder A", "nursery"],
        ["", "hand", "hand"],
    ]
    assert got["came_on"].dt.strftime("%m-%d").tolist() == ["04-01", "04-01", "04-01", "04-01", "04-22"]
    assert got["out_on"].dt.strftime("%m-%d").tolist() == ["05-20", "04-09", "05-25", "05-25", "05-25"]
    assert got.loc["K2", "exit_d"] == 7


def test_the_demo_has_one_event_the_power_cut():
    season = demo()
    got = losses_together(chick_spans(season))
    assert got["chicks"].tolist() == [("K27", "K28", "K35", "K39", "K40")]
    assert got[["window", "place", "pairs"]].to_numpy().tolist() == [["night", "", 4]]  # in two brooders of one room
    assert got["chance"].item() < 0.002
    assert got["set_aside"].tolist() == [True]
    assert in_words(got["event"].item()) in set(season.losses["event"])
    without = without_events(season.chicks, got).set_index("name")
    assert without.loc["P08"].tolist() == [1, 3, 1, 2]
    assert without[["tried", "tried_without"]].sum().tolist() == [62, 57]


@pytest.mark.parametrize(("failing", "most"), [(0.0, 0.02), (0.1, 0.02)])
@pytest.mark.slow
def test_independent_losses_and_failing_clutches_are_rarely_set_aside(failing, most):
    seasons = [made(seed, failing=failing) for seed in range(100)]
    assert np.mean([season["lost"].sum() for season in seasons]) > 5
    first = [most_surprising(season, by_chance(season, 400, seed=1)) for season in seasons]
    assert np.mean([bool(event and event["set_aside"]) for event in first]) <= most


def test_the_same_spans_give_the_same_digits_in_any_order():
    season = made(8)
    one = losses_together(season)
    pd.testing.assert_frame_equal(one, losses_together(season))
    later = season.assign(came_on=season["came_on"] + 365 * DAY, out_on=season["out_on"] + 365 * DAY)
    pd.testing.assert_series_equal(one["chance"], losses_together(later)["chance"])


def test_few_losses_are_no_event():
    columns = ["event", "kind", "window", "place", "from_d", "to_d", "chicks", "pairs", "broods", "expected", "chance"]
    for frame in (night(), night("P1", "P2"), night()[:0]):
        got = losses_together(frame)
        assert got.empty
        assert got.columns.tolist() == [*columns, "set_aside"]
    assert without_events(pd.DataFrame({"chick": ["K1"], "pair": [""], "fate": ["lost"]}), got).to_numpy().tolist() == [
        ["not written", 0, 1, 0, 1]
    ]


def test_what_cannot_be_is_refused():
    frame = night("P1", "P2", "P3")
    frame.loc[4, "out_on"] = FIRST - DAY
    with pytest.raises(ValueError, match="go before it comes"):
        losses_together(frame)
