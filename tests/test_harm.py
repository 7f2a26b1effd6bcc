"""What could hurt a chick if the round were taken at its word: each case once, as a keeper would write it."""

import re
import tomllib

import pandas as pd
import pytest

from analysis.chicks.status import how_it_stands
from analysis.day.preparation import before_feeding, no_amounts
from analysis.day.round import attention, round_of
from analysis.day.round_rows import round_rows
from analysis.logs.headings import choice_meant
from analysis.logs.tables import GOOD_SIGNS, SIGNS
from analysis.pairs.of_season import Pairs
from analysis.report.round_page import round_document
from analysis.say import in_words, say
from analysis.say.voice import sentences
from analysis.season.signs import sign_words, signs_of
from support import ROOT, as_read, ranked, read_first, rows_as_read

ON = pd.Timestamp("2026-05-20")
HEAD = "pair,clutch,egg,hatched_at,chick,reared_by,brooder\n"
SPECIES = "species,wean_from_d,wean_to_d\ncockatiel,40,50\nscarlet macaw,80,100\n"


@pytest.fixture
def of_day(open_logs):
    def round_(hatches, weights="", *, species="cockatiel", on=ON, settings="", **more):
        logs = {
            "pairs": f"pair,species,cage,cock,hen\nP1,{species},C1,Ash,Hazel\n",
            "species": SPECIES,
            "settings": f"setting,value\nseason,2026\n{settings}",
            "hatches": HEAD + hatches,
            "weights": f"chick,weighed_at,weight,crop\n{weights}",
        } | more
        return round_of(open_logs(up_to=f"{on:%Y-%m-%d}", **logs), on)

    return round_


def hatched(name, day, reared="hand", brooder=""):
    return f"P1,1,{name}e,{day},{name},{reared},{brooder}\n"


def mornings(name, *masses, last=20, crop=""):
    """Weights of the mornings up to one of May, the last with its crop."""
    days = range(last - len(masses) + 1, last + 1)
    rows = [
        f"{name},2026-05-{day:02d},{mass},{crop if day == last else ''}" for day, mass in zip(days, masses, strict=True)
    ]
    return "".join(f"{row}\n" for row in rows)


def said(today):
    return {who: f"{about}: {sentence}" for who, about, sentence in read_first(today)}


def chick(today, name="K1"):
    return rows_as_read(today.chicks).set_index("chick").loc[name]


# -- 1: the weaning calendar


@pytest.mark.parametrize("born", ["2026-04-12", "2026-04-04", "2026-03-20"])  # 38, 46 and 61 days
def test_a_full_crop_while_it_loses_is_read_first_at_every_age(of_day, born):
    rows = hatched("K1", born) + hatched("K2", "2026-05-08")
    today = of_day(rows, mornings("K1", 95, 92, 89, crop="full") + mornings("K2", 30, 33, 36))
    assert read_first(today)[0][0] == "K1"
    assert "Nothing is fed on top of it" in read_first(today)[0][2]
    assert "95, 92 and 89 g" in read_first(today)[0][2]
    assert today.chicks["chick"].tolist() == ["K2", "K1"]  # fed last, with its own syringe
    assert chick(today)["own_tools"]
    assert pd.isna(chick(today)["high_ml"])


@pytest.mark.parametrize(
    ("masses", "crop", "read"), [((95, 92), "part", True), ((90, 92), "part", False), ((90, 92), "full", True)]
)
def test_who_was_seen_eating_may_have_some_food_left_but_not_a_full_crop_nor_lose(of_day, masses, crop, read):
    signs = "who,seen_at,sign\nK1,2026-05-15,eating alone\n"
    today = of_day(hatched("K1", "2026-04-04"), mornings("K1", *masses, crop=crop), signs=signs)
    assert ("K1" in said(today)) == read


def test_only_being_seen_to_eat_lowers_the_amount_and_the_feeds(of_day):
    weights = mornings("K1", 88, 89, 90)
    signs = "who,seen_at,sign\nK1,2026-05-15,eating alone\n"
    plain, eats = (
        of_day(hatched("K1", "2026-04-04"), weights),
        of_day(hatched("K1", "2026-04-04"), weights, signs=signs),
    )
    assert chick(plain)["high_ml"] == 9.0
    assert chick(eats)["high_ml"] == pytest.approx(0.048 * 90, abs=0.1)
    # two a day while weaning: Duerr & Gage, Hand-Rearing Birds, 2020, p. 597
    assert (chick(plain)["times"], chick(eats)["times"]) == ("every 4–6 h", "twice a day, as long as it begs")


def test_four_falls_running_and_nobody_wrote_that_it_eats(of_day):
    falls = mornings("K1", 96, 95, 94, 93, 92)
    assert "nobody wrote that it eats alone" in said(of_day(hatched("K1", "2026-04-04"), falls))["K1"]
    assert said(of_day(hatched("K1", "2026-04-04"), mornings("K1", 95, 96, 95, 94, 93))) == {}
    signs = "who,seen_at,sign\nK1,2026-05-15,eating alone\n"
    assert said(of_day(hatched("K1", "2026-04-04"), falls, signs=signs)) == {}


def test_far_below_its_heaviest_it_goes_back_to_feeding_whatever_its_age(of_day):
    # above 15 %: back to feeding and to the veterinarian (a general magazine, 10 to 25 %; the stricter)
    today = of_day(hatched("K1", "2026-04-04"), mornings("K1", 99, 100, 100, 98, 84))
    assert "16 % below its heaviest, 100 g" in said(today)["K1"]
    slip = of_day(hatched("K1", "2026-04-04"), mornings("K1", 83, 84, 184, 84, 85))
    assert "below its heaviest" not in " ".join(said(slip).values())


# -- 2: brooders


def read_at(celsius, place="brooder"):
    return f"place,read_at,temperature\n{place},2026-05-20 06:00,{celsius}\n"


def test_a_hatchling_at_39_2_is_taken_out_at_once(of_day):
    today = of_day(hatched("K1", "2026-05-19", brooder="brooder"), readings=read_at(39.2))
    (rank, who, _, sentence) = ranked(today)[0]
    assert (rank, who) == (0, "brooder")
    assert "too warm for K1 (to day 3: 35 to 36.5 °C)" in sentence
    assert "Take the chicks out to a cooler place now" in sentence
    assert "warm and quiet" not in sentence


def test_a_feathered_chick_elsewhere_excuses_no_heat(of_day):
    rows = hatched("K1", "2026-05-19", brooder="brooder A") + hatched("K2", "2026-03-20", brooder="brooder B")
    today = of_day(rows, readings=read_at(38.0, "brooder A"), signs="who,seen_at,sign\nK2,2026-05-10,feathered\n")
    assert "brooder A" in said(today)
    assert "K2" not in said(today)["brooder A"]


@pytest.mark.parametrize(("sign", "out"), [("pins", False), ("", False), ("feathered", True)])
def test_a_macaw_of_31_days_is_not_chilled_by_its_calendar(of_day, sign, out):
    signs = f"who,seen_at,sign\nK1,2026-05-18,{sign}\n" if sign else "who,seen_at,sign\n"
    rows = hatched("K1", "2026-04-19", brooder="brooder")
    today = of_day(rows, species="scarlet macaw", readings=read_at(30), signs=signs)
    assert ("brooder" in said(today)) == out
    brooder = dict(as_read(before_feeding(today)))["Brooder"]
    assert ("25 to 26" in brooder) == out


def test_the_latest_stage_that_was_seen_counts(of_day):
    signs = "who,seen_at,sign\nK1,2026-05-18,feathered\nK1,2026-05-10,pins\n"
    today = of_day(hatched("K1", "2026-04-19"), signs=signs)
    assert "K1 (feathered): 25 to 26 °C" in dict(as_read(before_feeding(today)))["Brooder"]
    assert read_first(today) == []


def test_where_nobody_says_which_brooder_every_chick_that_may_be_in_it_counts_and_it_is_said(of_day):
    rows = hatched("K1", "2026-05-19") + hatched("K2", "2026-03-20")
    found = said(of_day(rows, readings=read_at(36), signs="who,seen_at,sign\nK2,2026-05-10,feathered\n"))["brooder"]
    assert "too warm for K2" in found
    assert "Right for K1" in found
    assert "Nobody wrote who is in it" in found
    both = said(of_day(rows, readings=read_at(30), signs="who,seen_at,sign\nK2,2026-05-10,feathered\n"))["brooder"]
    assert "too warm for K2" in both
    assert "too cold for K1" in both


# -- 3 and 4: what a sign asks for


def test_an_overheated_chick_is_cooled(of_day):
    logs = {"readings": read_at(39.2), "signs": 'who,seen_at,sign\nK1,2026-05-20,"panting, red"\n'}
    today = of_day(hatched("K1", "2026-05-15", brooder="brooder"), mornings("K1", 11, 12), **logs)
    sentence = said(today)["K1"]
    assert "out of the heat" in sentence
    assert "offer no food" in sentence
    assert not re.search("keep it warm|warm and quiet", sentence, re.IGNORECASE)
    assert pd.isna(chick(today)["high_ml"])
    assert ranked(today)[0][0] == 0


OWN_WORDS = {
    "crop not emptying": "Nothing is fed on top of it",
    "air in the crop": "still there after two feeds",
    "not begging": "Feel whether it is warm",
    "cold": "Warm it slowly",
    "droppings": "fresh dropping",
    "limp": "Nothing by mouth",
    "breathing hard": "neither cold nor hot",
    "swelling": "a thread or a ring",
    "splayed leg": "footing it can grip",
    "bleeding": "clean gauze",
    "vomiting": "Keep it upright",
    "not eating": "feeds by hand go on",
    "burn": "how it is fed on",
    "red skin": "about fluids",
    "tight ring": "take the ring or thread off",
    "crooked beak": "both sides in turn",
    "panting": "out of the heat",
    "egg binding": "in moist air",
    "prolapse": "wet gauze",
    "aggression": "Part the two now",
    "chick killing": "Take all living chicks out now",
    "plucking": "Look for blood",
}
AT_ONCE = {"panting", "chick killing", "aggression", "bleeding", "burn", "breathing hard", "egg binding", "prolapse"}


def flat(text):
    return text.lower()


@pytest.fixture(scope="module")
def judged():
    """The pairs of the first season that is put here: the others differ in their signs alone, which judge no pair."""
    kept = {}
    return lambda season: kept.setdefault("pairs", Pairs.of(season))


@pytest.mark.parametrize("sign", [sign for sign in SIGNS if sign not in GOOD_SIGNS])
@pytest.mark.parametrize("who", ["K1", "Hazel"])
def test_every_sign_has_its_own_words_on_round_page_and_screen(of_day, sign, who, judged):
    logs = {"signs": f"who,seen_at,sign\n{who},2026-05-20,{sign}\n"}
    today = of_day(hatched("K1", "2026-05-05"), mornings("K1", 20, 22, 24), **logs)
    own = signs_of([sign], "chick" if who == "K1" else "bird")[0]
    words = (
        OWN_WORDS[sign]
        if who == "K1" or sign in AT_ONCE - {"panting", "breathing hard", "burn"}
        else in_words(own.now)[1:40]
    )
    document = {row[0]: row[2] for row in round_document(today)["read"]}
    page = dict(as_read(attention(today, judged(today.season))))
    for where in (said(today), document, page):
        assert flat(words) in flat(where[who]), sign
    if who == "K1":
        screen = " ".join(sentence for _, sentence in as_read(how_it_stands(today.growth, "K1", today.of("K1"))))
        assert flat(words) in flat(screen)
    if sign in AT_ONCE:
        assert "at once" in flat(said(today)[who])
        assert "veterinarian, today" not in said(today)[who]


def test_of_those_that_warm_nobody_says_it_of_a_hot_chick():
    for sign in SIGNS:
        if sign not in GOOD_SIGNS:
            asked = findings_of("panting", sign)
            assert not re.search("keep it warm|warm it slowly|warm and", asked, re.IGNORECASE), sign


def findings_of(*signs):
    from analysis.season import asked_by

    return in_words(asked_by(signs_of(signs, "chick")))


def test_every_row_of_the_table_says_how_soon_where_from_and_defers():
    table = tomllib.loads((ROOT / "analysis" / "season" / "signs.toml").read_text(encoding="utf-8"))
    kinds = [(name, of, row) for name, rows in table.items() for of, row in rows.items()]
    assert set(OWN_WORDS) == {sign for sign in SIGNS if sign not in GOOD_SIGNS} <= {name for name, _, _ in kinds}
    also = [word for _, _, row in kinds for word in row.get("also", ())]
    assert [word for word in also if choice_meant(word, SIGNS)] == []  # else it stands in two tables
    for name, of, row in kinds:
        assert row["mark"] in ("read", "practice", "memory"), name
        assert row["source"], name
        assert "veterinarian" in say(f"signs.{name.replace(' ', '-')}-{of}"), (name, of)


def test_every_sign_and_every_row_of_the_table_is_said_and_nothing_else():
    table = tomllib.loads((ROOT / "analysis" / "season" / "signs.toml").read_text(encoding="utf-8"))
    names = {name.replace(" ", "-") for name in (*table, *SIGNS) if name != "unknown"}
    asked = {f"{name.replace(' ', '-')}-{of}": row for name, rows in table.items() for of, row in rows.items()}
    parts = {f"{code}-{part}" for code, row in asked.items() for part in ("warmth", "alone") if row.get(part)}
    assert set(sentences("signs")) == names | set(asked) | {f"{code}-never" for code in asked} | parts
    assert [sign for sign in (*SIGNS, *table, "looks odd") if in_words(sign_words(sign)) != sign] == []


def test_a_crooked_leg_and_a_tick_of_air_starve_nobody(of_day):
    weights = mornings("K1", 20, 22, 24)
    for sign, most in (("splayed leg", 2.4), ("crooked beak", 2.4), ("air in the crop", 1.9)):
        logs = {"signs": f"who,seen_at,sign\nK1,2026-05-20,{sign}\n"}
        row = chick(of_day(hatched("K1", "2026-05-05"), weights, **logs))
        assert row["high_ml"] == pytest.approx(most), sign
        assert row["times"], sign


def test_a_word_that_nobody_knows_is_taken_seriously(of_day):
    logs = {"signs": "who,seen_at,sign\nK1,2026-05-20,looks odd\n"}
    today = of_day(hatched("K1", "2026-05-05"), mornings("K1", 20, 22, 24), **logs)
    assert "Looks odd, seen 20 May 2026" in said(today)["K1"]
    assert "avian veterinarian" in said(today)["K1"]
    assert pd.isna(chick(today)["high_ml"])


# -- 5: stalled, warm, empty


def test_a_warm_begging_chick_with_an_empty_crop_is_not_starved_until_somebody_has_seen_it(of_day):
    today = of_day(hatched("K1", "2026-05-01"), mornings("K1", 40, 40, 40, crop="empty"))
    assert "usual feed goes on while you reach the veterinarian, never more" in said(today)["K1"]
    assert "Cold, dull, not begging, or with food left: nothing" in said(today)["K1"]
    assert rows_as_read(round_rows(today))["times"].item() == "or as usual: read first"
    cold = of_day(
        hatched("K1", "2026-05-01"), mornings("K1", 40, 40, 40), signs="who,seen_at,sign\nK1,2026-05-20,cold\n"
    )
    assert "usual feed" not in said(cold)["K1"]
    assert "never fed" in chick(cold)["why"]


# -- 6: hot and oversized feeds


def fed(row):
    return f"fed_at,who,food,amount,temperature\n{row}\n"


@pytest.mark.parametrize("value", [110, 112, 120])
def test_a_feed_in_the_other_unit_that_burns_is_asked_about(of_day, value):
    today = of_day(
        hatched("K1", "2026-05-05"), mornings("K1", 22, 24), feeds=fed(f"2026-05-20 07:00,K1,formula,2,{value}")
    )
    assert f"{value} is written" in said(today)["K1"]
    assert f"{(value - 32) / 1.8:.1f} °C" in said(today)["K1"]


def test_a_feed_in_the_other_unit_that_does_not_burn_is_left_to_the_check(of_day):
    today = of_day(hatched("K1", "2026-05-05"), mornings("K1", 22, 24), feeds=fed("2026-05-20 07:00,K1,formula,2,104"))
    assert read_first(today) == []


def test_no_setting_makes_hot_food_safe(of_day):
    feeds = fed("2026-05-20 07:00,K1,formula,2,45")
    today = of_day(hatched("K1", "2026-05-05"), mornings("K1", 22, 24), feeds=feeds, settings="formula_burn_c,60\n")
    assert "45.0 °C is written" in said(today)["K1"]
    assert "at once" not in said(today)["K1"]
    assert "veterinarian, now" in said(today)["K1"]


@pytest.mark.parametrize(("ml", "read"), [(30, True), (3, True), (2.4, False), (2.8, False)])
def test_a_feed_far_over_the_most_is_spoken_of(of_day, ml, read):
    today = of_day(
        hatched("K1", "2026-05-05"), mornings("K1", 22, 24), feeds=fed(f"2026-05-20 07:00,K1,formula,{ml},40")
    )
    assert ("K1" in said(today)) == read
    if read:
        assert f"{ml} ml is written at 07:00 for a chick of 24 g" in said(today)["K1"]
        assert "2.4 ml" in said(today)["K1"]


# -- 8: the day of hatch


def test_a_hatchlings_first_hours_have_an_end(of_day):
    today = of_day(hatched("K1", "2026-05-20 02:40"))
    row = rows_as_read(round_rows(today)).iloc[0]
    assert (row["give"], row["times"]) == ("no amount", "none; ask from 14:40")
    told = dict(as_read(before_feeding(today)))["Hatchlings"]
    for words in ("Between 12 and 24 hours after hatching ask", "fluid", "through the night"):
        assert words in told
    for at, times in (
        ("2026-05-19 23:30", "none; ask from 11:30"),  # hours, not days: the calendar's yesterday
        ("2026-05-19 10:00", "first feed: ask now"),
        ("2026-05-19 05:00", "every 2 h, nights too"),
        ("2026-05-19", "hour not known: ask first"),
    ):
        assert rows_as_read(round_rows(of_day(hatched("K1", at))))["times"].item() == times, at
    assert "Hatchlings" not in dict(as_read(before_feeding(of_day(hatched("K1", "2026-05-10")))))


def test_what_the_crop_decides_and_the_humidity_are_on_the_printed_round(of_day):
    printed = dict(tuple(item) for item in round_document(of_day(hatched("K1", "2026-05-10")))["before"])
    assert printed["The crop"].startswith("The crop decides when")
    assert "Humidity: 55 to 70 %" in printed["Brooder"]


def test_nobody_without_an_amount_lacks_a_reason(of_day):
    today = of_day(hatched("K1", "2026-05-19") + hatched("K2", "2026-05-05"))
    assert {who for who, _ in as_read(no_amounts(today))} == {"K1", "K2"}


# -- two things at once, and what is over


@pytest.mark.parametrize(
    ("cell", "who", "words", "never"),
    [
        ("egg binding; panting", "Hazel", "in moist air", "Mist it"),  # panting is how an egg-bound hen looks
        ("bleeding, panting", "Hazel", "Press with clean gauze", "Mist it"),
        ("bleeding and breathing hard", "K1", "Press lightly with clean gauze", "warm"),
        ("crop not emptying, red", "K1", "Nothing is fed on top of it", "chick and brooder are warm"),
        (
            "panting and cold",
            "K1",
            "one that is hot is taken out of the heat and cooled, one that is cold",
            "Never warm it",
        ),
        ("hechelt und rot", "K1", "out of the heat", "Keep it warm"),
        ("frío y débil", "K1", "Nothing by mouth", "Mist it"),
        ("formula in the nose", "K1", "let it cough", "Mist it"),
        ("looks very cold today", "K1", "Warm it slowly", "Mist it"),
    ],
)
def test_of_two_signs_neither_takes_the_others_words(of_day, cell, who, words, never):
    logs = {"signs": f'who,seen_at,sign\n{who},2026-05-20,"{cell}"\n'}
    today = of_day(hatched("K1", "2026-05-05"), mornings("K1", 20, 22, 24), **logs)
    assert words in said(today)[who]
    assert never not in said(today)[who]
    assert ranked(today)[0][0] == 0 or "crop" in cell


def test_a_stage_within_a_sentence_silences_nothing(of_day):
    logs = {"signs": "who,seen_at,sign\nK1,2026-05-20,brooder went down in the night\n"}
    assert "Look at it closely" in said(of_day(hatched("K1", "2026-05-05"), mornings("K1", 20, 22, 24), **logs))["K1"]


@pytest.mark.parametrize(("word", "day", "over"), [("ok", 19, True), ("wieder gut", 19, True), ("ok", 17, False)])
def test_a_chick_that_is_well_again_is_fed(of_day, word, day, over):
    logs = {"signs": f"who,seen_at,sign\nK1,2026-05-18,cold\nK1,2026-05-{day},{word}\n"}
    today = of_day(hatched("K1", "2026-05-05"), mornings("K1", 20, 22, 24), **logs)
    assert ("K1" not in said(today)) == over
    assert pd.notna(chick(today)["high_ml"]) == over


def test_each_sign_has_its_own_day(of_day):
    logs = {"signs": "who,seen_at,sign\nK1,2026-05-18,not begging\nK1,2026-05-20,swelling\n"}
    today = of_day(hatched("K1", "2026-05-05"), mornings("K1", 20, 22, 24), **logs)
    assert "Not begging, seen 18 May 2026; swelling, seen 20 May 2026." in said(today)["K1"]


@pytest.mark.parametrize("undone", ["begging again", "not eating"])
def test_one_nibble_starves_nobody(of_day, undone):
    eaten = "who,seen_at,sign\nK1,2026-05-12,eating alone\n"
    weights = mornings("K1", 78, 79, 80)
    old, young = "2026-04-08", "2026-04-25"  # it weans from day 40
    assert chick(of_day(hatched("K1", old), weights, signs=eaten))["high_ml"] < 4
    assert chick(of_day(hatched("K1", young), weights, signs=eaten))["high_ml"] == 8.0
    later = of_day(hatched("K1", old), weights, signs=f"{eaten}K1,2026-05-16,{undone}\n")
    assert chick(later)["high_ml"] == 8.0


def test_where_a_stage_is_not_sure_the_youngest_decides_what_is_too_cold(of_day):
    rows = hatched("K1", "2026-05-08", brooder="b1") + hatched("K2", "2026-05-18", brooder="b1")
    today = of_day(rows, species="zebra finch", readings=read_at(26, "b1"))
    assert "too cold for" in said(today)["b1"]
    both = of_day(hatched("K1", "2026-05-17") + hatched("K2", "2026-05-17"))
    assert "28 °C." not in dict(as_read(before_feeding(both)))["Brooder"]


def test_a_box_that_a_hatchling_needs_warm_is_not_turned_down(of_day):
    rows = hatched("K1", "2026-05-19", brooder="box") + hatched("K2", "2026-04-25", brooder="box")
    signs = "who,seen_at,sign\nK2,2026-05-10,pins\n"
    found = said(of_day(rows, readings=read_at(34.0, "box"), signs=signs))["box"]
    assert "Move K2 out to a cooler place now" in found
    assert "Turn it down" not in found
    assert "K1 may need" in found
    far = of_day(rows, readings=read_at(38.0, "box"), signs=signs)
    assert ranked(far)[0][:2] == (0, "box")


def test_a_chick_in_a_hot_box_is_not_kept_warm(of_day):
    rows = hatched("K1", "2026-05-05", brooder="brooder")
    today = of_day(rows, mornings("K1", 30, 30, 24), readings=read_at(39.2))
    assert "neither cold nor hot" in said(today)["K1"]
    assert "warm and quiet" not in said(today)["K1"]


def test_a_finch_has_no_hours_of_a_parrot(of_day):
    today = of_day(hatched("K1", "2026-05-08"), mornings("K1", 8, 8.5, 9), species="zebra finch")
    assert rows_as_read(round_rows(today))["times"].item() == "finch: more often, ask"


def test_a_weaned_chick_that_goes_light_is_read_of(open_logs):
    hatches = "pair,egg,hatched_at,chick,reared_by,weaned_on\nP1,1,2026-04-01,K1,hand,2026-05-17\n"
    for masses, read in (((94, 93, 90, 85, 80, 74), True), ((94, 93, 92, 91, 90, 89), False)):
        weights = f"chick,weighed_at,weight,crop\n{mornings('K1', *masses)}"
        season = open_logs(hatches=hatches, weights=weights, settings="setting,value\nseason,2026\n")
        assert ("back to feeding by hand" in said(round_of(season, ON)).get("K1", "")) == read
