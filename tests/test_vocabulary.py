"""Keepers' words in five languages, walked through real folders: who rears, where, what is fed, what was seen."""

import pandas as pd
import pytest

from analysis.logs import GOOD_SIGNS, STAGES, write_blank_logs
from analysis.logs.headings import choice_meant, column_named
from analysis.logs.tables import LOGS, SIGNS
from analysis.nursery.who import in_the_nursery

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
    assert (chick["signs"], chick["eats"]) == (seen, eats)


def test_every_blank_log_has_the_brooder(tmp_path):
    write_blank_logs(tmp_path / "new", every=True)
    assert "brooder" in (tmp_path / "new" / "hatches.csv").read_text(encoding="utf-8-sig").splitlines()[0].split(",")
