"""The same logs given twice: a copy of a season among those joined, and a copy of a file in a folder."""

from textwrap import dedent

import pytest

from analysis import open_season
from analysis.logs import Ledger, Place, Row, TypedRows
from analysis.say import in_words
from analysis.season.repeats import distinct, set_aside_copies
from support import DEMO

HATCHES = """
    pair,clutch,egg,laid_on,outcome,hatched_at,chick
    P1,1,1,{y}-03-01,hatched,{y}-03-22,K1
    P1,1,2,{y}-03-03,hatched,{y}-03-24,K2
    P1,1,3,{y}-03-05,clear,,
    P1,1,4,{y}-03-07,clear,,
    """
WEIGHTS = "chick,weighed_at,weight\nK1,{y}-03-25,9.5\nK2,{y}-03-26,8.5\n"


@pytest.fixture
def season(tmp_path):
    """Open a season folder of this name, alone."""

    def season_(name, **logs):
        folder = tmp_path / name
        folder.mkdir(parents=True)
        for log, text in logs.items():
            (folder / f"{log}.csv").write_text(dedent(text).lstrip("\n"), encoding="utf-8")
        return open_season(folder)

    return season_


def of(year, **logs):
    return {
        log: text.replace("{y}", str(year)) for log, text in {"hatches": HATCHES, "weights": WEIGHTS, **logs}.items()
    }


def names(seasons):
    return [one.folder.name for one in seasons]


def test_a_copy_of_an_earlier_season_is_left_out(season):
    every = [season("now", **of(2026)), season("before", **of(2025)), season("before_copy", **of(2025))]
    kept, said = distinct(every)
    assert names(kept) == ["now", "before"]
    assert [*map(in_words, said)] == ["before and before_copy hold the same hatches; the second is left out."]


def test_a_copy_of_the_season_itself_is_left_out_and_every_further_one(season):
    spelt = HATCHES.replace("P1", "p1").replace("hatched,", "Hatched,")
    every = [season("now", **of(2026)), season("a", **of(2026, hatches=spelt)), season("b", **of(2026))]
    kept, said = distinct(every)
    assert names(kept) == ["now"]
    assert [in_words(one).split(" hold")[0] for one in said] == ["now and a", "now and b"]


def test_other_weights_are_said(season):
    every = [season("now", **of(2026)), season("copy", **of(2026, weights=WEIGHTS.replace("8.5", "8.6")))]
    assert [*map(in_words, distinct(every)[1])] == [
        "now and copy hold the same hatches and not the same weights; the second is left out."
    ]


def test_folders_of_one_name_are_told_apart(season):
    every = [season("now", **of(2026)), season("a/2025", **of(2025)), season("b/2025", **of(2025))]
    assert [*map(in_words, distinct(every)[1])] == ["a/2025 and b/2025 hold the same hatches; the second is left out."]


def test_an_older_copy_is_asked_about_and_used(season):
    older = "\n".join(HATCHES.split("\n")[:-2])  # without the last egg
    every = [season("now", **of(2026)), season("backup", **of(2026, hatches=older))]
    kept, said = distinct(every)
    assert names(kept) == ["now", "backup"]
    # three eggs and two chicks
    assert [*map(in_words, said)] == [
        "5 eggs, chicks and clutches of backup are in now as well. Is one a copy of the other? Both are used."
    ]


COUNTS = "pair,clutch,eggs,clear,hatched\n" + "".join(f"P{at},1,5,1,4\n" for at in range(8))


@pytest.mark.parametrize(
    ("one", "other", "said"),
    [
        (of(2026), of(2025), False),
        (of(2026), of(2026, hatches=HATCHES.replace("-03-", "-05-"), weights=WEIGHTS.replace("-03-", "-06-")), False),
        # the same names every year, nothing dated: prepared, or kept without dates
        ({"hatches": "pair,egg\n" + "".join(f"P1,{egg}\n" for egg in range(20))},) * 2 + (False,),
        ({"clutches": COUNTS},) * 2 + (True,),
        ({"clutches": COUNTS.replace("P7,1,5,1,4\n", "")},) * 2 + (False,),
        ({"pairs": "pair,species\nP1,cockatiel\n"},) * 2 + (False,),
    ],
)
def test_what_is_the_same_and_what_is_not(season, one, other, said):
    assert bool(distinct([season("one", **one), season("other", **other)])[1]) == said


@pytest.mark.parametrize(("shared", "said"), [(1, False), (2, False), (3, True), (4, True)])
def test_a_few_eggs_in_two_seasons_are_no_copy(season, shared, said):
    rows = [f"P1,1,{egg},2026-0{{month}}-0{egg},clear" for egg in range(1, 7)]
    months = {"one": [1] * 6, "other": [1] * shared + [2] * (6 - shared)}
    every = [
        season(
            name,
            hatches="pair,clutch,egg,laid_on,outcome\n" + "\n".join(map(lambda r, m: r.format(month=m), rows, of_)),
        )
        for name, of_ in months.items()
    ]
    assert bool(distinct(every)[1]) == said


def test_the_demo_has_no_copy():
    season = open_season(DEMO)
    kept, said = distinct((season, *season.earlier))
    assert (len(kept), said) == (3, [])


# -- two files of one folder


def rows_of(log, **files):
    """Rows of a log, each file's as tuples of (who, day, value)."""
    return [
        Row(Place(log, f"{file}.csv", "", at), {"chick": who, "weighed_at": day, "weight": value})
        for file, cells in files.items()
        for at, (who, day, value) in enumerate(cells, start=2)
    ]


MORNINGS = [("K1", "2026-04-01", 9.5), ("K2", "2026-04-01", 8.5), ("K1", "2026-04-02", 10.5), ("K2", "2026-04-02", 9.1)]


def set_aside(**files):
    ledger, rows = Ledger(), TypedRows()
    rows["weights"] = rows_of("weights", **files)
    ledger.read["weights"] = before = len(rows["weights"])
    set_aside_copies(rows, ledger)
    (account,) = ledger.accounting().to_dict("records")
    assert (account["read"], account["used"]) == (before, len(rows["weights"]))
    assert account["not_used"] == len(ledger.not_used())
    assert set(ledger.problems()["code"]) <= {"log-twice"}
    left = [(row.place.file, row.place.row) for row in rows["weights"] if row.place.file != "weights.csv"]
    return left, ledger.problems()["advice"].tolist()


def test_a_copy_of_a_file_is_not_used():
    copy = [(who.lower(), day, value) for who, day, value in MORNINGS]
    assert set_aside(weights=MORNINGS, copy=copy) == (
        [],
        ["weights.csv and copy.csv hold the same 4 rows of weights; those of copy.csv are not used."],
    )


def test_what_only_the_copy_has_is_used():
    left, said = set_aside(weights=MORNINGS[:3], copy=[*MORNINGS[:3], MORNINGS[3]])
    assert left == [("copy.csv", 5)]
    assert len(said) == 1


def test_a_copy_of_a_copy_is_said_once():
    left, said = set_aside(weights=MORNINGS, a=MORNINGS, b=MORNINGS)
    assert left == []
    assert [sentence.split(" hold")[0] for sentence in said] == ["weights.csv and a.csv", "weights.csv and b.csv"]


@pytest.mark.parametrize(
    "other",
    [
        [("K3", day, value) for _, day, value in MORNINGS],
        [(who, day, value + 1) for who, day, value in MORNINGS],
        [(who, day.replace("04", "05"), value) for who, day, value in MORNINGS],
        MORNINGS[:1],
        [*MORNINGS[:2], *((who, day.replace("04", "05"), value) for who, day, value in MORNINGS)],
    ],
)
def test_another_file_is_no_copy(other):
    left, said = set_aside(weights=MORNINGS, other=other)
    assert (len(left), said) == (len(other), [])


def test_the_same_row_twice_in_one_file_is_left_to_other_rules():
    assert set_aside(weights=[*MORNINGS, *MORNINGS]) == ([], [])


def test_a_copy_among_the_seasons_is_left_out_and_said(write_logs, tmp_path):
    hatches = "".join(f"P1,K{day},2026-04-0{day}\n" for day in range(1, 7))
    folder = write_logs(hatches="pair,chick,hatched_at\n" + hatches)
    other = tmp_path / "another"
    other.mkdir()
    (other / "hatches.csv").write_text("pair,chick,hatched_at\n" + hatches.replace("2026", "2025"))
    assert "same-season-twice" not in set(open_season(folder, [other]).problems["code"])
    copy = tmp_path / "copy"
    copy.mkdir()
    (copy / "hatches.csv").write_bytes((folder / "hatches.csv").read_bytes())
    season = open_season(folder, [copy, other])
    assert [one.folder.name for one in season.earlier] == ["another"]
    assert season.problems["code"].tolist().count("same-season-twice") == 1


def test_a_copy_of_a_file_is_left_out_and_said_once(write_logs):
    weights = "chick,weighed_at,weight\n" + "".join(f"K1,2026-04-0{day},{day}\n" for day in range(2, 8))
    folder = write_logs(hatches="pair,chick,hatched_at\nP1,K1,2026-04-01\n", weights=weights)
    assert "log-twice" not in set(open_season(folder).problems["code"])
    (folder / "weights copy.csv").write_text(weights)
    season = open_season(folder)
    assert season.problems["code"].tolist().count("log-twice") == 1
    assert season.accounting.set_index("log").loc["weights"].tolist() == [12, 6, 6]
