"""Species in ordinary words: one name a species, shared words and unknown ones asked about, the keeper's days first."""

import pandas as pd
import pytest

from analysis import open_season
from analysis.chicks.feeding import FINCH, with_amounts
from analysis.day.due import due_on
from analysis.eggs.hatch_days import expected_eggs
from analysis.say import in_words
from analysis.season.species import (
    all_species,
    name_keys,
    shared_words,
    species_asked,
    species_facts,
    species_kind,
    window_held,
)
from support import codes

HATCHES = "pair,egg,laid_on,set_on,chick,hatched_at,outcome\n"


def test_a_name_leads_to_one_species_alone():
    leads = {}
    for facts in all_species():
        assert all(species_facts(name) is facts for name in (facts.name, *facts.names)), facts.name
        for name in (facts.name, *facts.names):
            for key in name_keys(name):
                assert leads.setdefault(key, facts.name) == facts.name, name
    shared = {key for word in shared_words() for key in name_keys(word)}
    assert shared & set(leads) == set()


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("African grey", "grey parrot"),
        ("AFRICAN GRAY", "grey parrot"),
        ("budgie", "budgerigar"),
        (" Budgies ", "budgerigar"),
        ("Wellensittiche", "budgerigar"),
        ("periquitos", "budgerigar"),
        ("perruches ondulées", "budgerigar"),
        ("blue and gold macaw", "blue-and-gold macaw"),
        ("Blue & gold macaws", "blue-and-gold macaw"),
        ("rosy-faced lovebird", "peach-faced lovebird"),
        ("Agapornis roseicollis", "peach-faced lovebird"),
        ("A. roseicollis", "peach-faced lovebird"),
        ("blue-fronted amazon", "blue-fronted amazon"),
        ("black-headed caique", "black-headed caique"),
        ("eastern rosella", "eastern rosella"),
        ("zebra finches", "zebra finch"),
        ("Zebrafinken", "zebra finch"),
        ("diamants mandarins", "zebra finch"),
        ("canaries", "canary"),
        ("Fife canary", "canary"),
        ("Red factor canaries", "canary"),
        ("Kanarienvögel", "canary"),
        ("canários", "canary"),
        ("Bourkes", "Bourke's parrot"),
        ("Bourke’s parrot", "Bourke's parrot"),
        ("ring necked parakeet", "ring-necked parakeet"),
        ("Wellensittich", "budgerigar"),
        ("Nymphen Sittich", "cockatiel"),
        ("calopsitas", "cockatiel"),
        ("valkparkieten", "cockatiel"),
        ("Rosenkopfchen", "peach-faced lovebird"),
        ("Rosenkoepfchen", "peach-faced lovebird"),
        ("Graupapageien", "grey parrot"),
    ],
)
def test_case_plural_language_and_everyday_names_are_met(written, name):
    assert species_facts(written).name == name


@pytest.mark.parametrize(
    "written", ["", "parakeet", "macaw", "unicorn", "s", "es", "conures", "Lovebird", "finches", "Sittiche", "amazons"]
)
def test_a_name_of_several_birds_or_none_is_not_met(written):
    assert species_facts(written) is None


def test_a_word_that_several_share_says_what_it_may_be():
    assert species_asked("Conures") == ("green-cheeked conure", "sun conure")
    assert species_asked("inséparables") == ("peach-faced lovebird", "Fischer's lovebird", "masked lovebird")
    assert species_asked("sun conure") == species_asked("unicorn") == ()
    assert (species_kind("finch"), species_kind("Zebrafinken"), species_kind("unicorn")) == ("finch", "finch", "")
    chick = {"species": "finches", "age_d": 8.0, "eats": False, "cold": False, "food_left": False, "unwell": False}
    chick |= {
        "flagged": False,
        "less": False,
        "slow": False,
        "today_g": 6.0,
        "last_g": 6.0,
        "last_on": pd.NaT,
        "weigh_again": "",
    }
    fed = with_amounts(pd.DataFrame([chick | {"sure_to_days": 0.0}]), pd.Timestamp("2026-05-01"))
    assert fed["times"].tolist() == [FINCH]  # one alike with every finch of the table


# -- in a season


EIGHT = {
    "P1": "Budgies",
    "P2": "Zebra Finch",
    "P3": "Agapornis roseicollis",
    "P4": "Nymphensittich",
    "P5": "canarios",
    "P6": "GOULDIAN FINCHES",
    "P7": "perruche de Bourke",
    "P8": "valkparkieten",
    "P9": "periquito",
}


def days_due(season, until_d=28):
    """On which days after 1 April each thing is due, by what it is and by the name of the egg or chick."""
    due = {what: {} for what in ("candle", "may hatch", "may pip", "ring", "wean")}
    for day in range(1, until_d):
        for one in due_on(season, pd.Timestamp("2026-04-01") + pd.Timedelta(days=day)).itertuples():
            for name in one.who:
                due.setdefault(one.what, {}).setdefault(name, []).append(day)
    return due


@pytest.mark.slow
def test_a_folder_in_ordinary_words_needs_no_species_log(open_logs):
    pairs = "pair,species\n" + "".join(f"{pair},{species}\n" for pair, species in EIGHT.items())
    eggs = "".join(f"{pair},E{pair},2026-04-01,2026-04-01,,,\n" for pair in EIGHT)
    young = "".join(f"{pair},,,,K{pair},2026-04-01,\n" for pair in EIGHT)
    season = open_logs(pairs=pairs, hatches=HATCHES + eggs + young)
    assert season.logs["species"].empty
    assert {"no-days-known", "which-species", "unknown-name"} & set(codes(season)) == set()
    due = days_due(season, 50)
    for pair, species in EIGHT.items():
        facts = species_facts(species)
        candle, ring, wean = (facts.days(what) for what in ("candle", "ring", "wean"))
        assert due["candle"][f"E{pair}"][0] == candle.low, species
        assert (due["ring"][f"K{pair}"][0], due["ring"][f"K{pair}"][-1]) == (ring.low, ring.high + 3), species
        assert due["wean"][f"K{pair}"][0] == wean.low, species
        hatch = facts.days("incubation")
        assert set(due["may hatch"][f"E{pair}"]) & set(range(int(hatch.low), int(hatch.high) + 1)), species
        assert due["may pip"][f"E{pair}"], species
    assert due["ring"]["KP1"] == due["ring"]["KP9"]
    assert due["wean"]["KP4"] == due["wean"]["KP8"]


def test_spellings_of_one_species_are_one_and_it_is_said(open_logs):
    pairs = "pair,species\nP1,Budgie\nP2,budgies\nP3,Budgerigar\nP4,Wellensittich\nP5,cockatiel\n"
    hatches = "pair,chick,species,hatched_at\nP1,K1,,2026-04-01\nP3,K3,,2026-04-01\n,K5,PERIQUITOS,2026-04-01\n"
    season = open_logs(pairs=pairs, hatches=hatches, birds="bird,species\nJo,Budgerigars\n")
    assert season.pairs["species"].tolist() == ["Budgie"] * 4 + ["cockatiel"]
    assert season.chicks["species"].unique().tolist() == ["Budgie"]
    assert season.logs["birds"]["species"].tolist() == ["Budgie"]
    said = [in_words(one) for one in season.understood]
    assert "species: Budgie, budgies, Wellensittich, PERIQUITOS, Budgerigars → budgerigar" in said
    plain = open_logs(pairs="pair,species\nP1,Cockatiel\n", hatches="pair,egg\nP1,1\n", birds="bird\n")
    assert not [one for one in map(in_words, (*plain.assumed, *plain.understood)) if "species" in one]


def test_a_species_has_one_name_in_joined_seasons_too(write_logs):
    young = "pair,chick,hatched_at\nP1,K1,{}-04-01\n"
    settings = "setting,value\nseason,{}\n"
    logs = {"pairs": "pair,species\nP1,Wellensittiche\n", "hatches": young.format(2025)}
    earlier = write_logs(**logs, settings=settings.format(2025))
    earlier = earlier.rename(earlier.with_name("earlier"))
    now = write_logs(pairs="pair,species\nP1,budgie\n", hatches=young.format(2026), settings=settings.format(2026))
    season = open_season(now, earlier=[earlier])
    assert [one.chicks["species"].tolist() for one in (season, *season.earlier)] == [["budgie"], ["budgie"]]


def test_a_shared_word_is_asked_about_once_and_gives_no_days(open_logs):
    pairs = "pair,species\nP1,conure\nP2,Conures\nP3,blue lovebird\n"
    eggs = "".join(f"P{n},E{n},2026-04-01,2026-04-01,,,\n" for n in (1, 2, 3))
    season = open_logs(pairs=pairs, hatches=HATCHES + eggs)
    problems = season.problems[season.problems["code"] == "which-species"]
    assert problems["value"].tolist() == ["conure", "blue lovebird"]
    advice = problems["advice"].tolist()
    assert advice[0].startswith("Which one is it: green-cheeked conure, sun conure, or another?")
    assert "One row for conure in the log species would do as well: incubation_d for the eggs" in advice[0]
    assert "peach-faced lovebird, Fischer's lovebird, masked lovebird" in advice[1]
    due = days_due(season)
    assert due["may hatch"] == due["may pip"] == {}
    assert due["candle"].keys() == {"E1", "E2", "E3"}  # that holds for any bird


def test_an_unknown_species_is_said_once_with_what_one_row_would_switch_on(open_logs):
    pairs = "pair,species\nP1,night parrot\nP2,Night Parrots\n"
    chicks = f"{HATCHES}P1,,,,K1,2026-04-01,\nP2,,,,K2,2026-04-01,\n"
    season = open_logs(pairs=pairs, hatches=chicks)
    (advice,) = season.problems.loc[season.problems["code"] == "no-days-known", "advice"]
    for word in ("pipping, hatching or overdue", "ringing or weaning", "incubation_d", "ring_from_d", "wean_from_d"):
        assert word in advice, word
    row = "species,incubation_d,ring_from_d,ring_to_d,wean_from_d,wean_to_d\nnight parrot,22,9,12,40,50\n"
    known = open_logs(pairs=pairs, hatches=chicks, species=row)
    assert "no-days-known" not in codes(known)
    due = days_due(known, 42)
    assert (due["ring"]["K2"][0], due["wean"]["K1"][0]) == (9, 40)


@pytest.mark.parametrize(
    ("written", "near"),
    [("cockateil", "cockatiel"), ("lutino cockatiels", "cockatiel"), ("Budgerigarr", "budgerigar"), ("unicorn", "")],
)
def test_a_slip_is_asked_about_and_never_guessed(open_logs, written, near):
    season = open_logs(pairs=f"pair,species\nP1,{written}\n", hatches="pair,egg\nP1,1\n")
    (advice,) = season.problems.loc[season.problems["code"] == "no-days-known", "advice"]
    assert (f"Did you mean {near}?" in advice) == bool(near)
    assert season.pairs["species"].tolist() == [written]


def test_the_keepers_own_row_wins_in_any_spelling_and_a_contradiction_is_said(open_logs):
    row = "species,incubation_d,ring_from_d,ring_to_d,pip_from_h,pip_to_h\nCockatiels,25,8,11,20,30\n"
    hatches = f"{HATCHES}P1,E1,2026-04-01,2026-04-01,,,\nP1,,,,K1,2026-04-01,\n"
    season = open_logs(pairs="pair,species\nP1,Nymphensittich\n", hatches=hatches, species=row)
    held = {what: window_held(season.logs["species"], "cockatiel", what) for what in ("ring", "pip_to_hatch", "wean")}
    assert (held["ring"][:2], held["pip_to_hatch"][:2]) == ((8, 11), (20, 30))
    assert [in_words(one.source) for one in held.values()] == ["your species log"] * 2 + ["breeders' texts"]
    assert 25 in days_due(season)["may hatch"]["E1"]
    said = next(one for one in map(in_words, season.assumed) if one.startswith("Your species log goes before"))
    assert said.endswith("Nymphensittich, days of incubation: yours 25, read 18–21.")


def test_two_rows_of_one_species_are_said_and_the_first_holds(open_logs):
    row = "species,ring_from_d,ring_to_d\nbudgie,6,7\nWellensittich,9,10\n"
    season = open_logs(
        pairs="pair,species\nP1,budgie\n", hatches="pair,chick,hatched_at\nP1,K1,2026-04-01\n", species=row
    )
    assert window_held(season.logs["species"], "budgie", "ring")[:2] == (6, 7)
    (problem,) = season.problems[season.problems["file"] == "species.csv"].to_dict("records")
    assert (problem["row"], problem["code"], problem["severity"]) == (3, "name-used-twice", "not used")


def test_hours_from_pip_to_hatch_of_the_keepers_own_move_the_pip(open_logs):
    def pips_on(species):
        season = open_logs(
            pairs="pair,species\nP1,cockatiels\n", hatches=f"{HATCHES}P1,E1,,2026-04-01,,,\n", species=species
        )
        (egg,) = expected_eggs(season).to_dict("records")
        return (egg["hatch_low_on"] - egg["external_low_on"]).days, egg["hatch_low_on"]

    read, hatch = pips_on("species\n")
    own, same_hatch = pips_on("species,pip_from_h,pip_to_h\ncockatiel,20,30\n")
    assert (read, own, hatch) == (3, 1, same_hatch)  # 24 to 72 hours, and about a day


def test_a_ring_that_is_only_remembered_has_no_width_printed(open_logs):
    hatches = "pair,chick,hatched_at\nP1,K1,2026-04-01\nP2,K2,2026-04-01\n"
    season = open_logs(pairs="pair,species\nP1,Senegal parrots\nP2,Meyer's parrot\n", hatches=hatches)
    due = due_on(season, "2026-04-16").set_index("names")["reason"]
    assert "7.5 mm wide by your ring society's list" in due["K1"]
    assert "mm" not in due["K2"]
    remembered = open_logs(pairs="pair,species\nP1,galah\nP2,galah\n", hatches=hatches)
    due = due_on(remembered, "2026-04-16")
    reasons = due.loc[due["what"] == "ring", "reason"].tolist()
    assert ["remembered, not read: check it" in one for one in reasons] == [True, True]
