"""Names that no log knows: what is said, and above all what is not."""

import pytest

from analysis import open_season
from analysis.season.spelling import near_miss
from support import DEMO, ROOT

FULL = {
    "birds": """
        bird,sex,ring,father,mother
        Moss,cock,AL21-001,,
        Sorrel,hen,,,
        Rowan,cock,,,
        Zoë,hen,,,
        Amber,cock,,,
        """,
    "cages": "cage,room\nC1,front room\nC2,front room\nC10,garden room\n",
    "species": "species\ncockatiel\nred-rumped parakeet\n",
    "pairs": """
        pair,species,kind,cock,hen,cage
        P01,cockatiel,,moss,Sorrel,C1
        P02,cockatiel,,Rowan,Zoë,C2
        P03,cockatiel,,AL21-001,,C10
        """,
}


@pytest.fixture
def said(open_logs, tmp_path):
    """Open a season, each log as in FULL but for those that are given; return what is said of unknown names."""

    def said_(code="unknown-name", **logs):
        for log in (tmp_path / "season").glob("*.csv"):
            log.unlink()
        season = open_logs(**{log: text for log, text in (FULL | logs).items() if text})
        assert (season.accounting["not_used"] == 0).all()
        found = season.problems[season.problems["code"] == code]
        return [
            f"{row.file} {row.row} {row.column}: {row.value}. {row.advice}"
            for row in found.itertuples()
            if row.severity == "look at this"
        ]

    return said_


def pairs(*rows):
    return "pair,species,kind,cock,hen,cage\n" + "".join(f"{row}\n" for row in rows)


LISTED = ("P01,cockatiel,,Moss,Sorrel,C1", "P02,cockatiel,,Rowan,Zoë,C2")


def test_all_listed_and_nothing_said(said):
    assert said() == []


@pytest.mark.parametrize(
    ("row", "column", "value", "advice"),
    [
        ("P04,cockatiel,,Rowen,,C1", "cock", "Rowen", "add it to birds. Did you mean Rowan?"),
        ("P04,cockatiel,,,Zoe,C1", "hen", "Zoe", "add it to birds. Did you mean Zoë?"),
        ("P04,cockatiel,,,Sorel,C1", "hen", "Sorel", "add it to birds. Did you mean Sorrel?"),
        ("P04,cockatiel,,AL21-1,,C1", "cock", "AL21-1", "add it to birds. Did you mean AL21-001?"),
        ("P04,cockatiel,,,,C01", "cage", "C01", "add it to cages. Did you mean C1?"),
        ("P04,cockatiel,,,,C3", "cage", "C3", "add it to cages."),
        ("P04,cocktiel,,,,C1", "species", "cocktiel", "add it to species. Did you mean cockatiel?"),
        ("P04,Cockatiel,,moss,SORREL,c1", None, None, None),
        ("P04,cockatiel,,?,unknown,C1/C2", None, None, None),
        ("P04,cockatiel,,Moss and Rowan,,front room", None, None, None),
        ("P04,cockatiel,,,Ember,C1", "hen", "Ember", "add it to birds."),  # not Amber, another bird
        ("P04,cockatiel,trio,the three brothers,Fern and Ivy,C1", None, None, None),
    ],
)
def test_a_pair(said, row, column, value, advice):
    expected = [f"pairs.csv 4 {column}: {value}. Check the spelling, or {advice}"] if column else []
    assert said(pairs=pairs(*LISTED, row)) == expected


def test_a_log_that_is_hardly_begun_accuses_nobody(said):
    two = "bird,sex\nMoss,cock\nSorrel,hen\n"
    other = "P02,cockatiel,,Fern,,C2"
    assert len(said(birds=two, pairs=pairs(LISTED[0], other))) == 1  # two of three are listed
    assert said(birds=two, pairs=pairs(LISTED[0], other, "P03,cockatiel,,Flint,,C1")) == []  # two of four
    assert said(birds=two, pairs=pairs(LISTED[0], other, "P03,cockatiel,,Mosss,,C1")) == [
        "pairs.csv 4 cock: Mosss. Check the spelling, or add it to birds. Did you mean Moss?"
    ]
    assert said(birds="", cages="", species="") == []


def test_a_bird_of_the_other_sex_or_the_partner_is_not_meant(said):
    birds = "bird,sex\nRobina,hen\nLinnet,\nTeasel,\n"
    hen = pairs("P1,cockatiel,,,Robin,", "P2,cockatiel,,Teasel,,", "P3,cockatiel,,Linet,Linnet,")
    assert said(birds=birds, pairs=hen, cages="") == [
        "pairs.csv 2 hen: Robin. Check the spelling, or add it to birds. Did you mean Robina?"
    ]
    cock = pairs("P1,cockatiel,,Robin,,", "P2,cockatiel,,Teasel,,", "P3,cockatiel,,Linnet,Linet,")
    assert said(birds=birds, pairs=cock, cages="") == []


def test_parents_of_birds_are_often_elsewhere(said):
    birds = "bird,sex,father,mother\nMoss,cock,Old Max,Sorel\nSorrel,hen,,\nRowan,cock,,Mos\nZoë,hen,Mos,\n"
    assert said(birds=birds, pairs=pairs(*LISTED)) == [
        "birds.csv 2 mother: Sorel. Check the spelling, or add it to birds. Did you mean Sorrel?"
    ]


def test_a_chick_of_these_logs_is_known(said):
    row = "P04,cockatiel,,K07,AL26-007,C1"
    assert said(pairs=pairs(*LISTED, row), hatches="pair,chick,ring,hatched_at\nP01,K07,AL26-007,2026-03-01\n") == []


def test_each_name_once_a_column(said):
    hatches = "pair,egg,outcome,cage\nP01,1,clear,C3\nP01,2,clear,C3\nP01,3,clear,c3\nP01,4,clear,incubator A\n"
    readings = "place,read_at,temperature\nincubator A,2026-04-01,37.5\n"
    assert said(hatches=hatches, readings=readings) == [
        "hatches.csv 2 cage: C3. Check the spelling, or add it to cages.",
    ]


def test_pairs_that_laid(said):
    hatches = "pair,egg,outcome,species\nP1,1,clear,cockatiel\nP11,1,clear,cockatiel\nP02,1,clear,cocktiel\n"
    assert said(hatches=hatches) == [
        "hatches.csv 2 pair: P1. Check the spelling, or add it to pairs. Did you mean P01?",
        "hatches.csv 4 species: cocktiel. Check the spelling, or add it to species. Did you mean cockatiel?",
    ]
    assert said(hatches="", clutches="pair,clutch,eggs\nP2,1,4\n") == [
        "clutches.csv 2 pair: P2. Check the spelling, or add it to pairs. Did you mean P02?"
    ]


def test_a_weight_table_may_be_of_others(said):
    table = "species,age_d,median\ncockatiel,1,5\nCockateil,1,5\nsun conure,1,5\nred-fronted parakeet,1,5\n"
    assert said(reference=table) == [
        "reference.csv 3 species: Cockateil. Check the spelling, or add it to species. Did you mean cockatiel?"
    ]


def test_who_sat_and_reared(said):
    hatches = """
        pair,egg,outcome,hatched_at,chick,incubated_by,reared_by
        P01,1,hatched,2026-04-20,K1,incubatr A,hand
        P01,2,hatched,2026-04-20,K2,incubator A,hnad
        P01,3,hatched,2026-04-20,K3,incubator B,P2
        P01,4,hatched,2026-04-20,K4,my sister,Hand
        """
    moves = "what,on,to\nK3,2026-04-28,frnt room\nK4,2026-04-28,C4\nP03,2026-04-28,C4\nK1,2026-04-28,hands\n"
    readings = "place,read_at,temperature\nincubator A,2026-04-01,37.5\nincubator  A,2026-04-02,37.5\n"
    assert said(hatches=hatches, moves=moves, readings=readings) == [
        "hatches.csv 2 incubated_by: incubatr A. Check the spelling, or add it to readings. Did you mean incubator A?",
        "moves.csv 4 to: C4. Check the spelling, or add it to cages.",  # the pair's; a chick may go anywhere
    ]
    asked = said(code="who-rears", hatches=hatches, moves=moves, readings=readings)
    ask = "Write the pair's name, hand or parents; or add a place without birds to cages."
    no = "This is no pair and no cage that your logs know, and no word for rearing by hand."
    then = "Until then nobody is credited with"
    assert asked == [
        f"hatches.csv 3 reared_by: hnad. {no} {ask} Did you mean hand? {then} K2, and the day's round only asks.",
        f"hatches.csv 4 reared_by: P2. {no} {ask} Did you mean P02? {then} K3, and the day's round only asks.",
        f"moves.csv 2 to: frnt room. {no} {ask} {then} K3, and the day's round only asks.",
    ]


def test_places_that_were_read(said):
    hatches = "pair,egg,outcome,incubated_by\nP01,1,clear,incubator A\n"
    places = ("incubator A", "incubator B", "incubater A", "gardn room", "window sill")
    readings = "place,read_at,temperature\n" + "".join(f"{one},2026-04-01,37\n" for one in places)
    assert said(hatches=hatches, readings=readings) == [
        "readings.csv 4 place: incubater A. Check the spelling, or add it to readings. Did you mean incubator A?",
        "readings.csv 5 place: gardn room. Check the spelling, or add it to cages. Did you mean garden room?",
    ]


def test_who_was_seen(said):
    signs = "who,seen_at,sign\nSorel,2026-04-01,limp\nThistle,2026-04-01,limp\nzoë,2026-04-01,limp\n"
    assert said(code="unknown-who", signs=signs) == [
        "signs.csv 2 who: Sorel. Check the spelling. Did you mean Sorrel?",
        "signs.csv 3 who: Thistle. Check the spelling.",
    ]


@pytest.mark.parametrize(
    ("name", "known", "meant"),
    [
        ("Zoe", "Zoë", "Zoë"),
        ("Jurgen", "Jürgen", "Jürgen"),
        ("Juergen", "Jürgen", "Jürgen"),
        ("Persephone Rose", "Persephone-Rose", "Persephone-Rose"),
        ("Old Man Fenel", "Old Man Fennel", "Old Man Fennel"),
        ("C 1", "C1", "C1"),
        ("P1", "P001", "P001"),
        ("P10", "P100", ""),
        ("AL26-001", "AL26-002", ""),
        ("cage 11", "cage 1", ""),
        ("C11", "C1 1", ""),
        ("incubator A", "incubator B", ""),
        ("East flight", "West flight", ""),
        ("red-fronted parakeet", "red-rumped parakeet", ""),
        ("blue-crowned conure", "red-crowned conure", ""),
        ("Msos", "Moss", "Moss"),
        ("Anna", "Anne", ""),
        ("Ash", "Ask", ""),
        ("Dora", "Nora", ""),
        ("Ember", "Amber", ""),
        ("?", "Zoë", ""),
    ],
)
def test_a_near_miss_and_another_name(name, known, meant):
    assert near_miss(name, [known, "Quince"]) == meant


@pytest.mark.parametrize(
    "season", [DEMO, *sorted((ROOT / "data_demo").glob("season_202[45]"))], ids=lambda one: one.name
)
def test_the_demo_names_nobody_unknown(season):
    assert "unknown-name" not in set(open_season(season).problems["code"])
