"""One page for a pair: the advice, its record, its chicks, its birds, and what is not known."""

from typing import Any

from analysis import charts, show
from analysis.chapters.logs import in_its_place, withheld
from analysis.chapters.pair_page import (
    PairPages,
    about_pair,
    chick_notes,
    chicks_of,
    chicks_said,
    not_known,
    pair_line,
    pair_named,
)
from analysis.chapters.pair_record import advice_items, birds_items, record_note, record_table
from analysis.day.round import Round
from analysis.finding import Words, found
from analysis.say import in_words
from analysis.season import RATES


def sheet(pages: PairPages, pair: str, today: Round) -> list[Any]:
    """Show the whole page of a pair."""
    first = [*about(pages, pair), *asks(pages, pair, today)]
    shown = [*first, *(display for part in (advice, record, chicks) for display in part(pages, pair))]
    return [*shown, show.attention(*birds_items(pages, pair), _unknown(pages, pair))]


def about(pages: PairPages, pair: str) -> list[Any]:
    """Show who the pair is, in a line."""
    return [show.prose(pair_line(pages, pair_named(pages.season, pair)))]


def head(pages: PairPages, pair: str) -> list[Any]:
    """Show its name and who it is, in a line; on paper the name is the heading."""
    name = pair_named(pages.season, pair)
    return [show.prose(found("chapters.pair-line", pair=name, line=pair_line(pages, name)))]


def asks(pages: PairPages, pair: str, today: Round) -> list[Any]:
    """Show what is read first of the pair, its birds and its chicks on the day; nothing where nothing is."""
    row = about_pair(pages, pair_named(pages.season, pair))
    items = today.of(row["pair"], row["cock"], row["hen"], *chicks_of(pages, row["pair"])["chick"])
    return [show.attention(*items)] if items else []


@in_its_place
def advice(pages: PairPages, pair: str) -> list[Any]:
    """Show the advice with its reasons, and what is set aside."""
    return [show.attention(*advice_items(pages, pair))]


@withheld(*RATES)
def record(pages: PairPages, pair: str) -> list[Any]:
    """Show the record over the joined seasons, stage by stage."""
    pair = pair_named(pages.season, pair)
    table = record_table(pages, pair)
    if table.empty:
        nothing = chicks_of(pages, pair).empty
        return [show.prose(found("chapters.nothing-of-pair" if nothing else "chapters.only-chicks"))]
    align = ["left", "right", "right", "left", "left", "left"]
    caption = found("chapters.record-caption")
    return [show.table(table, caption=caption, align=align, note=record_note(pages, pair))]


@withheld(*RATES)
def chicks(pages: PairPages, pair: str) -> list[Any]:
    """Show this season's chicks, each with its weights over what is usual for its kind."""
    pair = pair_named(pages.season, pair)
    said = chicks_said(pages, pair)
    if not said:
        return []
    mine = chicks_of(pages, pair)
    weights = pages.growth.weights[pages.growth.weights["chick"].isin(mine["chick"])]
    if weights.empty:
        return [show.prose(in_words([*said, found("chapters.no-weights-of-its-chicks")]))]
    curves = pages.growth.curves[pages.growth.curves["chick"].isin(mine["chick"])]
    notes = {chick: in_words(note) for chick, note in chick_notes(mine, pair).items()}
    columns, height_px = _panels(weights["chick"].nunique())
    weights, usual = pages.growth.with_kinds(weights), pages.growth.with_kinds(pages.usual)
    drawn = charts.brood_charts(weights, usual, curves, notes=notes, columns=columns, height_px=height_px)
    return [show.prose(in_words(said)), *drawn]


def _panels(chicks: int) -> tuple[int, int]:
    """Panels in a row and their height: large for a few chicks, and as many as fit one page for more."""
    few = {1: (3, 118), 2: (3, 118), 3: (3, 118), 4: (4, 100), 5: (5, 90), 6: (3, 90), 7: (4, 90), 8: (4, 90)}
    return few.get(chicks, (5, 74))


def birds(pages: PairPages, pair: str) -> list[Any]:
    """Show how its birds are related, and how they did with other partners."""
    items = birds_items(pages, pair)
    return [show.attention(*items)] if items else []


def unknown(pages: PairPages, pair: str) -> list[Any]:
    """Show what is not known of it."""
    return [show.attention(_unknown(pages, pair))]


def _unknown(pages: PairPages, pair: str) -> tuple[Words, str]:
    return found("chapters.not-known"), in_words(not_known(pages, pair))
