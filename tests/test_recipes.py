"""The recipes for those who know pandas: each result against numbers worked another way, each cell short and plain."""

import ast
import io
from collections import Counter, defaultdict
from datetime import date
from itertools import pairwise
from math import sqrt
from statistics import mean
from unittest.mock import patch

import altair as alt
import nbformat
import nbformat.v4 as v4
import numpy as np
import papermill
import pdf_tags
import pikepdf
import pypdf
import pytest
from scipy.optimize import curve_fit

import analysis
from analysis.report.exporter import SeasonPDF
from support import DEMO, ROOT, demo

BOOK = nbformat.read(ROOT / "notebooks" / "recipes.ipynb", as_version=4)
HEADS = [
    "Weight at hatch, by pair",
    "Eggs set by week",
    "Survival of one cage",
    "One chick beside its kind",
    "Fit again with Gompertz's curve",
    "Hatch rate by pair",
    "What is advised for each pair",
    "Who is flagged",
    "Two seasons joined",
    "A chart of your own in the report",
]
OPEN = {"still incubating", "unknown"}  # outcomes that are none yet


def recipes():
    """Heading, words and cell of each recipe, in order."""
    rows = BOOK.cells[3:]
    for prose, cell in zip(rows[::2], rows[1::2], strict=True):
        head, words = prose.source.removeprefix("## ").split("\n\n")
        yield head, words, cell


def cell_of(head):
    return next(cell for found, _, cell in recipes() if found == head)


def cook(folder=""):
    """Everything the cells made of a season, in one namespace, as Run All Cells does it."""
    made = {}
    for cell in BOOK.cells:
        if cell.cell_type == "code":
            exec(compile(cell.source, cell.id, "exec"), made)
            made |= {"folder": folder} if "parameters" in cell.metadata.get("tags", ()) else {}
    return made


@pytest.fixture(autouse=True, scope="module")
def undressed():
    """What the notebook sets for every chart is as it was afterwards."""
    before = alt.theme.active, alt.renderers.active, alt.data_transformers.active
    yield
    alt.theme.enable(before[0])
    alt.renderers.enable(before[1])
    alt.data_transformers.enable(before[2])


@pytest.fixture(scope="module")
def made():
    with patch("analysis.chapters.open_season", lambda *_, **__: demo()):  # what other tests work out of it
        return cook(str(DEMO))


# -- how they are written


def test_ten_recipes_each_with_a_heading_two_sentences_at_most_and_a_short_cell():
    assert [head for head, _, _ in recipes()] == HEADS
    for head, words, cell in recipes():
        assert 1 <= words.count(". ") + 1 <= 2, head
        lines = [line for line in cell.source.splitlines() if line]
        assert 2 <= len(lines) <= 8, head
        assert not cell.outputs, head


def test_they_use_pandas_altair_and_the_names_for_users_alone():
    begun = ast.parse(BOOK.cells[2].source).body
    assert [ast.unparse(one) for one in begun[:2]] == ["import pandas as pd", "from analysis import chapters"]
    for head, _, cell in recipes():
        for one in ast.walk(ast.parse(cell.source)):
            if isinstance(one, ast.ImportFrom):
                assert one.module == "analysis", head
                assert {name.name for name in one.names} <= set(analysis.__all__), head
            if isinstance(one, ast.Import):
                assert ast.unparse(one) == "import altair as alt", head
    assert {name.name for cell in BOOK.cells if cell.cell_type == "code" for name in names(cell.source)} >= {
        *("kaplan_meier", "reference_curve", "fit_each", "interval", "review_pairs", "find_flags")
    }


def names(source):
    return [name for one in ast.walk(ast.parse(source)) if isinstance(one, ast.ImportFrom) for name in one.names]


def test_every_recipe_runs_on_a_season_of_two_chicks_and_a_day_of_nothing(write_logs):
    made = cook(str(write_logs(hatches="chick,hatched_at,pair\nK1,2026-04-01,P1\nK2,2026-04-02,P1\n")))
    for name in ("at_hatch", "eggs_by_week", "one_cage", "beside", "refit", "flagged"):
        assert made[name].empty, name


# -- what they say, worked another way


def test_weight_at_hatch_by_pair(made):
    own = defaultdict(dict)
    for row in made["season"].weights.to_dict("records"):
        if row["age_d"] == 0 and row["together"] == 1:
            own[row["pair"]].setdefault(row["chick"], row["mass_g"])
    found = {pair: (len(g), mean(g.values()), min(g.values()), max(g.values())) for pair, g in own.items()}
    assert found["P01"] == (10, pytest.approx(4.07), 2.5, 5.0)
    assert made["at_hatch"].apply(tuple, axis=1).to_dict() == {p: pytest.approx(v) for p, v in found.items()}


def test_eggs_set_by_week(made):
    weeks = Counter()
    for day in made["season"].eggs["set_on"].dropna():
        year, week, _ = day.isocalendar()
        weeks[date.fromisocalendar(year, week, 1)] += 1
    shown = {day.date(): eggs for day, eggs in made["eggs_by_week"].items()}
    assert sum(shown.values()) == sum(weeks.values()) == 144
    assert {day: eggs for day, eggs in shown.items() if eggs} == dict(weeks)
    days = sorted(shown)
    assert len(days) == 21
    assert {(later - day).days for day, later in pairwise(days)} == {7}, "no week is left out"


def test_survival_of_one_cage(made):
    """Of fourteen one was weaned before it hatched (a slip), two of 13 died on day 5, then one of 11, one of 10."""
    table = made["one_cage"]
    assert table[["age_d", "at_risk", "lost"]].astype(int).to_numpy().tolist() == [
        *([0, 14, 0], [5, 13, 2], [20, 11, 1], [24, 10, 1], [54, 2, 0])
    ]
    assert table["survival"].tolist() == pytest.approx([1, 11 / 13, 10 / 13, 9 / 13, 9 / 13])
    assert ((table["low"] <= table["survival"]) & (table["survival"] <= table["high"])).all()
    assert table["low"].iloc[-1] < 0.45, "fourteen are not many"


def test_one_chick_beside_its_kind(made):
    beside, season = made["beside"], made["season"]
    assert beside["mass_g"].tolist() == season.weights.loc[season.weights["chick"] == "K14", "mass_g"].tolist()
    others = season.weights[season.weights["kind"].eq("cockatiel, by hand") & season.weights["did_well"]]
    curves = [fitted(logistic, rows[rows["age_d"] <= 30]) for _, rows in others.groupby("chick")]
    for age_d in (9, 14, 19):
        usual = np.median([logistic(age_d, *numbers) for numbers in curves])
        assert beside.loc[age_d, 0.5] == pytest.approx(usual, rel=0.05)
    assert beside["mass_g"].iloc[-1] < beside[0.05].iloc[-1] < beside[0.5].iloc[-1] < beside[0.95].iloc[-1]


def test_a_chick_that_did_well_is_not_held_against_itself(made):
    chicks = made["usual"].chicks
    exec(cell_of(HEADS[3]).source.replace("K14", "K16"), other := dict(made))
    assert (other["usual"].chicks, other["usual"].left_out) == (chicks - 1, ("K16",))


def logistic(age_d, A_g, K_per_d, ti_d):
    return A_g / (1 + np.exp(-K_per_d * (age_d - ti_d)))


def gompertz(age_d, A_g, K_per_d, ti_d):
    return A_g * np.exp(-np.exp(-K_per_d * (age_d - ti_d)))


def fitted(curve, rows):
    """A, K, ti of one chick by scipy's own least squares on ln weight."""
    age_d, told = rows["age_d"].to_numpy(), np.log(rows["mass_g"].to_numpy())
    return curve_fit(lambda age, *numbers: np.log(curve(age, *numbers)), age_d, told, p0=(90, 0.2, 10))[0]


def test_fitted_again_with_gompertz(made):
    refit, weights = made["refit"], made["season"].weights
    assert "K14" not in refit.index, "it had not bent yet, so its numbers are not to be shown"
    assert len(refit) == 9
    for chick in ("K13", "K43"):
        rows = weights[weights["chick"].eq(chick) & weights["age_d"].le(30)]
        for curve in (logistic, gompertz):
            numbers, shown = fitted(curve, rows), refit.loc[chick, curve.__name__]
            assert shown[["A_g", "K_per_d", "ti_d"]].astype(float).tolist() == pytest.approx(list(numbers), rel=1e-3)
            left = np.log(rows["mass_g"]) - np.log(curve(rows["age_d"], *numbers))
            assert shown["sigma"] == pytest.approx(sqrt((left**2).sum() / (len(rows) - 3)), rel=1e-3)
            assert shown["n"] == len(rows)


def wilson(k, n):
    """The closed form, 95 %."""
    z, p = 1.959964, k / n
    middle, half = p + z * z / (2 * n), z * sqrt(p * (1 - p) / n + z * z / (4 * n * n))
    return (middle - half) / (1 + z * z / n), (middle + half) / (1 + z * z / n)


def counted(eggs):
    """(hatched, eggs with an outcome), egg by egg."""
    known = [egg["outcome"] for egg in eggs if egg["outcome"] not in OPEN]
    return known.count("hatched"), len(known)


def rows_said(table):
    return {name: tuple(row) for name, *row in table.itertuples()}


def with_interval(k, n):
    return pytest.approx((k, n, k / n, *wilson(k, n)), abs=1e-5)


def test_hatch_rate_by_pair(made):
    eggs = made["season"].eggs.to_dict("records")
    own = {pair: counted([egg for egg in eggs if egg["pair"] == pair]) for pair in {egg["pair"] for egg in eggs}}
    assert own["P01"] == (14, 15)
    assert own["P02"] == (0, 9)
    assert rows_said(made["hatch_rate"]) == {pair: with_interval(*counts) for pair, counts in own.items()}


def test_an_egg_still_in_the_incubator_counts_for_nothing(made):
    season = analysis.open_season(DEMO, up_to="2026-05-01")
    assert "still incubating" in set(season.eggs["outcome"])
    exec(cell_of(HEADS[5]).source, then := {**made, "season": season})
    for pair, (k, n, *_) in rows_said(then["hatch_rate"]).items():
        assert (k, n) == counted(season.eggs[season.eggs["pair"] == pair].to_dict("records"))
    assert then["hatch_rate"]["eggs"].sum() == (~season.eggs["outcome"].isin(OPEN)).sum() < len(season.eggs)


def test_what_is_advised(made):
    advice, season = made["advice"], made["season"]
    assert advice.index.tolist() == season.pairs["pair"].tolist()
    laid = season.eggs.groupby("pair")["clutch"].nunique()
    own = season.logs["species"].set_index("species")["clutches_a_season"]
    assert laid["P01"] == 3 > own["cockatiel"] == 2
    assert advice.loc["P01", "advice"] == "rest"
    clear = season.eggs[season.eggs["pair"].eq("P02")]["fertile"].eq("no")
    assert (clear.sum(), len(clear), advice.loc["P02", "advice"]) == (9, 9, "check first")
    assert advice.loc["P02", "evidence"].startswith("showed fertile (as layers) 0 of 9 (likely 0–")
    assert (laid["P04"], advice.loc["P04", "advice"]) == (1, "not enough to judge")
    assert advice["reasons"].ne("").all()


def test_who_is_flagged(made):
    flagged, weights = made["flagged"], made["season"].weights
    acts = flagged[flagged["level"] == "act"]
    assert acts["chick"].tolist() == ["K04", "K14", "K21", "K22", "K34", "K45", "K49"]
    assert flagged.index[: len(acts)].tolist() == acts.index.tolist(), "what presses stands first"
    grams = {name: rows.set_index("age_d")["mass_g"] for name, rows in weights.groupby("chick")}
    assert grams["K14"][18] < grams["K14"][16], "it lost weight over two days"
    assert 0.15 < 1 - grams["K04"].iloc[-1] / grams["K04"].max() < 0.2, "far more than a tenth lost since its peak"
    slip = flagged[flagged["chick"].eq("K24")].iloc[0]
    near = grams["K24"].loc[[slip["age_d"] - 1, slip["age_d"] + 1]]
    assert (slip["flag"], grams["K24"][slip["age_d"]]) == ("slip", 84)
    assert near.between(44, 54).all(), "48 g with its digits exchanged"
    assert 1 - grams["K16"].iloc[-1] / grams["K16"].max() < 0.1, "what is usual while it weans"
    assert "K16" not in set(flagged["chick"])


def test_two_seasons_joined_by_their_birds(made):
    own = defaultdict(list)
    for name in ("season_2026", "season_2025"):
        season = analysis.open_season(DEMO.parent / name)
        birds = {row.pair: (row.cock, row.hen) for row in season.pairs.itertuples()}
        for egg in season.eggs.to_dict("records"):
            own[(*birds[egg["pair"]], season.name)].append(egg)
    counts = {who: counted(eggs) for who, eggs in own.items() if all(who)}
    assert counts["Bramble", "Hazel", "2025"] == (7, 10)
    assert counts["Bramble", "Hazel", "2026"] == (14, 15)
    assert ("Moss", "Sorrel", "2025") in counts, "P02 of last year was another cock"
    shown = rows_said(made["two_seasons"])
    assert shown == {who: with_interval(*found) for who, found in counts.items()}


def test_a_chart_of_ones_own(made):
    spec = made["layers"].to_dict()
    drawn = [row for rows in spec["datasets"].values() for row in rows]
    assert {row["pair"]: (row["hatched"], row["eggs"]) for row in drawn} == {
        pair: (k, n) for pair, (k, n, *_) in rows_said(made["hatch_rate"]).items()
    }
    fields = [
        {x: layer["encoding"][x]["field"] for x in ("x", "x2") if x in layer["encoding"]} for layer in spec["layer"]
    ]
    assert fields == [{"x": "low", "x2": "high"}, {"x": "rate"}]
    assert made["told"].startswith("P01 14 of 15, P02 0 of 9, ")
    assert made["told"].count(" of ") == len(made["hatch_rate"])


@pytest.mark.slow
def test_it_stands_in_the_report_with_its_words(made, tmp_path):
    """As a keeper does it: the two cells in a copy of the report (here its first page), run, and exported."""
    book = nbformat.read(ROOT / "notebooks" / "07_season_report.ipynb", as_version=4)
    begin = [cell for cell in book.cells if cell.cell_type == "markdown" or "cover" in cell.source][:1]
    begin += [cell for cell in book.cells if cell.cell_type == "code"][:2]
    ours = [v4.new_code_cell(cell_of(head).source) for head in (HEADS[5], HEADS[9])]
    book.cells = [*begin, v4.new_markdown_cell("## My own chart"), *ours]
    nbformat.write(book, tmp_path / "mine.ipynb")
    done = papermill.execute_notebook(
        str(tmp_path / "mine.ipynb"), None, {"folder": str(DEMO)}, kernel_name="python3", progress_bar=False
    )
    pdf, _ = SeasonPDF().from_notebook_node(done)
    text = " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pdf)).pages).split())
    assert "My own chart" in text
    assert made["caption"] in text
    assert pdf_tags.faults(pdf) == []
    with pikepdf.open(io.BytesIO(pdf)) as document:
        told = [str(tag.get("/Alt", "")) for tag in pdf_tags.of(document, "Figure")]
    assert told == [f"Hatched: {made['told']}."]
