"""Charts of growth: the chicks of a pair, or one chick, over what is usual for their kind."""

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, cast

import pandas as pd

from analysis.charts.weighings import ASIDES, AXIS_PX, drawn, tips_of, titles, weighings_told
from analysis.finding import Finding, Words, found
from analysis.names import by_name
from analysis.say import in_words, say
from analysis.theme import BLUE, INK, MUTED, PAGE_PX

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart

USUAL = "#e2e2e2"
GAPS = {"row": 30, "column": 14}  # the name of the chick below stands in it
ROWS_A_CHART = 4
SHORTEST_D = 20  # so far at least what is usual is drawn, also behind chicks that were weighed for a day or two
EDGE_PX = 3  # a point on the last day sticks out of its panel
_SHOWN = ["chick", "age_d", "mass_g"]


def brood_charts(
    weights: pd.DataFrame,
    usual: pd.DataFrame,
    fitted: pd.DataFrame | None = None,
    *,
    notes: Mapping[str, Words] | None = None,
    columns: int = 5,
    height_px: int = 74,
) -> list["FacetChart"]:
    """Each chick in a panel of its own, its weighings and its curve over what is usual for its kind.

    All panels share their scales.

    Parameters
    ----------
    weights : frame
        A row a weighing: chick, kind, age_d, mass_g; where known weighed_at, crop (a weighing with food in the crop
        is drawn hollow).
    usual : frame
        The usual weights of the kinds that have a curve: kind, age_d, mass_g (the middle), low_g, high_g (the 5th and
        the 95th centile).
    fitted : frame
        The curve of each chick, where there is one: chick, age_d, mass_g.
    notes : mapping
        A few words on a chick, written in its panel.
    columns, height_px : int
        Panels in a row, and the height of each; one column is one wide panel.

    Returns
    -------
    list of altair.FacetChart
        Chicks by name; at most four rows of panels a chart.

    Raises
    ------
    ValueError
        Where there are no weighings.

    Examples
    --------
    >>> weights = pd.DataFrame({"chick": ["K2", "K1"], "kind": "cockatiel", "age_d": 3, "mass_g": 9.0})
    >>> usual = pd.DataFrame(columns=["kind", "age_d", "mass_g", "low_g", "high_g"])
    >>> [chart.description for chart in brood_charts(weights, usual)]
    ['Weight (g) by age (days): K1, 1 weighing up to 9 g; K2, 1 weighing up to 9 g.']
    """
    rows = drawn(weights, usual=usual)
    fitted = pd.DataFrame(columns=_SHOWN) if fitted is None else fitted
    known = usual[usual["kind"].isin(rows["kind"])]
    last_d = max([rows["age_d"].max(), *known.loc[known["age_d"] <= SHORTEST_D, "age_d"]])
    known = known[known["age_d"].between(0, last_d)].dropna(subset=["mass_g", "low_g", "high_g"])
    ends = (float(last_d), float(max([rows["mass_g"].max(), *known["high_g"]])))
    chicks, size = by_name(rows["chick"].unique()), columns * ROWS_A_CHART
    return [
        _chart(rows, known, fitted, chicks[at : at + size], notes or {}, ends, (columns, height_px))
        for at in range(0, len(chicks), size)
    ]


def _chart(
    rows: pd.DataFrame,
    known: pd.DataFrame,
    fitted: pd.DataFrame,
    chicks: list[str],
    notes: Mapping[str, Words],
    ends: tuple[float, float],
    shape: tuple[int, int],
) -> "FacetChart":
    """Some chicks, in panels of one size."""
    import altair as alt

    data = [record for at, chick in enumerate(chicks) for record in _records(rows, known, fitted, chick, at)]
    data += [
        {"part": "note", "chick": chick, "place": at, "note": in_words(notes[chick])}
        for at, chick in enumerate(chicks)
        if notes.get(chick)
    ]
    header = alt.Header(title=None, labelLimit=_width_px(shape[0]) - 4, labelAnchor="start", labelPadding=4)
    in_order = alt.EncodingSortField(field="place", op="min")  # a list of names would become an expression
    there = frozenset(str(record["part"]) for record in data)
    shown = titles(rows)
    mine = rows[rows["chick"].isin(chicks)]
    values = {"last_d": ends[0], "most_g": 1.04 * ends[1]}
    inline: Any = alt.InlineData(values=[])
    facet = alt.Facet("chick:N", sort=in_order, header=header)
    chart = _panel(there, shown, *shape).facet(facet=facet, data=inline, columns=shape[0])
    params: Any = chart.params
    chart.params = [_with_value(param, values) for param in params]
    chart.bounds, chart.spacing = "flush", GAPS  # a point at the edge would push its panel aside
    chart.description = say("charts.brood-told", told=weighings_told(mine, chicks))
    chart.usermeta = {"caption": in_words(_caption(mine, known, fitted))}
    inline.values = data  # only now: Altair would copy and check every record, many times
    chart.data = inline
    return chart


def _width_px(columns: int) -> int:
    return (PAGE_PX - AXIS_PX - EDGE_PX - GAPS["column"] * (columns - 1)) // columns


def _records(
    rows: pd.DataFrame, known: pd.DataFrame, fitted: pd.DataFrame, chick: str, place: int
) -> list[dict[str, Any]]:
    """What one panel draws, each with the part it is of."""
    own = rows[rows["chick"] == chick]
    parts = {
        "usual": known.loc[known["kind"] == own["kind"].iloc[0], ["age_d", "mass_g", "low_g", "high_g"]],
        "fit": fitted.loc[fitted["chick"] == chick, ["age_d", "mass_g"]],
        "weight": own[["age_d", "mass_g", "when", "food", *(name for name in ASIDES if name in own)]],
    }
    return [
        {"part": part, "chick": chick, "place": place, **record}
        for part, frame in parts.items()
        for record in frame.round(2).to_dict("records")
    ]


@cache
def _panel(there: frozenset[str], shown: tuple[tuple[str, str], ...], columns: int, height_px: int) -> "LayerChart":
    """One chick: what is usual, the curve, the weighings, a few words; of these what is there in any panel.

    The same for every pair, so that a hundred pages build it but a few times; what differs are its parameters.
    """
    import altair as alt

    width = _width_px(columns)
    x, y = _axes(width)

    def of(part: str) -> "Chart":
        return alt.Chart().transform_filter(f"datum.part == '{part}'")

    fill = alt.Fill("food:N", scale=alt.Scale(domain=[False, True], range=[BLUE, "white"]), legend=None)
    points = of("weight").mark_point(size=13, stroke=BLUE, strokeWidth=0.9, opacity=1, aria=False)
    # A chick's curve leaves the foot of its panel free on the right.
    words = of("note").mark_text(align="right", baseline="bottom", fontSize=9.5, color=MUTED, limit=width - 16)
    layers = {
        "usual": of("usual").mark_area(color=USUAL, aria=False).encode(x=x, y=alt.Y("low_g:Q"), y2="high_g"),
        "middle": of("usual").mark_line(color=MUTED, strokeWidth=0.8, aria=False).encode(x=x, y=y),
        "fit": of("fit").mark_line(color=INK, strokeWidth=1.1, clip=True, aria=False).encode(x=x, y=y),
        "weight": points.encode(x=x, y=y, fill=fill, tooltip=tips_of(shown)),
        "note": words.encode(x=alt.value(width - 2), y=alt.value(height_px - 3), text="note:N"),
    }
    drawn_here = [layer for part, layer in layers.items() if {"middle": "usual"}.get(part, part) in there]
    params = [alt.param(name=name, value=0) for name in ("last_d", "most_g")]
    panel = cast("LayerChart", alt.layer(*drawn_here)).add_params(*params)
    return panel.properties(width=width, height=height_px)


def _with_value(param: Any, values: Mapping[str, float]) -> Any:
    """A copy, since the panel that it is of serves other charts."""
    param = param.copy(deep=False)
    param.value = values[str(param.name)]
    return param


def _axes(width: int) -> tuple[Any, Any]:
    """Both axes, up to the ends that the parameters give."""
    import altair as alt

    ages, masses = (alt.Scale(domain=[0, alt.expr(end)], nice=False) for end in ("last_d", "most_g"))
    below = alt.Axis(grid=False, tickCount=max(3, width // 60), tickMinStep=1)
    x = alt.X("age_d:Q", title=None, scale=ages, axis=below)
    return x, alt.Y("mass_g:Q", title=None, scale=masses, axis=alt.Axis(tickCount=3, minExtent=AXIS_PX))


def _caption(rows: pd.DataFrame, known: pd.DataFrame, fitted: pd.DataFrame) -> list[Finding]:
    """What the parts are."""
    kinds = by_name(rows["kind"].unique())
    without = [kind for kind in kinds if kind not in set(known["kind"])]
    parts = [found("charts.brood-points")]
    if rows["food"].any():
        parts.append(found("charts.hollow"))
    if fitted["chick"].isin(rows["chick"]).any():
        parts.append(found("charts.brood-fit"))
    if len(without) < len(kinds):
        parts.append(found("charts.grey-usual"))
    if without:
        parts.append(found("charts.brood-no-grey", kinds=without))
    return parts
