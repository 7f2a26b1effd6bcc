"""The sheets of pairs and the papers of chicks that leave: what stands on them, and what no page may say."""

import io
import re
import subprocess
from types import SimpleNamespace
from unittest.mock import patch

import pandas as pd
import pypdf
import pytest
import vl_convert
from click.testing import CliRunner

import support
from analysis import open_season
from analysis.chapters import one_chick, pair_sheet
from analysis.chapters.pair_page import PairPages, chick_notes, chicks_of
from analysis.charts.by_chick import brood_charts
from analysis.chicks.fed import feeding_handover, feeding_history
from analysis.chicks.of_season import Chicks
from analysis.cli import main
from analysis.day.round import round_of
from analysis.errors import SeasonError
from analysis.finding import found
from analysis.report.drawing import MANY, drawing
from analysis.report.sheets_and_papers import season_sheets
from analysis.report.writing import RECORD
from analysis.say import in_words
from support import DEMO, read_first, table_shown

SETTINGS = "setting,value\nseason,2026\n"
PAIRS = "pair,species,cock,hen\nP1,cockatiel,Ash,Elm\n"
HATCHES = "pair,clutch,egg,laid_on,outcome,hatched_at,chick,ring,sex,reared_by,weaned_on,left_on\n"
# What no page of this workbook says, whoever asks: that is for a veterinarian.
NEVER = r"\b(drug|dose|dosage|remed|dilut|tube.feed|massag|euthan|antibiotic|sterili)"


def words(pdf):
    return [" ".join(page.extract_text().split()) for page in pypdf.PdfReader(io.BytesIO(pdf)).pages]


def pages_of(folder, out, *chicks):
    made = season_sheets(folder, out, chicks=chicks)
    pairs, papers = (words(pdf.read_bytes()) if pdf else [] for pdf in (made.pairs, made.papers))
    return SimpleNamespace(made=made, pairs=pairs, papers=papers)


def little(write_logs, hatches="", **logs):
    return write_logs(**{"pairs": PAIRS, "settings": SETTINGS, "hatches": HATCHES + hatches} | logs)


def shown(displays):
    return "\n".join(one.text for one in displays if hasattr(one, "text"))


@pytest.fixture(scope="module")
def demo(tmp_path_factory):
    """The demo's sheets, two papers, and a chick that was lost."""
    done = []
    out = tmp_path_factory.mktemp("sheets")
    with patch("analysis.report.sheets_and_papers.open_season", lambda *_: support.demo()):  # what is judged of it
        sheets = season_sheets(DEMO, out, progress=lambda at, of, name: done.append((at, of, name)))
        made = season_sheets(DEMO, out, chicks=("kiwi", "AL26-022", "K14"))
    return SimpleNamespace(
        made=made, pairs=words(sheets.pairs.read_bytes()), papers=words(made.papers.read_bytes()), done=done
    )


# -- the sheets of the demo's pairs


def test_a_page_a_pair_in_order_of_names(demo):
    heads = [re.match(r"(Pair|Colony) P\d\d", page)[0] for page in demo.pairs]
    assert heads == [*(f"Pair P{number:02d}" for number in range(1, 14)), "Colony P14"]


@pytest.mark.parametrize(
    ("pair", "said"),
    [
        # data_demo/README.md: what is planted
        (1, "cockatiel · Bramble and Hazel · cage C1 · put up 18 November 2023"),
        (1, "Rest Fit to breed: no. 3 clutches laid this season, pulled ones counted; your own limit is 2."),
        (1, "Set aside In 2026: K39 and K40, lost together with others"),
        # counted in clutches.csv of 2024 (8 of 10 fertile, 6 hatched), hatches.csv of 2025 (8, 7) and of 2026 (15, 14)
        (1, "all seasons 7 35 31 of 35 27 of 31 12 of 12"),
        (2, "Check first Fit to breed: within your own rules (checked: her age and clutches laid)."),
        (2, "clutches laid). All 9 candled eggs were clear"),
        (2, "Sorrel's eggs showed fertile with Moss in 2025 (9 of 9)."),
        (2, "P02 of 2025 was Moss and Sorrel, not the same two birds, and is not joined."),
        (4, "Not enough to judge"),
        # full sibs: 1/4 (Wright 1922)
        (5, "Clove and Nutmeg have the same parents (Thistle and Plantain): inbreeding 0.25."),
        (9, "Set aside In 2026: its eggs that were in incubator A when it went to 38.4 °C."),
        (14, "P14 is a colony: how its birds are related cannot be told."),
    ],
)
def test_what_is_planted_stands_on_the_sheet(demo, pair, said):
    assert said in demo.pairs[pair - 1]


def test_nothing_is_likely_of_a_pair_that_cannot_be_judged(demo):
    assert [page[:80] for page in demo.pairs if "Not enough to judge" in page and "One more clutch" in page] == []
    assert "likely (95 %)" not in demo.pairs[3]
    assert "likely (95 %)" in demo.pairs[0]


def test_every_sheet_says_that_health_is_not_known(demo):
    assert [
        page[:80] for page in demo.pairs if "Whether its birds are well: that is for an avian veterinarian" not in page
    ] == []


# -- the papers


def test_a_page_a_chick_and_none_for_one_that_was_lost(demo):
    assert [page.split(" · ")[0] for page in demo.papers] == [
        "Leaving paper: K22 sun conure",
        "Leaving paper: Kiwi sun conure",
    ]
    assert demo.made.said == (found("report.no-paper", chicks=["K14"]),)
    assert demo.made.lines()[-1] == "No leaving paper for K14: lost, as the logs have it."
    assert demo.made.lines()[-1] == in_words(demo.made.said)


@pytest.mark.parametrize(
    "said",
    [
        "ring AL26-022 · from Alder Lane Aviary",
        "28 April 2026 (give or take 1 day)",
        "cock Amber, hen Ember (pair P07)",
        "Sex not known",
        "by hand, from 12 May 2026, weaned 1 July 2026.",
        "As logged, 12 May 2026 to 1 July 2026: formula; 3 feeds logged for it by name",
        "What nobody wrote down is not counted, and nothing here says what it takes now.",
        "Heaviest with no food noted in the crop: 116 g on 5 June 2026",
        "Flagged Day 22: Gained too little since day 18",
        "Its sex. The day it was ringed. Its health: no examination is in these logs.",
        "It does not guarantee health or sex and does not replace an examination.",
        "Handed over by",
        "Taken home by",
    ],
)
def test_what_was_written_of_a_chick_stands_on_its_paper(demo, said):
    assert said in demo.papers[0]


def test_what_was_not_written_is_said_to_be_not_known(demo):
    assert "no ring written" in demo.papers[1]
    assert "21 April 2026 (give or take 4 days). It came from elsewhere on 12 May 2026" in demo.papers[1]
    assert "Parents not written" in demo.papers[1]
    assert "Its age to the day." in demo.papers[1]


def test_a_buyer_reads_the_cautions(demo):
    cautions = (
        "A health check by an avian veterinarian within a few days of coming home.",
        "In a room without other birds",
        "The same food at the same hours at first",
        # Duerr & Gage, Hand-Rearing Birds, 2020, p. 450 (every morning, same scale)
        "Weigh it every morning before it eats, on the same scale",
        "keep it warm and quiet; an avian veterinarian, today.",
        "psittacosis",
        "Local law on rings, papers, sale and travel",
        "Doors and windows shut, ceiling fans off, cats, dogs and other animals away.",
        # "Fatal Fumes", Los Angeles Times, 24 November 1985; PTFE toxicosis, poultrydvm.com
        "Fumes kill birds in minutes: no coated (PTFE, non-stick) bulb or pan, spray, scented candle, smoke, cleaner",
        "people out first, birds to fresh air, an avian veterinarian at once",
    )
    assert [(page[:80], caution) for page in demo.papers for caution in cautions if caution not in page] == []


def test_no_page_says_what_no_page_may_say(demo):
    every = " ".join([*demo.pairs, *demo.papers]).lower()
    assert not re.search(NEVER, every)
    assert not re.search(r"(?<!does not )guarantee|is healthy|in good health", every)


def test_progress_names_every_page_and_ends(demo):
    assert [at for at, _, _ in demo.done] == list(range(15))
    assert {of for _, of, _ in demo.done} == {14}
    assert demo.done[0][2] == "Pair P01"


# -- a chick that is not weaned


FEEDS = "fed_at,who,food,amount,temperature\n"
UNWEANED = "P1,1,1,,hatched,2026-04-22,K1,,,hand,,2026-05-20\n"


def unweaned(write_logs, tmp_path, feeds="", rows=UNWEANED):
    return pages_of(little(write_logs, rows, feeds=FEEDS + feeds), tmp_path / "out", "K1").papers


def test_that_it_is_not_weaned_stands_above_everything(write_logs, tmp_path):
    page = unweaned(write_logs, tmp_path)[0]
    assert page.startswith("NOT WEANED · Leaving paper: K1 NOT WEANED No day of weaning is written.")
    told = ("It must be fed by somebody who can feed a chick by hand", "Choking", "cockatiel", "Sex")
    assert [page.index(words) for words in told] == sorted(page.index(words) for words in told)
    for said in (
        "Local law may forbid it to leave before it is weaned.",
        "Hours not written: ask at which hours it is fed, by day and at night.",
        "Last feed not written: ask when it was, how much, and of what.",
        # Duerr & Gage, Hand-Rearing Birds, 2020, pp. 447, 616
        "38 to 41 °C (101 to 105 °F), stirred and measured before every feed: never cold, never over 41 °C.",
        # birdrescueguide.com, "Can a bird recover from aspiration?"
        "Formula at the nose, coughing, gasping: stop",
        "keep it warm and still; an avian veterinarian at once, even if it seems well again.",
        "Never shake it or hang it by the feet.",
    ):
        assert said in page


def test_its_hours_and_its_last_feed_are_told_as_far_as_they_are_logged(write_logs, tmp_path):
    feeds = (
        "2026-05-18 06:00,K1,formula,3.5,40\n"
        "2026-05-19 06:30,K1,formula,4,40\n"
        "2026-05-19 11:00,,formula,,\n"  # a mix: it names nobody and has no amount
        "2026-05-19 12:00,K2,formula,9,40\n"  # another's
        "2026-05-19 16:15,K1,formula,4.5,39.5\n"
        "2026-05-21 06:00,,formula,,\n"  # after it had left
    )
    page = unweaned(write_logs, tmp_path, feeds)[0]
    assert (
        "Hours 06:30 and 16:15, as logged on 19 May 2026. Ask whether those are all its feeds, and whether it is fed "
        "at night." in page
    )
    assert "Last feed 19 May 2026, 16:15: 4.5 ml, formula, 39.5 °C. It may have been fed since: ask." in page


@pytest.mark.parametrize(
    ("feeds", "said"),
    [
        ("2026-05-19,K1,,4,\n", "19 May 2026, hour not written: ask: 4 ml, food not written: ask."),
        # what was mixed for all is no chick's amount
        (
            "2026-05-19 16:00,,formula,60,\n",
            "16:00: amount not written: ask, formula (logged for all that were reared by hand).",
        ),
        (
            "2026-05-18 06:00,K1,formula,3.5,40\n2026-05-19 16:00,,formula,60,\n",
            "amount not written: ask (the last for it by name, 18 May 2026: 3.5 ml), formula",
        ),
    ],
)
def test_what_of_its_last_feed_is_not_written_is_asked_for(write_logs, tmp_path, feeds, said):
    assert said in unweaned(write_logs, tmp_path, feeds)[0]


def test_a_mix_and_its_second_reading_are_no_feeds(write_logs, tmp_path):
    feeds = (
        "2026-05-19 06:50,,formula,,42\n"
        "2026-05-19 07:02,,formula,,40.5\n"
        "2026-05-19 07:10,K1,formula,4,\n"
        "2026-05-19 07:40,K1,formula,2,\n"  # the rest of the same feed
        "2026-05-19 11:10,K1,formula,4,\n"
    )
    page = unweaned(write_logs, tmp_path, feeds)[0]
    assert "Hours 07:10 and 11:10, as logged on 19 May 2026." in page
    assert "2 feeds logged for it by name, 2 a day on the days logged" in page
    assert "2 mixes logged for all that were reared by hand then" in page


def test_feeds_of_a_day_without_an_hour_are_each_one(write_logs):
    feeds = f"{FEEDS}2026-05-18,K1,formula,4,\n2026-05-18,K1,formula,4,\n"
    season = open_season(little(write_logs, UNWEANED, feeds=feeds))
    assert "2 feeds logged for it by name, 2 a day on the days logged" in in_words(feeding_history(season, "K1"))


def test_where_only_mixes_are_logged_its_hours_are_asked_for(write_logs, tmp_path):
    page = unweaned(write_logs, tmp_path, "2026-05-19 06:50,,formula,,40\n2026-05-19 16:00,,formula,,39\n")[0]
    assert (
        "Hours not written: ask at which hours it is fed, by day and at night. Mixes are logged, but not which chicks "
        "were fed" in page
    )
    assert "Last feed not written: ask when it was, how much, and of what." in page


@pytest.mark.parametrize(("celsius", "said"), [(42, "how warm: ask"), (4.4, "how warm: ask"), (41, "41.0 °C")])
def test_no_food_is_told_as_fed_that_is_too_hot_or_cold_for_any(write_logs, tmp_path, celsius, said):
    feeds = f"2026-05-18 07:00,,formula,,38.5\n2026-05-19 06:50,,formula,,42\n2026-05-19 07:10,K1,formula,4,{celsius}\n"
    page = unweaned(write_logs, tmp_path, feeds)[0]
    assert f"07:10: 4 ml, formula, {said}. It may" in page
    assert "42.0 °C" not in page
    assert "4.4 °C" not in page
    assert "Hot food" not in page
    warmest = " to 41.0" if celsius == 41 else ""
    assert f"38.5{warmest} °C where it was measured; readings over 41 °C are left out: food so hot is not fed" in page


def test_food_that_burns_a_crop_stands_on_top(write_logs, tmp_path):
    # crop burn above 110 °F: LafeberVet, pediatric avian medicine
    feeds = "2026-05-17 07:00,,formula,,45\n2026-05-18 07:00,K1,formula,4,44\n2026-05-19 07:00,K1,formula,4,42.9\n"
    page = unweaned(write_logs, tmp_path, feeds)[0]
    said = (
        "Hot food Food of 44 °C is written on 18 May 2026: tell the veterinarian; a burn of the crop shows only days "
        "later."
    )
    assert said in page
    assert page.count("Hot food") == page.count("Food of") == 1
    assert page.index("Hot food") < page.index("No day of weaning")


@pytest.mark.parametrize("last", ["2026-05-18 07:00,K1,formula,40,\n", "2026-05-19 16:00,,formula,60,\n"])
def test_an_amount_over_the_cap_is_not_told_as_its_amount(write_logs, last):
    # a tenth of 260 g is 26 ml; 31 ml is not a fifth over it
    weights = "chick,weighed_at,weight\nK1,2026-05-17,260\nK1,2026-05-19,900\n"
    feeds = f"{FEEDS}2026-05-17 07:00,K1,formula,31,\n2026-05-18 06:00,K1,formula,40,\n{last}"
    season = open_season(little(write_logs, UNWEANED, feeds=feeds, weights=weights))
    said = in_words([*feeding_handover(season, "K1"), feeding_history(season, "K1")])
    assert "40 ml" not in said
    assert "31 ml each (in " in said
    assert said.count("more than a tenth of its weight: ask") == 2


def test_weaned_after_it_had_left_is_not_weaned_when_it_leaves(write_logs, tmp_path):
    rows = UNWEANED.replace(",hand,,", ",hand,2026-06-20,")
    assert "No day of weaning is written before it left." in unweaned(write_logs, tmp_path, rows=rows)[0]


def test_a_weaned_chick_is_not_called_unweaned(demo):
    assert [page[:80] for page in demo.papers if "NOT WEANED" in page or "Choking" in page] == []


# -- a chick that should not leave


HERE = "P1,1,1,,hatched,2026-04-22,K1,AL-1,,hand,{weaned},\n"


@pytest.mark.parametrize("weaned", ["", "2026-05-18"])
@pytest.mark.parametrize(
    ("who", "sign"),
    # at once; before the next feed; today; see signs.toml
    [("K1", "cold"), ("AL-1", "cold"), ("K1", "crop not emptying"), ("K1", "tight ring")],
)
def test_what_is_pressing_in_the_round_stands_on_top_of_the_paper(write_logs, tmp_path, weaned, who, sign):
    signs = f"who,seen_at,sign\n{who},2026-05-19,{sign}\n"
    folder = little(write_logs, HERE.format(weaned=weaned), signs=signs)
    (read,) = [said for _, _, said in read_first(round_of(open_season(folder)))]
    page = pages_of(folder, tmp_path / "out", "K1").papers[0]
    head = "NOT TO LEAVE · Leaving paper: K1" if weaned else "NOT TO LEAVE · NOT WEANED · Leaving paper: K1"
    assert page.replace(" ", "").startswith(
        f"{head} NOT TO LEAVE before an avian veterinarian has seen it: {read}".replace(" ", "")
    )


def test_a_look_keeps_no_chick_here(write_logs, tmp_path):
    signs = "who,seen_at,sign\nK1,2026-05-19,air in the crop\n"
    folder = little(write_logs, HERE.format(weaned="2026-05-18"), signs=signs)
    today = round_of(open_season(folder))
    page = pages_of(folder, tmp_path / "out", "K1").papers[0]
    assert today.of("K1")
    assert "NOT TO LEAVE" not in page
    assert "Seen air in the crop, 19 May 2026." in page


# -- folders that hold little


def test_a_pair_with_nothing_logged_is_not_judged(write_logs, tmp_path):
    folder = write_logs(pairs=f"{PAIRS}P2,cockatiel,,\n", settings=SETTINGS)
    first, second = pages_of(folder, tmp_path / "out").pairs
    for page in (first, second):
        assert "Not enough to judge" in page
        assert "Nothing is logged of this pair yet: no egg and no chick." in page
    assert "Which bird the cock or the hen is." in second


def test_five_rows_of_hatches_and_no_other_log(write_logs, tmp_path):
    rows = "".join(f"P1,K{number},2026-05-0{number}\n" for number in range(1, 6))
    folder, out = write_logs(hatches=f"pair,chick,hatched_at\n{rows}"), tmp_path / "out"
    assert "only chicks, so nothing can be said about fertility" in pages_of(folder, out).pairs[0]
    made = pages_of(folder, out, "K3")
    assert "species not written" in made.papers[0]
    assert "cock not written, hen not written (pair P1)" in made.papers[0]
    assert "how sure that day is, is not written" in made.papers[0]


def test_no_pair_at_all_is_one_sentence(write_logs, tmp_path):
    folder, out = write_logs(hatches="chick,hatched_at\nK1,2026-05-01\n"), tmp_path / "out"
    assert "No pair is written in these logs, so there is no sheet to print." in pages_of(folder, out).pairs[0]
    assert "by whom is not written" in pages_of(folder, out, "K1").papers[0]


def test_nothing_written_is_a_plain_sentence(write_logs, tmp_path):
    with pytest.raises(SeasonError, match="no pair, egg or chick"):
        season_sheets(write_logs(hatches="pair,chick,hatched_at\n"), tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_an_unknown_chick_is_offered_near_names_and_nothing_is_written(write_logs, tmp_path):
    folder = little(write_logs, "P1,1,1,,hatched,2026-05-01,Kestrel,,,,,\n")
    with pytest.raises(SeasonError, match=r"No chick of this season is called Kestral\. Did you mean Kestrel\?"):
        season_sheets(folder, tmp_path / "out", chicks=["Kestral"])
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_names_of_sixty_letters_and_marks_are_text(write_logs, tmp_path, paper):
    name = ("#let *x* $1$ <b> [a](http://b.c) `q` @ref _it_ " + "y" * 60)[:60]
    pair = f'pair,species,cock,hen,cage\n"{name}","{name}","{name}",Elm,"{name}"\n'
    weights = f'chick,weighed_at,weight\n"{name}",2026-05-02,30\n"{name}",2026-05-03,36\n'
    folder = little(
        write_logs,
        f'"{name}",1,1,2026-04-01,hatched,2026-04-22,"{name}","{name}",,hand,2026-05-20,\n',
        pairs=pair,
        weights=weights,
        settings=f"{SETTINGS}paper,{paper}\n",
    )
    made = pages_of(folder, tmp_path / "out", name)
    made.pairs = pages_of(folder, tmp_path / "out").pairs
    assert (len(made.pairs), len(made.papers)) == (1, 1)
    packed = name.replace(" ", "")
    assert made.pairs[0].replace(" ", "").startswith(f"Pair{packed}")
    assert made.papers[0].replace(" ", "").startswith(f"Leavingpaper:{packed}")


@pytest.mark.slow
def test_the_same_logs_give_the_same_bytes(write_logs, tmp_path):
    folder = little(write_logs, "P1,1,1,2026-04-01,hatched,2026-04-22,K1,,,hand,,\n")
    one, other = (season_sheets(folder, tmp_path / name).pairs for name in "ab")
    assert one.read_bytes() == other.read_bytes()
    one, other = (season_sheets(folder, tmp_path / name, chicks=["K1"]).papers for name in "ab")
    assert one.read_bytes() == other.read_bytes()


# -- what is said, piece by piece


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("", "not known"),
        ("unknown", "not known"),
        ("cock", "not known (cock is written, but not how that was found)"),
        ("cock, feather test", "as written: cock, feather test"),
    ],
)
def test_a_sex_is_promised_to_nobody(open_logs, write_logs, written, said):
    season = open_season(little(write_logs, f'P1,1,1,,hatched,2026-04-22,K1,,"{written}",hand,,\n'))
    assert f"Sex: {said}" in shown(one_chick.about(season, "K1")).splitlines()
    open_ = "Its sex." in shown(one_chick.unknown(season, "K1"))
    assert open_ == said.startswith("not known")


def test_one_that_left_before_it_was_weaned(write_logs):
    season = open_season(little(write_logs, "P1,1,1,,hatched,2026-04-22,K1,,,hand,,2026-05-20\n"))
    said = shown(one_chick.about(season, "K1"))
    assert "It left before any day of weaning was written." in said  # who has it now reads the paper
    assert "still have to be fed" not in said
    assert "Left: 20 May 2026" in said
    assert "Whether it feeds itself" in shown(one_chick.unknown(season, "K1"))


def test_only_the_feeds_of_its_own_days_count(write_logs):
    feeds = (
        "fed_at,who,food,amount,temperature\n"
        "2026-04-20 07:00,,formula,,39\n"  # before it hatched
        "2026-04-23 07:00,,formula,,39\n"
        "2026-05-01 07:00,K1,formula,3,40\n"
        "2026-05-01 12:00,k1,egg food,4,\n"
        "2026-05-02 07:00,K2,formula,9,\n"  # another's
        "2026-06-01 07:00,,formula,,39\n"  # after it was weaned
    )
    rows = "P1,1,1,,hatched,2026-04-22,K1,,,hand,2026-05-20,\nP1,1,2,,hatched,2026-04-22,K2,,,P1,2026-05-20,\n"
    season = open_season(little(write_logs, rows, feeds=feeds))
    assert in_words(feeding_history(season, "K1")) == (
        "As logged, 23 April 2026 to 1 May 2026: egg food and formula; 2 feeds logged for it by name, 2 a day on the "
        "days logged, 3 to 4 ml each, and 1 mix logged for all that were reared by hand then; 39.0 to 40.0 °C where "
        "it was measured. What nobody wrote down is not counted, and nothing here says what it takes now."
    )
    assert "2 May 2026: formula; 1 feed logged for it by name" in in_words(feeding_history(season, "K2"))


def test_reared_by_birds_nothing_is_known_of_its_food(write_logs):
    season = open_season(little(write_logs, "P1,1,1,,hatched,2026-04-22,K1,,,,2026-05-20,\n"))
    said = in_words(feeding_history(season, "K1"))
    assert said == "By P1; what those birds were given is not in these logs."


def test_how_a_chick_stands(write_logs):
    weights = "chick,weighed_at,weight\nK1,2026-04-23,5\nK1,2026-05-10,60\nK1,2026-05-11,45\n"
    signs = "who,seen_at,sign\nK1,2026-05-09,cold\n"
    rows = "P1,1,1,,hatched,2026-04-22,K1,,,hand,,\n"
    growth = Chicks.of(open_season(little(write_logs, rows, weights=weights, signs=signs)))
    said = shown(one_chick.stands(round_of(growth.season), "k1"))
    assert "Now: Being reared." in said
    # 45 of 60 g: a quarter down
    assert "Heaviest: 60 g on 10 May 2026, at 18 days; the last is 25 % below that." in said
    # no curve of its kind yet: the trade's rule (Duerr & Gage, Hand-Rearing Birds, 2020, p. 617)
    assert "Read first: Cold, seen 9 May 2026. At once: Warm it slowly" in said
    assert "45 g this morning and 60 g before: any drop" in said
    assert "Seen: cold, 9 May 2026." in said
    assert "Next weighing" not in said


def test_sections_of_a_pair_stand_alone_for_a_notebook(write_logs):
    rows = "".join(f"P1,1,{at},2026-04-0{at},hatched,2026-04-22,K{at},,,,,\n" for at in (1, 2, 3))
    pages = PairPages.of(open_season(little(write_logs, rows)))
    assert "cockatiel · Ash and Elm" in shown(pair_sheet.about(pages, "p1"))
    record = table_shown(pair_sheet.record(pages, "P1")).set_index("season")
    assert record.loc["2026", "hatched of fertile"] == "3 of 3"
    # Wilson 95 % for n of n: from n / (n + 1.96²) to 1 (Newcombe 1998, Stat. Med. 17:857); of one clutch the effect is
    # 1 + 2 · 0.3, so n is 3 / 1.6 = 1.875, and by hand 1.875 / (1.875 + 3.8415) = 0.328
    assert record.loc["rate (95 %)", "hatched of fertile"] == "100 % (33–100)"
    # one pair is no kind: nothing is typical, and one clutch says nothing of it
    assert record.loc["typical of its kind", "hatched of fertile"] == "–"
    assert "likely (95 %)" not in record.index
    with pytest.raises(SeasonError, match=r"No pair of this season is called P9\. Its pairs are: P1\."):
        pair_sheet.record(pages, "P9")


def test_nothing_is_told_of_weaning_where_nobody_wrote_any(write_logs):
    clutches = (
        "pair,clutch,eggs,first_egg_on,clear,died_in_egg,broken_or_gone,hatched\n"
        "P1,1,5,2026-02-01,1,1,0,3\nP1,2,5,2026-04-01,1,1,0,3\n"
    )
    pages = PairPages.of(open_season(write_logs(pairs=PAIRS, settings=SETTINGS, clutches=clutches)))
    assert [what for what, _ in pair_sheet.advice(pages, "P1")[-1].data["items"]] == ["Keep"]
    record = table_shown(pair_sheet.record(pages, "P1")).set_index("season")
    assert record.loc["2026"].tolist() == ["2", "10", "8 of 10", "6 of 8", "–"]
    assert "likely (95 %)" in record.index


def test_a_chick_reared_by_another_pair_is_told_on_both_sheets(write_logs):
    pairs = f"{PAIRS}P2,cockatiel,Oak,Fir\n"
    rows = "P1,1,1,2026-04-01,hatched,2026-04-22,K1,,,P2,2026-06-10,\n"
    pages = PairPages.of(open_season(little(write_logs, rows, pairs=pairs)))
    laid, reared = (chick_notes(chicks_of(pages, pair), pair) for pair in ("P1", "P2"))
    assert [in_words(notes["K1"]) for notes in (laid, reared)] == ["by P2, weaned", "laid by P1, weaned"]
    assert table_shown(pair_sheet.record(pages, "P1")).iloc[0]["weaned of those it reared"] == "–"
    assert table_shown(pair_sheet.record(pages, "P2")).iloc[0]["weaned of those it reared"] == "1 of 1"


def test_a_second_process_draws_the_same_picture():
    spec = brood()[0].to_dict()
    with drawing(1) as draw:
        here = draw(spec)
    with drawing(MANY) as draw:
        there = draw(spec)()
    assert there == here()
    assert there.startswith("<svg")


@pytest.mark.parametrize("program", ["import sys; sys.stdin.readline()", "raise SystemExit"])
def test_where_the_second_process_ends_the_first_goes_on(monkeypatch, program):
    monkeypatch.setattr("analysis.report.drawing.PROGRAM", program)
    with drawing(MANY) as draw:
        pictures = [draw(brood()[0].to_dict()) for _ in range(3)]
        assert [picture()[:4] for picture in pictures] == ["<svg"] * 3


def test_where_no_process_may_be_started_charts_are_drawn_here(monkeypatch):
    def forbidden(*args, **options):
        raise PermissionError

    monkeypatch.setattr("subprocess.Popen", forbidden)
    with drawing(MANY) as draw:
        assert draw(brood()[0].to_dict())().startswith("<svg")


# -- the chart


def brood(**more):
    weights = pd.DataFrame(
        {"chick": ["K10", "K2", "K2"], "kind": "cockatiel", "age_d": [3, 3, 4], "mass_g": [9, 8, 10]}
    )
    usual = pd.DataFrame({"kind": "cockatiel", "age_d": [0, 20, 40], "mass_g": [4, 60, 90]})
    usual = usual.assign(low_g=0.8 * usual["mass_g"], high_g=1.2 * usual["mass_g"])
    return brood_charts(weights, usual, notes={"K2": "by hand"}, **more)


def test_the_chart_shows_what_is_usual_also_behind_chicks_weighed_but_once():
    (chart,) = brood()
    spec = chart.to_dict()
    assert {param["name"]: param["value"] for param in spec["params"]} == {"last_d": 20.0, "most_g": 1.04 * 72}
    assert spec["description"] == "Weight (g) by age (days): K2, 2 weighings up to 10 g; K10, 1 weighing up to 9 g."
    (rows,) = spec["datasets"].values()
    assert [row["note"] for row in rows if row["part"] == "note"] == ["by hand"]
    weighed = next(row for row in rows if row["part"] == "weight")
    shown = [tip["field"] for layer in spec["spec"]["layer"] for tip in layer["encoding"].get("tooltip", ())]
    assert set(shown) <= set(weighed)


def test_a_panel_that_serves_two_charts_keeps_neither_scale():
    first, second = brood()[0], brood(columns=5)[0]
    weights = pd.DataFrame({"chick": ["K1"], "kind": "finch", "age_d": [30], "mass_g": [14]})
    brood_charts(weights, pd.DataFrame(columns=["kind", "age_d", "mass_g", "low_g", "high_g"]))
    assert first.to_dict()["params"] == second.to_dict()["params"]


def test_the_chart_is_drawn_by_the_vega_lite_of_jupyterlab():
    # what analysis/show/still.py promises: application/vnd.vegalite.v5+json
    (chart,) = brood()
    drawn = vl_convert.vegalite_to_svg(chart.to_dict(), vl_version="5.20", allowed_base_urls=[])
    assert drawn.index(">K2<") < drawn.index(">K10<")
    assert ">by hand<" in drawn


def test_the_command(write_logs, tmp_path):
    folder, out = little(write_logs, "P1,1,1,2026-04-01,hatched,2026-04-22,K1,,,hand,,\n"), tmp_path / "out"
    done = CliRunner().invoke(main, ["sheets", str(folder), "--out", str(out), "--chick", " k1, "])
    assert done.exit_code == 0, done.output
    assert done.output == f"Leaving papers  {out / 'leaving_papers.pdf'}  (1 chick)\n"
    assert sorted(path.name for path in out.iterdir()) == [RECORD, "leaving_papers.pdf"]  # no sheet is made again
    done = CliRunner().invoke(main, ["sheets", str(folder), "--out", str(out)])
    assert done.output == f"Pair sheets     {out / 'pair_sheets.pdf'}  (1 pair)\n"
    assert sorted(path.name for path in out.iterdir()) == [RECORD, "leaving_papers.pdf", "pair_sheets.pdf"]
    failed = CliRunner().invoke(main, ["sheets", str(folder), "--chick", "K7", "--chick", "K1"])
    assert (failed.exit_code, failed.stderr) == (
        2,
        "season: No chick of this season is called K7. Its chicks are: K1.\n",
    )


def picture_of(name):
    """A chart whose picture holds a word of its own."""
    return {"mark": "text", "encoding": {"text": {"value": name}}, "data": {"values": [{}]}, "description": name}


def test_a_chart_never_gets_anothers_picture(monkeypatch):
    real, tried = subprocess.Popen, []

    def once_refused(*args, **options):
        tried.append(args)
        if len(tried) == 1:
            raise BlockingIOError
        return real(*args, **options)

    monkeypatch.setattr("subprocess.Popen", once_refused)
    with drawing(MANY) as draw:
        pictures = [(name, draw(picture_of(name))) for name in ("first", "second", "third")]
        for name, picture in pictures:
            assert f">{name}</text>" in picture()


def test_a_picture_that_breaks_off_is_drawn_here(monkeypatch):
    half = "import sys; sys.stdin.readline(); sys.stdout.write('\"<svg'); sys.stdout.flush()"
    monkeypatch.setattr("analysis.report.drawing.PROGRAM", half)
    with drawing(MANY) as draw:
        assert ">whole</text>" in draw(picture_of("whole"))()
