"""Growth: who needs help, every chick over its kind, and what can be said of each curve and pair."""

from typing import Any

import pandas as pd

from analysis import charts, findings, show
from analysis.finding import found
from analysis.findings import Growth
from analysis.growth.flags.find import ODD
from analysis.say import heads
from analysis.words import grams

_A_PICTURE = 4  # kinds in one picture
_NO_WEIGHTS = found("chapters.no-weights")
_MARKED = ("slip", "swapped", "fall", *ODD)


_HEADS = (
    *("chick", "kind", "n", "last-g", "at-age-d", "peak-g", "fall"),
    *("level-g", "10-90-d", "gain-g-d"),
)
_FORMATS: dict[str, show.Format] = {
    "last-weight-g": grams,
    "at-age-d": "{:.0f}",
    "peak-g": grams,
    "levels-off-at-g": grams,
    "10-to-90-d": "{:.1f}",
    "largest-gain": "{:.2f}",
}


def _formats() -> dict[str, show.Format]:
    """The formats by the heads of their columns."""
    return dict(zip(heads(*_FORMATS), _FORMATS.values(), strict=True))


def watched(growth: Growth) -> list[Any]:
    """Show what the weights ask for, in sentences."""
    if growth.weights.empty:
        return [show.nothing(_NO_WEIGHTS)]
    said = findings.watched(growth)
    return [show.attention(*said)] if said else [show.prose(found("chapters.weights-calm"))]


def flagged(growth: Growth) -> list[Any]:
    """Show the chicks with a flag in small panels, each flag on its day."""
    flags = _marked(growth)
    if flags.empty:
        none = found("chapters.none-flagged")
        return [show.nothing(none) if growth.weights.empty else show.prose(none)]
    weights, usual = growth.with_kinds(growth.weights), growth.with_kinds(findings.usual(growth.reference))
    return list(charts.flagged_chicks(weights, flags, usual))


def _marked(growth: Growth) -> pd.DataFrame:
    """The flags to mark, with what was seen; what that calls for stands in the sentences, while it can be done."""
    return (
        growth.flags[growth.flags["flag"].isin(_MARKED)].drop(columns="sentence").rename(columns={"told": "sentence"})
    )


def kinds(growth: Growth) -> list[Any]:
    """Show all weighings, a panel a kind, over what is usual there."""
    frames = (growth.weights, growth.reference, findings.outside_tables(growth))
    weights, reference, tables = map(growth.with_kinds, frames)
    names = sorted(weights["kind"].unique())
    pages = [names[at : at + _A_PICTURE] for at in range(0, len(names), _A_PICTURE)]
    parts = [weights[weights["kind"].isin(page)] for page in pages]
    drawn = [charts.growth_by_kind(part, reference, tables, flags=_marked(growth)) for part in parts]
    return [*drawn] or [show.nothing(_NO_WEIGHTS)]


def curves(growth: Growth) -> list[Any]:
    """Show what the curve of each kind stands on, or why it has none."""
    known = findings.kinds_table(growth)
    if known.empty:
        return []
    return [show.table(known, caption=found("chapters.kinds-caption"), name="growth_kinds")]


def chicks(growth: Growth) -> list[Any]:
    """Show a row a chick, with what its next weighing should be while it is here."""
    if growth.weights.empty:
        return []
    states = findings.states_table(growth)
    (following,) = heads("next-a-day-on")
    if not states[following].any():
        states = states.drop(columns=following)
    caption, note = found("chapters.states-caption"), found("chapters.states-note")
    return [show.table(states, caption=caption, note=note, formats=_formats(), name="growth_chicks")]


def pairs(growth: Growth) -> list[Any]:
    """Show how heavy each pair's chicks are beside the typical pair's."""
    table = findings.pairs_table(growth)
    if table.empty:
        return [show.nothing(found("chapters.few-curves-of-pairs"))]
    place = findings.place_words(growth)
    chart = charts.pair_growth_chart(table.rename(columns={"mass_share": "share"}))
    return [chart, *([show.prose(place)] if place else [])]


def rule(growth: Growth) -> list[Any]:
    """Show what the trade's rule would have called, beside the flags."""
    if growth.weights.empty:
        return []
    caption, note = found("chapters.rule-caption"), found("chapters.rule-note")
    return [show.table(findings.rule_table(growth), caption=caption, note=note, name="growth_rule")]


def panels(growth: Growth) -> list[Any]:
    """Show each chick in a panel of its own."""
    if growth.weights.empty:
        return [show.nothing(_NO_WEIGHTS)]
    beside = {"usual": growth.with_kinds(findings.usual(growth.reference)), "flags": _marked(growth)}
    return list(charts.growth_by_chick(growth.with_kinds(growth.weights), growth.curves, **beside))


def table(growth: Growth) -> list[Any]:
    """Show what is known of each weighed chick; those whose weights tell no curve stand apart, with the reason."""
    shown, without = findings.curves_table(growth), findings.no_curve_table(growth)
    displays = []
    if len(shown):
        displays.append(_curves(shown))
    if len(without):
        caption = found("chapters.no-curve-caption")
        displays.append(show.table(without, caption=caption, formats=_formats(), name="growth_not_told"))
    return displays


def _curves(shown: pd.DataFrame) -> Any:
    return show.table(
        shown,
        caption=found("chapters.curves-caption"),
        note=found("chapters.curves-note"),
        heads=heads(*_HEADS),
        formats=_formats(),
        name="growth",
    )
