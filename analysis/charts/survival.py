"""The share of chicks alive at each age, as a curve."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.finding import found
from analysis.say import say
from analysis.theme import BLUE, MUTED
from analysis.words import percent

if TYPE_CHECKING:
    from altair import Chart, LayerChart, X

HEIGHT_PX = 190


def survival_chart(km: pd.DataFrame) -> "LayerChart":
    """Share of chicks alive after each age, with its 95 % interval and the chicks under watch.

    `km` is from `kaplan_meier`: age_d, at_risk, lost, survival, low, high, sound. Only the sound part is drawn.
    """
    import altair as alt

    dress.something(km, "chicks")
    curve = km.loc[km["sound"], ["age_d", "at_risk", "lost", "survival", "low", "high"]]
    dress.something(curve, "sound ages")
    first, last = curve.iloc[0], curve.iloc[-1]
    start_d, end_d = float(first["age_d"]), float(last["age_d"])
    reach = max(end_d - start_d, 1.0)
    # the last value stands in the room at the end
    scale = alt.Scale(domain=[start_d, start_d + 1.08 * reach], nice=False)
    axis = alt.Axis(grid=False, values=dress.ticks(start_d, end_d))
    x = alt.X("age_d:Q", title=say("charts.age-days"), scale=scale, axis=axis)
    ends = {"first": start_d, "last": end_d, "low": last["low"], "high": last["high"]}
    beyond = [found("charts.survival-ends", day=day) for day in km.loc[~km["sound"], "age_d"].head(1)]
    return dress.page(
        *_curve_layers(curve, x),
        *_watched_layers(curve, 0.05 * reach, x),
        height=HEIGHT_PX,
        description=found("charts.survival-told", rate=last["survival"], lost=int(curve["lost"].sum()), **ends),
        caption=[found("charts.survival-caption"), *beyond],
    )


def _curve_layers(curve: pd.DataFrame, x: "X") -> list["Chart"]:
    """Band, line, losses, and the last value."""
    import altair as alt

    start = curve.head(1).assign(lost=0, survival=1.0, low=1.0, high=1.0)
    steps = pd.concat([start, curve], ignore_index=True)  # all were alive when the watch began
    end = steps.tail(1).assign(label=percent(steps["survival"].iloc[-1]))
    axis = alt.Axis(values=[0, 0.25, 0.5, 0.75, 1], labelExpr=dress.PERCENT, **dress.AT_LEFT)
    y = alt.Y("survival:Q", title=say("charts.chicks-alive-axis"), scale=alt.Scale(domain=[0, 1]), axis=axis)
    tips = dress.tips({"age_d:Q": "charts.age-days", "at_risk:Q": "charts.under-watch", "lost:Q": "charts.lost"})
    rates = {"survival:Q": "charts.alive-after", "low:Q": "charts.from", "high:Q": "charts.to"}
    tips += dress.tips(rates, format=".0%")
    base = alt.Chart(steps).encode(x=x)
    losses = alt.Chart(curve[curve["lost"] > 0]).mark_point(filled=True, color=BLUE, size=26)
    return [
        base.mark_area(interpolate="step-after", color=dress.BAND).encode(y="low:Q", y2="high"),
        base.mark_line(interpolate="step-after", color=BLUE, strokeWidth=1.8).encode(y=y),
        losses.encode(x=x, y=y, tooltip=tips),
        alt.Chart(end).mark_text(align="left", dx=6, fontWeight=600).encode(x=x, y=y, text="label:N"),
    ]


def _watched_layers(curve: pd.DataFrame, apart_d: float, x: "X") -> list["Chart"]:
    """How many chicks were under watch, along the foot of the chart, so far apart that the numbers do not touch."""
    import altair as alt

    kept: list[Any] = []
    for row in curve.itertuples():
        if not kept or row.age_d - curve.loc[kept[-1], "age_d"] >= apart_d:
            kept.append(row.Index)
    head = alt.Chart(curve.loc[kept[:1]]).mark_text(align="left", color=MUTED, fontSize=10)
    numbers = alt.Chart(curve.loc[kept]).mark_text(color=MUTED, fontSize=10)
    return [
        head.encode(x=x, y=alt.value(HEIGHT_PX - 22), text=alt.TextValue(say("charts.under-watch"))),
        numbers.encode(x=x, y=alt.value(HEIGHT_PX - 8), text="at_risk:Q"),
    ]
