"""Points with intervals, a row a name: the rates of all stages, and how heavy each pair's chicks are."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.finding import Finding, Words, found
from analysis.names import named
from analysis.say import say
from analysis.theme import BLUE, MUTED, NAME_PX, PAGE_PX

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart

GAP_PX = 12
POINTS = found("charts.rate-point")
STAGES = {"showed-fertile": "charts.showed-fertile", "hatch-of-set": "charts.hatch-of-set"}
STAGES |= {"not-broken": "charts.not-broken"}
STAGES |= {"hatch-of-fertile": "charts.hatch-of-fertile", "weaned": "charts.weaned"}
PALE = "#8f8f8f"
LEAST = 10.0  # percent to either side that the axis always shows: small differences must look small
ROOM = 0.2  # of the axis, to its right, for the count


def _drawn(rates: pd.DataFrame) -> pd.DataFrame:
    """The columns that are drawn, by name, with the count in words."""
    rows = rates[["name", "stage", "rate", "low", "high", "worked", "tried"]].iloc[dress.in_order(rates["name"])]
    counts, ends = (zip(rows[one], rows[other], strict=True) for one, other in (("worked", "tried"), ("low", "high")))
    told = [
        say("charts.worked-of" if tried else "charts.none-yet", worked=worked, tried=tried) for worked, tried in counts
    ]
    between = [say("charts.between", low=low, high=high) for low, high in ends]
    return rows.assign(name=dress.called(rows["name"]), told=told, between=between)


def stages_chart(
    rates: pd.DataFrame,
    overall: pd.DataFrame | None = None,
    *,
    points: Words = POINTS,
    label: str = "aviary",
    who: str = "name",
) -> "FacetChart":
    """Every stage of every name on one page, 170 mm wide: names down, stages across.

    `rates` is from `stage_rates`: name, stage, rate, low, high, worked, tried. `overall`, the same of the whole aviary
    (``by=None``), is drawn dashed, as what `label` says: "aviary" or "typical". `points` says what point and bar are,
    `who` what the names are: "name", "pair" or "place".
    """
    import altair as alt

    dress.something(rates, "rates")
    known = {} if overall is None else overall.dropna(subset=["rate"]).set_index("stage")["rate"].to_dict()
    rows = _with_aviary(_drawn(rates), known, label)
    order, stages = list(dict.fromkeys(rows["name"])), [dress.worded(STAGES, name) for name in rates["stage"].unique()]
    width = (PAGE_PX - NAME_PX - GAP_PX * (len(stages) - 1)) // len(stages)
    tips = dress.tips({"name:N": f"charts.who-{who}", "stage:N": "charts.stage", "told:N": "charts.count"})
    tips += [*dress.tips({"rate:Q": "charts.rate"}, format=".0%"), *dress.tips({"between:N": "charts.interval"})]
    panel = alt.layer(*_stage_layers(rows, order, tips), data=rows)
    head = alt.Header(title=None, labelLimit=width, labelAnchor="start", labelPadding=20 if known else 6)
    facets = panel.properties(width=width, height=dress.rows_px(len(order))).facet(
        column=alt.Column("stage:N", sort=stages, header=head)
    )
    dashed = [found(f"charts.dashed-{label}")] if known else []
    return facets.properties(
        bounds="flush",  # a point at 0 % would push its column aside
        spacing=GAP_PX,
        **dress.texts(
            found("charts.stages-told", told=dress.first_few(_alt_of_stages(rows, order))),
            [points, *dashed, found("charts.by-name")],
        ),
    )


def _with_aviary(rows: pd.DataFrame, known: dict[str, float], label: str) -> pd.DataFrame:
    """The aviary's rate on the first row of each stage: one line a column, not one a row."""
    aviary = rows["stage"].map(known).where(~rows["stage"].duplicated())
    words = [say(f"charts.line-{label}", rate=rate) if rate == rate else "" for rate in aviary]
    stages = [dress.worded(STAGES, stage) for stage in rows["stage"]]
    return rows.assign(end=1.55, aviary=aviary, label=words, stage=stages)


def _stage_layers(rows: pd.DataFrame, order: list[str], tips: list[Any]) -> list["Chart"]:
    """What each column shows: the aviary, intervals, points, counts."""
    import altair as alt

    axis = alt.Axis(values=[0, 0.5, 1], labelExpr=dress.PERCENT, domain=False)
    x = alt.X("rate:Q", title=say("charts.rate-axis"), scale=alt.Scale(domain=[0, 1.56], nice=False), axis=axis)
    base = alt.Chart(rows).encode(y=dress.names(order))
    tried = base.transform_filter("datum.tried > 0").encode(tooltip=tips)
    aviary = alt.Chart(rows).transform_filter("isValid(datum.aviary)").encode(x="aviary:Q")
    label = aviary.mark_text(baseline="bottom", dy=-3, fontSize=10, color=MUTED)
    return [
        aviary.mark_rule(color=MUTED, strokeDash=[2, 2]),
        label.encode(y=alt.value(0), text="label:N"),
        tried.mark_rule(strokeWidth=1.6, color=BLUE).encode(x="low:Q", x2="high:Q"),
        tried.mark_point(filled=True, size=42, color=BLUE, opacity=1).encode(x=x),
        base.mark_text(align="right", fontSize=10).encode(x="end:Q", text="told:N"),
    ]


def _alt_of_stages(rows: pd.DataFrame, order: list[str]) -> list[Finding]:
    """Alt text of each name."""
    told: dict[str, list[Finding]] = {name: [] for name in order}
    for row in rows.itertuples():
        code = "charts.stage-of" if row.tried else "charts.stage-none"
        told[row.name].append(found(code, stage=row.stage, worked=row.worked, tried=row.tried))
    return [found("charts.stages-of", name=name, stages=told[name]) for name in order]


def pair_growth_chart(table: pd.DataFrame) -> "LayerChart":
    """How much lighter or heavier than the typical chick the chicks of each pair are, a row a pair, by name.

    `table` has a row a pair: pair, chicks (how many were weighed), share (their weight as a share of the typical
    chick's; 0.93 is 7 % lighter) and its 95 % interval low, high; enough (False: with so few chicks the row is drawn
    open and paler and says so).
    """
    import altair as alt

    dress.something(table, "pairs")
    rows = _pairs_drawn(table)
    left, right = 1.05 * min(-LEAST, rows["low"].min()), 1.05 * max(LEAST, rows["high"].max())
    end = right + ROOM * (right - left)
    y = dress.names(rows["name"].tolist())
    words = alt.Chart(rows[["name", "told"]]).mark_text(align="right").encode(y=y, x=alt.XDatum(end), text="told:N")
    typical = pd.DataFrame({"share": [0.0], "label": [say("charts.typical-chick")]})
    line = alt.Chart(typical).encode(x="share:Q")
    label = line.mark_text(baseline="bottom", dy=-4, color=MUTED).encode(y=alt.value(0), text="label:N")
    few = [] if rows["enough"].all() else [found("charts.pairs-few")]
    return dress.page(
        line.mark_rule(color=MUTED, strokeDash=[2, 2]),
        label,
        *_pair_points(rows, _beside_typical(left, right, end), y),
        words,
        height=dress.rows_px(len(rows)),
        description=found("charts.pairs-told", told=dress.first_few(_alt_of_pair(row) for row in rows.itertuples())),
        caption=[found("charts.pairs-point"), *few, found("charts.by-name")],
    )


def _pairs_drawn(table: pd.DataFrame) -> pd.DataFrame:
    """What is drawn, by name: percent away from the typical chick, the count in words."""
    names = named(table["pair"]).astype(str)
    order = dress.in_order(names)
    rows, names = table.iloc[order], names.iloc[order]
    counts = zip(rows["chicks"], rows["enough"], strict=True)
    told = [say("charts.chicks" if enough else "charts.few-chicks", n=chicks) for chicks, enough in counts]
    away = {column: 100 * (rows[column] - 1) for column in ("share", "low", "high")}
    return rows[["enough"]].assign(name=dress.called(names), **away, told=told).reset_index(drop=True)


def _beside_typical(left: float, right: float, end: float) -> Any:
    """Percent lighter to the left, heavier to the right; no ticks where only words stand."""
    import altair as alt

    steps = dress.ticks(0, max(-left, right))
    values = [value for value in (*(-step for step in reversed(steps[1:])), *steps) if left <= value <= right]
    signed = "datum.value == 0 ? '0' : format(datum.value, '+d')"
    scale = alt.Scale(domain=[left, end], nice=False)
    axis = alt.Axis(values=values, labelExpr=signed, domain=False)
    return alt.X("share:Q", title=say("charts.beside-typical-axis"), scale=scale, axis=axis)


def _pair_points(rows: pd.DataFrame, x: Any, y: Any) -> list["Chart"]:
    """Interval and point of every pair: solid where there are chicks enough, open and paler where not."""
    import altair as alt

    titles = {"share:Q": "charts.beside-typical-tip", "low:Q": "charts.from-percent", "high:Q": "charts.to-percent"}
    tips = dress.tips({"name:N": "charts.pair", "told:N": "charts.weighed"}) + dress.tips(titles, format="+.0f")
    layers = []
    for enough, colour, fill, width in ((False, PALE, "white", 1.2), (True, BLUE, BLUE, 1.8)):
        own = rows[rows["enough"] == enough]
        if len(own):
            base = alt.Chart(own).encode(y=y, tooltip=tips)
            points = base.mark_point(size=60, stroke=colour, fill=fill, strokeWidth=1.2, opacity=1)
            layers += [
                base.mark_rule(strokeWidth=width, color=colour).encode(x="low:Q", x2="high:Q"),
                points.encode(x=x),
            ]
    return layers


def _alt_of_pair(row: Any) -> Finding:
    """One pair in words."""
    if pd.isna(row.share):
        return found("charts.pair-not-told", pair=row.name, chicks=row.told)
    away: dict[str, Any] = {"away": _away(row.share), "low": _away(row.low), "high": _away(row.high)}
    return found("charts.pair-told", pair=row.name, chicks=row.told, **away)


def _away(percent: float) -> Finding:
    """How far from the typical chick."""
    if round(abs(percent)) == 0:
        return found("charts.as-heavy")
    return found("charts.lighter" if percent < 0 else "charts.heavier", away=abs(percent))
