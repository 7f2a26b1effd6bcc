"""Charts of rates: one stage by name, and all stages by name on one page."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.finding import Finding, Words, found
from analysis.names import by_name
from analysis.say import say
from analysis.theme import BLUE, MUTED, NAME_PX, PAGE_PX

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart

GAP_PX = 12
POINTS = found("charts.rate-point")
WHO = {"name": "charts.who-name", "pair": "charts.who-pair", "place": "charts.who-place"}
STAGES = {"showed-fertile": "charts.showed-fertile", "hatch-of-set": "charts.hatch-of-set"}
STAGES |= {"hatch-of-fertile": "charts.hatch-of-fertile", "weaned": "charts.weaned"}
LINES = {"aviary": ("charts.line-aviary", "charts.dashed-aviary")}
LINES |= {"typical": ("charts.line-typical", "charts.dashed-typical")}


def rates_chart(rates: pd.DataFrame, overall: float | None = None, *, who: str = "name") -> "LayerChart":
    """One stage's rate by name: point, 95 % interval, and the count beside it.

    Parameters
    ----------
    rates : frame
        From `stage_rates`, one stage of it: name, stage, rate, low, high, worked, tried.
        Where nothing was tried the row says so.
    overall : float
        The aviary's rate (0 to 1), drawn dashed and labelled.
    who : str
        What the names are, for what pointing shows: "name", "pair" or "place".

    Returns
    -------
    altair.LayerChart, as wide as the page, a row a name, by name

    Raises
    ------
    ValueError
        Where there are no rows, or more than one stage.

    Examples
    --------
    >>> rates = pd.DataFrame({"name": ["P02", "P01"], "stage": "weaned", "rate": [0.75, None],
    ...     "low": [0.30, 0.0], "high": [0.95, 1.0], "worked": [3, 0], "tried": [4, 0]})
    >>> rates_chart(rates).description
    'Weaned, by name, with 95 % intervals: P01 none yet; P02 3 of 4, 75 % (30 % to 95 %).'
    """
    import altair as alt

    dress.something(rates, "rates")
    stages = rates["stage"].unique()
    if len(stages) > 1:
        raise ValueError(f"one stage at a time, got {', '.join(stages)}")
    rows = _named(_dressed(rates))
    order = rows["name"].tolist()
    axis = alt.Axis(values=[0, 0.25, 0.5, 0.75, 1], labelExpr=dress.PERCENT, domain=False)
    scale = alt.Scale(domain=[0, 1.18], nice=False)
    stage = _stage_named(stages[0])
    x = alt.X("rate:Q", title=say("charts.stage-axis", stage=stage), scale=scale, axis=axis)
    y = dress.names(order)
    words = alt.Chart(rows).mark_text(align="right").encode(y=y, x=alt.XDatum(1.17), text="told:N")
    layers = [*_aviary(overall, x), *_points(rows[rows["tried"] > 0], x, y, _tips(who)), words]
    return dress.page(
        *layers,
        height=dress.rows_px(len(order)),
        description=_rates_told(stage, rows, overall),
        caption=[POINTS, found("charts.by-name")],
    )


def _dressed(rates: pd.DataFrame) -> pd.DataFrame:
    """The columns that are drawn, by name, with the count in words."""
    columns = ["name", "stage", "rate", "low", "high", "worked", "tried"]
    place = {name: i for i, name in enumerate(by_name(rates["name"].unique()))}
    rows = rates[columns].assign(place=rates["name"].map(place)).sort_values("place", kind="stable")
    counts, ends = (zip(rows[one], rows[other], strict=True) for one, other in (("worked", "tried"), ("low", "high")))
    told = [
        say("charts.worked-of" if tried else "charts.none-yet", worked=worked, tried=tried) for worked, tried in counts
    ]
    between = [say("charts.between", low=low, high=high) for low, high in ends]
    return rows.drop(columns="place").assign(name=dress.called(rows["name"]), told=told, between=between)


def _named(rows: pd.DataFrame) -> pd.DataFrame:
    return rows.assign(stage=rows["stage"].map(_stage_named))


def _stage_named(stage: str) -> str:
    """What a stage is called; one that is not ours as it stands.

    Examples
    --------
    >>> _stage_named("hatch of set"), _stage_named("ringed")
    ('hatch of set', 'ringed')
    """
    code = STAGES.get(stage.replace(" ", "-"))
    return say(code) if code else stage


def _tips(who: str) -> list[Any]:
    """What pointing at a rate shows."""
    import altair as alt

    return [
        alt.Tooltip("name:N", title=say(WHO[who])),
        alt.Tooltip("stage:N", title=say("charts.stage")),
        alt.Tooltip("told:N", title=say("charts.count")),
        alt.Tooltip("rate:Q", title=say("charts.rate"), format=".0%"),
        alt.Tooltip("between:N", title=say("charts.interval")),
    ]


def _points(rows: pd.DataFrame, x: Any, y: Any, tips: list[Any]) -> list["Chart"]:
    """Interval and point of every row."""
    import altair as alt

    if rows.empty:
        return []
    base = alt.Chart(rows).encode(y=y, tooltip=tips)
    return [
        base.mark_rule(strokeWidth=1.8, color=BLUE).encode(x="low:Q", x2="high:Q"),
        base.mark_point(filled=True, size=60, color=BLUE, opacity=1).encode(x=x),
    ]


def _aviary(overall: float | None, x: Any) -> list["Chart"]:
    """The aviary's rate, dashed, its label above the rows."""
    import altair as alt

    if overall is None or pd.isna(overall):
        return []
    base = alt.Chart(pd.DataFrame({"rate": [overall], "label": [say("charts.line-aviary", rate=overall)]})).encode(x=x)
    label = base.mark_text(align="center", baseline="bottom", dy=-4, color=MUTED)
    return [
        base.mark_rule(color=MUTED, strokeDash=[2, 2]),
        label.encode(y=alt.value(0), text="label:N"),
    ]


def _rates_told(stage: str, rows: pd.DataFrame, overall: float | None) -> list[Finding]:
    """Alt text of rates by name."""
    facts = rows[["name", "worked", "tried", "rate", "low", "high"]].to_dict("records")
    told = dress.first_told(
        Finding("charts.rate-told" if row["tried"] else "charts.rate-none", facts=row) for row in facts
    )
    end = [] if overall is None or pd.isna(overall) else [found("charts.aviary-told", rate=overall)]
    return [found("charts.rates-told", stage=stage, told=told), *end]


def stages_chart(
    rates: pd.DataFrame,
    overall: pd.DataFrame | None = None,
    *,
    points: Words = POINTS,
    label: str = "aviary",
    who: str = "name",
) -> "FacetChart":
    """Every stage of every name on one page: names down, stages across.

    Parameters
    ----------
    rates : frame
        From `stage_rates`, all stages: name, stage, rate, low, high, worked, tried.
    overall : frame
        The same of the whole aviary (``by=None``): drawn dashed and labelled.
    points : str
        What point and bar are, for the caption.
    label : str
        What the dashed lines are: "aviary" or "typical".
    who : str
        What the names are, for what pointing shows: "name", "pair" or "place".

    Returns
    -------
    altair.FacetChart, 170 mm wide, a row a name, by name

    Raises
    ------
    ValueError
        Where there are no rows.

    Examples
    --------
    >>> rates = pd.DataFrame({"name": "P01", "stage": ["showed fertile", "weaned"], "rate": [0.5, 1.0],
    ...     "low": 0.2, "high": 1.0, "worked": [4, 3], "tried": [8, 3]})
    >>> stages_chart(rates).description
    'Stages by name: P01 showed fertile 4 of 8, weaned 3 of 3.'
    """
    import altair as alt

    dress.something(rates, "rates")
    known = {} if overall is None else overall.dropna(subset=["rate"]).set_index("stage")["rate"].to_dict()
    rows = _named(_with_aviary(_dressed(rates), known, label))
    order, stages = list(dict.fromkeys(rows["name"])), [_stage_named(stage) for stage in dict.fromkeys(rates["stage"])]
    width = (PAGE_PX - NAME_PX - GAP_PX * (len(stages) - 1)) // len(stages)
    panel = alt.layer(*_stage_layers(rows, order, _tips(who)), data=rows)
    head = alt.Header(title=None, labelLimit=width, labelAnchor="start", labelPadding=20 if known else 6)
    facets = panel.properties(width=width, height=dress.rows_px(len(order))).facet(
        column=alt.Column("stage:N", sort=stages, header=head)
    )
    dashed = [found(LINES[label][1])] if known else []
    return facets.properties(
        bounds="flush",  # a point at 0 % would push its column aside
        spacing=GAP_PX,
        **dress.told(
            found("charts.stages-told", told=dress.first_told(_stages_told(rows, order))),
            [points, *dashed, found("charts.by-name")],
        ),
    )


def _with_aviary(rows: pd.DataFrame, known: dict[str, float], label: str) -> pd.DataFrame:
    """The aviary's rate on the first row of each stage: one line a column, not one a row."""
    rows = rows.assign(end=1.55, aviary=rows["stage"].map(known).where(~rows["stage"].duplicated()))
    words = LINES[label][0]
    return rows.assign(label=[say(words, rate=rate) if rate == rate else "" for rate in rows["aviary"]])


def _stage_layers(rows: pd.DataFrame, order: list[str], tips: list[Any]) -> list["Chart"]:
    """What each column shows: the aviary, intervals, points, counts."""
    import altair as alt

    axis = alt.Axis(values=[0, 0.5, 1], labelExpr=dress.PERCENT, domain=False)
    x = alt.X("rate:Q", title=say("charts.rate-axis"), scale=alt.Scale(domain=[0, 1.56], nice=False), axis=axis)
    base = alt.Chart(rows).encode(y=dress.names(order))
    shown = base.transform_filter("datum.tried > 0").encode(tooltip=tips)
    aviary = alt.Chart(rows).transform_filter("isValid(datum.aviary)").encode(x="aviary:Q")
    label = aviary.mark_text(baseline="bottom", dy=-3, fontSize=10, color=MUTED)
    return [
        aviary.mark_rule(color=MUTED, strokeDash=[2, 2]),
        label.encode(y=alt.value(0), text="label:N"),
        shown.mark_rule(strokeWidth=1.6, color=BLUE).encode(x="low:Q", x2="high:Q"),
        shown.mark_point(filled=True, size=42, color=BLUE, opacity=1).encode(x=x),
        base.mark_text(align="right", fontSize=10).encode(x="end:Q", text="told:N"),
    ]


def _stages_told(rows: pd.DataFrame, order: list[str]) -> list[Finding]:
    """Alt text of each name."""
    told: dict[str, list[Finding]] = {name: [] for name in order}
    for row in rows.itertuples():
        code = "charts.stage-of" if row.tried else "charts.stage-none"
        told[row.name].append(found(code, stage=row.stage, worked=row.worked, tried=row.tried))
    return [found("charts.stages-of", name=name, stages=told[name]) for name in order]
