"""One page for a pair: the advice, its record, its chicks, its birds, and what is not known."""

from dataclasses import replace
from functools import reduce
from typing import Any

import pandas as pd

from analysis import charts, show
from analysis.chapters import register
from analysis.chapters.logs import in_its_place, withheld
from analysis.chapters.pair_page import (
    PairPages,
    about_pair,
    chick_notes,
    chicks_of,
    fates_and_weights,
    not_known,
    pair_line,
    pair_named,
)
from analysis.day.round import Round
from analysis.finding import Finding, Rates, found
from analysis.pairs.credit import in_broods, taken_said
from analysis.pairs.limits import Limits
from analysis.pairs.of_season import STAGE_NAMES
from analysis.pairs.partners import OTHER_PARTNERS, other_partners
from analysis.pairs.record import FERTILE, HATCH, INTACT, STAGES, WEAN, Record, tells
from analysis.pairs.verdict import ADVICE, exclusions, not_joined
from analysis.pairs.with_others import birds_elsewhere
from analysis.rates import clutch_intervals
from analysis.rates.stages import clutches_of
from analysis.say import heads, in_words, say
from analysis.season import RATES

_HEADS = {FERTILE: "stage-showed-fertile", HATCH: "hatched-of-fertile", WEAN: "weaned-of-reared"}
_HEADS |= {INTACT: "stage-not-broken"}
_ASIDE = {HATCH: "advice.eggs-aside", WEAN: "advice.chicks-aside"}
_ALIGN = ["left", "right", "right"]
# reasons that stand in a part of their own on the page of a pair, or among what is not known of it
_IN_OTHER_PARTS = {"pairs.set-aside", "pairs.season-by-season", *OTHER_PARTNERS}
_HAD, _SUCH = ("had", "weaned", "least", "most"), ("ended", "in_part", "expected")
_MANY = 10  # chicks, above which a page has room for small panels alone
# Panels in a row and their height, by the number of chicks: large for a few, and as many as fit one page for more.
_PANELS = {1: (3, 118), 2: (3, 118), 3: (3, 118), 4: (4, 100), 5: (5, 90), 6: (3, 90), 7: (4, 90), 8: (4, 90)}


def sheet(pages: PairPages, pair: str, today: Round) -> list[Any]:
    """Show the whole page of a pair."""
    first = [*about(pages, pair), *asks(pages, pair, today)]
    shown = [
        *first,
        *(display for part in (advice, record, register.clutches, chicks) for display in part(pages, pair)),
    ]
    pair = pair_named(pages.season, pair)
    last = show.attention(*register.of_pair(pages, pair), *_birds(pages, pair), not_known(pages, pair))
    return [*shown, last, show.lines(found("chapters.your-own-notes"))]


def clutches(pages: PairPages, pair: str) -> list[Any]:
    """Show its clutches with their young, and what was written of the pair and its birds."""
    return [*register.clutches(pages, pair), *show.if_any(*register.of_pair(pages, pair_named(pages.season, pair)))]


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
    return show.if_any(*today.of(row["pair"], row["cock"], row["hen"], *chicks_of(pages, row["pair"])["chick"]))


@in_its_place
def advice(pages: PairPages, pair: str) -> list[Any]:
    """Show the advice with its reasons, what is set aside, and what one more clutch gives."""
    pair = pair_named(pages.season, pair)
    row, record = pages.judged.review.set_index("pair").loc[pair], pages.judged.record
    joined = not_joined(record, pair)
    reasons = [one for one in row["findings"] if one.code not in _IN_OTHER_PARTS and one not in joined]
    said = found("overview.sentences", parts=reasons) if reasons else None
    begun = found("advice.begun", what=ADVICE[row["advice"]])
    items = [found("advice.fit", about=begun, fit=row["fit_said"], reasons=said)]
    aside = [
        found("pairs.aside-in-season" if one.facts["season"] else "pairs.aside-now", **one.facts)
        for one in exclusions(record, pair)
    ]
    if aside:
        items.append(found("overview.sentences", about=found("advice.set-aside"), parts=aside))
    weaning = record.rows[WEAN]["tried"].sum()  # where nobody's is known, only what was thought beforehand would speak
    if weaning and _enough(pages, pair) and pd.notna(row["weaned_per_clutch"]):
        names = {"mean": "weaned_per_clutch", "low": "weaned_per_clutch_low", "high": "weaned_per_clutch_high"}
        weaned: dict[str, Any] = {fact: float(row[name]) for fact, name in names.items()}
        items.append(found("advice.one-clutch-gives", about=found("advice.one-more"), **weaned))
    return [show.attention(*items)]


def _enough(pages: PairPages, pair: str) -> bool:
    """Whether a pair has the clutches and eggs that a verdict takes; of a colony or trio no number says enough."""
    laid = pages.judged.record.clutches
    ended = laid.loc[laid["pair"] == pair, "ended"].fillna(0).astype(int)
    limits = Limits.of(pages.season.settings)
    whole = (ended > 0).sum() >= limits.clutches and ended.sum() >= limits.eggs
    return bool(whole) and about_pair(pages, pair)["kind"] == "pair"


@withheld(*RATES)
def record(pages: PairPages, pair: str) -> list[Any]:
    """Show the record over the joined seasons, stage by stage, beside what is typical of its kind.

    A row a season, all seasons, the rate over them with its 95 % interval, what is likely, what is typical.
    """
    pair, record = pair_named(pages.season, pair), pages.judged.record
    laid = record.clutches[record.clutches["pair"] == pair]
    told = _stages(record, pair)
    stages = [rows for _, rows in told]
    there = {*laid["season"], *(name for rows in stages for name in rows["season"])}
    seasons = [name for name in reversed(record.excluded) if name in there]
    if not seasons:
        nothing = chicks_of(pages, pair).empty
        return [show.prose(found("chapters.nothing-of-pair" if nothing else "chapters.only-chicks"))]
    table = [_row(name, *(rows[rows["season"] == name] for rows in (laid, *stages))) for name in seasons]
    if len(table) > 1:
        table.append(_row(say("advice.all-seasons"), laid, *stages))
    table.append([say("advice.rate"), "", "", *(_rate(record.rows[stage], pair) for stage, _ in told)])
    names = heads("season", "clutches", "eggs-laid", *(_HEADS[stage] for stage, _ in told))
    shown = pd.DataFrame([*table, *_beside(pages, pair, [stage for stage, _ in told])], columns=names)
    caption, note = found("chapters.record-caption"), _record_note(pages, pair)
    return [show.table(shown, caption=caption, align=[*_ALIGN, *("left" for _ in told)], note=note)]


def _stages(record: Record, pair: str) -> list[tuple[str, pd.DataFrame]]:
    """The pair's rows of each stage; see `tells`."""
    rows = [(stage, record.rows[stage].loc[record.rows[stage]["pair"] == pair]) for stage in STAGES]
    return [(stage, mine) for stage, mine in rows if tells(stage, mine)]


def _row(name: str, laid: pd.DataFrame, *stages: pd.DataFrame) -> list[str]:
    eggs = laid["eggs"].sum(min_count=1)
    laid_eggs = _none() if pd.isna(eggs) else say("overview.number", n=int(eggs))
    counts = [rows[["worked", "tried", "in_part"]].sum().astype(int).to_dict() for rows in stages]
    said = [say("advice.count-in-part", **of) if of["tried"] else _none() for of in counts]
    return [name, str(len(laid) or _none()), laid_eggs, *said]


def _none() -> str:
    return say("overview.none")


def _rate(rows: pd.DataFrame, pair: str) -> str:
    """The rate of a pair, its clutches taken as wholes; how much alike clutches do, all `rows` of the stage say."""
    mine = rows["pair"] == pair
    if not rows.loc[mine, "tried"].sum():
        return _none()
    each = rows[["worked", "tried"]].add(rows["pending"], axis=0)
    each = each.assign(clutch=clutches_of(rows.assign(pair=rows["laid_by"])), pair=rows["laid_by"])
    of_pair = clutch_intervals(each, mine.map({True: pair, False: ""})).loc[pair]
    return _with_interval(of_pair["worked"] / of_pair["tried"], of_pair["low"], of_pair["high"])


def _with_interval(rate: float, low: float, high: float) -> str:
    return say("advice.rate-and-interval", rate=rate, sure=Rates(low, high))


def _beside(pages: PairPages, pair: str, stages: list[str]) -> list[list[str]]:
    """What is likely of the pair, where there is enough to judge it, and what is typical of its kind."""
    evidence = pages.evidence[pages.evidence["pair"] == pair].set_index("stage").loc[stages]
    likely, typical = [], []
    for stage, row in evidence.iterrows():
        likely.append(_with_interval(row["mean"], row["low"], row["high"]) if row["tried"] else _none())
        rows = pages.judged.record.rows[str(stage)]
        others = ((rows["pair"] != pair) & (rows["tried"] > 0)).any()  # without them nothing tells what is typical
        typical.append(say("overview.rate", rate=row["typical"]) if others else _none())
    told = [[say("advice.likely"), "", "", *likely]] if _enough(pages, pair) else []
    return [*told, [say("advice.typical"), "", "", *typical]]


def _record_note(pages: PairPages, pair: str) -> Finding:
    """What the lines of the record are."""
    evidence = pages.evidence[pages.evidence["pair"] == pair]
    alone = evidence[evidence["alone_in"] != ""].groupby("alone_in", sort=False)["stage"].agg(list)
    aside = evidence.set_index("stage")["excluded"]
    out = [found(code, n=int(aside[stage])) for stage, code in _ASIDE.items() if aside[stage]]
    parts = [found("advice.note-weaned"), found("advice.note-clutches")]
    parts += [found("advice.note-in-part")] if evidence["pending"].any() else []
    if _enough(pages, pair):
        parts.append(found("advice.note-likely"))
        for place, stages in alone.items():
            names = (STAGE_NAMES[stage] for stage in stages)
            both = reduce(lambda one, other: found("advice.both", first=one, second=other), names)
            parts.append(found("advice.note-alone", stages=both, place=place))
    if out:
        parts.append(found("advice.note-without", what=out))
    parts += _had_first(pages, pair)
    return found("overview.sentences", about=pair, parts=parts)


def _had_first(pages: PairPages, pair: str) -> list[Finding]:
    """What was taken from a pair, and how many of chicks such as it had first this aviary weans."""
    record, said = pages.judged.record, list[Finding]()
    mine = next((row for row in pages.taken if row["name"] == pair), None)
    if mine and mine["had"] and (taken := taken_said(mine)):
        said.append(found("advice.note-taken", taken=taken, **{name: mine[name] for name in _HAD}))
    broods = in_broods(record)
    if broods and _enough(pages, pair):
        of_pair = broods.pairs[broods.pairs["name"] == pair].to_dict("records")
        said += [found("advice.note-such-chicks", **{name: row[name] for name in _SUCH}) for row in of_pair]
    return said


@withheld(*RATES)
def chicks(pages: PairPages, pair: str) -> list[Any]:
    """Show this season's chicks, each with its weights over what is usual for its kind."""
    pair = pair_named(pages.season, pair)
    said, mine = fates_and_weights(pages, pair), chicks_of(pages, pair)
    if not said:
        return []
    weights = pages.growth.weights[pages.growth.weights["chick"].isin(mine["chick"])]
    if weights.empty:
        return [show.prose(in_words([*said, found("chapters.no-weights-of-its-chicks")]))]
    curves = pages.growth.curves[pages.growth.curves["chick"].isin(mine["chick"])]
    many = weights["chick"].nunique() > _MANY
    notes = {chick: in_words(note) for chick, note in chick_notes(mine, pair, brief=many).items()}
    columns, height_px = (7, 56) if many else _PANELS.get(weights["chick"].nunique(), (5, 74))
    weights = pages.growth.with_kinds(weights)
    drawn = charts.brood_charts(weights, pages.usual, curves, notes=notes, columns=columns, height_px=height_px)
    return [show.prose(in_words(said)), *drawn]


def birds(pages: PairPages, pair: str) -> list[Any]:
    """Show how its birds are related, and how their eggs did with other partners."""
    return show.if_any(*_birds(pages, pair_named(pages.season, pair)))


def _birds(pages: PairPages, pair: str) -> list[Finding]:
    about = about_pair(pages, pair)
    items = []
    if pair in pages.related.index:
        items.append(replace(pages.related.loc[pair, "found"], about=found("advice.related")))
    if about["kind"] == "pair" and (about["cock"] or about["hen"]):
        others = other_partners(pages.season, pair, pages.judged.record.partners) or [found("advice.no-other-partner")]
        others += birds_elsewhere(pages.judged.record, pair)
        items.append(found("overview.sentences", about=found("advice.other-partners"), parts=others))
    return items


def unknown(pages: PairPages, pair: str) -> list[Any]:
    """Show what is not known of it."""
    return [show.attention(not_known(pages, pair_named(pages.season, pair)))]
