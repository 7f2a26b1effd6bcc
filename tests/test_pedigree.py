"""Kinship against published pedigrees; who is whose parent; what is said of each pair; parents that cannot be."""

import time
from functools import cache
from textwrap import dedent

import numpy as np
import pandas as pd
import pytest

from analysis import open_season
from analysis.pairs.inbreeding import kinship, through, young
from analysis.pairs.parents import known_parents
from analysis.pairs.partners import other_partners, partners
from analysis.say import in_words
from support import codes, demo


def family(text):
    """A frame of parents, written "young: father mother", a dash where one is not known."""
    rows = [line.replace(":", " ").split() for line in text.replace(";", "\n").splitlines() if line.strip()]
    return pd.DataFrame(rows, columns=["bird", "father", "mother"]).replace("-", "")


def inbreeding(pedigree):
    """How inbred each bird is: its kinship with itself is (1 + F) / 2."""
    table = kinship(pedigree)
    values = pd.Series(2 * np.diag(table) - 1, index=table.index)
    values.attrs.update(table.attrs)
    return values


# -- against what is published

# Wright 1922, Am. Nat. 56: 330-338, as in textbooks: trade-facts.md, section 7
WRIGHT = {
    "parent and young": ("a: p q; x: a p", 1 / 4),
    "full sibs": ("a: p q; b: p q; x: a b", 1 / 4),
    "half sibs": ("a: p q; b: p r; x: a b", 1 / 8),
    "uncle and niece": ("a: p q; b: p q; n: b r; x: a n", 1 / 8),
    "first cousins": ("a: p q; b: p q; c: a r; d: b s; x: c d", 1 / 16),
}


@pytest.mark.parametrize(("text", "expected"), WRIGHT.values(), ids=WRIGHT)
def test_wright(text, expected):
    assert inbreeding(family(text))["x"] == expected


def test_full_sibs_over_and_over():
    generations = "; ".join(f"{sex}{n}: c{n - 1} h{n - 1}" for n in range(1, 7) for sex in "ch")
    values = inbreeding(family(generations))
    # Wright 1922: trade-facts.md, section 7
    assert [values[f"c{n}"] for n in range(2, 7)] == [0.25, 0.375, 0.5, 0.59375, 0.671875]


def test_mrode():
    # Mrode, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., ch. 2 (F: trade-facts.md, section 7)
    pedigree = family("1: - -; 2: - -; 3: 1 2; 4: 1 -; 5: 4 3; 6: 5 2")
    assert inbreeding(pedigree).tolist() == [0, 0, 0, 0, 0.125, 0.125]
    # the numerator relationship of birds 5 and 6 with all, his table to two or three places; from memory
    relationship = 2 * kinship(pedigree)
    assert relationship.loc["5"].round(3).tolist() == [0.5, 0.25, 0.625, 0.625, 1.125, 0.688]
    assert relationship.loc["6"].round(3).tolist() == [0.25, 0.625, 0.562, 0.312, 0.688, 1.125]


def test_the_copenhagen_course():
    # Genetics course of the University of Copenhagen, section 4.4: trade-facts.md, section 7
    values = inbreeding(family("1: - -; 2: 1 -; 3: 1 -; 4: 1 -; 5: 2 3; 6: 4 3; 7: 5 6"))
    assert values[["5", "6", "7"]].tolist() == [0.125, 0.125, 0.21875]


def random_family(n, seed, *, known=0.85):
    rng = np.random.default_rng(seed)
    pick = lambda young: f"B{rng.integers(young)}" if young > 2 and rng.random() < known else ""  # noqa: E731
    rows = [(f"B{young}", pick(young), pick(young)) for young in range(n)]
    return pd.DataFrame(rows, columns=["bird", "father", "mother"])


@pytest.mark.parametrize("seed", range(5))
def test_a_second_way_by_recursion_on_the_younger_bird(seed):
    pedigree = random_family(30, seed)
    parents = {bird: both for bird, *both in pedigree.itertuples(index=False)}

    @cache
    def f(one, other):  # Karigl's recursion: no table, and no order but that of age
        if not one or not other:
            return 0.0
        if one == other:
            return (1 + f(*parents[one])) / 2
        older, younger = sorted((one, other), key=lambda bird: int(bird[1:]))
        return sum(f(older, parent) for parent in parents[younger]) / 2

    table = kinship(pedigree.sample(frac=1, random_state=seed))
    assert [(a, b) for a in parents for b in parents if table.loc[a, b] != pytest.approx(f(a, b), abs=1e-12)] == []


def test_genes_dropped_down_a_pedigree():
    pedigree, rng, drops = random_family(12, 3), np.random.default_rng(8), 40_000
    genes = {}
    for at, (bird, *both) in enumerate(pedigree.itertuples(index=False)):
        drawn = [
            np.where(rng.random(drops) < 0.5, *genes[parent]) if parent else np.full(drops, 100 * at + side)
            for side, parent in enumerate(both)
        ]
        genes[bird] = tuple(drawn)
    alike = pd.Series({bird: float((one == other).mean()) for bird, (one, other) in genes.items()})
    values = inbreeding(pedigree)
    assert values.max() > 0.1
    assert np.allclose(alike, values[alike.index], atol=4 * 0.5 / np.sqrt(drops))


# -- slips, blanks, size


def test_names_and_blanks():
    values = inbreeding(
        pd.DataFrame(
            {
                "bird": ["Ash", " elm", "Bay", "Ash"],
                "father": ["Oak", "OAK ", "ash", "Yew"],
                "mother": [None, np.nan, "Elm", ""],
            }
        )
    )
    assert values.index.tolist() == ["Ash", " elm", "Bay", "Oak"]  # of two rows of Ash the first holds
    assert values["Bay"] == 0.125
    assert len(inbreeding(family(""))) == 0


def test_a_bird_that_is_its_own_ancestor_loses_only_the_links_of_the_loop():
    values = inbreeding(family("a: b p; b: c q; c: a p; x: a c; s: s t"))
    assert values.attrs["not_used"] == (("a", "b"), ("b", "c"), ("c", "a"), ("s", "s"))
    assert values["x"] == 0.125  # a and c have the mother p left
    assert values["s"] == 0
    assert kinship(family("a: p q")).attrs["not_used"] == ()


def test_a_thousand_birds_take_less_than_a_second():
    started = time.process_time()
    inbreeding(random_family(1000, 1))
    around = pd.DataFrame(
        [(f"B{n}", f"B{(n + 1) % 1000}", "") for n in range(1000)], columns=["bird", "father", "mother"]
    )
    assert len(inbreeding(around).attrs["not_used"]) == 1000
    assert time.process_time() - started < 2


# -- who is whose parent


@pytest.fixture
def open_two(tmp_path):
    """Open a season with 2025 joined to it: logs of before and of now, by name."""

    def open_(before, now):
        for year, logs in (("2025", before), ("2026", now)):
            (tmp_path / year).mkdir()
            for name, text in ({"settings": f"setting,value\nseason,{year}\n"} | logs).items():
                (tmp_path / year / f"{name}.csv").write_text(dedent(text).lstrip("\n"), encoding="utf-8")
        return open_season(tmp_path / "2026", earlier=[tmp_path / "2025"])

    return open_


PAIRS = "pair,species,kind,cock,hen\n"
OLD = f"{PAIRS}P1,cockatiel,,Oak,Fir\nP2,cockatiel,trio,Bay,Yew\nP3,cockatiel,,Bay,\n"
CHICKS = """
    pair,chick,ring,hatched_at,reared_by
    P1,Pip,R1,2025-04-01,P2
    P1,Wren,R2,2025-04-02,
    P2,Rook,R3,2025-04-03,P1
    P3,Jay,R4,2025-04-03,
    """
BIRDS = "bird,ring,hatched_on,father,mother\n"


def parents_now(open_two, birds="", pairs="", now=""):
    logs = {"pairs": PAIRS + (pairs or "P9,cockatiel,,Pip,Wren\n")}
    logs |= {"birds": BIRDS + birds} if birds else {}
    logs |= {"hatches": now} if now else {}
    known = known_parents(open_two({"pairs": OLD, "hatches": CHICKS}, logs)).set_index("bird")
    return known[["father", "mother"]].agg(list, axis=1).to_dict() | {"as": known["hatched_as"].to_dict()}


def test_a_chick_that_became_a_breeding_bird_has_the_pair_that_laid_it(open_two):
    known = parents_now(open_two)
    assert known["Pip"] == known["Wren"] == ["Oak", "Fir"]  # Pip was reared by P2
    assert known["as"]["Pip"] == "Pip (2025)"


@pytest.mark.parametrize(
    ("bird", "row", "father_and_mother"),
    [
        ("Spark", "Spark,R1,,,", ["Oak", "Fir"]),  # by ring
        ("Spark", "Spark,r1,2024-05-05,,", ["Oak", "Fir"]),  # always by ring
        ("Pip", "Pip,,,Teasel,Clove", ["Teasel", "Clove"]),  # the log of birds wins
        ("Pip", "Pip,,,Teasel,", ["Teasel", ""]),  # another father: another bird, or a slip
        ("Pip", "Pip,,,oak,", ["Oak", "Fir"]),  # the same father: the mother is filled in
        ("Pip", "Pip,,2025-04-02,,", ["Oak", "Fir"]),
        ("Pip", "Pip,,2024-04-01,,", ["", ""]),  # a bird of that name, a year older
        ("Pip", "Pip,,,Ash,Ash", ["Oak", "Fir"]),  # one bird cannot be both
        ("Rook", "Rook,R3,,,", ["", ""]),  # laid in a trio
        ("Jay", "Jay,R4,,,", ["", ""]),  # the hen is not written
    ],
)
def test_what_the_birds_log_says_and_what_is_filled_in(open_two, bird, row, father_and_mother):
    assert parents_now(open_two, birds=row + "\n")[bird] == father_and_mother


def test_a_chicks_name_that_recurs_is_nobody(open_two):
    again = "pair,chick,ring,hatched_at\nP9,Pip,R7,2026-04-01\n"
    known = parents_now(open_two, now=again)
    assert (known["Pip"], known["Wren"]) == (["", ""], ["Oak", "Fir"])


def test_a_ring_on_two_chicks_is_nobody(open_two):
    known = parents_now(open_two, birds="Spark,R1,,,\n", now="pair,chick,ring,hatched_at\nP9,Bud,R1,2026-04-01\n")
    assert known["Spark"] == ["", ""]


def test_a_bird_that_bred_before_the_chick_hatched_is_another(open_two):
    before = {"pairs": f"{PAIRS}P1,cockatiel,,Oak,Fir\nP2,cockatiel,,Pip,Yew\n", "hatches": CHICKS}
    known = known_parents(open_two(before, {"pairs": f"{PAIRS}P9,cockatiel,,Pip,Wren\n"})).set_index("bird")
    assert known.loc["Pip", ["father", "mother"]].tolist() == ["", ""]
    assert known.loc["Wren", ["father", "mother"]].tolist() == ["Oak", "Fir"]


def test_a_ring_and_a_name_are_one_bird(open_two):
    known = parents_now(open_two, birds="Spark,R1,,,\nBud,,,R1,Wren\n", pairs="P9,cockatiel,,R1,Wren\n")
    assert known["Spark"] == ["Oak", "Fir"]
    assert known["Bud"] == ["Spark", "Wren"]
    assert "R1" not in known


# -- what is said of the young

NOTHING = "Nothing in the logs makes them related"
SAID = {
    "full sibs": (
        "Ash,,,Oak,Fir;Elm,,,Oak,Fir",
        (0.25, True, "Ash and Elm have the same parents (Oak and Fir): inbreeding 0.25."),
    ),
    "half sibs": (
        "Ash,,,Oak,Fir;Elm,,,Oak,Yew",
        (0.125, True, "Ash and Elm have the same father (Oak): inbreeding 0.125."),
    ),
    "half sibs or more": (
        "Ash,,,Oak,;Elm,,,Oak,Yew",
        (0.125, False, "Ash and Elm have the same father (Oak): inbreeding at least 0.125."),
    ),
    "half sibs by the mother": (
        "Ash,,,Oak,Fir;Elm,,,Bay,Fir",
        (0.125, True, "Ash and Elm have the same mother (Fir): inbreeding 0.125."),
    ),
    "father and daughter": (
        "Elm,,,Ash,Fir",
        (0.25, False, "Ash is the father of Elm: inbreeding at least 0.25."),
    ),
    "mother and son": (
        "Ash,,,Oak,Elm",
        (0.25, False, "Elm is the mother of Ash: inbreeding at least 0.25."),
    ),
    "grandson and grandmother": (
        "Ash,,,Oak,Fir;Oak,,,Bay,Elm",
        (0.125, False, "Ash descends from Elm: inbreeding at least 0.125."),
    ),
    "first cousins": (
        "Ash,,,Oak,Fir;Elm,,,Bay,Yew;Oak,,,Sky,Sea;Bay,,,Sky,Sea",
        (0.0625, True, "Ash and Elm are related through Sea and Sky: inbreeding 0.0625."),
    ),
    "half cousins or more": (
        "Ash,,,Oak,Fir;Elm,,,Bay,Yew;Oak,,,Sky,;Bay,,,Sky,Sea",
        (0.03125, True, "Ash and Elm are related through Sky: inbreeding at least 0.0312."),
    ),
    "hers not written": (
        "Ash,,,Oak,Fir",
        (0, False, f"{NOTHING}; the parents of Elm are not written, so it cannot be ruled out."),
    ),
    "one of his and both of hers not written": (
        "Ash,,,Oak,",
        (0, False, f"{NOTHING}; the mother of Ash and the parents of Elm are not written, so it cannot be ruled out."),
    ),
    "neither's written": (
        "Oak,,,,",
        (0, False, f"{NOTHING}; the parents of Ash and Elm are not written, so it cannot be ruled out."),
    ),
    "one not written": (
        "Ash,,,,Fir;Elm,,,Bay,Yew",
        (0, False, f"{NOTHING}; the father of Ash is not written, so it cannot be ruled out."),
    ),
    "all written": (
        "Ash,,,Oak,Fir;Elm,,,Bay,Yew",
        (0, True, f"{NOTHING}, and the parents of both are written."),
    ),
    "a hole further back": (
        "Ash,,,Oak,Fir;Elm,,,Bay,Yew;Oak,,,Sky,",
        (0, True, f"{NOTHING}; further back some parents are not written."),
    ),
}


@pytest.mark.parametrize(("birds", "expected"), SAID.values(), ids=SAID)
def test_what_is_said_of_the_young(open_logs, birds, expected):
    table = young(open_logs(pairs=f"{PAIRS}P1,cockatiel,,Ash,Elm\n", birds=BIRDS + birds.replace(";", "\n")))
    assert table.assign(found=table["found"].map(in_words))[["inbreeding", "known", "found"]].values.tolist() == [
        list(expected)
    ]


def test_where_it_cannot_be_told(open_logs):
    pairs = (
        "P1,cockatiel,colony,,\nP2,cockatiel,trio,Ash,Elm\nP3,cockatiel,,Ash,\nP4,cockatiel,,,\nP5,cockatiel,,Ash,ash\n"
    )
    table = young(open_logs(pairs=PAIRS + pairs)).set_index("pair")
    assert table["inbreeding"].isna().all()
    assert table["found"].map(in_words).tolist() == [
        "P1 is a colony: how its birds are related cannot be told.",
        "P2 is a trio: how its birds are related cannot be told.",
        "The hen of P3 is not written, so how they are related cannot be told.",
        "The cock and hen of P4 are not written, so how they are related cannot be told.",
        "Cock and hen of P5 are written as one bird, so how they are related cannot be told.",
    ]


def test_a_slip_in_the_birds_log_does_no_harm(open_logs):
    birds = "Ash,,,Oak,Fir\nElm,,,Oak,Fir\nOak,,,Ash,Yew\n"
    table = young(open_logs(pairs=f"{PAIRS}P1,cockatiel,,Ash,Elm\n", birds=BIRDS + birds))
    assert table.loc[0, "inbreeding"] == 0.125  # they have Fir in common; that Oak is Ash's father is on the loop
    assert not table.loc[0, "known"]


def test_an_ancestor_behind_a_nearer_one_is_not_named():
    parents = {"a": ["p", "q"], "b": ["p", "r"], "p": ["u", "v"], "u": ["w"], "v": ["w"]}
    assert through("a", "b", parents) == {"p"}
    assert through("a", "b", parents | {"r": ["w"]}) == {"p", "w"}  # w also by r, past p
    assert through("a", "x", parents) == set()


# -- partners


def test_the_demo():
    season = demo()
    table = young(season).set_index("pair")
    assert table["inbreeding"].dropna().sum() == table.loc["P05", "inbreeding"] == 0.25
    assert np.isnan(table.loc["P14", "inbreeding"])
    said = {pair: [in_words(one) for one in other_partners(season, pair)] for pair in season.pairs["pair"]}
    assert {pair: told for pair, told in said.items() if told} == {
        "P02": ["Sorrel's eggs showed fertile with Moss in 2025 (9 of 9)."]
    }
    zoe = partners(season).query("bird == 'Zoë'")
    # data_demo/README.md, p06_old_hen: 11 of 12 hatched, then 8 of 11, now 2 of 10
    assert zoe[["season", "eggs", "hatched"]].values.tolist() == [["2026", 10, 2], ["2025", 11, 8], ["2024", 12, 11]]


def test_what_each_bird_did_with_each_partner(open_two):
    hatches = """
        pair,clutch,egg,candled,outcome,hatched_at,chick,weaned_on,reared_by
        P1,1,1,,hatched,2025-04-01,K1,2025-05-20,P2
        P1,1,2,,hatched,2025-04-01,K2,,
        P1,1,3,,dead in shell,,,,
        P1,1,4,,clear,,,,
        P1,1,5,,broken,,,,
        P1,2,1,clear,clear,,,,
        """
    before = {
        "pairs": f"{PAIRS}P1,cockatiel,,Oak,Fir\nP2,cockatiel,,Bay,Yew\nP3,cockatiel,trio,Bay,Fir\n",
        "hatches": hatches,
        "losses": "chick,found_on\nK2,2025-04-09\n",
        "clutches": "pair,clutch,eggs,clear,died_in_egg,broken_or_gone,hatched\nP2,1,5,,1,,2\nP3,1,4,4,0,0,0\n",
    }
    now = {"pairs": f"{PAIRS}P1,cockatiel,,oak,Yew\nP2,cockatiel,,Rue,Fir\n"}
    season = open_two(before, now)
    table = partners(season).set_index(["bird", "season"])
    assert table.loc[("oak", "2025"), ["sex", "partner", "pair"]].tolist() == ["cock", "Fir", "P1 (2025)"]
    counts = table.loc[("Fir", "2025"), "clutches":].tolist()
    assert counts == [2, 6, 5, 3, 3, 2, 1, 2]
    assert table.loc[("Bay", "2025"), "clutches":].tolist()[:6] == [
        1,
        5,
        0,
        0,
        3,
        2,
    ]  # how many were clear is not written
    assert len(table) == 8
    assert [in_words(one) for one in other_partners(season, "p1")] == [
        "Of Fir's eggs with oak in 2025, 3 of 5 showed fertile.",
        "Yew laid 5 eggs with Bay in 2025; whether they were fertile is not written.",
    ]
    assert [in_words(one) for one in other_partners(season, "P2")] == [
        "Of Fir's eggs with oak in 2025, 3 of 5 showed fertile."
    ]
    assert other_partners(season, "P8") == []


def test_partners_of_a_season_without_pairs(open_logs):
    table = partners(open_logs(readings="place,read_at,temperature\nA,2026-07-01,37\n"))
    assert len(table) == 0
    assert table.dtypes["hatched"] == "int64"


# -- problems

SEXED = "bird,sex,hatched_on,father,mother,ring\n"


def problems(season, code):
    found = season.problems[season.problems["code"] == code]
    return [(row.row, row.column, row.value, row.advice) for row in found.itertuples()]


def test_a_bird_that_is_its_own_ancestor_is_said_once(open_logs):
    season = open_logs(birds=f"{SEXED}Ash,,,Oak,Fir,\nOak,,,,r1,\nElm,,,ash,,R1\nBud,,,Ash,Fir,\n")
    chain = "Ash's father is Oak, Oak's mother is Elm, Elm's father is Ash"
    advice = (
        f"{chain}. One of these is a slip. Until it is put right, none of them counts when relatedness is worked out."
    )
    assert problems(season, "own-ancestor") == [(2, "father", "Oak", advice)]
    assert set(season.problems["severity"]) == {"look at this"}


@pytest.mark.parametrize(
    ("birds", "row", "column", "why"),
    [
        ("Ash,,,ash,,\n", 2, "father", "No bird is its own parent."),
        ("Ash,,,Oak,oak,\n", 2, "mother", "Father and mother are the same bird."),
        ("Oak,Hen (DNA),,,,\nAsh,,,Oak,Fir,\n", 3, "father", "Oak is the father here, so a cock, and a hen elsewhere."),
        ("Fir,male,,,,\nAsh,,,Oak,Fir,\n", 3, "mother", "Fir is the mother here, so a hen, and a cock elsewhere."),
        ("Ash,,,Yew,Fir,\n", 2, "father", "Yew is the father here, so a cock, and a hen elsewhere."),  # the hen of P1
    ],
)
def test_impossible_parents(open_logs, birds, row, column, why):
    season = open_logs(pairs=f"{PAIRS}P1,cockatiel,,Bay,Yew\n", birds=SEXED + birds)
    ((at, where, _, advice),) = problems(season, "impossible-parents")
    assert (at, where, advice) == (row, column, f"{why} Check this row, and the others that name this bird.")
    assert codes(season) == ["impossible-parents"]


def test_a_bird_that_is_a_father_here_and_a_mother_there(open_logs):
    season = open_logs(birds=f"{SEXED}Ash,,,Oak,Fir,\nElm,,,Bay,Oak,\n")
    assert [row for row, *_ in problems(season, "impossible-parents")] == [2, 3]


def test_parents_that_can_be_are_not_questioned(open_logs):
    birds = "Oak,cock,2024-01-01,,,\nFir,hen?,2024-01-01,Bay,,\nAsh,unknown,2025-01-01,Oak,Fir,\nElm,,,Oak,Fir,\n"
    season = open_logs(pairs=f"{PAIRS}P1,cockatiel,,Oak,Fir\n", birds=SEXED + birds)
    assert codes(season) == []


def test_a_slip_in_one_row_accuses_no_other(open_logs):
    season = open_logs(birds=f"{SEXED}Ash,,,Oak,Oak,\nElm,,,Oak,Fir,\n")
    assert [row for row, *_ in problems(season, "impossible-parents")] == [2]
