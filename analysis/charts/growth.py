"""Chart of growth: all chicks of a kind together."""

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, cast

import numpy as np
import pandas as pd

from analysis.charts import dress
from analysis.charts.dress import AXIS_PX, of_part, panels
from analysis.charts.weighings import ASIDES, drawn, thinned, tips
from analysis.finding import Finding, found
from analysis.names import by_name
from analysis.say import say
from analysis.theme import BLUE, INK, MUTED, PAGE_PX, YELLOW

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart

GAP_PX, HEIGHT_PX = 24, 190
MOST = 2000  # weighings that are drawn: more would not be seen, and make pages heavy
EDGE_PX = 6  # a mark on the last day sticks out of its panel
CENTILE_COLUMNS = ["kind", "age_d", "share", "mass_g", "mass_low_g", "mass_high_g"]
CENTILES = {0.05: "charts.line-5", 0.95: "charts.line-95", 0.5: "charts.line-50"}
ENDS = {0.05: "charts.end-5", 0.5: "charts.end-50", 0.95: "charts.end-95"}
POINTED, PAIR = "hover", "shown_pair"  # names of what is chosen
FADED = 0.1  # opacity beside a pair that is chosen
BOLD: dict[str, Any] = {"align": "right", "fontWeight": 600}
LABELS: dict[str, dict[str, Any]] = {  # the parts that are words
    "over": {"baseline": "bottom", "dy": -4, **BOLD},
    "under": {"baseline": "top", "dy": 5, **BOLD},
    "source-over": {"baseline": "bottom", "dy": -4, "align": "right", "dx": -10, "limit": 80},
    "source-under": {"baseline": "top", "dy": 10, "align": "left", "dx": 18, "limit": 150},
}


def growth_by_kind(
    weights: pd.DataFrame,
    reference: pd.DataFrame | None = None,
    table: pd.DataFrame | None = None,
    *,
    usual: pd.DataFrame | None = None,
    flags: pd.DataFrame | None = None,
) -> "FacetChart":
    """Weights of all chicks against age, a thin line a chick, a panel a kind with scales of its own, kinds by name.

    Pointing at a weighing shows its numbers, what is usual there, its flag and its remark, and brings its chick
    forward; a list below brings forward the chicks of a pair. On paper, and until something is chosen, all of them
    look alike.

    `weights` has a row a weighing: chick, kind, age_d, mass_g; where known weighed_at, crop, pair, notes; of very many
    only every second, third ... of a chick is drawn. `reference` is what chicks are compared with, for the kinds that
    have it: kind, age_d, share (of lighter chicks: 0.05, 0.5 and 0.95 are drawn), mass_g, and its 95 % interval
    mass_low_g, mass_high_g. `table` are weight tables from outside: kind, age_d, median_g, low_g, high_g (missing where
    the table has none), source (missing or blank where it is not known). `flags` has a row a flag: chick, age_d, flag
    (its name), level ("look" or "act"); it and `usual`, as `flagged_chicks` takes it, are for what pointing shows.
    """
    reference = pd.DataFrame(columns=CENTILE_COLUMNS) if reference is None else reference[CENTILE_COLUMNS]
    rows, tables = drawn(weights, usual=usual, flags=flags), _known(table)
    kinds = by_name(rows["kind"].unique())
    columns = min(len(kinds), 2)
    width = (PAGE_PX - GAP_PX * (columns - 1)) // columns - AXIS_PX - EDGE_PX
    shown = thinned(rows, MOST)
    parts = [[frame[frame["kind"] == kind] for frame in (rows, reference, tables)] for kind in kinds]
    records = [
        [
            {"part": name, **record}
            for name, frame in _drawn_parts(shown[shown["kind"] == kind], *part[1:])
            for record in frame.to_dict("records")
        ]
        for kind, part in zip(kinds, parts, strict=True)
    ]
    there = {record["part"] for own in records for record in own}
    told = found("charts.kinds-told", told=[_alt_of_kind(*part) for part in parts])
    panel = _panel(there, width, rows).properties(width=width, height=HEIGHT_PX)
    caption = _caption(reference[reference["kind"].isin(kinds)], tables[tables["kind"].isin(kinds)])
    few = [found("charts.kinds-thinned")] if len(shown) < len(rows) else []
    drawn_kinds = panels(panel, records, columns=columns)
    return drawn_kinds.properties(spacing=GAP_PX, **dress.texts(told, [*caption, *few]))


def _drawn_parts(
    rows: pd.DataFrame, reference: pd.DataFrame, table: pd.DataFrame
) -> Iterator[tuple[str, pd.DataFrame]]:
    """What is drawn of a kind: name of a part, and its rows."""
    yield "kind", rows[["kind"]].head(1)
    yield "weight", rows[["chick", "when", "age_d", "mass_g", *rows.columns.intersection(list(ASIDES))]]
    table = table.assign(source=table["source"].where(table["source"] != "", say("charts.weight-table")))
    yield "table", table[["source", "age_d", "mass_g"]]
    for end in ("low_g", "high_g"):
        yield "range", table[["source", "age_d"]].assign(end=end, mass_g=table[end]).dropna(subset=["mass_g"])
    for share, label in CENTILES.items():
        line = _at(reference, share).drop(columns=["kind", "share"]).astype(float).round(2).assign(label=say(label))
        yield "curve", line.assign(middle=share == 0.5)
        yield "under" if share < 0.5 else "over", line[["age_d", "mass_g", "label"]].tail(1)
    for _, own in table.groupby("source"):
        yield _source(own, reference)


def _at(reference: pd.DataFrame, share: float) -> pd.DataFrame:
    """One line of the reference, by age."""
    return reference[np.isclose(reference["share"].astype(float), share)].sort_values("age_d")


def _source(table: pd.DataFrame, reference: pd.DataFrame) -> tuple[str, pd.DataFrame]:
    """What a weight table is, where its curve leaves room: beneath it, or above it where the chicks are lighter."""
    half = _reaching(table, 0.5)
    typical = _at(reference, 0.5)
    beside = np.interp(half["age_d"], typical["age_d"], typical["mass_g"]) if len(typical) else np.inf
    heavier = bool((half["mass_g"] > 1.1 * beside).all())
    at = (_reaching(table, 0.8) if heavier else half)[["age_d", "mass_g", "source"]]
    return "source-over" if heavier else "source-under", at.rename(columns={"source": "label"})


def _reaching(table: pd.DataFrame, share: float) -> pd.DataFrame:
    """The first row of a table in which it is so far up."""
    return table[table["mass_g"] >= share * table["mass_g"].max()].head(1)


def _panel(there: set[str], width: int, rows: pd.DataFrame) -> "LayerChart":
    """One kind: its weights, and of its weight tables and its reference what is there in any kind."""
    import altair as alt

    axis = alt.Axis(tickCount=4, **dress.AT_LEFT)
    below = alt.Axis(grid=False, tickMinStep=1)
    x = alt.X("age_d:Q", title=say("charts.age-days"), axis=below, scale=alt.Scale(nice=False, zero=True))
    y = alt.Y("mass_g:Q", title=say("charts.weight-g"), axis=axis)
    layers = [dress.head("kind", width, "kind:N"), *_weight_layers(x, y, rows)]
    if "table" in there:
        layers += _table_layers(x, y)
    if "curve" in there:
        layers += _curve_layers(x, y)
    for part in LABELS:
        if part in there:
            layers += dress.haloed(of_part(part).encode(x=x, y=y, text="label:N"), **LABELS[part])
    return cast("LayerChart", alt.layer(*layers))


def _weight_layers(x: Any, y: Any, rows: pd.DataFrame) -> list["Chart"]:
    """Lines and points of the chicks; those of the pair that is chosen, and the chick pointed at, come forward."""
    import altair as alt

    base = of_part("weight").encode(x=x, y=y, detail="chick:N")
    pointed = alt.selection_point(name=POINTED, fields=["chick"], on="pointerover", clear="pointerout", empty=False)
    pair = _pair(rows)
    width = dress.either(pointed, 2.5, 1.5)  # a size: a theme's own would win over `strokeWidth`
    lines = base.mark_line(color=BLUE, aria=False).encode(opacity=_forward(pointed, pair, 0.3), size=width)
    points = base.mark_point(filled=True, size=9, color=BLUE, aria=False, **dress.WIDE).encode(
        opacity=_forward(pointed, pair, 0.5), tooltip=tips(rows)
    )
    return [lines, points.add_params(pointed, *([] if pair is None else [pair]))]


def _pair(rows: pd.DataFrame) -> Any:
    """A pair, chosen from a list below the chart or by a click on one of its weighings; none where there is but one."""
    import altair as alt

    pairs = by_name(rows.loc[rows["pair"] != say("words.not-written"), "pair"].unique()) if "pair" in rows else []
    if len(pairs) < 2:
        return None
    labels = [say("charts.all-pairs"), *pairs]
    bound = alt.binding_select(options=[None, *pairs], labels=labels, name=say("charts.choose-pair"))
    return alt.selection_point(name=PAIR, fields=["pair"], bind=bound, on="click", clear="dblclick")


def _forward(pointed: Any, pair: Any, usual: float) -> Any:
    """Opacity: full where pointed at or of the pair that is chosen, faded beside it, else as usual."""
    import altair as alt

    look = alt.when(pointed).then(alt.value(1))
    if pair is None:
        return look.otherwise(alt.value(usual))
    chosen = look.when(pair, empty=False).then(alt.value(1))
    return chosen.when(pair).then(alt.value(usual)).otherwise(alt.value(FADED))


def _curve_layers(x: Any, y: Any) -> list["Chart"]:
    """The lines of the reference, each over the band of its own interval."""
    import altair as alt

    base = of_part("curve").encode(x=x, detail="label:N")
    band = base.mark_area(color=MUTED, opacity=0.16, aria=False)
    looks = {"size": (1.8, 0.9), "strokeDash": ([5, 3], [1, 0])}
    by_middle = {name: dress.either("datum.middle", middle, end) for name, (middle, end) in looks.items()}
    lines = base.mark_line(color=INK, aria=False).encode(y=y, **by_middle)
    return [band.encode(y=alt.Y("mass_low_g:Q"), y2="mass_high_g"), lines]


def _table_layers(x: Any, y: Any) -> list["Chart"]:
    """The lines of weight tables from outside, thinner where the range is that they give."""
    dotted: Any = {"color": YELLOW, "strokeDash": [1, 3], "strokeCap": "round"}
    tooltip = [*dress.tips({"source:N": "charts.table-from"}), *tips(pd.DataFrame())[2:]]
    diamonds: Any = {"shape": "diamond", "size": 34, "fill": "white", "stroke": YELLOW, "strokeWidth": 1.1}
    ends = of_part("range").encode(x=x, y=y, detail=["source:N", "end:N"])
    base = of_part("table").encode(x=x, y=y, detail="source:N")
    return [
        ends.mark_line(strokeWidth=1, aria=False, **dotted),
        base.mark_line(strokeWidth=1.8, **dotted),
        base.mark_point(opacity=1, **diamonds).encode(tooltip=tooltip),
    ]


def _known(table: pd.DataFrame | None) -> pd.DataFrame:
    """The rows of weight tables that are drawn, by age, each with a source."""
    columns = ["kind", "age_d", "mass_g", "low_g", "high_g", "source"]
    if table is None:
        return pd.DataFrame(columns=columns)
    rows = table.rename(columns={"median_g": "mass_g"})[columns].dropna(subset=["age_d", "mass_g"])
    source = rows["source"].astype(object)
    rows = rows.assign(source=source.where(source.notna(), ""))
    return rows.sort_values(["kind", "source", "age_d"], kind="stable", ignore_index=True)


def _alt_of_kind(rows: pd.DataFrame, reference: pd.DataFrame, table: pd.DataFrame) -> Finding:
    """One kind in words."""
    ages, masses = rows["age_d"], rows["mass_g"]
    span = {"first_d": ages.min(), "last_d": ages.max(), "least_g": masses.min(), "most_g": masses.max()}
    chicks = rows["chick"].nunique()
    told = [found("charts.kind-weighed", kind=rows["kind"].iloc[0], chicks=chicks, n=len(rows), **span)]
    last = reference[reference["age_d"] == reference["age_d"].max()]
    lines = [(code, _at(last, share)["mass_g"]) for share, code in ENDS.items()]
    ends = [found(code, mass_g=mass_g.iloc[0]) for code, mass_g in lines if len(mass_g)]
    if ends:
        told.append(found("charts.did-well", day=last["age_d"].iloc[0], ends=ends))
    for source, own in table.groupby("source"):
        end = {"mass_g": own["mass_g"].iloc[-1], "day": own["age_d"].iloc[-1]}
        told.append(found("charts.table-told", source=source or found("charts.weight-table"), **end))
    return found("charts.kind-told", parts=told)


def _caption(reference: pd.DataFrame, table: pd.DataFrame) -> list[Finding]:
    """What the parts are."""
    parts = [found("charts.kinds-lines")]
    if len(reference):
        parts.append(found("charts.kinds-curve"))
    if len(table):
        sources = [source for source in by_name(table["source"].unique()) if source]
        parts.append(found("charts.kinds-table", sources=sources))
    if table[["low_g", "high_g"]].notna().any(axis=None):
        parts.append(found("charts.kinds-range"))
    return parts
