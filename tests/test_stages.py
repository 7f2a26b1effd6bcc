from datetime import timedelta

import numpy as np
import pandas as pd
import pytest

from analysis import open_season
from analysis.logs.tables import OUTCOMES
from analysis.names import DIED_IN_EGG, GONE, by_name
from analysis.rates import clutch_counts, egg_path, interval, stage_rates, weaned_a_clutch
from analysis.say import in_words
from analysis.simulate import simulate_season
from support import rows_as_read

EGG = {"pair": "P01", "clutch": "1", "cage": "C1", "species": "cockatiel", "incubated_by": "P01"}
SHEET = ["pair", "clutch", "cage", "species", "incubated_by", "eggs", "clear", "died_in_egg"]
SHEET = [*SHEET, "broken_or_gone", "hatched"]
CHICK = {"pair": "P01", "clutch": "1", "cage": "C1", "species": "cockatiel", "reared_by": "P01"}
NO_SHEET = pd.DataFrame(columns=SHEET)
NO_EGGS = pd.DataFrame(columns=[*EGG, "fertile", "outcome"])
NO_CHICKS = pd.DataFrame(columns=[*CHICK, "fate"])


def eggs(*outcomes, **facts):
    """Rows of eggs from (fertile, outcome)."""
    return pd.DataFrame([EGG | facts | {"fertile": fertile, "outcome": out} for fertile, out in outcomes])


def sheet(*rows):
    """Rows of the count sheet from (pair, eggs, clear, died, gone, hatched)."""
    return pd.DataFrame([[pair, "1", "C1", "cockatiel", pair, *numbers] for pair, *numbers in rows], columns=SHEET)


def chicks(*fates, **facts):
    return pd.DataFrame([CHICK | facts | {"fate": fate} for fate in fates])


CLUTCH = eggs(
    ("yes", "hatched"),
    ("yes", "hatched"),
    ("yes", "dead in shell"),
    ("yes", "still incubating"),
    ("yes", "unknown"),
    ("no", "clear"),
    ("no", "clear"),
    ("unknown", "broken"),
    ("unknown", "missing"),
    ("unknown", "still incubating"),
    ("unknown", "unknown"),
)


def test_every_egg_of_a_clutch_is_where_it_belongs():
    row = clutch_counts(CLUTCH, NO_SHEET).loc[0]
    counted = row.drop(["pair", "clutch", "cage", "species", "incubated_by"]).to_dict()
    assert counted == {
        "eggs": 11,
        "incubating": 2,
        "ended": 7,
        "fertile_known": 7,
        "fertile": 5,
        "fertile_ended": 3,
        "hatched": 2,
        "clear": 2,
        "died_in_egg": 1,
        "gone": 2,
        "fertile_incubating": 1,
        "undecided_incubating": 1,
        "broken": 1,
        "missing": 1,
        "abandoned": 0,
        "fertile_broken": 0,
        "fertile_missing": 0,
        "fertile_abandoned": 0,
    }


def test_rates_have_their_own_denominators_and_what_is_in_neither_beside_them():
    rates = stage_rates(clutch_counts(CLUTCH, NO_SHEET), NO_CHICKS).set_index("stage")
    assert rates[["worked", "tried"]].to_dict("index") == {
        "showed fertile": {"worked": 5, "tried": 7},
        "hatch of fertile": {"worked": 2, "tried": 3},
        "hatch of set": {"worked": 2, "tried": 7},
        "weaned": {"worked": 0, "tried": 0},
    }
    assert rows_as_read(rates["beside"]).tolist() == [
        "1 still incubating, 3 not known",
        "1 still incubating, 1 not known",
        "2 still incubating, 2 not known",
        "",
    ]


def test_textbook_hatchery():
    # 2000 eggs set, 93 clear, 1728 hatched: 95.35, 90.61, 86.4 % (trade-facts.md §2: read, last recomputed).
    counts = clutch_counts(NO_EGGS, sheet(("H", 2000, 93, 2000 - 93 - 1728, 0, 1728)))
    rates = stage_rates(counts, NO_CHICKS).set_index("stage")["rate"]
    assert (100 * rates).dropna().round(2).to_dict() == {
        "showed fertile": 95.35,
        "hatch of fertile": 90.61,
        "hatch of set": 86.4,
    }


def test_deaths_in_the_egg_are_a_share_of_fertile_eggs():
    # 3 early deaths of 150 set at 50 % fertility are 3/75 = 4 % (trade-facts.md §2: read), not 3/150.
    rates = stage_rates(clutch_counts(NO_EGGS, sheet(("H", 150, 75, 3, 0, 72))), NO_CHICKS).set_index("stage")
    assert 1 - rates.loc["hatch of fertile", "rate"] == pytest.approx(0.04, abs=1e-12)
    assert rates.loc["hatch of fertile", "tried"] == 75


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        # eggs, clear, died, gone, hatched -> ended, fertile_known, fertile, hatched
        ((6, 1, 1, 1, 3), (6, 5, 4, 3)),
        ((6, 1, 1, 0, 3), (5, 5, 4, 3)),  # all parts written, one egg over: its outcome is unknown
        ((6, 1, None, None, 3), (6, None, None, 3)),  # a blank is unknown; what did not hatch has ended
        ((6, None, 0, 0, 3), (6, None, 3, 3)),
        ((6, 1, 1, 1, None), (None, None, None, None)),
        ((4, 1, None, None, 3), (4, 4, 3, 3)),  # the parts come to all the eggs: none is left for the blanks
        ((4, 4, None, None, None), (4, 4, 0, 0)),
        ((4, None, None, None, 5), (None, None, None, None)),  # more chicks than eggs
        ((None, 1, 1, 1, 3), (6, 5, 4, 3)),
    ],
)
def test_a_blank_in_the_count_sheet_is_unknown_never_none(row, expected):
    counts = clutch_counts(NO_EGGS, sheet(("P02", *row))).loc[0, ["ended", "fertile_known", "fertile", "hatched"]]
    assert tuple(None if pd.isna(value) else value for value in counts) == expected


def test_a_clutch_in_the_sheet_is_not_counted_twice():
    counts = clutch_counts(CLUTCH, sheet(("P01", 4, 0, 0, 0, 4), ("P02", 5, 1, 1, 0, 3)))
    assert counts["pair"].tolist() == ["P01", "P02"]
    assert counts["eggs"].tolist() == [4, 5]


def test_clutches_with_unknown_parts_enter_only_what_is_known_of_them():
    counts = clutch_counts(NO_EGGS, sheet(("P01", 6, 1, 1, 1, 3), ("P02", 5, None, None, None, 2)))
    rates = stage_rates(counts, NO_CHICKS).set_index("stage")
    assert rates["tried"].tolist() == [5, 4, 11, 0]
    assert rates["worked"].tolist() == [4, 3, 5, 0]
    assert in_words(rates.loc["showed fertile", "beside"]) == "6 not known"  # 1 gone, and the five of P02


def test_who_incubated_gets_its_own_eggs_of_a_divided_clutch():
    divided = pd.concat(
        [
            eggs(("yes", "hatched"), ("yes", "hatched"), ("no", "clear")),
            eggs(("yes", "dead in shell"), ("yes", "hatched"), incubated_by="incubator"),
        ]
    )
    whole = clutch_counts(divided, NO_SHEET)
    assert whole["incubated_by"].tolist() == ["incubator + P01"]
    rates = stage_rates(clutch_counts(divided, NO_SHEET, parts=True), NO_CHICKS, by="incubated_by")
    assert rates["stage"].unique().tolist() == ["hatch of fertile", "hatch of set"]
    rates = rates.set_index(["name", "stage"])[["worked", "tried"]]
    assert rates.loc[("incubator", "hatch of fertile")].tolist() == [1, 2]
    assert rates.loc[("P01", "hatch of fertile")].tolist() == [2, 2]
    assert rates.loc[("P01", "hatch of set")].tolist() == [2, 3]


def test_weaning_is_credited_to_who_reared():
    young = pd.concat(
        [
            chicks("weaned", "lost", "being reared"),
            chicks("weaned", "weaned", "left", reared_by="hand"),
            chicks("lost", reared_by=None),
        ]
    )
    rates = stage_rates(clutch_counts(NO_EGGS, NO_SHEET), young, by="reared_by")
    assert rows_as_read(rates)[["group", "name", "stage", "worked", "tried", "beside"]].to_numpy().tolist() == [
        ["reared_by", "hand", "weaned", 2, 2, "1 left"],
        ["reared_by", "P01", "weaned", 1, 2, "1 being reared"],
        ["reared_by", "not written", "weaned", 0, 1, ""],
    ]


def test_every_pair_has_every_stage_and_pairs_stand_by_name():
    counts = clutch_counts(pd.concat([eggs(("no", "clear"), pair=pair) for pair in ("P10", "P2", None)]), NO_SHEET)
    rates = stage_rates(counts, chicks("weaned", pair="P1"), by="pair")
    assert rates["name"].tolist() == np.repeat(["P1", "P2", "P10", "not written"], 4).tolist()
    assert rates["stage"].tolist() == ["showed fertile", "hatch of fertile", "hatch of set", "weaned"] * 4
    untried = rates[(rates["name"] == "P1") & (rates["stage"] == "hatch of set")].iloc[0]
    assert (untried["worked"], untried["tried"], untried["low"], untried["high"]) == (0, 0, 0, 1)
    assert np.isnan(untried["rate"])
    tried = rates[rates["tried"] > 0]
    assert np.column_stack(interval(tried["worked"], tried["tried"])).tolist() == tried[["low", "high"]].values.tolist()


def test_row_order_changes_nothing():
    counts = clutch_counts(pd.concat([CLUTCH, eggs(("yes", "hatched"), pair="P02", cage="C2")]), NO_SHEET)
    turned = clutch_counts(pd.concat([eggs(("yes", "hatched"), pair="P02", cage="C2"), CLUTCH[::-1]]), NO_SHEET)
    pd.testing.assert_frame_equal(counts, turned)
    pd.testing.assert_frame_equal(
        stage_rates(counts, NO_CHICKS, by="cage"), stage_rates(turned[::-1], NO_CHICKS, by="cage")
    )


def test_nothing_logged_is_no_error():
    counts = clutch_counts(NO_EGGS, NO_SHEET)
    assert counts.empty
    assert stage_rates(counts, NO_CHICKS)["tried"].tolist() == [0, 0, 0, 0]
    assert stage_rates(counts, NO_CHICKS, by="pair").empty
    assert egg_path(counts, NO_CHICKS)["count"].tolist() == [0, 0, 0, 0]


@pytest.mark.parametrize("blank", [None, "", np.nan])
def test_a_blank_is_the_same_however_it_is_stored(blank):
    mixed = pd.concat([eggs(("yes", "hatched")), eggs(("no", "clear"), incubated_by=blank)])
    counts = clutch_counts(mixed, NO_SHEET)
    assert counts["incubated_by"].tolist() == ["P01"]
    counts = clutch_counts(eggs(("yes", "hatched"), pair=blank, clutch=blank), NO_SHEET)
    young = chicks("weaned", pair=blank, clutch=blank)
    assert stage_rates(counts, young, by="pair")["name"].unique().tolist() == ["not written"]
    assert in_words(egg_path(counts, young).loc[3, "open_text"]) == "1 not followed"  # no name leads from egg to chick


def test_an_unknown_group_is_refused():
    with pytest.raises(ValueError, match="by is 'hen'; it must be one of None, pair"):
        stage_rates(clutch_counts(CLUTCH, NO_SHEET), NO_CHICKS, by="hen")


def adds_up(path):
    """Each stage's eggs are all accounted for at the next."""
    before, after = path[:-1], path[1:]
    gone = after[["count", "lost_here", "open_here"]].sum(axis=1)
    return before["count"].tolist() == gone.tolist() and (path[["count", "lost_here", "open_here"]] >= 0).all(axis=None)


def test_the_way_of_the_eggs_by_hand():
    young = chicks("weaned", "being reared")
    path = egg_path(clutch_counts(CLUTCH, NO_SHEET), young)
    assert rows_as_read(path)[["stage", "count", "lost_text", "open_text"]].to_numpy().tolist() == [
        ["Laid", 11, "", ""],
        ["Showed fertile", 5, "2 clear, 1 broken, 1 missing", "1 still incubating, 1 not known"],
        ["Hatched", 2, "1 died in the egg", "1 still incubating, 1 not known"],
        ["Weaned", 1, "", "1 being reared"],
    ]
    assert adds_up(path)


def test_what_broke_or_went_missing_did_not_die_in_the_egg():
    laid = eggs(
        *(("yes", outcome) for outcome in ("early death", "late death", "dead in shell", "pipped and died")),
        *(("yes", outcome) for outcome in ("broken", "broken", "missing", "abandoned", "hatched")),
        *(("unknown", outcome) for outcome in ("broken", "abandoned")),
    )
    counts = clutch_counts(laid, sheet(("P02", 6, 1, 1, 2, 2)))
    assert counts.set_index("pair").loc["P01", ["died_in_egg", "fertile", "fertile_ended"]].tolist() == [4, 9, 9]
    path = rows_as_read(egg_path(counts, NO_CHICKS)).set_index("stage")
    assert path.loc["Hatched", "lost_text"] == "5 died in the egg, 2 broken, 1 missing, 1 abandoned"
    assert path.loc["Showed fertile", "lost_text"] == "1 clear, 1 broken, 1 abandoned, 2 broken or gone"
    assert adds_up(path.reset_index())


def test_every_outcome_of_an_egg_is_counted_as_one_thing():
    ends = {"hatched", "clear", *DIED_IN_EGG, *GONE, "still incubating"}
    assert ends == set(OUTCOMES)
    assert len(ends) == 3 + len(DIED_IN_EGG) + len(GONE)


def test_the_way_of_the_eggs_adds_up_whatever_is_blank():
    rng = np.random.default_rng(3)
    fates = ["weaned", "lost", "left", "being reared"]
    for _ in range(60):
        numbers = rng.integers(0, 5, size=(8, 5)).astype(float)
        numbers[:, 0] += rng.integers(0, 14, size=8)
        numbers[rng.random((8, 5)) < 0.3] = np.nan
        rows = [(f"P{i:02d}", *(None if np.isnan(v) else int(v) for v in row)) for i, row in enumerate(numbers)]
        young = [chicks(*rng.choice(fates, size=4), pair=f"P{i:02d}") for i in rng.integers(0, 12, size=8)]
        counts = clutch_counts(CLUTCH, sheet(*rows))
        path = egg_path(counts, pd.concat(young))
        assert adds_up(path), path
        assert path.loc[0, "count"] == counts["eggs"].sum()


def test_chicks_that_no_egg_leads_to_are_not_in_the_picture_and_this_is_said():
    bought = chicks("weaned", "weaned", pair=None, clutch=None)
    path = egg_path(clutch_counts(CLUTCH, NO_SHEET), pd.concat([chicks("weaned", "lost"), bought]))
    assert path.loc[3, ["count", "lost_here", "open_here"]].tolist() == [1, 1, 0]
    assert in_words(path.loc[3, "note"]) == "2 chicks are not in it: bought in, or without eggs written down"


def test_more_chicks_than_hatched_eggs_do_not_bend_the_sums():
    path = egg_path(clutch_counts(CLUTCH, NO_SHEET), chicks("weaned", "weaned", "lost"))
    assert rows_as_read(path.loc[3, ["count", "lost_here", "open_text"]]).tolist() == [0, 0, "2 not followed"]
    assert in_words(path.loc[3, "note"]) == "3 chicks are not in it: more chicks than eggs hatched in the clutch"
    assert adds_up(path)


def test_names_in_a_keepers_order():
    names = ["P10", "P9", "p1", "Ara", "not written", "7", "P01", "²x"]
    assert by_name(names) == ["7", "Ara", "P01", "p1", "P9", "P10", "²x", "not written"]


def test_chicks_still_being_reared_count_by_how_far_they_have_come():
    # Two weaned, one lost; 0.6 and 0.9 of the danger behind two that are being reared, 0.5 behind one that left.
    young = chicks("weaned", "weaned", "lost", "being reared", "being reared", "left")
    young = young.assign(come_through=[0, 0, 0, 0.6, 0.9, 0.5])
    row = stage_rates(clutch_counts(NO_EGGS, NO_SHEET), young).set_index("stage").loc["weaned"]
    assert (row["worked"], row["tried"], row["in_part"]) == (2, 3, 3)
    assert row["rate"] == pytest.approx(4 / 5)
    assert row["low"] < row["rate"] < row["high"]
    assert in_words(row["beside"]) == (
        "2 being reared (counted by how far they have come), 1 left (counted by how far they had come)"
    )
    without = stage_rates(clutch_counts(NO_EGGS, NO_SHEET), young.drop(columns="come_through")).set_index("stage")
    assert without.loc["weaned", "rate"] == pytest.approx(2 / 3)
    assert in_words(without.loc["weaned", "beside"]) == "2 being reared, 1 left"


def test_where_none_has_ended_there_is_no_rate_however_far_they_have_come():
    young = pd.concat([chicks("weaned", "lost", reared_by="hand"), chicks("being reared")]).assign(come_through=0.9)
    young["come_through"] = [0, 0, 0.9]
    rates = stage_rates(clutch_counts(NO_EGGS, NO_SHEET), young, by="reared_by").set_index("name")
    assert rates.loc["P01", ["tried", "in_part", "low", "high"]].tolist() == [0, 0, 0, 1]
    assert np.isnan(rates.loc["P01", "rate"])
    assert in_words(rates.loc["P01", "beside"]) == "1 being reared"


def test_chicks_of_one_clutch_are_taken_as_a_whole():
    one, four = chicks("weaned", "weaned", "weaned", "lost"), chicks("weaned", "weaned", "weaned", "lost")
    four["clutch"] = ["1", "2", "3", "4"]
    ends = [
        stage_rates(clutch_counts(NO_EGGS, NO_SHEET), young).set_index("stage").loc["weaned", ["low", "high"]].tolist()
        for young in (one, four)
    ]
    assert ends[1] == np.ravel(interval(3, 4)).tolist()
    assert ends[0][0] < ends[1][0] < ends[1][1] < ends[0][1]


def test_weaned_a_clutch_by_hand():
    laid = [eggs(("yes", "hatched"), ("no", "clear")), eggs(("no", "clear"), clutch="2")]
    laid += [eggs(("yes", "hatched"), ("yes", "still incubating"), clutch="3")]
    young = chicks("weaned", "being reared", "being reared").assign(come_through=[0, 0.5, 0.2])
    young["clutch"] = ["1", "1", "3"]
    # Clutch 3 still has an egg, so it and its chick are left out: 1 weaned and 0.64 ** 0.5 = 0.8, over two clutches.
    assert weaned_a_clutch(clutch_counts(pd.concat(laid), NO_SHEET), young, 0.64) == pytest.approx(0.9)
    ended = clutch_counts(pd.concat(laid[:2]), NO_SHEET)
    assert weaned_a_clutch(ended, young[:1], np.nan) == 0.5
    assert np.isnan(weaned_a_clutch(ended, young[:2], np.nan))
    assert np.isnan(weaned_a_clutch(clutch_counts(laid[2], NO_SHEET), young, 0.64))


@pytest.mark.slow
def test_within_the_season_the_rate_is_about_what_it_will_be(tmp_path):
    # Twelve pairs, one clutch in ten failing whole, 40 to 60 days after the first chick hatched, as it is printed.
    printed, ends, counted = [], [], []
    for seed in range(6):
        truth = simulate_season(tmp_path / str(seed), seed, weighed_hand=0.0, weighed_nest=0.0)
        first, end = truth.chicks["hatched_on"].min(), _weaning(open_season(tmp_path / str(seed)))
        for day in (40, 50, 60):
            now = _weaning(open_season(tmp_path / str(seed), up_to=first + timedelta(days=day)))
            if now["tried"]:
                printed.append([now["rate"], now["a_clutch"]])
                ends.append([end["rate"], end["a_clutch"]])
                counted.append([now["worked"] / now["tried"], now["worked"] / now["clutches"]])
    assert len(printed) >= 15
    assert np.mean(printed, axis=0) / np.mean(ends, axis=0) == pytest.approx([1, 1], abs=0.1)
    assert (np.mean(counted, axis=0) < 0.67 * np.mean(ends, axis=0)).all()  # counts alone are a third too low


def _weaning(season):
    counts = clutch_counts(season.eggs, season.clutches)
    row = stage_rates(counts, season.reared).set_index("stage").loc["weaned"].to_dict()
    return row | {"a_clutch": weaned_a_clutch(counts, season.chicks, row["rate"]), "clutches": len(counts)}
