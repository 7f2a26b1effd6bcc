"""Growth: who needs help, every chick over its kind, and what can be said of each curve and pair."""

from typing import Any

import pandas as pd

from analysis import charts, findings, show
from analysis.findings import Growth
from analysis.say import heads
from analysis.words import grams

_A_PICTURE = 4  # kinds in one picture
_NO_WEIGHTS = "No weights of chicks of known age could be used, so nothing can be said about growth."
_MARKED = ("slip", "swapped", "stall", "fall", "light for age", "unusual shape")


_HEADS = (
    *("chick", "kind", "n", "last (g)", "at age (d)", "peak (g)", "fall"),
    *("level (g)", "10–90 % (d)", "gain (g/d)"),
)
_FORMATS: dict[str, show.Format] = {
    "last weight (g)": grams,
    "at age (d)": "{:.0f}",
    "peak (g)": grams,
    "levels off at (g)": grams,
    "10 to 90 % (d)": "{:.1f}",
    "largest gain (g/d)": "{:.2f}",
}


def watched(growth: Growth) -> list[Any]:
    """Show what the weights ask for, in sentences."""
    if growth.weights.empty:
        return [show.nothing(_NO_WEIGHTS)]
    found = findings.watched(growth)
    return [show.attention(*found)] if found else [show.prose("The weights ask for nothing.")]


def flagged(growth: Growth) -> list[Any]:
    """Show the chicks with a flag in small panels, each flag on its day."""
    flags = _marked(growth)
    if flags.empty:
        none = "No chick was flagged."
        return [show.nothing(none) if growth.weights.empty else show.prose(none)]
    return list(charts.flagged_chicks(growth.weights, flags, findings.usual(growth.reference)))


def _marked(growth: Growth) -> pd.DataFrame:
    """The flags to mark, with what was seen; what that calls for stands in the sentences, while it can be done."""
    return (
        growth.flags[growth.flags["flag"].isin(_MARKED)].drop(columns="sentence").rename(columns={"told": "sentence"})
    )


def kinds(growth: Growth) -> list[Any]:
    """Show all weighings, a panel a kind, over what is usual there."""
    names = sorted(growth.weights["kind"].unique())
    pages = [names[at : at + _A_PICTURE] for at in range(0, len(names), _A_PICTURE)]
    weights, tables = growth.weights, findings.outside_tables(growth)
    parts = [weights[weights["kind"].isin(page)] for page in pages]
    drawn = [charts.growth_by_kind(part, growth.reference, tables, flags=_marked(growth)) for part in parts]
    return [*drawn] or [show.nothing(_NO_WEIGHTS)]


def curves(growth: Growth) -> list[Any]:
    """Show what the curve of each kind stands on, or why it has none."""
    found = findings.kinds_table(growth)
    if found.empty:
        return []
    caption = "What the curve of each kind stands on: chicks that did well, of all joined seasons."
    return [show.table(found, caption=caption, name="growth_kinds")]


def chicks(growth: Growth) -> list[Any]:
    """Show a row a chick, with what its next weighing should be while it is here."""
    if growth.weights.empty:
        return []
    states = findings.states_table(growth)
    (following,) = heads("next-a-day-on")
    if not states[following].any():
        states = states.drop(columns=following)
    note = (
        "Next: between these lies a new weighing 95 times in 100, crop empty; blank for a chick that is not where its "
        "weights led one to expect. Small, growing: light, and within what healthy chicks differ by."
    )
    return [show.table(states, caption="Every weighed chick.", note=note, formats=_FORMATS, name="growth_chicks")]


def pairs(growth: Growth) -> list[Any]:
    """Show how heavy each pair's chicks are beside the typical pair's."""
    found = findings.pairs_table(growth)
    if found.empty:
        return [show.nothing("Too few chicks of known pairs have a curve: nothing can be said of the growth of pairs.")]
    place = findings.place_words(growth)
    chart = charts.pair_growth_chart(found.rename(columns={"mass_share": "share"}))
    return [chart, *([show.prose(place)] if place else [])]


def rule(growth: Growth) -> list[Any]:
    """Show what the trade's rule would have called, beside the flags."""
    if growth.weights.empty:
        return []
    return [
        show.table(
            findings.rule_table(growth),
            caption="The trade's rule in its three readings, from day 3 to each chick's peak, beside our stalls.",
            note="No gain two days running, or any drop, in a chick not yet fledging: a veterinarian (Duerr & Gage, "
            "Hand-Rearing Birds, 2020, p. 617). The rule stands; these pages only count how often it calls.",
            name="growth_rule",
        )
    ]


def panels(growth: Growth) -> list[Any]:
    """Show each chick in a panel of its own."""
    if growth.weights.empty:
        return [show.nothing(_NO_WEIGHTS)]
    beside = {"usual": findings.usual(growth.reference), "flags": _marked(growth)}
    return list(charts.growth_by_chick(growth.weights, growth.curves, **beside))


def table(growth: Growth) -> list[Any]:
    """Show what is known of each weighed chick; those whose weights tell no curve stand apart, with the reason."""
    shown, without = findings.curves_table(growth), findings.no_curve_table(growth)
    displays = []
    if len(shown):
        displays.append(_curves(shown))
    if len(without):
        caption = "Chicks whose weights cannot tell a curve, and why."
        displays.append(show.table(without, caption=caption, formats=_FORMATS, name="growth_not_told"))
    return displays


def _curves(shown: pd.DataFrame) -> Any:
    return show.table(
        shown,
        caption="Growth of each chick.",
        note="n: weighings. Fall: from the peak to the last weights. Level: where a logistic curve through the "
        "weights up to the peak levels off; 10–90 %: days from a tenth to nine tenths; gain: the largest a day.",
        heads=_HEADS,
        formats=_FORMATS,
        name="growth",
    )
