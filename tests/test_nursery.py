"""The nursery of a day: who is in it, what each should weigh, what asks for a veterinarian, and how much at most."""

import re

import numpy as np
import pandas as pd
import pytest

from analysis import open_season
from analysis.findings import growing
from analysis.growth import expected_next, watch
from analysis.nursery import before_feeding, looked_back, looked_back_said, no_amounts, round_of, round_rows
from support import DEMO

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
    return today.chicks.set_index("chick").loc[name]


@pytest.fixture(scope="module")
def demo():
    return round_of(open_season(DEMO, up_to=ON.date()), ON)


# -- the day of the demo


def test_on_the_day_of_the_demo_two_are_read_of_and_nobody_else(demo):
    assert [who for who, _, _ in demo.read] == ["K22", "K23"]
    said = {who: sentence for who, _, sentence in demo.read}
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
    assert {"K35, K36 and K33", "K31"} == {who for who, _ in no_amounts(demo)}


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
    said = dict(before_feeding(demo))
    assert re.search(r"06:50, 42(\.0)? °C: wait; 07:02, 40\.2 °C: in the window", said["Read today"])
    assert "39 minutes" in said["Blue cup"]  # thirteen chicks at three minutes each
    assert "brooders" in said["Brooder"]


def test_other_mornings_are_calm():
    """On mornings without planted or written trouble no veterinarian is called."""
    for day in pd.to_datetime(["2026-04-05", "2026-05-18", "2026-06-10"]):
        today = round_of(open_season(DEMO, up_to=day.date()), day)
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
    assert today.read == []
    assert before_feeding(today) == []
    assert round_rows(today).empty


def test_a_chick_without_a_weight_or_a_day_of_hatch(of_day):
    today = of_day(hatched("K1", "") + hatched("K2", "2026-05-10"))
    rows = round_rows(today).set_index("chick")
    assert rows.loc["K1", "about"].startswith("age not known")
    assert rows["last"].tolist() == ["none yet", "none yet"]
    assert today.chicks["chick"].tolist() == ["K2", "K1"]  # unknown age after the known
    assert today.chicks["high_ml"].isna().all()
    assert all(today.chicks["why"])


def test_an_amount_rests_on_this_mornings_weight_or_says_that_it_does_not(of_day):
    weights = weighed("K1", d18=50, d19=52, d20=54) + weighed("K2", d18=50, d19=52) + weighed("K3", d17=50, d18=52)
    today = of_day("".join(hatched(name, "2026-05-01") for name in ("K1", "K2", "K3")), weights)
    assert chick(today, "K1")["high_ml"] == pytest.approx(5.4)
    assert chick(today, "K2")["high_ml"] == pytest.approx(5.2)
    assert pd.isna(chick(today, "K3")["high_ml"])  # two days old
    times = round_rows(today).set_index("chick")["times"]
    assert times["K2"].startswith("for 52 g; every")
    assert times["K1"].startswith("every")


# -- without a curve: the chick's own last gain, and the trade's rule


def test_the_last_gain_tells_what_to_expect(of_day):
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d17=20, d18=22))
    row = chick(today, "K1")
    assert row["by"] == "its last gain"
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
    assert [who for who, _, _ in today.read] == (["K1"] if called else [])
    if called:
        assert "p. 617" in today.read[0][2]
        assert chick(today, "K1")["own_tools"]


def test_it_calls_no_hatchling_and_nobody_that_is_weaning(of_day):
    weights = weighed("K1", d18=3, d19=3, d20=2.9) + weighed("K2", d18=90, d19=88, d20=86)
    today = of_day(hatched("K1", "2026-05-18") + hatched("K2", "2026-04-05"), weights)
    assert today.read == []


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
    assert bool(today.read) == (words is not None)
    if words:
        assert words in today.read[0][2]
        assert "Nothing is fed on top of it" in today.read[0][2]
        assert "veterinarian" in today.read[0][2]
        assert pd.isna(chick(today, "K1")["high_ml"])
    assert chick(today, "K1")["needs_vet"] == needs_vet


def test_food_in_a_hatchling_is_no_alarm(of_day):
    assert of_day(hatched("K1", "2026-05-18"), weighed("K1", d19=(3, "part"), d20=(4, "part"))).read == []


def test_a_sign_stays_open_until_its_crop_is_written_empty(of_day):
    signs = "who,seen_at,sign,notes\nK1,2026-05-18,crop not emptying,half full at ten\n"
    open_yet = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=22, d20=24), signs=signs)
    assert "half full at ten" in open_yet.read[0][2]
    over = of_day(hatched("K1", "2026-05-05"), weighed("K1", d18=20, d19=(22, "empty"), d20=24), signs=signs)
    assert over.read == []


def test_a_cold_chick_is_never_fed(of_day):
    signs = "who,seen_at,sign\nK1,2026-05-20,cold\n"
    today = of_day(hatched("K1", "2026-05-05"), weighed("K1", d19=22, d20=24), signs=signs)
    assert pd.isna(chick(today, "K1")["high_ml"])
    assert "never fed" in chick(today, "K1")["why"]


def test_a_good_sign_asks_for_nothing(of_day):
    signs = "who,seen_at,sign\nK1,2026-05-20,eating alone\n"
    assert of_day(hatched("K1", "2026-05-05"), weighed("K1", d19=22, d20=24), signs=signs).read == []


# -- losses looked back at


def test_losses_of_the_demo_looked_back_at():
    table = looked_back(growing(open_season(DEMO))).set_index("chick")
    assert len(table) == 12
    assert table.loc["K14", "by weight"] == "no gain or loss, day 18"
    assert table.loc["K14", "seen"] == "crop not emptying, day 17"
    assert table.loc["K14", "days_before"] == 3
    assert table.loc["K15", ["by weight", "seen", "food left"]].tolist() == ["", "", ""]
    together = table[table["event"] != ""]
    assert set(together.index) == {"K27", "K28", "K35", "K39", "K40"}
    said = dict(looked_back_said(table.reset_index()))
    assert "One event" in said["Lost together"]
    assert said["Seen in time"].startswith("Of 7 chicks lost alone, 2 had a warning")


def test_a_warning_of_the_day_itself_or_long_before_is_none(open_logs):
    signs = "who,seen_at,sign\nK1,2026-05-20,not begging\nK2,2026-05-05,not begging\nK3,2026-05-18,not begging\n"
    hatches = HEAD + "".join(hatched(name, "2026-05-01") for name in ("K1", "K2", "K3"))
    losses = "chick,found_on\nK1,2026-05-20\nK2,2026-05-20\nK3,2026-05-20\n"
    season = open_logs(pairs=PAIRS, hatches=hatches, signs=signs, losses=losses, settings=SETTINGS)
    seen = looked_back(growing(season)).set_index("chick")["seen"]
    assert seen.to_dict() == {"K1": "", "K2": "", "K3": "not begging, day 17"}


def test_nothing_lost_nothing_said(open_logs):
    season = open_logs(pairs=PAIRS, hatches=HEAD + hatched("K1", "2026-05-01"), settings=SETTINGS)
    assert looked_back(growing(season)).empty
    assert looked_back_said(looked_back(growing(season))) == []


# -- what it must never say

FORBIDDEN = (
    r"antibiot|drug|\bdose|dosage|medicat|remed|dilut|\btube|massage|steril|euthan|put to sleep|help .*hatch|prick"
)


def test_no_page_says_what_a_page_must_never_say(demo):
    texts = [sentence for _, _, sentence in demo.read] + [said for _, said in before_feeding(demo) + no_amounts(demo)]
    texts += demo.due["reason"].tolist() + demo.chicks["why"].tolist()
    assert not re.search(FORBIDDEN, " ".join(texts), re.IGNORECASE)
    assert re.search(FORBIDDEN, "give a Dose by tube", re.IGNORECASE)


def test_order_of_rows_does_not_matter(of_day):
    weights = weighed("K1", d18=20, d19=22, d20=21) + weighed("K2", d18=30, d19=(33, "part"), d20=36)
    rows = hatched("K1", "2026-05-05") + hatched("K2", "2026-05-04")
    one = of_day(rows, weights).chicks
    other = of_day(rows, "".join(f"{row}\n" for row in reversed(weights.splitlines()))).chicks
    assert one["chick"].tolist() == other["chick"].tolist()
    assert np.allclose(one["expected_g"], other["expected_g"])
    assert one["vet"].tolist() == other["vet"].tolist()
