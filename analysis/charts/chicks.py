"""Charts of growth: each chick over the others of its kind."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.charts.dress import inline
from analysis.charts.weighings import AXIS_PX, dots, drawn, thinned, tips, title, weighings_told
from analysis.finding import Finding, found
from analysis.names import by_name
from analysis.say import in_words, say
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


if TYPE_CHECKING:
    from altair import Chart, LayerChart, Y

_WORDS = ("stage", "lost_text", "open_text")
OPEN_GREY = "#c8c8c8"
LINE_PX = 13
ROW_PX = 38  # two lines of words stand beside each bar of the path


def egg_path_chart(path: pd.DataFrame) -> "LayerChart":
    """All eggs laid, as bars: solid went on, dashed was lost at this step, grey is still open.

    Parameters
    ----------
    path : frame
        From `egg_path`: stage, count, lost_here, lost_text, open_here, open_text, note.

    Returns
    -------
    altair.LayerChart, as wide as the page

    Raises
    ------
    ValueError
        Where no egg was laid.

    Examples
    --------
    >>> path = pd.DataFrame({"stage": ["Laid", "Showed fertile"], "count": [9, 6], "lost_here": [0, 3],
    ...     "lost_text": ["", "3 clear"], "open_here": 0, "open_text": "", "note": ""})
    >>> egg_path_chart(path).description
    'Laid: 9. Showed fertile: 6 (lost here: 3 clear).'
    """
    dress.something(path[path["count"] > 0], "eggs")
    path = path.assign(**{name: path[name].map(in_words) for name in _WORDS})
    notes = [found("charts.path-note", what=note) for note in path["note"] if note]
    return dress.page(
        *_path_layers(_bars(path)),
        height=len(path) * ROW_PX,
        description=[_told(row) for row in path.to_dict("records")],
        caption=[found("charts.path-caption"), *notes],
    )


def _bars(path: pd.DataFrame) -> pd.DataFrame:
    """Where each part of a bar ends, and the words beside it."""
    bars = path.rename(columns={"stage": "name"}).drop(columns="note")
    bars = bars.assign(start=0, lost_to=bars["count"] + bars["lost_here"])
    bars = bars.assign(end=bars["lost_to"] + bars["open_here"], fits=bars["count"] >= 0.08 * bars["count"].max())
    return bars.assign(beside=[_beside(row) for row in bars.to_dict("records")])


def _path_layers(bars: pd.DataFrame) -> list["Chart"]:
    """What went on, what was lost, what is open, and the words."""
    import altair as alt

    y, x = dress.names(bars["name"].tolist()), dress.counts(say("charts.eggs-then-chicks"), int(bars["count"].max()))
    titles = {"name:N": "charts.stage", "count:Q": "charts.came-so-far"}
    titles |= {"lost_text:N": "charts.lost-here", "open_text:N": "charts.still-open"}
    tips = [alt.Tooltip(field, title=say(title)) for field, title in titles.items()]
    base = alt.Chart(bars).encode(y=y)
    told: dict[str, Any] = {"align": "right", "dx": -6, "color": "white", "fontWeight": 600, "fontSize": 12}
    inside = base.transform_filter("datum.fits").encode(x="count:Q", text="count:Q")
    return [
        base.mark_bar(height=19).encode(x=x, x2="count", tooltip=tips),
        _segment(base, "count", "lost_to", tips).mark_bar(height=18, **dress.LOST),
        _segment(base, "lost_to", "end", tips).mark_bar(height=18, fill=OPEN_GREY),
        *_words(bars, y),
        inside.mark_text(**told),
    ]


def _words(bars: pd.DataFrame, y: "Y") -> list["Chart"]:
    """Words beside the bars, in the middle of their height however many lines they have."""
    import altair as alt

    lines = bars["beside"].str.count("\n") + 1
    return [
        alt.Chart(rows)
        .mark_text(align="left", dx=7, dy=-LINE_PX / 2 * (number - 1), lineBreak="\n", lineHeight=LINE_PX)
        .encode(y=y, x="end:Q", text="beside:N")
        for number, rows in bars[bars["beside"] != ""].groupby(lines)
    ]


def _segment(base: "Chart", start: str, end: str, tips: list[Any]) -> "Chart":
    """Part of each bar between two columns; nothing where it is empty."""
    return base.transform_filter(f"datum.{end} > datum.{start}").encode(x=f"{start}:Q", x2=end, tooltip=tips)


def _beside(row: dict[str, Any]) -> str:
    """Words beside a bar; the count too, where the bar is too short to hold it."""
    lines = [] if row["fits"] else [say("charts.went-on", n=row["count"])]
    return "\n".join([*lines, *(text for text in (row["lost_text"], row["open_text"]) if text)])


def _told(row: dict[str, Any]) -> Finding:
    """One stage as a sentence."""
    codes = {"lost_text": "charts.path-lost", "open_text": "charts.path-open"}
    asides = [found(code, what=row[name]) for name, code in codes.items() if row[name]]
    aside = "charts.path-stage-aside" if asides else "charts.path-stage"
    return found(aside, stage=row["stage"], n=row["count"], asides=asides)
