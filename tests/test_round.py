"""The morning's round on paper: what stands on it, the form to type the weights into, and folders that hold little."""

import io
import re
from functools import cache

import pandas as pd
import pypdf
import pytest
from click.testing import CliRunner

from analysis import open_season
from analysis.cli import main
from analysis.day.round import round_of
from analysis.day.round_rows import egg_rows, weights_form
from analysis.errors import SeasonError
from analysis.report.round_page import morning_round, round_document, round_page
from analysis.report.writing import RECORD
from support import DEMO, demo_round, rows_as_read

ON = pd.Timestamp("2026-05-20")
PAIRS = "pair,species,cage\nP1,cockatiel,C1\n"


def demo():
    return demo_round("2026-05-20")


@cache
def page():
    return round_page(demo())


def words(pdf):
    pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
    return [" ".join(one.extract_text().split()) for one in pages]


@pytest.fixture(params=["A4", "Letter"])
def paper(request):
    return request.param


# -- the page of the demo


def test_two_pages_for_the_morning_and_one_to_hand_on_that_are_the_same_every_time():
    first, second, evening = words(page())
    assert "Morning round" in first
    assert "Due today" in second
    assert "38 to 41 °C" in second
    assert "This evening" in evening
    assert "psittacosis" in evening
    assert round_page(demo()) == page()


@pytest.mark.parametrize(
    "planted",
    [
        r"Read first K23 .*K22 .*veterinarian",
        r"K23 .*Crop not emptying",
        r"hatched today, 02:40",
        r"Kiwi own syringe",
        r"Mango own syringe",
        r"candle A12, A13 and A14",
        r"ring K29",
        r"may pip A10 and A11",
        r"06:50, 42(\.0)? °C: wait",
    ],
)
def test_all_that_is_planted_for_the_day_stands_on_it(planted):
    assert re.search(planted, " ".join(words(page())))


def test_every_chick_has_a_row_to_write_on_and_the_weights_that_are_known():
    rows = round_document(demo())["rows"]
    assert len(rows) == 13
    weights = {row["chick"]: row["weight"] for row in rows}
    assert weights["K29"] == ""  # not weighed yet: a box to write in
    assert weights["K24"] == "28"
    assert next(row for row in rows if row["chick"] == "K23")["crop"] == "part"


def test_the_cautions_stand_on_it():
    said = " ".join(words(page()))
    for caution in ("avian veterinarian", "burns the crop", "psittacosis", "qualified electrician", "38 to 41 °C"):
        assert caution in said


def test_eggs_of_one_clutch_share_a_row_and_weighed_ones_do_not():
    eggs = rows_as_read(egg_rows(demo())).set_index("egg")
    assert "P05/2: 1, 2 and 3" in eggs.index
    assert eggs.loc["A12", "lost"].endswith("%")
    assert "2.4" not in eggs.loc["A17", "lost"]


def test_it_is_tagged_and_has_a_title():
    catalog = pypdf.PdfReader(io.BytesIO(page())).trailer["/Root"]
    assert catalog["/MarkInfo"]["/Marked"]
    assert "/StructTreeRoot" in catalog
    assert pypdf.PdfReader(io.BytesIO(page())).metadata.title == "Morning round, Wednesday 20 May 2026"


# -- the form to type into


def test_what_is_typed_into_the_form_is_read_back(tmp_path):
    form = weights_form(demo())
    assert form["chick"].tolist() == ["K29"]
    folder = tmp_path / "season_2026"
    folder.mkdir()
    for path in DEMO.glob("*.csv"):
        if path.stem != "settings":
            (folder / path.name).write_bytes(path.read_bytes())
    (folder / "settings.csv").write_text("setting,value\nseason,2026\n")
    made = morning_round(folder, tmp_path / "out", on="2026-05-20", csv=True)
    typed = made.csv.read_text().replace("K29,2026-05-20,,,", "K29,2026-05-20,23.5,empty,begs well")
    (folder / made.csv.name).write_text(typed)
    again = round_of(open_season(folder, up_to="2026-05-20"), ON)
    assert again.chicks.set_index("chick").loc["K29", "today_g"] == 23.5
    assert weights_form(again).empty


def test_names_that_spreadsheets_would_spoil_come_back(tmp_path, write_logs):
    hatches = 'pair,clutch,hatched_at,chick,reared_by\nP1,1,2026-05-01,"Zoë, the small",hand\nP1,1,2026-05-01,01,hand\n'
    folder = write_logs(pairs=PAIRS, hatches=hatches, settings="setting,value\nseason,2026\n")
    made = morning_round(folder, tmp_path / "out", on="2026-05-20", csv=True)
    (folder / made.csv.name).write_text(made.csv.read_text().replace(",2026-05-20,,,", ",2026-05-20,70,,"))
    season = open_season(folder)
    assert sorted(season.weights["chick"]) == ["01", "Zoë, the small"]


# -- folders that hold little, and days that are odd


def little(open_logs, hatches, on=ON, **logs):
    logs = {"pairs": PAIRS, "settings": "setting,value\nseason,2026\n"} | logs
    season = open_logs(
        up_to=f"{on:%Y-%m-%d}", hatches="pair,clutch,egg,set_on,hatched_at,chick,reared_by\n" + hatches, **logs
    )
    return round_of(season, on)


def test_no_chick_in_the_nursery_still_says_what_is_due(open_logs):
    today = little(open_logs, "P1,1,A1,2026-05-15,,,\n")
    said = " ".join(words(round_page(today)))
    assert "No chick is fed by hand on this day." in said
    assert "candle A1" in said


def test_nothing_at_all(open_logs):
    document = round_document(little(open_logs, "P1,1,A1,2026-01-15,2026-02-10,K1,P1\n"))
    assert (document["rows"], document["due"], document["eggs"], document["read"]) == ([], [], [], [])
    assert len(words(round_page(little(open_logs, "P1,1,A1,2026-01-15,2026-02-10,K1,P1\n")))) == 1


def test_a_day_before_the_first_log_is_a_page_that_says_so(tmp_path):
    made = morning_round(DEMO, tmp_path, on="2025-12-24")
    assert "Nothing in these logs is as early as this day." in " ".join(words(made.pdf.read_bytes()))
    assert made.read == ()


def test_a_day_long_after_the_last_log(tmp_path, write_logs):
    hatches = "pair,clutch,hatched_at,chick,reared_by\nP1,1,2026-05-01,K1,hand\n"
    weights = "chick,weighed_at,weight\nK1,2026-05-10,20\nK1,2026-05-11,22\n"
    folder = write_logs(pairs=PAIRS, hatches=hatches, weights=weights, settings="setting,value\nseason,2026\n")
    made = morning_round(folder, tmp_path / "out", on="2026-06-20")
    said = " ".join(words(made.pdf.read_bytes()))
    assert "Still fed by hand K1 (50 days, no word since 11 May 2026). Weaned, left or lost?" in said
    assert "no amount" not in said
    assert "weigh again K1" not in said
    sooner = morning_round(folder, tmp_path / "out", on="2026-05-24")
    assert "(13 days ago)" in " ".join(words(sooner.pdf.read_bytes()))


def test_two_chicks_with_one_name_are_one_row(open_logs):
    today = little(open_logs, "P1,1,,,2026-05-10,K1,hand\nP1,1,,,2026-05-12,k1,hand\n")
    assert today.chicks["chick"].tolist() == ["K1"]
    assert "name-used-twice" in today.season.problems["code"].tolist()


def test_text_of_any_kind_is_text(open_logs, paper):
    name = '#let "x" $1$ <b> 🐣 \\ @ref ' + "y" * 60
    hatches = f'P1,1,,,2026-05-10,"{name.replace(chr(34), chr(34) * 2)}",hand\n'
    signs = "who,seen_at,sign,notes\nX,2026-05-20,cold,*bold* _it_ #strong[no]\n"
    settings = f"setting,value\nseason,2026\npaper,{paper}\naviary,#evil()\n"
    today = little(open_logs, hatches, signs=signs, settings=settings)
    pdf = round_page(today)
    said = "".join(words(pdf)).replace(" ", "")
    assert '#let"x"$1$<b>[hatchingchick]' in said
    size = pypdf.PdfReader(io.BytesIO(pdf)).pages[0].mediabox
    assert float(size.width) == pytest.approx(841.9 if paper == "A4" else 792, abs=0.2)  # on its side


def test_no_such_folder_and_no_such_day_are_plain_sentences(tmp_path):
    with pytest.raises(SeasonError, match="There is no folder"):
        morning_round(tmp_path / "no", tmp_path)
    with pytest.raises(SeasonError, match="is not a day that can be read"):
        morning_round(DEMO, tmp_path, on="the 40th")


def test_the_command_prints_who_is_read_of_first(tmp_path):
    done = CliRunner().invoke(main, ["round", str(DEMO), "--on", "2026-05-20", "--out", str(tmp_path), "--csv"])
    assert done.exit_code == 0
    assert "Read first" in done.output
    assert "K22: " in done.output
    names = [RECORD, "round_2026-05-20.pdf", "weights_2026-05-20.csv"]
    assert sorted(path.name for path in tmp_path.iterdir()) == names


def test_today_by_default(tmp_path, write_logs, set_clock):
    set_clock("2026-05-20 06:50")
    hatches = "pair,clutch,hatched_at,chick,reared_by\nP1,1,2026-05-20,K1,hand\n"
    made = morning_round(write_logs(pairs=PAIRS, hatches=hatches), tmp_path / "out")
    assert made.pdf.name == "round_2026-05-20.pdf"
    assert "hatched today" in " ".join(words(made.pdf.read_bytes()))
