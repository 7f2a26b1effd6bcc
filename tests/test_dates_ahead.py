"""What comes when in the season ahead: rests, days to put up, ages of hens."""

import pandas as pd
import pytest

from analysis import chapters
from analysis.pairs.dates_ahead import OLD_ENOUGH, PUT_UP, RESTS, TOO_OLD, dates_ahead
from analysis.pairs.fitness import hen_limits
from analysis.pairs.next_season import outlook, outlook_lines
from analysis.pairs.record import read_record
from analysis.pairs.verdict import KEEP
from analysis.say import in_words
from support import demo_judged

PAIRS = "pair,species,cage,cock,hen,put_up_on\nP1,budgerigar,C1,A,B,2026-02-01\nP2,budgerigar,C2,C,D,2026-01-10\n"
EGGS = "egg,pair,clutch,laid_on,outcome\n1,P1,1,2026-03-03,clear\n2,P2,1,2026-02-09,clear\n3,P2,1,2026-06-30,clear\n"
BIRDS = "bird,sex,species,hatched_on\nB,hen,budgerigar,{b}\nD,hen,budgerigar,{d}\n"
SPECIES = "species,hen_oldest_y,hen_youngest_y\nbudgerigar,4,{youngest}\n"
SETTINGS = "setting,value\nseason,2026\n"


@pytest.fixture(scope="module")
def judged():
    return demo_judged()


@pytest.fixture
def small(open_logs):
    def opened(b="2024-01-01", d="2024-01-01", youngest="", **more):
        logs = {"settings": SETTINGS, "pairs": PAIRS, "hatches": EGGS} | more
        return open_logs(**logs, birds=BIRDS.format(b=b, d=d), species=SPECIES.format(youngest=youngest))

    return opened


def dates(season):
    review = pd.DataFrame({"pair": season.pairs["pair"], "advice": KEEP})
    return dates_ahead(read_record(season), review)


def row(table, pair, what):
    return table[(table["pair"] == pair) & (table["what"] == what)].iloc[0]


def test_put_up_as_usual_a_year_later(small):
    table = dates(small())
    assert table["what"].tolist() == [PUT_UP, PUT_UP]
    # P1 laid first on 3 March, put up 30 days before; P2 on 9 February, put up 30 days before
    assert [str(day.date()) for day in table["on"]] == ["2027-01-10", "2027-02-01"]
    said = "P1 would be put up or given its nest box: first egg about 3 March (its own habit), "
    assert in_words(row(table, "P1", PUT_UP)["found"]) == said + "put up 30 days before (its own habit)."


def test_a_pair_without_a_habit_has_its_species_or_the_custom(small):
    third = PAIRS + "P3,budgerigar,C3,E,F,\nP4,canary,C4,G,H,\n"
    table = dates(small(pairs=third))
    like_them = in_words(row(table, "P3", PUT_UP)["found"])
    assert like_them.count("the habit of its species here") == 2
    assert row(table, "P3", PUT_UP)["on"] == pd.Timestamp("2027-01-21")  # the middle of the two, less 30
    assert in_words(row(table, "P4", PUT_UP)["found"]).count("the habit of all pairs here") == 2
    by_custom = small(pairs=third, hatches="egg,pair,clutch,set_on,outcome\n1,P1,1,2026-03-03,clear\n")
    assert in_words(row(dates(by_custom), "P1", PUT_UP)["found"]).count("a common custom") == 2


def test_rest_ends_with_the_season_and_nothing_is_put_up_before(judged):
    table = dates_ahead(judged.record, judged.review)
    rest = table[table["what"] == RESTS]
    assert rest[["pair", "on"]].values.tolist() == [["P01", pd.Timestamp("2026-12-31")]]
    # its habit alone is 105 days before 16 February, and that is within its rest
    assert row(table, "P01", PUT_UP)["on"] == pd.Timestamp("2027-01-01")
    without = dates_ahead(judged.record, judged.review.assign(advice=KEEP))
    assert row(without, "P01", PUT_UP)["on"] == pd.Timestamp("2026-11-03")
    assert table["on"].is_monotonic_increasing
    assert set(table["pair"]) >= set(judged.season.pairs["pair"])


def test_a_hen_passes_an_age_limit_on_the_first_day_on_which_the_rule_says_so(judged, small):
    table = dates_ahead(judged.record, judged.review)
    old = row(table, "P12", TOO_OLD)
    assert (old["bird"], str(old["on"].date())) == ("Maëlle", "2027-05-07")  # hatched on 6 May 2023; four years
    pair = judged.season.pairs.set_index("pair", drop=False).loc["P12"].to_dict()
    limits = hen_limits(judged.season, pair)
    day = pd.Timedelta(days=1)
    assert limits.age_y(old["on"]) > limits.oldest_y >= limits.age_y(old["on"] - day)
    # the logs of the small season end on 30 June 2026, and the season ahead on 31 December 2027
    ages = dates(small(b="2022-06-30", d="2023-12-30"))
    assert ages.loc[ages["what"] == TOO_OLD, "bird"].tolist() == ["B", "D"]
    assert "your own limit for a budgerigar hen" in in_words(row(ages, "P1", TOO_OLD)["found"])
    outside = dates(small(b="2022-06-29", d="2023-12-31"))
    assert TOO_OLD not in set(outside["what"])  # the one is past it already, the other not within that season


def test_a_hen_grows_old_enough(small):
    ages = dates(small(b="2025-09-01", d="2025-09-01"))
    assert ages.loc[ages["what"] == OLD_ENOUGH, ["bird", "on"]].values.tolist() == [
        ["B", pd.Timestamp("2026-09-02")],  # 365.25 days, in whole days
        ["D", pd.Timestamp("2026-09-02")],
    ]
    assert in_words(row(ages, "P1", OLD_ENOUGH)["found"]).endswith("1 year old, the age that is set as the youngest.")
    own = dates(small(b="2025-09-01", youngest="1.5"))
    assert str(row(own, "P1", OLD_ENOUGH)["on"].date()) == "2027-03-03"
    assert "your own youngest age" in in_words(row(own, "P1", OLD_ENOUGH)["found"])


def test_a_hen_past_the_limit_before_she_is_put_up_is_not_kept(small):
    season = small(b="2022-12-31", d="2023-01-20")  # four years old on 31 December 2026 and 20 January 2027
    record = read_record(season)
    review = pd.DataFrame({"pair": ["P1", "P2"], "advice": KEEP})
    ahead = outlook(season, record=record, review=review)
    assert ahead.keep == ("P2",)  # P2 is put up on 10 January, before that
    why = in_words(ahead.pairs.set_index("pair").loc["P1", "why"])
    assert why == "its hen will be past your own age limit on 1 January 2027, before it would be put up"
    assert outlook(season, ["P1"], record=record, review=review).keep == ("P1",)


def test_command_and_chapter_show_the_dates_of_those_kept_and_every_age(judged):
    ahead = judged.outlook
    assert set(ahead.dates.loc[ahead.dates["bird"] == "", "pair"]) == set(ahead.keep)
    few = outlook(judged.season, ["P07"], record=judged.record, review=judged.review).dates
    assert few.loc[few["what"] == PUT_UP, "pair"].tolist() == ["P07"]
    assert "Maëlle" in set(few["bird"])
    lines = list(outlook_lines(ahead))
    said = [in_words(one) for one in ahead.dates["found"]]
    assert [
        line[22:] for line in lines[lines.index("The season ahead, by your own habits and rules") + 1 :][: len(said)]
    ] == said
    shown = chapters.advice.ahead(judged)
    table = shown[-1].data
    assert [cells[1] for cells in table["rows"]] == said
    assert "no advice to breed" in table["note"]
    assert "avian veterinarian" in table["note"]
