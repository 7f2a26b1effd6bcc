"""Report, screen, round, sheets and command line name the same birds on the same day, and as urgently."""

from pathlib import Path

import pytest

from analysis import chapters
from analysis.chapters import LookUp
from analysis.chapters.pair_page import PairPages
from analysis.day.preparation import before_feeding, no_amounts, still_here
from analysis.day.round import attention
from analysis.eggs.findings import water_findings
from analysis.finding import ACT, Finding
from analysis.report.round_page import MorningRound, round_document
from analysis.season import LOOKS, SOON
from support import as_read, demo_judged, demo_round, ranked

# What is read first: nothing; looks alone; acts alone; both; of what was found lost, a brooder, an incubator, a remark.
DAYS = ["2026-03-20", "2026-04-08", "2026-05-13", "2026-05-20", "2026-05-25", "2026-06-12"]


def read(today):
    return [(who, said) for _, who, _, said in ranked(today)]


@pytest.mark.parametrize("day", DAYS)
def test_they_name_the_same_birds(day):
    today = demo_round(day)
    first = read(today)
    ranks = [rank for rank, *_ in ranked(today)]
    assert ranks == sorted(ranks), "the most pressing stands first everywhere"
    assert as_read(attention(today, demo_judged()))[: len(first)] == first or not first
    page = chapters.first_page.attention(today, demo_judged())[0].data["items"]
    assert [tuple(item) for item in page[: len(first)]] == first or not first
    chapter = chapters.nursery.read(today)
    if first:
        about = [f"{what}. {said}" if what else said for _, _, what, said in ranked(today)]
        assert [said for _, said in chapter[0].data["items"]] == about
    printed = [(who, said) for who, _, said in round_document(today)["read"]]
    assert printed == first
    lines = MorningRound(pdf=Path("round.pdf"), csv=None, read=tuple(first)).lines()
    assert [line.strip() for line in lines[-len(first) :]] == [f"{who}: {said}" for who, said in first] or not first


@pytest.mark.parametrize("day", DAYS)
def test_a_chick_and_a_pair_have_it_on_their_own_pages(day):
    today = demo_round(day)
    pages = PairPages(today.season, demo_judged(), today.growth)
    chicks, about = set(today.season.chicks["chick"]), dict(read(today))
    for chick in chicks:
        own = [said for what, said in chapters.one_chick.stands(today, chick)[0].data["items"] if what == "Read first"]
        assert own == ([about[chick]] if chick in about else []), chick
    for chick in set(about) & chicks:
        pair = today.season.chicks.set_index("chick").loc[chick, "pair"]
        if pair:
            sheet = " ".join(said for _, said in chapters.pair_sheet.asks(pages, pair, today)[0].data["items"])
            assert f"{chick}: {about[chick]}" in sheet


def test_whom_a_veterinarian_is_called_for_is_never_a_mere_look():
    today = demo_round("2026-05-20")
    called = today.chicks.loc[today.chicks["needs_vet"], "chick"].tolist()
    assert sorted(called) == ["K22", "K23"]
    soon = {who: SOON[rank] for rank, who, *_ in ranked(today)}
    assert not {soon[who] for who in called} & set(LOOKS)


def test_the_box_to_search_says_it_too():
    today = demo_round("2026-05-20")
    found = LookUp(today.season).page("K22")
    items = [item for display in found for item in display.data.get("items", ())]
    assert ["Read first", dict(read(today))["K22"]] in [list(item) for item in items]


@pytest.mark.parametrize("day", DAYS)
def test_what_is_read_first_and_before_the_round_is_found_and_not_written(day):
    today = demo_round(day)
    asks = [before_feeding, no_amounts, still_here, lambda today: water_findings(today.eggs)]
    found = [*today.reads, *(one for ask in asks for one in ask(today))]
    assert [one for one in found if not isinstance(one, Finding)] == []
    acts = [one.level == ACT for one in today.reads]
    assert acts == [one.facts["soon"] not in LOOKS for one in today.reads] == sorted(acts, reverse=True)


def test_these_days_differ_in_what_is_read_first():
    reads = {day: demo_round(day).reads for day in DAYS}
    levels = {"".join(sorted({one.level for one in found})) for found in reads.values()}
    assert levels == {"", "act", "look", "actlook"}
    codes = {one.code for found in reads.values() for one in found}
    assert codes == {"day.all-of", "day.found-lost", "day.brooder-read", "day.incubator-read", "day.sign-asked"}
