"""Damaged and one-sided logs give no headline anywhere: a warning stands in its place, and says where to look."""

import random
import shutil

import pypdf
import pytest
from click.testing import CliRunner
from rule_cases import CLEAN

from analysis import SeasonError, chapters, open_season
from analysis.chapters import logs as trust
from analysis.chapters.first_page import earlier_table, open_questions, season_line
from analysis.chapters.logs import NO_HATCHING, WITHHELD
from analysis.chapters.pair_page import PairPages
from analysis.chicks.of_season import Chicks
from analysis.cli import main
from analysis.day.round import attention, round_of
from analysis.pairs.next_season import outlook
from analysis.pairs.of_season import Pairs
from analysis.report.render import Report
from analysis.report.round_page import round_document
from analysis.report.season_report import SeasonReport
from analysis.say import in_words
from analysis.season import hatching_known, numbers_hold, unreliable_logs
from analysis.show import Display
from support import DEMO, as_read

NOISE = random.Random(1).randbytes(4000)


def headings(log, **slips):
    """The clean log with some of its headings misspelt."""
    head, rows = CLEAN[log].split("\n", 1)
    return {log: ",".join(slips.get(name, name) for name in head.split(",")) + "\n" + rows}


DAMAGED = {
    **{f"{log} of noise": {log: NOISE} for log in ("hatches", "weights", "losses", "pairs", "settings", "clutches")},
    **{f"{log} empty": {log: ""} for log in ("hatches", "weights", "losses", "pairs")},
    "weights without chick": headings("weights", chick="chik"),
    "weights without day": headings("weights", weighed_at="wayed_at"),
    "weights without weight": headings("weights", weight="wieht"),
    "losses without chick and egg": headings("losses", chick="chik", egg="eg"),
    "losses without day": headings("losses", found_on="fund_on"),
    "pairs without pair": headings("pairs", pair="pare"),
    "pairs without species": headings("pairs", species="spceies"),
    "hatches without egg and chick": headings("hatches", egg="eg", chick="chik"),
    "hatches without pair": headings("hatches", pair="pare"),
    "hatches without outcome": headings("hatches", outcome="outcom", candled="candled"),
    "hatches without hatch": headings("hatches", hatched_at="hatchd_at"),
    "hatches without weaning": headings("hatches", weaned_on="weand_on"),
    "hatches without pair and outcome": headings("hatches", pair="pare", outcome="outcom"),
    "clutches without hatched": headings("clutches", hatched="hatchd"),
    "most weights of nobody": {"weights": "chick,weighed_at,weight\nK1,2026-03-22,5\nX1,2026-03-23,6\nX2,2026-03-24,7"},
    "a workbook that is none": {"season.xlsx": b"PK"},
}  # fmt: skip
HEADLINES = ("laid", "hatched", "weaned")


def folder_of(write_logs, damage):
    logs = {log: text for log, text in (CLEAN | damage).items() if "." not in log}
    folder = write_logs(**logs)
    for name, data in damage.items():
        if "." in name:
            (folder / name).write_bytes(data)
    return folder


def kinds(displays):
    return [display.data["kind"] for display in displays if isinstance(display, Display)]


def headlines(season):
    """What stands at the head of every chapter."""
    judged, growth = Pairs.of(season), Chicks.of(season)
    pages = PairPages.of(season)
    return {
        "page 1": chapters.first_page.numbers(season),
        "pairs": chapters.in_short.pairs(judged),
        "growth": chapters.in_short.growth(growth),
        "eggs": chapters.in_short.eggs(round_of(season).eggs),
        **{pair: chapters.pair_sheet.advice(pages, pair) for pair in season.pairs["pair"]},
    }


@pytest.mark.parametrize("damage", DAMAGED.values(), ids=DAMAGED)
def test_damaged_logs_give_a_warning_and_no_headline(write_logs, damage):
    season = open_season(folder_of(write_logs, damage))
    assert not numbers_hold(season)
    assert {where: kinds(shown) for where, shown in headlines(season).items() if kinds(shown) != ["warning"]} == {}
    ((*items, where),) = [display.data["items"] for display in chapters.first_page.numbers(season)]
    assert [what.removesuffix(".csv") for what, _ in items] == list(damage)
    assert where[0] == "Where to look"
    assert "season check season and the chapter Check the logs" in where[1]
    assert season_line(season) == ""
    with pytest.raises(SeasonError, match=r"Next season cannot be told: .* season check "):
        outlook(season)
    ahead = chapters.advice.ahead(Pairs.of(season))
    assert [display.data["text"] for display in ahead] == [in_words(WITHHELD)]
    assert (
        dict(as_read(attention(round_of(season), Pairs.of(season)))).get("Nothing", "")
        != "Nothing in these logs asks for attention."
    )


def test_whole_logs_have_their_headlines(write_logs):
    season = open_season(write_logs(**CLEAN))
    assert unreliable_logs(season) == []
    assert [heading for heading, shown in headlines(season).items() if "warning" in kinds(shown)] == []
    assert chapters.first_page.numbers(season)[0].data["items"][0][1] == "eggs laid"
    assert outlook(season).keep == ("P1", "P2")


@pytest.mark.parametrize(
    ("own", "why"),
    [
        ({"hatches": CLEAN["hatches"].replace("candled", "colour")}, "a column of one's own"),
        ({"hatches": CLEAN["hatches"].replace("candled", "pare", 1)}, "a near heading beside the column itself"),
        ({"hatches": CLEAN["hatches"].replace("P2,1,2,2026-03-04,2026-03-04,,broken,,,,,\n", "")}, "all of a clutch"),
        ({"feeds": CLEAN["feeds"].split("\n")[0] + "\n"}, "headings alone, as a blank log has them"),
        ({"shopping": "millet\n"}, "a file that is no log"),
    ],
)  # fmt: skip
def test_what_is_no_damage(write_logs, own, why):
    assert unreliable_logs(open_season(write_logs(**(CLEAN | own)))) == [], why


def test_the_rates_stand_where_their_own_log_is_whole(write_logs):
    season = open_season(folder_of(write_logs, {"weights": NOISE}))
    for shown in (chapters.pairs.as_layers, chapters.pairs.as_parents, chapters.pairs.cages, chapters.pairs.incubated):
        assert kinds(shown(season)) == ["table"]
    season = open_season(folder_of(write_logs, {"losses": NOISE, "weights": CLEAN["weights"]}))
    by_season = (
        *(chapters.pairs.as_layers, chapters.pairs.as_parents, chapters.pairs.cages, chapters.pairs.incubated),
        *(chapters.first_page.eggs_to_weaned, chapters.losses.survival, chapters.losses.by_group),
    )
    judged = Pairs.of(season)
    pages = PairPages.of(season)
    by_pair = (chapters.advice.advice, chapters.advice.reasons, chapters.advice.stages, chapters.advice.places)
    shown = [*(part(season) for part in by_season), *(part(judged) for part in by_pair)]
    shown.append(chapters.pair_sheet.record(pages, "P1"))
    assert {display.data.get("text") for displays in shown for display in displays} == {in_words(WITHHELD)}
    assert "Losses" not in dict(as_read(attention(round_of(season), judged)))


ONLY_HATCHED = (
    "pair,clutch,egg,laid_on,outcome,hatched_at,chick,weaned_on\n"
    "P1,1,1,2026-03-01,hatched,2026-03-21,K1,2026-05-05\nP1,1,2,2026-03-03,hatched,2026-03-22,K2,\n"
    "P2,1,1,2026-03-02,hatched,2026-03-22,K3,2026-05-06\n"
)


@pytest.mark.parametrize("more", ["", "P2,1,2,2026-03-04,,,,\n"], ids=["all hatched", "others not written of"])
def test_only_hatched_eggs_give_no_rate_of_hatching(open_logs, more):
    season = open_logs(pairs=CLEAN["pairs"], losses=CLEAN["losses"], hatches=ONLY_HATCHED + more)
    assert numbers_hold(season)
    assert not hatching_known(season)
    warning, numbers = chapters.first_page.numbers(season)
    assert kinds([warning, numbers]) == ["warning", "numbers"]
    assert "no rate of hatching is known" in dict(warning.data["items"])["hatches.csv"]
    assert list(map(tuple, numbers.data["items"])) == [
        ("3", "chicks hatched", "only eggs that hatched are written"),
        ("0", "weighings", "of 0 chicks"),
        ("67 %", "weaned, of chicks weaned or lost", "2 of 3 · 95 %: 19–95"),  # clutches of one and two: effect 1.2
        ("2", "chicks weaned", ""),
    ]
    no_rate = (chapters.first_page.eggs_to_weaned, chapters.pairs.as_layers, chapters.pairs.incubated)
    assert [part(season)[0].data["text"] for part in no_rate] == [in_words(NO_HATCHING)] * 3
    (cages,) = chapters.pairs.cages(season)
    assert cages.data["heads"] == ["cage", "weaned"]
    assert earlier_table(season)["hatch of set"].tolist() == ["not known"]


def test_an_egg_still_incubating_or_counted_is_one_that_did_not_hatch(open_logs):
    still = "P2,1,2,2026-05-01,,,,\n"
    assert hatching_known(open_logs(pairs=CLEAN["pairs"], losses=CLEAN["losses"], hatches=ONLY_HATCHED + still))
    counted = "pair,clutch,eggs,hatched\nP2,2,4,3\n"
    assert hatching_known(open_logs(pairs=CLEAN["pairs"], hatches=ONLY_HATCHED, clutches=counted))
    all_of_them = counted.replace("4,3", "4,4")
    assert not hatching_known(open_logs(pairs=CLEAN["pairs"], hatches=ONLY_HATCHED, clutches=all_of_them))


def test_who_logs_chicks_alone_is_told_so_and_not_warned(open_logs):
    season = open_logs(
        hatches="chick,hatched_at\nK1,2026-03-21\n", weights="chick,weighed_at,weight\nK1,2026-03-22,5\n"
    )
    assert unreliable_logs(season) == []
    (numbers,) = chapters.first_page.numbers(season)
    assert numbers.data["kind"] == "numbers"
    assert numbers.data["items"][0] == ["1", "chicks hatched", "no eggs are logged"]
    assert "No eggs are logged, only chicks" in dict(as_read(open_questions(season)))["Hatching"]


def test_a_day_that_is_asked_for_is_no_damage(open_logs):
    assert unreliable_logs(open_logs(up_to="2026-03-22", **CLEAN)) == []


def test_damage_of_an_earlier_season_holds_back_what_rests_on_it(tmp_path, write_logs):
    season = open_season(write_logs(**CLEAN), earlier=[_earlier(tmp_path)])
    assert numbers_hold(season)
    assert not numbers_hold(season, joined=True)
    assert kinds(chapters.first_page.numbers(season)) == ["numbers"]
    (warning,) = chapters.in_short.pairs(Pairs.of(season))
    assert warning.data["items"][0][0] == "losses.csv of 2025"
    table = earlier_table(season).set_index("season")
    assert set(table.loc["2025"]) == {"not known, see its logs"}
    assert table.loc["2026", "hatch of set"].startswith("3 of 5")


def _earlier(tmp_path):
    folder = tmp_path / "old"
    folder.mkdir()
    for log in ("pairs", "hatches"):
        (folder / f"{log}.csv").write_text(CLEAN[log].replace("2026", "2025"))
    (folder / "settings.csv").write_text("setting,value\nseason,2025\n")
    (folder / "losses.csv").write_bytes(NOISE)
    return folder


def test_a_chicks_page_its_paper_and_the_round_begin_with_the_warning(write_logs):
    season = open_season(folder_of(write_logs, {"losses": NOISE}))
    today = round_of(season)
    for shown in (chapters.one_chick.about(season, "K1"), chapters.one_chick.paper(today, "K1")):
        assert shown[0].data == trust.warned(season)[0].data
    assert kinds(chapters.nursery.day(today)) == ["warning", "attention", "prose"]  # and not of today
    page = round_document(today)
    assert [item[:2] for item in page["read"][:2]] == [["losses.csv", "damaged log"], ["Where to look", "damaged log"]]
    assert page["line"] == ""


def test_no_chicks_page_nor_round_asks_for_eggs_that_did_not_hatch(open_logs):
    season = open_logs(pairs=CLEAN["pairs"], losses=CLEAN["losses"], hatches=ONLY_HATCHED, weights=CLEAN["weights"])
    growth, today = Chicks.of(season), round_of(season)
    shown = (
        *(chapters.one_chick.about(season, "K1"), chapters.one_chick.paper(today, "K1")),
        *(chapters.nursery.day(today), chapters.in_short.growth(growth), chapters.in_short.eggs(today.eggs)),
    )
    assert [displays for displays in shown if "warning" in kinds(displays)] == []
    assert round_document(today)["line"]


@pytest.mark.slow
def test_the_command_and_the_pages_warn_and_give_no_rate(tmp_path):
    folder, out = tmp_path / "season", tmp_path / "out"
    shutil.copytree(DEMO, folder)
    settings = folder / "settings.csv"
    alone = [line for line in settings.read_text("utf-8").splitlines() if not line.startswith("earlier")]
    settings.write_text("\n".join(alone), "utf-8")  # a third of the work; test_damage_of_an_earlier_season does those
    hatches = (folder / "hatches.csv").read_text().replace("pair,", "pare,", 1).replace("outcome", "outcom", 1)
    (folder / "hatches.csv").write_text(hatches)
    run = CliRunner()
    made = run.invoke(main, ["report", str(folder), "--out", str(out)])
    assert made.exit_code == 0, made.output
    told = made.output.split("What needs attention")[0]
    assert "Read this first\n  hatches.csv: Numbers would rest on columns whose headings are not known: pare" in told
    reader = pypdf.PdfReader(out / "season_report.pdf")
    first = " ".join(reader.pages[0].extract_text().split())
    assert "Read this first" in first
    assert "Seen in time" not in first
    assert first.index("Read this first") < first.index("What needs attention")
    pages = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    assert "31 of 31" not in pages
    assert "100 %" not in pages.split("How each number was made")[0].replace("would be 100 %", "")
    outlook_said = run.invoke(main, ["outlook", str(folder)])
    assert outlook_said.exit_code == 2
    assert "season check" in outlook_said.output
    sheets = run.invoke(main, ["sheets", str(folder), "--out", str(out)])
    assert "hatches.csv: Numbers would rest on" in sheets.output
    sheet = " ".join(pypdf.PdfReader(out / "pair_sheets.pdf").pages[0].extract_text().split())
    assert "Read this first" in sheet


def test_the_lines_of_the_command_say_nothing_of_whole_logs(tmp_path):
    lines = SeasonReport(Report(tmp_path / "a.pdf", tmp_path / "a.ipynb", ()), ()).lines()
    assert "Read this first" not in lines
