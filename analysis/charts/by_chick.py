"""Charts of growth: a panel a chick, over the others of its kind, or over what is usual for it."""

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, cast

import pandas as pd

from analysis.charts import dress
from analysis.charts.dress import AXIS_PX, inline, of_part
from analysis.charts.weighings import (
    ASIDES,
    alt_of_weighings,
    dots,
    drawn,
    grey,
    hollow,
    thinned,
    tips,
    tips_of,
    title,
    titles,
    usual_layers,
)
from analysis.finding import Finding, Words, found
from analysis.names import by_name
from analysis.say import in_words, say
from analysis.theme import BLUE, INK, MUTED, PAGE_PX

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart

OTHERS = "#d4d4d4"  # the other chicks: lighter than any word, still visible in print
COLUMNS, ROWS_A_PAGE, BROOD_ROWS = 5, 6, 4
ROW_GAP_PX = 30  # between the plots; the name of the chick below stands in it
BACKDROP = 1000  # points of the other chicks behind a panel: more would not be seen, and make pages heavy
SHORTEST_D = 20  # so far at least what is usual is drawn, also behind chicks that were weighed for a day or two
EDGE_PX = 3  # a point on the last day sticks out of its panel


def growth_by_chick(
    weights: pd.DataFrame,
    fitted: pd.DataFrame | None = None,
    *,
    usual: pd.DataFrame | None = None,
    flags: pd.DataFrame | None = None,
) -> list["FacetChart"]:
    """Each chick's weighings in a panel of its own, over the other chicks of its kind in grey.

    All panels of a kind share their scales; each kind, by name, has charts of its own, of at most six rows of panels,
    so that each fits an A4 page. Pointing at a weighing shows its numbers, what is usual there, its flag and its
    remark.

    `weights` has a row a weighing: chick, kind, age_d, mass_g; where known weighed_at, pair, notes, crop (one with food
    in the crop is drawn hollow). `fitted` is the curve of each chick, where there is one: chick, age_d, mass_g. `usual`
    and `flags`, as `flagged_chicks` takes them, are for what pointing shows.
    """
    rows = drawn(weights, usual=usual, flags=flags)
    fitted = rows[:0] if fitted is None else fitted
    charts = []
    for kind in by_name(rows["kind"].unique()):
        own = rows[rows["kind"] == kind]
        chicks, size = by_name(own["chick"].unique()), COLUMNS * ROWS_A_PAGE
        pages = [chicks[first : first + size] for first in range(0, len(chicks), size)]
        charts += [_page_of_chicks(own, fitted, page) for page in pages]
    return charts


def _page_of_chicks(rows: pd.DataFrame, fitted: pd.DataFrame, chicks: list[str]) -> "FacetChart":
    """Panels of some chicks of one kind."""
    import altair as alt

    kind, gaps = rows["kind"].iloc[0], {"row": ROW_GAP_PX, "column": 10}
    width = (PAGE_PX - AXIS_PX - gaps["column"] * (COLUMNS - 1)) // COLUMNS
    curves = fitted[["chick", "age_d", "mass_g"]].round({"age_d": 2, "mass_g": 2}).assign(curve=True, food=False)
    parts = [rows.drop(columns=["kind", "flagged"]).assign(curve=False), *([curves] if len(curves) else [])]
    records = pd.concat(parts, ignore_index=True)
    records = records[records["chick"].isin(chicks)]
    records = records.assign(place=records["chick"].map({chick: place for place, chick in enumerate(chicks)}))
    data = inline([*records.to_dict("records")])  # only now: Altair copies data at every step
    panel = alt.layer(*_layers(rows)).properties(width=width, height=84)
    told = found("charts.by-chick-told", kind=kind, told=alt_of_weighings(rows, chicks))
    fit = [found("charts.by-chick-fit")] if fitted["chick"].isin(rows["chick"]).any() else []
    caption = [found("charts.by-chick-points", kind=kind), *hollow(rows), *fit, found("charts.same-scales")]
    return panel.facet(facet=_facet(width), data=data, columns=COLUMNS).properties(
        bounds="flush",  # a point at the edge would push its panel aside
        spacing=gaps,
        title=title(say("charts.kind-title", kind=kind), PAGE_PX, offset=10),
        **dress.texts(told, caption),
    )


def _facet(width: int) -> Any:
    """A panel a chick, in the order of their places."""
    import altair as alt

    header = alt.Header(title=None, labelLimit=width - 4, labelAnchor="start", labelPadding=4)
    in_order = alt.EncodingSortField(field="place", op="min")  # a list of names would become an expression
    return alt.Facet("chick:N", sort=in_order, header=header)


def _axes(ages: list[Any], masses: list[Any], ticks: int) -> tuple[Any, Any]:
    """Both axes of a panel between their ends."""
    import altair as alt

    below = alt.Axis(grid=False, tickCount=ticks, tickMinStep=1)
    beside = alt.Axis(tickCount=3, minExtent=AXIS_PX)
    x = alt.X("age_d:Q", title=None, scale=alt.Scale(domain=ages, nice=False), axis=below)
    return x, alt.Y("mass_g:Q", title=None, scale=alt.Scale(domain=masses, nice=False), axis=beside)


def _layers(rows: pd.DataFrame) -> list["Chart"]:
    """What each panel shows: the other chicks of the kind, the fitted curve, the chick's own weighings."""
    import altair as alt

    ages, masses = [min(0.0, rows["age_d"].min()), rows["age_d"].max()], [0, 1.04 * rows["mass_g"].max()]
    x, y = _axes(ages, masses, 3)
    behind = thinned(rows, BACKDROP)[["chick", "age_d", "mass_g"]]
    others = alt.Chart(behind)  # data of its own, so it is not divided among the panels
    backdrop = others.mark_line(color=OTHERS, strokeWidth=0.7, aria=False)
    line = alt.Chart().mark_line(color=INK, strokeWidth=1.1, clip=True).transform_filter("datum.curve")
    points = alt.Chart().mark_point(opacity=1, aria=False)
    return [
        backdrop.encode(detail="chick:N", x=x, y=y),
        line.encode(x=x, y=y),
        points.transform_filter("!datum.curve").encode(tooltip=tips(rows), **dots(13), x=x, y=y),
    ]


def brood_charts(
    weights: pd.DataFrame,
    usual: pd.DataFrame,
    fitted: pd.DataFrame | None = None,
    *,
    notes: Mapping[str, Words] | None = None,
    columns: int = 5,
    height_px: int = 74,
) -> list["FacetChart"]:
    """Each chick in a panel of its own, its weighings and its curve over what is usual for its kind, on one scale.

    `weights` and `fitted` are as in `growth_by_chick`; `usual` as in `flagged_chicks`; `notes` are a few words on a
    chick, written in its panel. Chicks by name, `columns` panels in a row (one: a wide panel), four rows a chart.
    """
    rows = drawn(weights, usual=usual)
    fitted = rows[:0] if fitted is None else fitted
    known = usual[usual["kind"].isin(rows["kind"])]
    last_d = max([rows["age_d"].max(), *known.loc[known["age_d"] <= SHORTEST_D, "age_d"]])
    known = known[known["age_d"].between(0, last_d)].dropna(subset=["mass_g", "low_g", "high_g"])
    ends = {"last_d": float(last_d), "most_g": 1.04 * float(max([rows["mass_g"].max(), *known["high_g"]]))}
    chicks, size = by_name(rows["chick"].unique()), columns * BROOD_ROWS
    charts = []
    for at in range(0, len(chicks), size):
        page = chicks[at : at + size]
        data, words = [], []
        for place, chick in enumerate(page):
            data += _brood_records(rows, known, fitted, chick, place)
            if notes and notes.get(chick):
                words.append({"part": "note", "chick": chick, "place": place, "note": in_words(notes[chick])})
        mine = rows[rows["chick"].isin(page)]
        chart = _brood_page(data + words, titles(rows), ends, columns=columns, height_px=height_px)
        chart.description = say("charts.brood-told", told=alt_of_weighings(mine, page))
        chart.usermeta = {"caption": in_words(_brood_caption(mine, known, fitted))}
        charts.append(chart)
    return charts


def _brood_page(
    data: list[dict[str, Any]],
    shown: tuple[tuple[str, str], ...],
    ends: dict[str, float],
    *,
    columns: int,
    height_px: int,
) -> "FacetChart":
    """Some chicks, in panels of one size."""
    import altair as alt

    gaps = {"row": ROW_GAP_PX, "column": 14}
    width = (PAGE_PX - AXIS_PX - EDGE_PX - gaps["column"] * (columns - 1)) // columns
    there = frozenset(str(record["part"]) for record in data)
    inline: Any = alt.InlineData(values=[])
    chart = _brood_panel(there, shown, width, height_px).facet(facet=_facet(width), data=inline, columns=columns)
    params: Any = chart.params
    chart.params = [param.copy(deep=False) for param in params]  # the panel that they are of serves other charts
    for param in chart.params:
        param.value = ends[str(param.name)]
    chart.bounds, chart.spacing = "flush", gaps  # a point at the edge would push its panel aside
    inline.values = data  # only now: Altair would copy and check every record, many times
    chart.data = inline
    return chart


def _brood_records(
    rows: pd.DataFrame, known: pd.DataFrame, fitted: pd.DataFrame, chick: str, place: int
) -> list[dict[str, Any]]:
    """What one panel draws, each with the part it is of."""
    own = rows[rows["chick"] == chick]
    parts = {
        "usual": known.loc[known["kind"] == own["kind"].iloc[0], ["age_d", "mass_g", "low_g", "high_g"]],
        "fit": fitted.loc[fitted["chick"] == chick, ["age_d", "mass_g"]],
        "weight": own[["age_d", "mass_g", "when", "food", *(name for name in ASIDES if name in own)]],
    }
    return dress.in_parts(
        {
            part: [{"chick": chick, "place": place, **record} for record in frame.round(2).to_dict("records")]
            for part, frame in parts.items()
        }
    )


@cache
def _brood_panel(there: frozenset[str], shown: tuple[tuple[str, str], ...], width: int, height_px: int) -> "LayerChart":
    """One chick: what is usual, the curve, the weighings, a few words; of these what is there in any panel.

    The same for every pair, so that a hundred pages build it but a few times; what differs are its parameters.
    """
    import altair as alt

    x, y = _axes([0, alt.expr("last_d")], [0, alt.expr("most_g")], max(3, width // 60))
    fill = alt.Fill("food:N", scale=alt.Scale(domain=[False, True], range=[BLUE, "white"]), legend=None)
    points = of_part("weight").mark_point(size=13, stroke=BLUE, strokeWidth=0.9, opacity=1, aria=False)
    # A chick's curve leaves the foot of its panel free on the right.
    words = of_part("note").mark_text(align="right", baseline="bottom", fontSize=9.5, color=MUTED, limit=width - 16)
    band, middle = usual_layers(x, y, alt.Y("low_g:Q"))
    layers = {
        "usual": band,
        "middle": middle,
        "fit": of_part("fit").mark_line(color=INK, strokeWidth=1.1, clip=True, aria=False).encode(x=x, y=y),
        "weight": points.encode(x=x, y=y, fill=fill, tooltip=tips_of(shown)),
        "note": words.encode(x=alt.value(width - 2), y=alt.value(height_px - 3), text="note:N"),
    }
    drawn_here = [layer for part, layer in layers.items() if {"middle": "usual"}.get(part, part) in there]
    params = [alt.param(name=name, value=0) for name in ("last_d", "most_g")]
    panel = cast("LayerChart", alt.layer(*drawn_here)).add_params(*params)
    return panel.properties(width=width, height=height_px)


def _brood_caption(rows: pd.DataFrame, known: pd.DataFrame, fitted: pd.DataFrame) -> list[Finding]:
    """What the parts are."""
    fit = [found("charts.brood-fit")] if fitted["chick"].isin(rows["chick"]).any() else []
    behind, without = grey(rows, known)
    bare = [found("charts.brood-no-grey", kinds=without)] if without else []
    return [found("charts.brood-points"), *hollow(rows), *fit, *behind, *bare]
