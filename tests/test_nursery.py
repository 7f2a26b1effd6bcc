"""The nursery of a day: who is in it, what each should weigh, what asks for a veterinarian, and how much at most."""

import re
from types import SimpleNamespace as Row

import numpy as np
import pandas as pd
import pytest

from analysis.chicks import Chicks
from analysis.chicks.concerns import expected_today, still_says
from analysis.chicks.in_the_nursery import in_the_nursery
from analysis.chicks.loss_warnings import first_warnings, losses_warned
from analysis.day.preparation import before_feeding, no_amounts
from analysis.day.round import round_of
from analysis.day.round_rows import round_rows
from analysis.growth import expected_next, watch
from support import as_read, demo_growth, demo_round, read_first, rows_as_read

ON = pd.Timestamp("2026-05-20")
PAIRS = "pair,species,cage\nP1,cockatiel,C1\n"
SPECIES = "species,wean_from_d,wean_to_d\ncockatiel,40,50\n"
SETTINGS = "setting,value\nseason,2026\n"
HEAD = "pair,clutch,egg,hatched_at,sure_to_days,chick,reared_by,arrived_on\n"


def hatched(name, day, sure="", reared="hand", arrived=""):
    return f"P1,1,{name}e,{day},{sure},{name},{reared},{arrived}\n"


def weighed(name, **by_day):
    """Rows of weights; `d18=(30, "part")` is 30 g on 18 May with food in the crop."""
    rows = []
    for day, told in by_day.items():
        grams, crop = told if isinstance(told, tuple) else (told, "")
        rows.append(f"{name},2026-05-{int(day[1:]):02d},{grams},{crop}")
    return "".join(f"{row}\n" for row in rows)


@pytest.fixture
def of_day(open_logs):
    def round_(hatches, weights="", on=ON, **more):
        logs = {"pairs": PAIRS, "species": SPECIES, "settings": SETTINGS, "hatches": HEAD + hatches} | more
        return round_of(open_logs(weights=f"chick,weighed_at,weight,crop\n{weights}", **logs), on)

    return round_


def chick(today, name):
    return rows_as_read(today.chicks).set_index("chick").loc[name]


@pytest.fixture(scope="module")
def demo():
    return demo_round("2026-05-20")


# -- the day of the demo


def test_on_the_day_of_the_demo_two_are_read_of_and_nobody_else(demo):
    assert [who for who, _, _ in read_first(demo)] == ["K23", "K22"]  # before the next feed, then today
    said = {who: sentence for who, _, sentence in read_first(demo)}
    assert "veterinarian" in said["K22"]
    assert "Nothing is fed on top of it" in said["K23"]


def test_the_order_is_that_of_hygiene(demo):
    names = demo.chicks["chick"].tolist()
    assert names[:3] == ["K35", "K36", "K33"]
    assert names[-4:] == ["Kiwi", "Mango", "K23", "K22"]
    assert demo.chicks.loc[demo.chicks["own_tools"], "chick"].tolist() == ["Kiwi", "Mango", "K23", "K22"]
    assert {"K25", "K26", "K27", "F08"} & set(names) == set()  # with their parents


def test_ages_are_exact_and_say_how_sure(demo):
    assert chick(demo, "K35")["age"] == "hatched today, 02:40"
    assert chick(demo, "K24")["age"] == "12 days"
    assert chick(demo, "Mango")["age"] == "29 days, give or take 4"


def test_no_amount_for_the_young_the_flagged_and_who_has_food_left(demo):
    none = demo.chicks.loc[demo.chicks["high_ml"].isna(), "chick"].tolist()
    assert none == ["K35", "K36", "K33", "K31", "K23", "K22"]  # K31 is three days old, give or take one
    known = demo.chicks[demo.chicks["high_ml"].notna()]
    weight = known["today_g"].fillna(known["last_g"])
    assert (known["high_ml"] <= 0.1 * weight + 1e-9).all()
    assert (known["low_ml"] < known["high_ml"]).all()
    assert {"K35, K36 and K33", "K31"} == {who for who, _ in as_read(no_amounts(demo))}


def test_what_is_expected_is_what_the_weighings_before_the_day_say(demo):
    """The same as if the day's own weights had not been written."""
    before = demo.growth.joined
    day = before["weighed_at"].dt.normalize()
    mine = before["chick"].isin(["K24", "Kiwi"])
    frame = before[before["kind"].isin(before.loc[mine, "kind"]) & ~(mine & (day == ON))]
    kinds = watch({str(kind): rows for kind, rows in frame.groupby("kind")}).kinds
    for name in ("K24", "Kiwi"):
        kind = before.loc[before["chick"] == name, "kind"].iloc[0]
        told = expected_next(kinds[kind]).set_index("chick").loc[name]
        assert chick(demo, name)["expected_g"] == pytest.approx(told["median_g"], rel=0.01)
    assert pd.isna(chick(demo, "K35")["expected_g"])  # never weighed before


def test_the_mornings_mixes_are_judged(demo):
    said = dict(as_read(before_feeding(demo)))
    assert re.search(r"06:50, 42(\.0)? °C: wait; 07:02, 40\.2 °C: in the window", said["Read today"])
    assert "39 minutes" in said["Blue cup"]  # thirteen chicks at three minutes each
    assert "brooders" in said["Brooder"]


@pytest.mark.slow
def test_other_mornings_are_calm():
    """On mornings without planted or written trouble no veterinarian is called."""
    for day in ("2026-04-05", "2026-05-18", "2026-06-10"):
        today = demo_round(day)
        assert today.chicks.loc[today.chicks["needs_vet"], "chick"].tolist() == []


# -- who is in it


def test_who_left_or_is_with_a_pair_is_not_in_it(of_day):
    rows = (
        hatched("K1", "2026-05-01")
        + hatched("K2", "2026-05-01", reared="P1")
        + hatched("K3", "2026-05-01", reared="C1")
    )
    today = of_day(rows + hatched("K4", "2026-05-02"), losses="chick,found_on\nK4,2026-05-10\n")
    assert today.chicks["chick"].tolist() == ["K1"]


def test_nobody_is_no_error(of_day):
    today = of_day(hatched("K1", "2026-05-01", reared="P1"))
    assert today.chicks.empty
    assert read_first(today) == []
    assert as_read(before_feeding(today)) == []
    assert rows_as_read(round_rows(today)).empty


def test_a_chick_without_a_weight_or_a_day_of_hatch(of_day):
    today = of_day(hatched("K1", "") + hatched("K2", "2026-05-10"))
    rows = rows_as_read(round_rows(today)).set_index("chick")
    assert rows.loc["K1", "about"].startswith("age not known")
    assert rows["last"].tolist() == ["none yet", "none yet"]
    assert today.chicks["chick"].tolist() == ["K2", "K1"]  # unknown age after the known
    assert today.chicks["high_ml"].isna().all()
    assert [chick for chick, why in zip(today.chicks["chick"], today.chicks["why"], strict=True) if not why] == []


def test_an_amount_rests_on_this_mornings_weight_or_says_that_it_does_not(of_day):
    weights = weighed("K1", d18=50, d19=52, d20=54) + weighed("K2", d18=50, d19=52) + weighed("K3", d17=50, d18=52)
    today = of_day("".join(hatched(name, "2026-05-01") for name in ("K1", "K2", "K3")), weights)
    assert chick(today, "K1")["high_ml"] == pytest.approx(5.4)
    assert chick(today, "K2")["high_ml"] == pytest.approx(5.2)
    assert pd.isna(chick(today, "K3")["high_ml"])  # two days old
    times = rows_as_read(round_rows(today)).set_index("chick")["times"]
    assert times["K2"].startswith("for 52 g; every")
    assert times["K1"].startswith("every")


# -- without a curve: the chick's own last gain, and the trade's rule


def test_the_last_gain_tells_what_to_expect(of_day):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d17=20, d18=22))
    row = chick(today, "K1")
    assert row["by"] == "last gain"
    # two days on: two days' gain; not below the last; at most two fifths a day, which is more than twice its gain
    assert (row["expected_g"], row["low_g"]) == (26, 22)
    assert row["high_g"] == pytest.approx(22 * 1.8)


@pytest.mark.parametrize(
    ("weights", "called"),
    [
        ({"d18": 20, "d19": 22, "d20": 24}, False),
        ({"d18": 20, "d19": 22, "d20": 21.5}, True),  # any drop
        ({"d18": 20, "d19": 22, "d20": 22}, False),  # one day without gain
        ({"d18": 22, "d19": 22, "d20": 22}, True),  # two running
    ],
)
def test_the_trades_rule_stands_where_there_is_no_curve(of_day, weights, called):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", **weights))
    assert [who for who, _, _ in read_first(today)] == (["K1"] if called else [])
    if called:
        assert "p. 617" in read_first(today)[0][2]
        assert chick(today, "K1")["own_tools"]


def test_it_calls_no_hatchling_and_nobody_that_is_weaning(of_day):
    weights = weighed("K1", d18=3, d19=3, d20=2.9) + weighed("K2", d18=90, d19=88, d20=86)
    today = of_day(hatched("K1", "2026-05-18") + hatched("K2", "2026-04-05"), weights)
    assert read_first(today) == []


# -- food left, signs


@pytest.mark.parametrize(
    ("crops", "words", "needs_vet"),
    [
        ({"d19": (22, "empty"), "d20": (24, "part")}, "Food left in the crop this morning", False),
        ({"d19": (22, "part"), "d20": (24, "part")}, "two mornings running", True),
        ({"d19": (22, ""), "d20": (24, "full")}, "if it had not been fed before", False),
        ({"d18": (20, ""), "d19": (22, "part")}, "yesterday morning", False),
        ({"d18": (22, "part"), "d20": (24, "")}, None, False),
    ],
)
def test_food_left_is_read_of(of_day, crops, words, needs_vet):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", **crops))
    assert bool(read_first(today)) == (words is not None)
    if words:
        assert words in read_first(today)[0][2]
        assert "Nothing is fed on top of it" in read_first(today)[0][2]
        assert "veterinarian" in read_first(today)[0][2]
        assert pd.isna(chick(today, "K1")["high_ml"])
    assert chick(today, "K1")["needs_vet"] == needs_vet


def test_food_in_a_hatchling_is_no_alarm(of_day):
    assert read_first(of_day(hatched("K1", "2026-05-18"), weighed("K1", d19=(3, "part"), d20=(4, "part")))) == []


def test_a_sign_stays_open_until_its_crop_is_written_empty(of_day):
    signs = "who,seen_at,sign,notes\nK1,2026-05-18,crop not emptying,half full at ten\n"
    open_yet = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=22, d20=24), signs=signs)
    assert "half full at ten" in read_first(open_yet)[0][2]
    over = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=(22, "empty"), d20=24), signs=signs)
    assert read_first(over) == []


def test_a_cold_chick_is_never_fed(of_day):
    signs = "who,seen_at,sign\nK1,2026-05-20,cold\n"
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d19=22, d20=24), signs=signs)
    assert pd.isna(chick(today, "K1")["high_ml"])
    assert "never fed" in chick(today, "K1")["why"]


def test_a_good_sign_asks_for_nothing(of_day):
    signs = "who,seen_at,sign\nK1,2026-05-20,eating alone\n"
    assert read_first(of_day(hatched("K1", "2026-05-05"), weighed("K1", d19=22, d20=24), signs=signs)) == []


# -- losses looked back at


def test_losses_of_the_demo_looked_back_at():
    table = rows_as_read(first_warnings(demo_growth())).set_index("chick")
    assert len(table) == 12
    assert table.loc["K14", "by weight"] == "no gain or loss, day 18"
    assert table.loc["K14", "seen"] == "crop not emptying, day 17"
    assert table.loc["K14", "days_before"] == 3
    assert table.loc["K15", ["by weight", "seen", "food left"]].tolist() == ["", "", ""]
    together = table[table["event"] != ""]
    assert set(together.index) == {"K27", "K28", "K35", "K39", "K40"}
    said = dict(as_read(losses_warned(table.reset_index())))
    assert "One event" in said["Lost together"]
    assert said["Seen in time"].startswith("Of 7 chicks lost alone, 2 had a warning")


def test_a_warning_of_the_day_itself_or_long_before_is_none(open_logs):
    signs = "who,seen_at,sign\nK1,2026-05-20,not begging\nK2,2026-05-05,not begging\nK3,2026-05-18,not begging\n"
    hatches = HEAD + "".join(hatched(name, "2026-05-01") for name in ("K1", "K2", "K3"))
    losses = "chick,found_on\nK1,2026-05-20\nK2,2026-05-20\nK3,2026-05-20\n"
    season = open_logs(pairs=PAIRS, hatches=hatches, signs=signs, losses=losses, settings=SETTINGS)
    seen = rows_as_read(first_warnings(Chicks.of(season))).set_index("chick")["seen"]
    assert seen.to_dict() == {"K1": "", "K2": "", "K3": "not begging, day 17"}


def test_without_a_day_of_hatch_signs_still_warn_and_weights_cannot_be_told(open_logs):
    signs = "who,seen_at,sign\nR1,2026-05-18,not begging\n"
    weights = "chick,weighed_at,weight,crop\nK2,2026-05-18,20,part\n"
    hatches = "pair,clutch,hatched_at,chick,ring,reared_by\nP1,1,,K1,R1,hand\nP1,1,,K2,,hand\n"
    losses = "chick,found_on\nK1,2026-05-20\nK2,2026-05-20\n"
    logs = {"hatches": hatches, "signs": signs, "weights": weights, "losses": losses, "settings": SETTINGS}
    found = rows_as_read(first_warnings(Chicks.of(open_logs(pairs=PAIRS, **logs)))).set_index("chick")
    assert found.loc["K1", "seen"] == "not begging, 18 May 2026"
    assert found.loc["K2", "food left"] == "crop part, 18 May 2026"
    assert found["by weight"].tolist() == ["cannot be told"] * 2
    assert found["days_before"].tolist() == [2, 2]


def test_nothing_lost_nothing_said(open_logs):
    season = open_logs(pairs=PAIRS, hatches=HEAD + hatched("K1", "2026-05-01"), settings=SETTINGS)
    assert rows_as_read(first_warnings(Chicks.of(season))).empty
    assert as_read(losses_warned(rows_as_read(first_warnings(Chicks.of(season))))) == []


# -- what it must never say

FORBIDDEN = (
    r"antibiot|drug|\bdose|dosage|medicat|remed|dilut|\btube|massage|steril|euthan|put to sleep|help .*hatch|prick"
)


def test_no_page_says_what_a_page_must_never_say(demo):
    texts = [sentence for _, _, sentence in read_first(demo)] + [
        said for _, said in as_read(before_feeding(demo)) + as_read(no_amounts(demo))
    ]
    texts += demo.due["reason"].tolist() + rows_as_read(demo.chicks[["why"]])["why"].tolist()
    assert not re.search(FORBIDDEN, but_for_never(" ".join(texts)), re.IGNORECASE)
    assert re.search(FORBIDDEN, but_for_never("Never prick it. Give a Dose by tube."), re.IGNORECASE)


def but_for_never(text):
    """A text without what it says never to do."""
    return re.sub(r"Never [^.]*\.", "", text)


def test_order_of_rows_does_not_matter(of_day):
    weights = weighed("K1", d18=20, d19=22, d20=21) + weighed("K2", d18=30, d19=(33, "part"), d20=36)
    rows = hatched("K1", "2026-05-05") + hatched("K2", "2026-05-04")
    one = of_day(rows, weights).chicks
    other = of_day(rows, "".join(f"{row}\n" for row in reversed(weights.splitlines()))).chicks
    assert one["chick"].tolist() == other["chick"].tolist()
    assert np.allclose(one["expected_g"], other["expected_g"])
    assert one["vet"].tolist() == other["vet"].tolist()


# -- more of who is in it, and what is known of each


def called_chicks(today):
    """Who is read of, of the chicks fed by hand, in order."""
    return [who for who, _, _ in read_first(today) if who in set(today.chicks["chick"])]


def said_of(today, name):
    return next(sentence for who, _, sentence in read_first(today) if who == name)


def test_a_weight_of_two_chicks_together_is_of_neither(of_day):
    rows = hatched("K1", "2026-05-01") + hatched("K2", "2026-05-01")
    today = of_day(rows, weighed("K1", d18=50, d19=52) + "K1+K2,2026-05-20,110,\n")
    assert pd.isna(chick(today, "K1")["today_g"])
    assert chick(today, "K1")["last_g"] == 52
    assert pd.isna(chick(today, "K2")["last_g"])


def test_of_two_weights_on_a_day_the_mornings_counts(of_day):
    evening = "K1,2026-05-20 19:00,60,\nK1,2026-05-20 07:00,54,\nK1,2026-05-19 19:00,57,\nK1,2026-05-19 07:00,52,\n"
    today = of_day(hatched("K1", "2026-05-01"), evening)
    assert (chick(today, "K1")["today_g"], chick(today, "K1")["last_g"]) == (54, 52)


def test_mornings_days_apart_are_not_running(of_day):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d17=(20, "part"), d20=(24, "part")))
    assert "two mornings running" not in said_of(today, "K1")
    assert not chick(today, "K1")["needs_vet"]


@pytest.mark.parametrize(
    ("sign", "day", "open_yet"),
    [
        ("crop not emptying", 18, False),  # its crop was written empty on the 19th
        ("crop not emptying", 19, True),  # seen after it was weighed that morning
        ("not begging", 18, True),  # an empty crop says nothing of it
        ("not begging", 17, True),
        ("not begging", 16, False),  # open for three days (practice)
    ],
)
def test_how_long_a_sign_stays_open(of_day, sign, day, open_yet):
    signs = f"who,seen_at,sign\nK1,2026-05-{day},{sign}\n"
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=(22, "empty"), d20=24), signs=signs)
    assert called_chicks(today) == ["K1"] * open_yet
    assert pd.isna(chick(today, "K1")["high_ml"]) == open_yet


def test_of_several_signs_the_last_day_is_told(of_day):
    signs = "who,seen_at,sign\nK1,2026-05-18,not begging\nK1,2026-05-20,not begging\n"
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d19=22, d20=24), signs=signs)
    assert "seen 20 May" in said_of(today, "K1")


def test_a_sign_under_its_ring_is_its_own(open_logs):
    hatches = HEAD.replace("chick,", "chick,ring,") + "P1,1,e,2026-05-05,,K1,AB-7,hand,\n"
    signs = "who,seen_at,sign\nab-7,2026-05-20,not begging\n"
    logs = {"pairs": PAIRS, "species": SPECIES, "settings": SETTINGS, "hatches": hatches, "signs": signs}
    assert called_chicks(round_of(open_logs(**logs), ON)) == ["K1"]


# -- more of what is expected


def test_twice_the_last_gain_is_too_much(of_day):
    row = chick(of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=30)), "K1")
    assert (row["expected_g"], row["low_g"], row["high_g"]) == (40, 30, 50)


@pytest.mark.parametrize(("day", "low_g"), [(17, 22), (18, np.nan)])
def test_from_day_three_on_a_chick_is_not_to_lose(of_day, day, low_g):
    # from day 3 on: Duerr & Gage, Hand-Rearing Birds, 2020, p. 617; no gain in the first days is normal: Hagen
    row = chick(of_day(hatched("K1", f"2026-05-{day}"), weighed("K1", d18=20, d19=22)), "K1")
    assert row["low_g"] == pytest.approx(low_g, nan_ok=True)


@pytest.mark.parametrize(
    "weights", [{"d14": 20, "d15": 22}, {"d12": 20, "d19": 22}, {"d18": 22, "d19": 22}, {"d18": 22, "d19": 21}]
)
def test_old_weights_and_no_gain_tell_nothing(of_day, weights):
    row = chick(of_day(hatched("K1", "2026-05-05"), weighed("K1", **weights)), "K1")
    assert pd.isna(row["expected_g"])
    assert row["by"] == ""


@pytest.mark.parametrize(("n", "by"), [(5, "last gain"), (6, "curve")])
def test_a_curve_speaks_where_six_chicks_made_it(of_day, n, by):
    rows, weights = "", ""
    for at in range(n):
        rows += hatched(f"K{at}", "2026-05-01")
        grams = {
            d: (90 + 3 * at) / (1 + np.exp(-0.25 * (d - 12))) * np.exp(0.01 * np.sin(7 * d + at)) for d in range(20)
        }
        weights += weighed(f"K{at}", **{f"d{1 + d}": round(mass_g, 1) for d, mass_g in grams.items() if d < 19})
    assert set(of_day(rows, weights).chicks["by"]) == {by}


# -- more of what is read


def test_a_weight_far_above_what_is_expected_is_weighed_again_before_an_amount(of_day):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=22, d20=45))
    assert chick(today, "K1")["weigh_again"]
    assert pd.isna(chick(today, "K1")["high_ml"])
    assert chick(today, "K1")["why"].startswith("Weigh it again")
    assert {"weigh again", "read first"} & set(rows_as_read(round_rows(today))["marks"].item())


@pytest.mark.parametrize(("today_g", "marks"), [(45, []), (46, ["weigh again"])])
def test_a_weight_is_held_against_the_numbers_that_the_page_prints(of_day, today_g, marks):
    # 32 g, and two fifths of it a day at most: 44.8, which is printed as 45
    today = of_day(hatched("K1", "2026-05-08"), weighed("K1", d18=30, d19=32, d20=today_g))
    row = rows_as_read(round_rows(today)).iloc[0]
    assert (row["between"], row["weight"], row["marks"]) == ("32–45", str(today_g), marks)


@pytest.mark.parametrize(("born", "read"), [("2026-05-17", True), ("2026-05-18", False)])
def test_food_left_is_read_of_from_day_three_on(of_day, born, read):
    today = of_day(hatched("K1", born), weighed("K1", d19=4, d20=(5, "part")))
    assert called_chicks(today) == ["K1"] * read


@pytest.mark.parametrize("born", ["2026-04-11", "2026-04-10", "2026-03-25"])
def test_age_alone_silences_no_crop(of_day, born):
    # 39, 40 and 56 days old; it weans from day 40
    today = of_day(hatched("K1", born), weighed("K1", d19=88, d20=(89, "part")))
    assert called_chicks(today) == ["K1"]
    assert pd.isna(chick(today, "K1")["high_ml"])


def test_who_eats_alone_may_have_food_left_and_gets_half(of_day):
    signs = "who,seen_at,sign\nK1,2026-05-19,eating alone\n"
    weights = weighed("K1", d18=78, d19=79, d20=(80, "part"))
    assert called_chicks(of_day(hatched("K1", "2026-04-20"), weights, signs=signs)) == []
    empty = weighed("K1", d18=78, d19=79, d20=80)
    alone = of_day(hatched("K1", "2026-04-20"), empty, signs=signs)
    plain = of_day(hatched("K1", "2026-04-20"), empty, signs="who,seen_at,sign\n")
    assert chick(alone, "K1")["high_ml"] < 0.6 * chick(plain, "K1")["high_ml"]


def test_age_alone_lowers_no_amount(of_day):
    weights = weighed("K1", d18=78, d19=79, d20=80)
    weaning, younger = (of_day(hatched("K1", born), weights) for born in ("2026-04-10", "2026-04-20"))
    assert chick(weaning, "K1")["high_ml"] == chick(younger, "K1")["high_ml"] == 8.0


@pytest.mark.parametrize(
    ("born", "today_g", "called"),
    [
        ("2026-04-21", 78, True),  # 29 days old: any drop calls
        ("2026-04-20", 78, False),  # 30 days: three quarters of the weaning age, where gain ends (practice)
        ("2026-04-21", 78.9, True),
        ("2026-04-21", 79.1, False),  # 1.1 % is within what a scale and a crop differ by (practice)
    ],
)
def test_the_trades_rule_ends_near_fledging(of_day, born, today_g, called):
    today = of_day(hatched("K1", born), weighed("K1", d18=79.5, d19=80.2 if today_g == 78.9 else 80, d20=today_g))
    assert called_chicks(today) == ["K1"] * called


def test_a_crop_that_does_not_empty_is_food_left_though_no_crop_is_written(of_day):
    signs = "who,seen_at,sign\nK1,2026-05-20,crop not emptying\n"
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d19=22, d20=24), signs=signs)
    assert "nothing is fed on top" in chick(today, "K1")["why"]


def test_an_age_that_may_be_under_three_days_gets_no_amount(of_day):
    sure, unsure = (of_day(hatched("K1", "2026-05-15", sure=days), weighed("K1", d19=9, d20=10)) for days in (0, 3))
    assert chick(sure, "K1")["high_ml"] > 0
    assert pd.isna(chick(unsure, "K1")["high_ml"])


@pytest.fixture(scope="module")
def day_after():
    day = pd.Timestamp("2026-05-21")
    return demo_round(f"{day:%Y-%m-%d}")


def test_who_needs_a_veterinarian_comes_before_who_is_looked_at(day_after):
    assert called_chicks(day_after) == ["K23", "K22"]  # K22 is back where it was expected
    assert day_after.chicks.set_index("chick")["needs_vet"][["K22", "K23"]].tolist() == [False, True]


def test_who_is_read_of_is_not_due_for_the_same_look(day_after):
    looks = day_after.due[day_after.due["source"].str.contains("flag") | day_after.due["what"].str.contains("look")]
    assert not {"K22", "K23"} & set(" ".join(looks["names"]).replace(",", " ").split())


# -- more of what stands before the first feed


def before_of(of_day, **logs):
    rows = "".join(hatched(f"K{n}", "2026-05-05") for n in range(5))
    return dict(as_read(before_feeding(of_day(rows, weighed("K1", d19=50, d20=52), **logs))))


def test_only_the_days_own_mixes_are_read(of_day):
    feeds = "fed_at,food,temperature\n2026-05-19 07:00,formula,36\n2026-05-20 07:10,formula,40\n"
    read = before_of(of_day, feeds=feeds)["Read today"]
    assert "07:10" in read
    assert "07:00" not in read
    yesterday = "fed_at,food,temperature\n2026-05-19 07:00,formula,36\n"
    assert "Read today" not in before_of(of_day, feeds=yesterday)


def readings(*rows):
    return "place,read_at,temperature\n" + "".join(
        f"{place},2026-05-{when},{celsius}\n" for place, when, celsius in rows
    )


def test_a_cup_is_told_of_by_its_last_two_readings_and_the_coolest_room(of_day):
    room = (("kitchen", "20 06:00", 20), ("airing cupboard", "20 06:00", 35))
    # as Newton has it, 41 to 36 °C in 30 minutes: 41 to 38 °C in 17 minutes at 20 °C, in 12 at 35 °C
    slow = readings(("cup", "20 06:00", 41), ("cup", "20 07:00", 41), ("cup", "20 07:30", 36), *room)
    said = before_of(of_day, readings=slow)["Cup"]
    assert "15 minutes" in said  # five chicks at three minutes each
    assert "one mix will do" in said
    quick = readings(("cup", "20 06:00", 41), ("cup", "20 06:30", 40.5), ("cup", "20 06:36", 38.5), *room)
    assert "lots" in before_of(of_day, readings=quick)["Cup"]


def test_a_cup_colder_than_the_room_tells_nothing(of_day):
    seen = readings(("cup", "20 07:00", 41), ("cup", "20 07:20", 19), ("kitchen", "20 06:00", 20))
    assert "mix" not in before_of(of_day, readings=seen).get("Cup", "")


def test_an_incubator_is_no_room(open_logs):
    hatches = "pair,clutch,egg,set_on,hatched_at,chick,reared_by,incubated_by\nP1,1,1,,2026-05-05,K1,hand,\n"
    logs = {"pairs": PAIRS, "settings": SETTINGS, "hatches": hatches + "P1,1,2,2026-05-10,,,,Drawer\n"}
    seen = readings(("cup", "20 07:00", 41), ("cup", "20 07:20", 38.5), ("drawer", "20 06:00", 37.5))
    assert "Cup" not in dict(as_read(before_feeding(round_of(open_logs(readings=seen, **logs), ON))))


def test_readings_of_two_fillings_tell_nothing_of_a_cup(of_day):
    room = ("kitchen", "20 06:00", 20)
    apart = before_of(of_day, readings=readings(("cup", "20 06:00", 41), ("cup", "20 08:00", 38), room))
    assert "mix" not in apart.get("Cup", "")
    yesterday = before_of(
        of_day, readings=readings(("cup", "20 07:00", 41), ("cup", "20 07:20", 38), ("kitchen", "19 06:00", 20))
    )
    assert "Cup" not in yesterday  # no room was read that day


def test_old_readings_of_a_brooder_are_not_told(of_day):
    said = before_of(of_day, readings=readings(("brooder A", "17 08:00", 33), ("brooder B", "19 08:00", 32)))["Brooder"]
    assert "brooder B 32 °C" in said
    assert "brooder A" not in said


def test_who_gets_no_amount_is_counted_apart(of_day):
    said = before_of(of_day)["To mix"]
    assert "1 chick" in said
    assert "4 chicks without an amount" in said


# -- losses looked back at, more


def look(open_logs, weights, signs="", lost="2026-05-20"):
    logs = {"hatches": HEAD + hatched("K1", "2026-05-01"), "losses": f"chick,found_on\nK1,{lost}\n"}
    logs |= {"weights": f"chick,weighed_at,weight,crop\n{weights}"} if weights else {}
    logs |= {"signs": f"who,seen_at,sign\n{signs}"} if signs else {}
    return rows_as_read(first_warnings(Chicks.of(open_logs(pairs=PAIRS, settings=SETTINGS, **logs))))


def test_the_trades_rule_alone_is_no_warning_of_ours(open_logs):
    # "any drop", and "no gain two days running": Duerr & Gage, Hand-Rearing Birds, 2020, p. 617
    table = look(open_logs, weighed("K1", d16=50, d17=55, d18=53))
    assert table["trade's rule"].item() == "any drop, day 17"
    assert table["days_before"].isna().all()
    assert dict(as_read(losses_warned(table)))["Seen in time"].startswith("Of 1 chick lost alone, 0 had a warning")


def test_no_gain_over_two_days_is_not_the_trades_own_rule(open_logs):
    table = look(open_logs, weighed("K1", d14=50, d16=50))
    assert table["trade's rule"].item() == ""


def test_eating_alone_is_no_warning(open_logs):
    table = look(open_logs, "", "K1,2026-05-17,eating alone\n")
    assert table["seen"].item() == ""


# -- laid out


def test_the_marks_the_days_and_the_amounts_of_a_row(of_day):
    rows = hatched("K1", "2026-05-05") + hatched("K2", "2026-05-05") + hatched("K3", "2026-04-28")
    weights = (
        weighed("K1", d18=5, d19=5.5, d20=6) + weighed("K2", d10=20, d16=26) + weighed("K3", d18=(98, "part"), d19=101)
    )
    told = rows_as_read(round_rows(of_day(rows, weights))).set_index("chick")
    assert told.loc["K1", "last"].startswith("5.0 · 5.5")
    assert told.loc["K1", "since"] == "18, 19 May"
    assert re.fullmatch(r"0\.\d\d–0\.60 ml", told.loc["K1", "give"])
    assert told.loc["K2", "since"] == "10, 16 May (4 days ago)"
    assert told.loc["K2", "crop"] == ""
    low, high = map(float, told.loc["K3", "give"].removesuffix(" ml").split("–"))
    assert low < high == 10


def test_yesterdays_crop_is_not_written_into_todays_box(of_day):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=(22, "empty")))
    assert rows_as_read(round_rows(today))["crop"].item() == ""


def test_who_is_read_first_is_not_marked_again(of_day):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=22, d20=20))
    assert chick(today, "K1")["weigh_again"]
    assert [mark for mark in rows_as_read(round_rows(today))["marks"].item() if mark != "own syringe"] == ["read first"]


def test_of_a_hatchling_only_the_upper_end_is_told(of_day):
    told = rows_as_read(round_rows(of_day(hatched("K1", "2026-05-18"), weighed("K1", d18=3, d19=4))))
    assert told["between"].item().startswith("up to ")


# -- past the peak, and flags that are over


@pytest.mark.parametrize(("peak_d", "by"), [(14, "past peak"), (15, "last gain")])
def test_past_its_peak_nobody_knows_how_far_a_chick_falls(of_day, peak_d, by):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=22))  # 15 days old
    growth = Row(watch=Row(kinds={}, peaks=pd.Series({"K1": peak_d})))
    row = expected_today(in_the_nursery(today.season, ON), growth, ON).iloc[0]
    assert row["by"] == by
    assert row[["expected_g", "low_g", "high_g"]].isna().all() == (by == "past peak")


@pytest.mark.parametrize(
    ("flag", "day", "back", "still"),
    [
        ("weigh again", 19, False, True),  # its last weighing is the doubtful one
        ("weigh again", 18, False, False),  # it was weighed since
        ("stall", 14, False, True),
        ("stall", 18, True, True),  # back where it was expected: looked at for two days more (practice)
        ("stall", 17, True, False),
    ],
)
def test_how_long_a_flag_is_read_of(flag, day, back, still):
    flags = pd.DataFrame({"flag": [flag], "day": [pd.Timestamp(2026, 5, day)], "back": [back]})
    assert still_says(flags, Row(today_g=float("nan"), last_on=pd.Timestamp("2026-05-19")), ON).tolist() == [still]


def test_more_than_is_expected_is_weighed_again_before_an_amount_though_no_flag_is_raised(of_day):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=22, d20=32))
    assert chick(today, "K1")["look"] == ()
    assert chick(today, "K1")["high_g"] < 32
    assert chick(today, "K1")["weigh_again"]
    assert pd.isna(chick(today, "K1")["high_ml"])
    assert rows_as_read(round_rows(today))["marks"].item() == ["weigh again"]


# -- before this morning's weights are written


@pytest.mark.parametrize(
    ("weights", "called"),
    [
        ({"d17": 24, "d18": 22, "d19": 18}, True),
        ({"d17": 20, "d18": 20, "d19": 20}, True),
        ({"d17": 20, "d18": 22, "d19": 24}, False),
    ],
)
def test_yesterdays_drop_is_read_of_before_this_mornings_weight_is_written(of_day, weights, called):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", **weights))
    assert bool(read_first(today)) == called
    assert pd.isna(chick(today, "K1")["high_ml"]) == called
    if called:
        assert "g yesterday and" in read_first(today)[0][2]


def test_a_drop_of_long_ago_is_none_of_today(of_day):
    assert read_first(of_day(hatched("K1", "2026-05-01"), weighed("K1", d15=24, d16=22, d17=18))) == []


def test_a_flag_of_long_ago_is_none_of_today():
    season = demo_round("2026-05-20").season
    assert [who for who, _, _ in read_first(round_of(season, "2026-06-20"))] == []


def test_a_sign_under_the_ring_of_a_chick_that_is_gone_calls_nobody(open_logs):
    hatches = "pair,clutch,hatched_at,chick,ring,reared_by\nP1,1,2026-05-01,K1,AB-7,hand\n"
    signs = "who,seen_at,sign\nAB-7,2026-05-18,not begging\n"
    logs = {"hatches": hatches, "signs": signs, "settings": SETTINGS}
    alive = round_of(open_logs(up_to="2026-05-20", pairs=PAIRS, **logs), ON)
    assert [who for who, _, _ in read_first(alive)] == ["K1"]
    gone = round_of(open_logs(up_to="2026-05-20", pairs=PAIRS, losses="chick,found_on\nK1,2026-05-18\n", **logs), ON)
    assert read_first(gone) == []


def test_what_is_mixed_for_the_smallest_is_not_nothing(of_day):
    today = of_day(hatched("K1", "2026-05-15"), weighed("K1", d19=2.6, d20=3))
    assert dict(as_read(before_feeding(today)))["To mix"].startswith("0.2 to 0.4 ml for one feed of 1 chick")


def test_a_room_is_no_brooder_and_no_fridge(of_day):
    readings = (
        "place,read_at,temperature\ncup,2026-05-20 06:40,50\ncup,2026-05-20 06:50,44.8\n"
        "brooder,2026-05-20 06:00,33\nfridge,2026-05-20 06:00,4\n"
    )
    logs = hatched("K1", "2026-05-05"), weighed("K1", d19=22, d20=24)
    assert "Cup" not in dict(as_read(before_feeding(of_day(*logs, readings=readings))))
    assert "Cup" in dict(as_read(before_feeding(of_day(*logs, readings=readings + "kitchen,2026-05-20 06:00,22\n"))))


def test_food_in_the_evening_is_not_food_left_in_the_morning(open_logs):
    weights = "chick,weighed_at,weight,crop\nK1,2026-05-18 07:00,30,empty\nK1,2026-05-18 19:00,34,full\n"
    logs = {
        "hatches": HEAD + hatched("K1", "2026-05-01"),
        "weights": weights,
        "losses": "chick,found_on\nK1,2026-05-20\n",
    }
    assert rows_as_read(first_warnings(Chicks.of(open_logs(pairs=PAIRS, settings=SETTINGS, **logs))))[
        "food left"
    ].tolist() == [""]
