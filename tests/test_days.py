"""The day that is asked for: ages count to it, one clock says which day it is, and who may be gone is asked about."""

import io
import re
from dataclasses import replace
from datetime import date

import nbformat
import pandas as pd
import pypdf
import pytest

from analysis import chapters
from analysis.chapters.first_page import whereabouts
from analysis.chicks import Chicks
from analysis.chicks.status import flag_history
from analysis.chicks.warnings import watched
from analysis.day.preparation import still_here
from analysis.day.round import attention, round_of
from analysis.day.round_rows import round_rows, weights_form
from analysis.names import FOLDER_VARIABLE
from analysis.report.kernel import key_of
from analysis.report.round_page import morning_round, round_page
from analysis.say import in_words
from support import ROOT, as_read, demo, demo_growth, demo_judged, demo_round, read_first, rows_as_read, table_shown

SETTINGS = "setting,value\nseason,2026\n"
PAIRS = "pair,species,cage\nP1,cockatiel,C1\n"
# hatched on 20 May, and nothing was logged since
SEVEN = {"settings": SETTINGS, "pairs": PAIRS, "hatches": "pair,hatched_at,chick,reared_by\nP1,2026-05-20,K1,hand\n"}


def said(displays):
    """All words of displays, in order."""
    return " ".join(str(one.data) if hasattr(one, "data") else str(one) for one in displays)


def words(pdf):
    return " ".join(" ".join(one.extract_text().split()) for one in pypdf.PdfReader(io.BytesIO(pdf)).pages)


# -- the clock


def test_no_other_place_asks_the_clock():
    asks = re.compile(r"\b(date|datetime|Timestamp|pd)\.(to)?(today|now|utcnow)\b|\blocaltime\(|[\"']now[\"']")
    files = [*(ROOT / "analysis").rglob("*.py"), *(ROOT / "notebooks").glob("*.ipynb")]
    found = [path.name for path in files if asks.search(path.read_text(encoding="utf-8"))]
    assert found == ["days.py"]


def test_the_round_is_of_today_by_the_one_clock(write_logs, tmp_path, set_clock):
    set_clock("2026-05-27 06:50")
    made = morning_round(write_logs(**SEVEN), tmp_path / "out")
    assert made.pdf.name == "round_2026-05-27.pdf"
    assert "7 days · cockatiel" in words(made.pdf.read_bytes())


def test_over_midnight_the_name_the_date_and_the_rows_are_of_one_day(write_logs, tmp_path, set_clock):
    set_clock("2026-05-26 23:59", "2026-05-27 00:00")
    made = morning_round(write_logs(**SEVEN), tmp_path / "out", csv=True)
    page = words(made.pdf.read_bytes())
    assert (made.pdf.name, made.csv.name) == ("round_2026-05-26.pdf", "weights_2026-05-26.csv")
    assert "Tuesday 26 May 2026" in page
    assert "6 days · cockatiel" in page
    assert made.csv.read_text().splitlines()[1].startswith("K1,2026-05-26,")


# -- ages


@pytest.mark.parametrize(("up_to", "age"), [("2026-05-27", 7), (None, 0)])
def test_a_chick_is_as_old_as_on_the_day_that_was_asked_for(open_logs, up_to, age):
    season = open_logs(up_to=up_to, **SEVEN)
    assert table_shown(chapters.first_page.next_steps(season)).iloc[0, -1] == str(age)
    assert round_of(season).chicks["age_d"].tolist() == [age]
    assert season.last_day == pd.Timestamp("2026-05-20"), "what was logged last stays what it is"


def test_page_1_names_its_day_and_what_day_that_is(open_logs):
    line = chapters.first_page.cover(open_logs(**SEVEN))[0].data["line"]
    assert line.endswith("as of 20 May 2026, the last day in your logs")
    asked = chapters.first_page.cover(open_logs(up_to="2026-05-27", **SEVEN))[0].data
    assert asked["line"].endswith("as of 27 May 2026; the last day in your logs is 20 May 2026")
    assert (asked["as_of"], asked["last_day"]) == ("27 May 2026", "2026-05-27")


def test_still_being_reared_is_said_of_the_day_that_was_asked_for(open_logs):
    assert in_words(whereabouts(open_logs(up_to="2026-05-27", **SEVEN))) == "Still being reared on 27 May 2026: K1."


def test_an_egg_is_counted_to_the_day_that_was_asked_for(open_logs):
    logs = {"settings": SETTINGS, "pairs": PAIRS, "hatches": "pair,clutch,egg,set_on\nP1,1,E1,2026-05-01\n"}
    outcomes = [open_logs(up_to=day, **logs).eggs["outcome"].item() for day in ("2026-05-20", "2026-06-20")]
    assert outcomes == ["still incubating", "unknown"]


def test_flags_and_signs_are_of_the_days_before_the_day_that_was_asked_for():
    on = demo("2026-05-20")
    later = replace(on, asked_on=pd.Timestamp("2026-06-02"))  # a fortnight on, and nothing more was logged
    assert {"K22", "K23"} <= {who for who, _, _ in read_first(demo_round("2026-05-20"))}
    assert not {"K22", "K23"} & {who for who, _, _ in read_first(round_of(later))}
    short = chapters.in_short.growth(demo_growth("2026-05-20"))[0].text
    assert short.endswith("flagged in the 7 days up to 20 May 2026: K22.")
    assert chapters.in_short.growth(Chicks.of(later))[0].text.endswith("flagged in the 7 days up to 2 June 2026: none.")


def test_two_days_asked_of_the_same_logs_are_two_records(open_logs):
    one, other = (open_logs(up_to=day, **SEVEN) for day in ("2026-05-27", "2026-05-28"))
    assert key_of(one) != key_of(other)


# -- who may not be here any more

CONURE = "pair,species,cage\nP1,sun conure,C1\n"  # feeds itself by day 70: analysis/season/species.toml


def rounds(open_logs, on, reared_by="hand", hatched="2026-05-20", **logs):
    hatches = f"pair,hatched_at,chick,reared_by\nP1,{hatched},K1,{reared_by}\n"
    return round_of(open_logs(**{"up_to": on, "settings": SETTINGS, "pairs": CONURE, "hatches": hatches} | logs))


WEIGHED = "chick,weighed_at,weight\nK1,2026-05-27,20\nK1,2026-05-28,22\n"


@pytest.mark.parametrize(
    ("on", "reared_by", "logs", "place"),
    [
        ("2026-06-10", "hand", {"weights": WEIGHED}, "fed"),
        ("2026-06-11", "hand", {"weights": WEIGHED}, "asked"),  # two weeks after its last weight
        ("2026-06-11", "hand", {"weights": WEIGHED, "signs": "who,seen_at,sign\nk1,2026-06-01,begs\n"}, "fed"),
        ("2026-06-11", "hand", {"weights": WEIGHED, "feeds": "fed_at,who\n2026-06-02,K1\n"}, "fed"),
        ("2026-06-11", "hand", {"weights": WEIGHED, "feeds": "fed_at,who\n2026-06-02,\n"}, "asked"),  # all: who is all?
        ("2026-06-11", "hand", {}, "fed"),  # never weighed: nothing says that it is gone
        ("2026-08-12", "hand", {}, "fed"),  # day 84, two weeks past its species' days
        ("2026-08-13", "hand", {}, "asked"),
        ("2026-08-13", "hand", {"weights": "chick,weighed_at,weight\nK1,2026-08-12,110\n"}, "fed"),
        ("2026-08-13", "parents", {}, "asked"),
        ("2026-06-11", "parents", {"weights": WEIGHED}, "neither"),  # with its parents, weighed now and then
    ],
)
def test_who_is_fed_and_who_is_asked_about(open_logs, on, reared_by, logs, place):
    today = rounds(open_logs, on, reared_by, **logs)
    assert today.chicks["chick"].tolist() == (["K1"] if place == "fed" else [])
    asked = " ".join(sentence for _, sentence in as_read(still_here(today)))
    assert ("K1" in asked) == (place == "asked")
    if place == "asked":
        assert "Weaned, left or lost?" in asked
        assert today.due.empty
        assert weights_form(today).empty
        assert not read_first(today)


@pytest.mark.parametrize(("hatched", "asked"), [("2026-03-30", False), ("2026-03-29", True)])
def test_where_nobody_gives_the_days_a_chick_is_asked_about_late(open_logs, hatched, asked):
    pairs = "pair,species,cage\nP1,night parrot,C1\n"
    assert bool(as_read(still_here(rounds(open_logs, "2026-08-11", hatched=hatched, pairs=pairs)))) == asked


def test_a_chick_of_unknown_age_that_was_bought_in_is_asked_about_too(open_logs):
    hatches = "chick,species,arrived_on,reared_by\nK1,sun conure,2026-03-01,hand\n"
    assert as_read(still_here(rounds(open_logs, "2026-08-11", hatches=hatches)))[0][1].startswith("K1 (age not known")


def test_the_keepers_own_days_go_before_what_was_read(open_logs):
    species = "species,wean_to_d\nSun Conure,80\n"
    assert rounds(open_logs, "2026-08-13", species=species).chicks["chick"].tolist() == ["K1"]


def test_the_demos_last_chick_is_asked_about_once_on_paper_and_on_the_screen():
    today = demo_round("2026-11-30")
    page, screen = words(round_page(today)), said(chapters.nursery.chicks(today))
    for shown in (page, screen):
        assert shown.count("K48") == 1
        assert re.search(r"Still fed by hand.*K48 \(168 days, no word since 9 August 2026\)", shown)
    assert "0 chicks fed by hand · 1 to ask about" in page
    assert "No chick is known to be fed by hand on this day; ask about some of them." in page
    assert "write hand in reared_by" not in page, "whoever is asked about is by hand already"


def test_many_are_one_entry(open_logs):
    rows = "".join(f"P1,2026-05-20,K{number},hand\n" for number in range(30))
    weights = "chick,weighed_at,weight\n" + "".join(f"K{number},2026-05-28,22\n" for number in range(30))
    today = rounds(open_logs, "2026-07-01", hatches="pair,hatched_at,chick,reared_by\n" + rows, weights=weights)
    ((_, sentence),) = as_read(still_here(today))
    assert "K0 (42 days, no word since 28 May 2026)" in sentence
    assert "and 18 more" in sentence
    assert len(words(round_page(today)).split("Still fed by hand")) == 2


def test_a_chick_that_was_never_weighed_has_its_hours_and_no_amount(open_logs):
    row = rows_as_read(round_rows(rounds(open_logs, "2026-06-11"))).iloc[0]
    assert (row["give"], row["times"]) == ("no amount", "every 4–6 h")


# -- the round on a screen


def stamped(open_logs, on, at, set_clock):
    set_clock(at)
    return said(chapters.nursery.day(rounds(open_logs, on, weights=WEIGHED)))


def test_the_day_on_the_screen_cannot_be_misread_and_says_what_it_is_from(open_logs, set_clock):
    page = stamped(open_logs, "2026-05-29", "2026-05-29 06:50", set_clock)
    assert "Round for Friday 29 May 2026" in page
    assert "Worked out on Friday 29 May 2026 at 06:50, from logs up to 28 May 2026" in page
    assert "On any other day it is an old page" in page
    assert "not of today" not in page


@pytest.mark.parametrize("at", ["2026-05-30 06:50", "2026-05-28 06:50"])
def test_a_round_of_another_day_says_so_first(open_logs, set_clock, at):
    page = stamped(open_logs, "2026-05-29", at, set_clock)
    assert "This page is of Friday 29 May 2026, not of today" in page
    assert page.index("not of today") < page.index("Worked out on")


def test_the_round_of_the_screen_begins_with_today(write_logs, set_clock, monkeypatch):
    set_clock("2026-05-27 06:50")
    monkeypatch.setenv(FOLDER_VARIABLE, str(write_logs(**SEVEN)))
    season = chapters.begin(up_to=chapters.today())
    assert chapters.days(season)[1] == season.as_of.date()
    cells = [cell.source for cell in nbformat.read(ROOT / "notebooks" / "06_the_days_round.ipynb", 4).cells]
    assert any("chapters.begin(folder, earlier, up_to or chapters.today())" in cell for cell in cells), cells
    assert any('choose_day("Day", chapters.days(season), season.as_of)' in cell for cell in cells), cells
    opened = chapters.each_day(round_of)
    assert (opened(date(2026, 5, 25)).on, opened(date(2026, 5, 25)).chicks["age_d"].item()) == (
        pd.Timestamp("2026-05-25"),
        5,
    )


def test_a_round_that_is_shown_again_says_when_it_was_worked_out(open_logs, set_clock):
    set_clock("2026-05-29 06:50")
    today = rounds(open_logs, "2026-05-29", weights=WEIGHED)
    set_clock("2026-05-29 18:00")
    assert "at 06:50" in said(chapters.nursery.day(today))
    assert round_page(today) == round_page(rounds(open_logs, "2026-05-29", weights=WEIGHED)), "paper has no clock"


# -- what was, and what can still be done

ORDERS = r"(?i)back to feeding|weigh it again|see that it eats alone|should see it today"


def fell(season):
    """What the weights say of K04 on the last day that it was weighed, 15 April; it was weaned on that day."""
    return dict(as_read(watched(Chicks.of(season))))["K04"]


@pytest.mark.slow
def test_an_order_is_given_while_it_can_be_followed_and_after_that_it_is_told_what_was():
    then, whole = demo("2026-04-15"), demo_growth()
    at = then.chicks["chick"] == "K04"
    here = replace(then, chicks=then.chicks.assign(fate=then.chicks["fate"].mask(at, "being reared")))
    assert fell(here).endswith("usual while it weans. Back to feeding. An avian veterinarian should see it today.")
    assert fell(then).endswith("more than the tenth that is usual while it weans."), "it is weaned"
    assert fell(replace(here, asked_on=pd.Timestamp("2026-04-22"))).endswith("usual while it weans."), "a week on"
    heard = [sentence for _, sentence in as_read(watched(whole))]
    heard += [in_words(one) for chick in whole.season.chicks["chick"] for one in flag_history(whole, chick)]
    assert [sentence for sentence in heard if re.search(ORDERS, sentence)] == []
    shown = str([chart.to_dict() for chart in chapters.growth.flagged(whole)])
    assert "more than the tenth that is usual while it weans." in shown
    assert not re.search(ORDERS, shown)


@pytest.mark.slow
def test_a_light_chick_nobody_has_written_of_for_weeks_is_not_ordered_to_be_looked_at():
    whole = demo()
    chicks = whole.chicks.assign(fate=whole.chicks["fate"].mask(whole.chicks["chick"] == "K18", "being reared"))
    last = whole.weights.loc[whole.weights["chick"] == "K18", "weighed_at"].max()
    on, weeks_on = (
        dict(as_read(watched(Chicks.of(replace(whole, chicks=chicks, asked_on=day)))))["K18"]
        for day in (last, last + pd.Timedelta(days=14))
    )
    assert "Look at it" in on
    assert "lighter than the others" in weeks_on
    assert "Look at it" not in weeks_on


# -- words that fit where they stand


def test_what_is_said_of_the_rows_is_true_on_paper_and_on_a_screen():
    logs = dict(as_read(attention(demo_round("2026-05-20"), demo_judged())))["Your logs"]
    assert "last pages" not in logs
    assert logs.endswith("in the chapter Check the logs, and in the report under Every row accounted for.")
    assert "## Every row accounted for" in (ROOT / "notebooks" / "07_season_report.ipynb").read_text(encoding="utf-8")
    assert "# Check the logs" in (ROOT / "notebooks" / "01_check_the_logs.ipynb").read_text(encoding="utf-8")


def test_a_loss_read_of_first_has_no_stop_before_its_sentence(open_logs):
    losses = "chick,found_on\nK1,2026-05-28\n"
    (shown,) = chapters.nursery.read(rounds(open_logs, "2026-05-29", weights=WEIGHED, losses=losses))
    ((_, sentence),) = shown.data["items"]
    assert sentence.startswith("1 chick found lost since yesterday: K1.")


def test_a_loss_among_the_weights_is_asked_about_from_its_day_on(open_logs):
    grid = "date,K1,K2,K3\n2026-05-28,20,20,20\n2026-05-29,†,dead,21\n2026-05-30,22,,lost\n"
    logs = {
        "settings": SETTINGS,
        "pairs": PAIRS,
        "hatches": "pair,hatched_at,chick,reared_by\n" + "".join(f"P1,2026-05-20,K{n},hand\n" for n in (1, 2, 3)),
        "losses": "chick,found_on\nK1,2026-05-29\n",
        "weights": grid,
    }
    asked = {}
    for day in ("2026-05-28", "2026-05-29", "2026-05-30"):
        found = still_here(round_of(open_logs(up_to=day, **logs), day))
        asked[day] = [one.facts["chicks"] for one in found if one.code == "day.lost-in-weights"]
    assert asked == {"2026-05-28": [], "2026-05-29": [["K2"]], "2026-05-30": [["K2", "K3"]]}
