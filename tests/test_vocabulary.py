"""Keepers' words in five languages, walked through real folders: who rears, where, what is fed, what was seen."""

import tomllib
from pathlib import Path

import pandas as pd
import pytest

from analysis.chapters.growth import outside_tables
from analysis.check.summary import check_text
from analysis.chicks.fed import chick_row, feeding_history, taken_on
from analysis.chicks.in_the_nursery import in_the_nursery
from analysis.chicks.of_season import Chicks
from analysis.day.preparation import before_feeding
from analysis.day.round import round_of
from analysis.logs import GOOD_SIGNS, STAGES, headings, write_blank_logs
from analysis.logs.headings import choice_meant, column_named
from analysis.logs.tables import LOGS, OUTCOMES, SIGNS
from analysis.rates import clutch_counts, stage_rates
from analysis.season import chick_spans, vocabulary
from support import as_read, codes, read_first


def split(lists):
    return [phrase.strip() for line in lists for phrase in line.split(",")]


HEAD = "pair,clutch,hatched_at,chick,reared_by,brooder\n"


@pytest.mark.parametrize(
    ("sign", "words"),
    [
        ("splayed leg", "spraddle legs | Spreizbein | pattes écartées | patas abiertas | spreidpoten"),
        ("bleeding", "bleeds | blutet | saigne | sangra | bloedt"),
        ("vomiting", "vomits | erbricht | vomit | vomita | braakt"),
        ("burn", "crop burn | Verbrühung | brûlure | quemadura | verbranding"),
        ("red skin", "dry red skin | rote Haut | peau rouge | piel roja | rode huid"),
        ("tight ring", "ring too tight | Ring zu eng | bague trop serrée | anilla muy apretada | ring te strak"),
        ("crooked beak", "scissor beak | Scherenschnabel | bec croisé | pico torcido | scheve snavel"),
        ("panting", "overheated | hechelt | halète | jadea | hijgt"),
        ("down", "downy | Daunen | en duvet | plumón | dons"),
        ("pins", "pin feathers | Federkiele | en tuyaux | cañones | pennen"),
        ("feathered", "fully feathered | befiedert | emplumé | emplumado | bevederd"),
    ],
)
def test_signs_in_five_languages(sign, words):
    assert {choice_meant(word, SIGNS) for word in (sign, *words.split(" | "))} == {sign}


def test_the_stage_of_feathers_is_no_alarm():
    assert set(STAGES) < set(GOOD_SIGNS) < set(SIGNS)


@pytest.mark.parametrize("heading", ["brooder", "Which brooder", "Aufzuchtbox", "éleveuse", "criadora", "kunstmoeder"])
def test_the_brooder_in_five_languages(heading):
    assert column_named(heading, LOGS["hatches"]) == ("brooder", "")


@pytest.mark.parametrize(
    ("reared_by", "written", "moved", "brooder"),
    [
        ("hand", "B1", "", "B1"),
        ("hand", "", "", ""),
        ("Brooder 2", "", "", "Brooder 2"),
        ("Brooder 2", "B1", "", "B1"),
        ("hand", "B1", "brooder 2", "brooder 2"),
        ("", "", "Wärmebox 2", "Wärmebox 2"),
        ("hand", "B1", "B9", "B9"),  # another chick's brooder
        ("hand", "B1", "brooder", "B1"),  # which of them, the word alone does not say
        ("hand", "B1", "hand", "B1"),
        ("hand", "B1", "P2", ""),
    ],
)
def test_which_brooder_a_chick_is_in(open_logs, reared_by, written, moved, brooder):
    season = open_logs(
        pairs="pair,species\nP1,cockatiel\nP2,cockatiel\n",
        hatches=f"{HEAD}P1,1,2026-05-01,K1,{reared_by},{written}\nP1,1,2026-05-01,K2,hand,B9\n",
        moves=f"what,on,to\nK1,2026-05-03,{moved}\n" if moved else "what,on,to\n",
    )
    assert season.chicks.set_index("chick").loc["K1", "brooder"] == brooder


@pytest.mark.parametrize(
    ("sign", "seen", "eats"), [("down", (), False), ("eats alone", (), True), ("burn", ("burn",), False)]
)
def test_a_stage_is_neither_amiss_nor_eating(open_logs, sign, seen, eats):
    season = open_logs(
        hatches=f"{HEAD}P1,1,2026-05-01,K1,hand,\n",
        signs=f"who,seen_at,sign\nK1,2026-05-05,{sign}\n",
    )
    chick = in_the_nursery(season, pd.Timestamp("2026-05-05")).iloc[0]
    assert (tuple(dict(chick["signs"])), chick["eats"]) == (seen, eats)


def test_every_blank_log_has_the_brooder(tmp_path):
    write_blank_logs(tmp_path / "new", every=True)
    assert "brooder" in (tmp_path / "new" / "hatches.csv").read_text(encoding="utf-8-sig").splitlines()[0].split(",")


# -- who rears

HAND_WORDS = [
    word for lists in (vocabulary.HAND_WORDS, vocabulary.BROODERS, vocabulary.INCUBATORS) for word in split(lists)
]
AS_WRITTEN = [
    *("hand", "Hand", "hand-fed", "brooder", "hand reared", "me", "HAND-REARED", "by hand", "pulled for handfeeding"),
    *("Handaufzucht", "von Hand", "HZ", "Schlüpfbrüter", "Schluepfbrueter", "ich", "Brutkasten 2", "Brooder2"),
    *("à la main", "Élevé à la main", "E.A.M.", "couveuse", "moi-même", "éleveuse n° 1"),
    *("a mano", "criado a mano", "papillero", "Incubadora", "con jeringa", "yo"),
    *("handopfok", "met de hand", "broedmachine", "ik"),
    *("parents, then hand", "Eltern bis Tag 14, dann Hand"),
]


def of_words(open_logs, words, **logs):
    """A season with one chick a word in `reared_by`, all laid by P1 and weighed three times."""
    chicks = {f"K{number}": word for number, word in enumerate(words, 1)}
    rows = "".join(f'P1,1,2026-05-01,{chick},"{word}",\n' for chick, word in chicks.items())
    days = ("2026-05-10,30", "2026-05-11,33", "2026-05-12,36")
    weights = "".join(f"{chick},{day}\n" for chick in chicks for day in days)
    pairs = "pair,species,cage\nP1,cockatiel,C1\nP2,cockatiel,C2\n"
    logs = {"pairs": pairs, "hatches": HEAD + rows, "weights": "chick,weighed_at,weight\n" + weights} | logs
    return open_logs(**logs)


@pytest.mark.parametrize("words", [HAND_WORDS, AS_WRITTEN, split(vocabulary.ME)], ids=["lists", "as written", "me"])
def test_every_word_for_the_hand_is_by_hand_everywhere(open_logs, words):
    season = of_words(open_logs, words)
    chicks = season.chicks
    assert chicks.loc[~chicks["by_hand"], "chick"].map(dict(zip(chicks["chick"], words, strict=True))).tolist() == []
    assert set(chicks["reared_by"]) == {"hand"}
    assert set(chicks["rearer_asked"]) == {""}
    assert "who-rears" not in codes(season)
    assert set(Chicks.of(season).weights["kind"]) == {"cockatiel, by hand"}
    today = round_of(season)
    assert set(today.chicks["chick"]) == set(chicks["chick"])
    assert set(chick_spans(season)["nest"]) == {"P1"}
    assert stage_rates(clutch_counts(season.eggs, season.clutches), chicks, by="reared_by")[
        "name"
    ].unique().tolist() == ["hand"]


def test_words_for_the_parents_are_the_pair_that_laid(open_logs):
    words = [*split(vocabulary.PARENTS), "Parents", "their own parents", "by the pair", "los padres", "Eltern", ""]
    words += ["mom and dad", "both parents", "EPP", "die Altvögel", "ella misma", "beide ouders"]
    rows = (f"P1,1,{n},hatched,2026-05-01,K{n},{word},{word}\n" for n, word in enumerate(words, 1))
    hatches = "pair,clutch,egg,outcome,hatched_at,chick,reared_by,incubated_by\n" + "".join(rows)
    counted = "pair,clutch,eggs,incubated_by\nP2,1,3,Eltern\n"
    season = of_words(
        open_logs, [], hatches=hatches, clutches=counted, weights="chick,weighed_at,weight\nK1,2026-05-10,30\n"
    )
    assert set(season.chicks["reared_by"]) == {"P1"}
    assert not season.chicks["by_hand"].any()
    assert set(season.eggs["incubated_by"]) == {"P1"}
    assert season.clutches["incubated_by"].tolist() == ["P2"]
    assert not {"who-rears", "unknown-name"} & set(codes(season))
    assert Chicks.of(season).weights["kind"].tolist() == ["cockatiel, by parents"]
    assert round_of(season).chicks.empty


NEITHER = [
    "granny",
    "Shand",
    "P99",
    "foster parents",
    "not by hand",
    "ohne Hand",
    "us budgies",
    "main",
    "Handel",
    "pair 3",
]


@pytest.mark.parametrize("word", NEITHER)
def test_a_word_that_is_neither_is_asked_about_once(open_logs, word):
    season = of_words(open_logs, [word, word.upper(), "hand"])
    asked = season.chicks.set_index("chick")
    assert asked["reared_by"].tolist() == ["", "", "hand"]
    assert asked["rearer_asked"].tolist() == [word, word.upper(), ""]
    said = season.problems[season.problems["code"] == "who-rears"]
    assert said[["row", "column", "severity", "value"]].values.tolist() == [[2, "reared_by", "look at this", word]]
    assert "nobody is credited with K1 and K2" in said["advice"].item()
    assert f'"{word}" Who feeds this chick?' in check_text(season)
    kinds = Chicks.of(season).weights.drop_duplicates("chick").set_index("chick")["kind"]
    assert kinds.tolist() == ["cockatiel, by whom is asked"] * 2 + ["cockatiel, by hand"]
    today = round_of(season)
    assert today.chicks["chick"].tolist() == ["K3"]
    asks = [(who, said) for who, about, said in read_first(today) if about == "who feeds?"]
    assert [who for who, _ in asks] == ["K1 and K2"]
    assert f"“{word}” is no pair" in asks[0][1]


def test_pairs_and_their_cages_and_rooms_are_no_hand(open_logs):
    cages = "cage,room\nC1,birdroom\nC2,birdroom\nF1,shed\nincubator A,kitchen\n"
    season = of_words(open_logs, ["P2", "p2", "C2", "F1", "shed", "kitchen", "birdroom"], cages=cages)
    chicks = season.chicks.set_index("chick")
    assert chicks["reared_by"].tolist() == ["P2", "P2", "C2", "hand", "hand", "hand", ""]
    assert chicks["brooder"].tolist() == ["", "", "", "F1", "shed", "kitchen", ""]
    assert chicks["rearer_asked"].tolist() == [""] * 6 + ["birdroom"]


def test_a_pair_bears_any_name(open_logs):
    season = of_words(open_logs, ["Hand", "self"], pairs="pair,species\nP1,cockatiel\nhand,cockatiel\nSelf,cockatiel\n")
    assert season.chicks["reared_by"].tolist() == ["hand", "Self"]
    assert season.chicks["by_hand"].tolist() == [False, False]


def test_a_move_is_read_with_the_same_words(open_logs):
    moves = "what,on,to\nK1,2026-05-05,Handaufzucht\nK2,2026-05-05,padres\nK3,2026-05-05,granny\nK4,2026-05-05,EAM\n"
    season = of_words(open_logs, ["", "hand", "", "hand"], moves=moves)
    chicks = season.chicks.set_index("chick")
    assert chicks["reared_by"].tolist() == ["hand", "P1", "", "hand"]
    assert codes(season) == ["moves-disagree", "who-rears"]
    assert season.problems.set_index("code").loc["who-rears", ["file", "column"]].tolist() == ["moves.csv", "to"]


def test_losses_are_laid_to_the_brooder_and_moves_between_brooders_are_no_new_rearer(open_logs):
    season = of_words(
        open_logs,
        ["Brooder 2", "a mano", ""],
        moves="what,on,to\nK3,2026-05-05,EAM\nK3,2026-05-08,Wärmebox 2\n",
        feeds="fed_at,food,temperature\n2026-05-06 07:00,Brei,39\n",
    )
    assert chick_spans(season)[["place", "nest"]].values.tolist() == [
        ["Brooder 2", "P1"],
        ["hand", "P1"],
        ["Wärmebox 2", "P1"],
    ]
    assert taken_on(season, chick_row(season, "K3")) == pd.Timestamp("2026-05-05")
    assert [chick for chick in ("K1", "K2", "K3") if feeding_history(season, chick).facts["foods"] != ["Brei"]] == []


@pytest.mark.parametrize(("rearing", "kinds"), [("Handaufzucht", "by hand"), ("parents", "by parents"), ("", "all")])
def test_a_table_from_outside_goes_with_its_kind(open_logs, rearing, kinds):
    table = f"species,age_d,median,rearing\ncockatiel,10,30,{rearing}\n"
    growth = Chicks.of(of_words(open_logs, ["EAM", "", "granny"], reference=table))
    found = set(outside_tables(growth)["kind"])
    all_three = {f"cockatiel, {by}" for by in ("by hand", "by parents", "by whom is asked")}
    assert found == (all_three if kinds == "all" else {f"cockatiel, {kinds}"})


@pytest.mark.parametrize(("cause", "outcome"), [("zerbrochen", "broken"), ("disparu", "missing"), ("fell", "unknown")])
def test_the_cause_of_an_eggs_loss_tells_its_outcome(open_logs, cause, outcome):
    losses = f"egg,found_on,cause\n1,2026-05-01,{cause}\n"
    season = open_logs(
        pairs="pair,species\nP1,cockatiel\n", hatches="pair,egg,laid_on\nP1,1,2026-04-20\n", losses=losses
    )
    assert season.eggs["outcome"].tolist() == [outcome]


# -- what is fed, and what stands in a cell of choices


@pytest.mark.parametrize(
    "words", [split(vocabulary.FORMULA), ["Brei", "Pâtée", "Handaufzuchtfutter", "a maker's name", ""]]
)
def test_hot_formula_is_spoken_of_whatever_it_is_called(open_logs, words):
    feeds = "".join(f'2026-05-12 {7 + n // 60:02}:{n % 60:02},"{word}",42\n' for n, word in enumerate(words))
    season = of_words(open_logs, ["hand"], feeds="fed_at,food,temperature\n" + feeds)
    assert dict(as_read(before_feeding(round_of(season))))["Read today"].count("42 °C: wait") == len(words)


def test_seed_and_greens_are_no_formula(open_logs):
    words = [*split(vocabulary.DRY_FOODS), "seed mix", "Grünfutter"]
    feeds = "".join(f"2026-05-12 07:{n:02},{word},21\n" for n, word in enumerate(words))
    season = of_words(open_logs, ["hand"], feeds="fed_at,food,temperature\n" + feeds)
    assert "Read today" not in dict(as_read(before_feeding(round_of(season))))


TABLE = tomllib.loads((Path(headings.__file__).parent / "headings.toml").read_text(encoding="utf-8"))
CHOICES = TABLE["choices"] | TABLE["signs"]
CROPS = {word: crop for crop in ("empty", "part", "full") for word in (crop, *CHOICES[crop])}


def test_every_word_for_the_crop_is_read(open_logs):
    weights = "".join(f"K{n},2026-05-12,36,{word}\n" for n, word in enumerate(CROPS, 1))
    season = of_words(open_logs, ["hand"] * len(CROPS), weights="chick,weighed_at,weight,crop\n" + weights)
    assert round_of(season).chicks.set_index("chick")["crop"].to_dict() == {
        f"K{n}": crop for n, crop in enumerate(CROPS.values(), 1)
    }


def test_every_word_for_an_outcome_is_read(open_logs):
    words = {word: outcome for outcome in OUTCOMES for word in (outcome, *CHOICES[outcome])}
    hatches = "".join(f"P1,{n},{word}\n" for n, word in enumerate(words, 1))
    season = open_logs(pairs="pair,species\nP1,cockatiel\n", hatches="pair,egg,outcome\n" + hatches)
    assert season.eggs.sort_values("row")["outcome"].tolist() == list(words.values())
    assert "unknown-choice" not in codes(season)


def test_every_word_for_a_sign_is_read(open_logs):
    words = {word: sign for sign in SIGNS for word in (sign, *CHOICES[sign])}
    signs = "".join(f"K{n},2026-05-12,{word}\n" for n, word in enumerate(words, 1))
    season = of_words(open_logs, ["hand"] * len(words), signs="who,seen_at,sign\n" + signs)
    seen = in_the_nursery(season, pd.Timestamp("2026-05-12")).set_index("chick")
    for chick, sign in zip((f"K{n}" for n in range(1, len(words) + 1)), words.values(), strict=True):
        assert tuple(dict(seen.loc[chick, "signs"])) == (() if sign in GOOD_SIGNS else (sign,)), chick
        assert seen.loc[chick, "eats"] == (sign == "eating alone"), chick


@pytest.mark.parametrize(
    ("log", "text", "column"),
    [
        ("weights", "chick,weighed_at,weight,crop\nK1,2026-05-12,36,squishy\n", "crop"),
        ("hatches", "pair,egg,hatched_at,chick,outcome\nP1,1,2026-05-01,K1,squishy\n", "outcome"),
    ],
)
def test_an_unknown_word_in_a_cell_of_choices_is_asked_about(open_logs, log, text, column):
    season = of_words(open_logs, ["hand"], **{log: text})
    asked = season.problems[season.problems["code"] == "unknown-choice"]
    assert asked[["column", "value"]].values.tolist() == [[column, "squishy"]]
    assert '"squishy" Not one of the words' in check_text(season)
