"""Remarks stand beside their bird; what may be a sign is asked about and taken for none; no buyer reads them."""

import pytest

from analysis.chapters import nursery, one_chick, register
from analysis.chapters.pair_page import PairPages
from analysis.day.preparation import remarks_since
from analysis.day.round import round_of
from analysis.season.signs import signs_within
from analysis.season.vocabulary import for_paper, says_only_sex, sex_of
from support import as_read, codes, read_first, table_shown

DAY = "2026-04-10"
LOGS = {
    "settings": "setting,value\nseason,2026\n",
    "pairs": "pair,species,cock,hen,notes\nP1,cockatiel,Ash,Elm,second year together\n",
    "birds": "bird,sex,notes\nElm,hen,lays on the floor\n",
    "hatches": "pair,clutch,egg,laid_on,outcome,hatched_at,chick,ring,sex,colour,reared_by,notes\n"
    'P1,1,1,2026-03-01,hatched,2026-03-21,K1,R1,"1,0 DNA",lutino,hand,sold too cheap\n'
    "P1,1,2,2026-03-03,hatched,2026-03-22,K2,R2,hen?,pied,,Paper: sleeps in a tent\n"
    "P1,1,3,2026-03-05,hatched,2026-03-24,K3,,hen,,hand,\n"
    "P1,1,4,2026-03-07,clear,,,,,,,a very long egg\n",
    "weights": "chick,weighed_at,weight,crop,notes\nK1,2026-04-09,,,crop slow\nK3,2026-04-10,,,too lively to weigh\n"
    "K2,2026-04-01,,,loud\n",
    "losses": "chick,found_on,cause,notes\nK2,2026-04-10,,was limp\n",
    "moves": "what,on,to,notes\nK3,2026-04-09,hand,R1 pecked at it\n",
    "egg_weights": "egg,weighed_on,weight,notes\n4,2026-03-08,5,thin shell\n",
    "feeds": "fed_at,who,food,notes\n2026-04-10 06:00,K1+K3,formula,half left\n"
    '2026-04-10 07:00,,formula,"too warm, waited"\n',
    "signs": "who,seen_at,sign,notes\nK3,2026-04-09,droppings,green since noon\n",
}


@pytest.fixture
def season(open_logs):
    return open_logs(up_to=DAY, **LOGS)


def of(season, who):
    return season.remarks.loc[season.remarks["who"] == who, "text"].tolist()


def paper(today, chick):
    return "\n".join(one.text for one in one_chick.paper(today, chick))


# -- whom a remark stands beside


def test_every_remark_is_kept_beside_whom_it_is_of(season):
    assert len(season.remarks) == 15
    assert of(season, "P1") == ["second year together"]
    assert of(season, "Elm") == ["lays on the floor"]
    assert of(season, "P1/1/4") == ["a very long egg", "thin shell"]
    assert of(season, "K1") == ["sold too cheap", "crop slow", "half left"]
    assert of(season, "K2") == ["Paper: sleeps in a tent", "loud", "was limp"]
    assert of(season, "") == ["too warm, waited"]


def test_a_remark_stands_where_the_weight_beside_it_cannot(season):
    assert of(season, "K3") == ["R1 pecked at it", "green since noon", "too lively to weigh", "half left"]
    assert season.crops.empty  # and is taken for no crop


def test_what_was_written_later_is_not_known_yet(open_logs):
    assert "too lively to weigh" not in set(open_logs(up_to="2026-04-09", **LOGS).remarks["text"])


# -- what may be a sign


def test_a_sign_is_asked_about_by_check_and_round_and_taken_for_none(season):
    asked = season.problems[season.problems["code"] == "sign-in-remark"]
    assert asked["value"].tolist() == ["crop slow"]  # not the mix that was warm, nor how K2 was found
    today = round_of(season, DAY)
    ((_, _, said),) = [one for one in read_first(today) if one[0] == "K1"]
    assert "“crop slow” (9 April). Is it a sign: crop not emptying? Look at it" in said
    assert today.chicks.set_index("chick").loc["K1", ["signs", "needs_vet"]].tolist() == [(), False]


def test_what_is_written_among_the_signs_is_asked_no_more(open_logs):
    signs = "who,seen_at,sign\nR1,2026-04-08,crop not emptying\n"
    assert "sign-in-remark" not in codes(open_logs(up_to=DAY, **LOGS | {"signs": signs}))
    long_ago = signs.replace("04-08", "03-25")
    assert "sign-in-remark" in codes(open_logs(up_to=DAY, **LOGS | {"signs": long_ago}))


def test_words_that_are_of_no_bird_ask_nobody():
    calm = ("doing well after the cold night", "red ring, new blood", "kalte Nacht", "not limp", "droppings normal")
    assert [text for text in calm if signs_within(text, ordinary=True)] == []
    signs = {
        "cold to the touch": "cold",
        "lethargisch": "limp",
        "picage": "plucking",
        "buche lleno": "crop not emptying",
    }
    signs |= {"krop niet leeg": "crop not emptying", "red skin and gasping": "red skin"}
    assert {text: signs_within(text, ordinary=True)[0] for text in signs} == signs


def test_too_hot_beside_a_temperature_is_said_of_the_food(open_logs):
    hatches = "pair,chick,hatched_at,reared_by\nP1,K1,2026-04-01,hand\n"
    feeds = "fed_at,who,food,temperature,notes\n2026-04-09 07:00,K1,formula,{},too hot\n"
    asked = [open_logs(hatches=hatches, feeds=feeds.format(read)).remarks["asked"].tolist() for read in ("", "42")]
    assert asked == [[("panting",)], [()]]


# -- where remarks come back


def test_the_round_has_those_of_yesterday_and_today(season):
    said = dict(as_read(remarks_since(round_of(season, DAY))))
    assert said["All"] == "“too warm, waited” (10 April)"
    assert said["K3"] == "“R1 pecked at it” (9 April); “too lively to weigh” (10 April); “half left” (10 April)"
    assert said["K2"] == "“was limp” (10 April)"  # and nothing of the first of April
    assert "crop slow" not in said["K1"]  # read first, once
    assert "All: “too warm" in nursery.remarks(round_of(season, DAY))[0].text


def test_the_clutches_stand_on_the_sheet_with_eggs_rings_colours_sexes_and_remarks(season):
    shown = register.clutches(PairPages.of(season), "P1")
    (row,) = table_shown(shown).values.tolist()
    assert row[:2] == ["1", "laid 01 Mar–07 Mar\n3 hatched, 21 Mar–24 Mar\n1 clear"]
    assert row[2].startswith("K1 (R1, lutino, 1,0 DNA), K2 (R2, pied, hen?), K3 (hen). K1: sold too cheap; crop slow")
    assert row[2].endswith("egg 4: a very long egg; thin shell")
    assert "1 cock, 1 hen, 1 not known" in shown[0].data["caption"]
    (pair,) = as_read(register.of_pair(PairPages.of(season), "P1"))
    assert pair == ("Remarks", "second year together; Elm: lays on the floor")


def test_a_chick_that_goes_by_its_ring_has_it_once_on_the_sheet(open_logs):
    season = open_logs(hatches="pair,egg,hatched_at,ring,colour\nP1,1,2026-03-21,R7,pied\n")
    (row,) = table_shown(register.clutches(PairPages.of(season), "P1")).values.tolist()
    assert row[-1] == "R7 (pied)"


def test_the_register_has_every_chick(season):
    rows = table_shown(register.every_chick(season)).set_index("chick")
    assert rows.loc["K1"].tolist() == ["R1", "1,0 DNA", "lutino", "2026-03-21", "P1", *rows.loc["K1"][-2:]]
    assert rows.loc["K1", "remarks"] == "sold too cheap; crop slow; half left"
    assert rows.loc["K2", "what became of it"] == "lost 10 Apr"


def test_a_private_remark_reaches_the_keepers_page_and_no_paper(season):
    today = round_of(season, DAY)
    page = "\n".join(one.text for one in one_chick.fed(season, "R1"))
    assert "sold too cheap" in page
    assert "crop slow" in page
    papers = [paper(today, chick) for chick in ("K1", "K3")]
    assert "NOT TO LEAVE" in papers[0]  # and why, in no words of its keeper
    assert [text for text in season.remarks["text"] if any(text in paper for paper in papers)] == []
    assert "cockatiel · lutino · ring R1" in papers[0]
    assert "From its keeper: sleeps in a tent" in paper(today, "K2")
    assert for_paper("told the buyer: a bargain") == ""


def test_a_very_long_remark_ends_and_says_where_the_rest_is(open_logs):
    text = "word " * 1000
    logs = LOGS | {"moves": f"what,on,to,notes\nK3,2026-04-09,hand,{text}\n"}
    season = open_logs(up_to=DAY, **logs)
    said = [remarks_since(round_of(season, DAY)), [], register.every_chick(season), one_chick.fed(season, "K3")]
    written = [dict(as_read(said[0]))["K3"], *(one.text for shown in said[1:] for one in shown)]
    assert max(len(line) for one in written for line in one.splitlines()) < 700
    assert sum("… (all of it in moves.csv, row 2)" in one for one in written) == 3


# -- sexes


@pytest.mark.parametrize(
    ("written", "sex"),
    [
        *[("cock (DNA)", "cock"), ("1,0", "cock"), ("0.1", "hen"), ("Hahn", "cock"), ("Weibchen, endoskopiert", "hen")],
        *[("♀", "hen"), ("hembra", "hen"), ("mâle", "cock"), ("pop", "hen"), ("m", "cock"), ("", ""), ("?", "")],
        *[("hen?", ""), ("probably a cock", ""), ("vermutlich Henne", ""), ("cock or hen", ""), ("not a hen", "")],
    ],
)
def test_a_sex_as_keepers_write_it(written, sex):
    assert sex_of(written) == sex


def test_a_sex_alone_says_not_how_it_was_found():
    assert all(map(says_only_sex, ("cock", "Henne", "1,0")))
    assert not any(map(says_only_sex, ("cock (DNA)", "hen by eye colour", "", "unknown")))
