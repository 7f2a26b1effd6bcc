"""Growth: every chick over its kind, and what can be said of each curve."""

from typing import Any

import pandas as pd

from analysis import charts, findings, show
from analysis.findings import Growth

_A_PICTURE = 6  # kinds in one picture
_NO_WEIGHTS = "No weights of chicks of known age could be used, so nothing can be said about growth."


def _grams(value: float) -> str:
    """Write as many digits as a kitchen scale gives.

    Examples
    --------
    >>> _grams(5.72), _grams(91.4)
    ('5.7', '91')
    """
    return f"{value:.1f}" if value < 20 else f"{value:.0f}"


_HEADS = (
    *("chick", "kind", "n", "last (g)", "at age (d)", "peak (g)", "fall"),
    *("level (g)", "10–90 % (d)", "gain (g/d)"),
)
_FORMATS: dict[str, show.Format] = {
    "last weight (g)": _grams,
    "at age (d)": "{:.0f}",
    "peak (g)": _grams,
    "levels off at (g)": _grams,
    "10 to 90 % (d)": "{:.1f}",
    "largest gain (g/d)": "{:.2f}",
}


def kinds(growth: Growth) -> list[Any]:
    """Show all weighings, a panel a kind."""
    names = sorted(growth.weights["kind"].unique())
    pages = [names[at : at + _A_PICTURE] for at in range(0, len(names), _A_PICTURE)]
    weights = growth.weights
    return [charts.growth_by_kind(weights[weights["kind"].isin(page)]) for page in pages] or [show.prose(_NO_WEIGHTS)]


def panels(growth: Growth) -> list[Any]:
    """Show each chick in a panel of its own."""
    if growth.weights.empty:
        return [show.prose(_NO_WEIGHTS)]
    return list(charts.growth_by_chick(growth.weights, growth.curves))


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
