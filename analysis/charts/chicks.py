"""Charts of growth: each chick over the others of its kind."""

from typing import TYPE_CHECKING

import pandas as pd

from analysis.charts import dress
from analysis.charts.panels import inline
from analysis.charts.weighings import AXIS_PX, dots, drawn, thinned, tips, title, weighings_told
from analysis.finding import Finding, found
from analysis.names import by_name
from analysis.say import say
from analysis.theme import INK, PAGE_PX

if TYPE_CHECKING:
    from altair import Chart, FacetChart

OTHERS = "#d4d4d4"  # the other chicks: lighter than any word, still visible in print
ROWS_A_PAGE = 6
GAPS = {"row": 30, "column": 10}  # between the plots; the name of the chick below stands in it
BACKDROP = 1000  # points of the other chicks behind a panel: more would not be seen, and make pages heavy


def growth_by_chick(
    weights: pd.DataFrame,
    fitted: pd.DataFrame | None = None,
    columns: int = 5,
    *,
    usual: pd.DataFrame | None = None,
    flags: pd.DataFrame | None = None,
) -> list["FacetChart"]:
    """Each chick's weighings in a panel of its own, over the other chicks of its kind in grey.

    All panels of a kind share their scales; each kind has its own, and its own charts. Pointing at a weighing shows
    its numbers, what is usual there, its flag and its remark.

    Parameters
    ----------
    weights : frame
        A row a weighing: chick, kind, age_d, mass_g; where known weighed_at, pair, notes, crop (a weighing with
        food in the crop is drawn hollow).
    fitted : frame
        The curve of each chick, where there is one: chick, age_d, mass_g.
    columns : int
        Panels in a row.
    usual, flags : frame
        As `flagged_chicks` takes them, for what pointing shows.

    Returns
    -------
    list of altair.FacetChart
        Kinds by name, chicks by name; at most six rows of panels a chart, so that each fits an A4 page.

    Raises
    ------
    ValueError
        Where there are no weighings.

    Examples
    --------
    >>> weights = pd.DataFrame({"chick": ["K02", "K01"], "kind": "cockatiel", "age_d": 3, "mass_g": 9.0})
    >>> [chart.description for chart in growth_by_chick(weights)]
    ['Weight by age, cockatiel, chick by chick: K01, 1 weighing up to 9 g; K02, 1 weighing up to 9 g.']
    """
    rows = drawn(weights, usual=usual, flags=flags)
    fitted = rows[:0] if fitted is None else fitted
    charts = []
    for kind in by_name(rows["kind"].unique()):
        own = rows[rows["kind"] == kind]
        chicks, size = by_name(own["chick"].unique()), columns * ROWS_A_PAGE
        pages = [chicks[first : first + size] for first in range(0, len(chicks), size)]
        charts += [_page_of_chicks(own, fitted, page, columns) for page in pages]
    return charts


def _page_of_chicks(rows: pd.DataFrame, fitted: pd.DataFrame, chicks: list[str], columns: int) -> "FacetChart":
    """Panels of some chicks of one kind."""
    import altair as alt

    kind = rows["kind"].iloc[0]
    width = (PAGE_PX - AXIS_PX - GAPS["column"] * (columns - 1)) // columns
    header = alt.Header(title=None, labelLimit=width - 4, labelAnchor="start", labelPadding=4)
    in_order = alt.EncodingSortField(field="place", op="min")  # a list of names would become an expression
    data = inline(_panels(rows, fitted, chicks).to_dict("records"))  # only now: Altair copies data at every step
    facet = alt.Facet("chick:N", sort=in_order, header=header)
    panel = alt.layer(*_layers(rows)).properties(width=width, height=84)
    told = found("charts.by-chick-told", kind=kind, told=weighings_told(rows, chicks))
    return panel.facet(facet=facet, data=data, columns=columns).properties(
        bounds="flush",  # a point at the edge would push its panel aside
        spacing=GAPS,
        title=title(say("charts.kind-title", kind=kind), PAGE_PX, offset=10),
        **dress.told(told, _caption(kind, rows, fitted)),
    )


def _panels(rows: pd.DataFrame, fitted: pd.DataFrame, chicks: list[str]) -> pd.DataFrame:
    """Weighings and curves of these chicks, with the place of each chick's panel."""
    curves = fitted[["chick", "age_d", "mass_g"]].round({"age_d": 2, "mass_g": 2}).assign(curve=True, food=False)
    parts = [rows.drop(columns=["kind", "flagged"]).assign(curve=False), *([curves] if len(curves) else [])]
    drawn_here = pd.concat(parts, ignore_index=True)
    place = {chick: number for number, chick in enumerate(chicks)}
    return drawn_here[drawn_here["chick"].isin(chicks)].assign(place=lambda own: own["chick"].map(place))


def _layers(rows: pd.DataFrame) -> list["Chart"]:
    """What each panel shows: the other chicks of the kind, the fitted curve, the chick's own weighings."""
    import altair as alt

    ages = alt.Scale(domain=[min(0.0, rows["age_d"].min()), rows["age_d"].max()], nice=False)
    masses = alt.Scale(domain=[0, 1.04 * rows["mass_g"].max()], nice=False)
    below = alt.Axis(grid=False, tickCount=3, tickMinStep=1)
    axes = {
        "x": alt.X("age_d:Q", title=None, scale=ages, axis=below),
        "y": alt.Y("mass_g:Q", title=None, scale=masses, axis=alt.Axis(tickCount=3, minExtent=AXIS_PX)),
    }
    behind = thinned(rows, BACKDROP)[["chick", "age_d", "mass_g"]]
    others = alt.Chart(behind)  # data of its own, so it is not divided among the panels
    backdrop = others.mark_line(color=OTHERS, strokeWidth=0.7, aria=False)
    line = alt.Chart().mark_line(color=INK, strokeWidth=1.1, clip=True).transform_filter("datum.curve")
    points = alt.Chart().mark_point(opacity=1, aria=False)
    return [
        backdrop.encode(detail="chick:N", **axes),
        line.encode(**axes),
        points.transform_filter("!datum.curve").encode(tooltip=tips(rows), **dots(13), **axes),
    ]


def _caption(kind: str, rows: pd.DataFrame, fitted: pd.DataFrame) -> list[Finding]:
    """What the parts are."""
    parts = [found("charts.by-chick-points", kind=kind)]
    if rows["food"].any():
        parts.append(found("charts.hollow"))
    if fitted["chick"].isin(rows["chick"]).any():
        parts.append(found("charts.by-chick-fit"))
    return [*parts, found("charts.same-scales")]
