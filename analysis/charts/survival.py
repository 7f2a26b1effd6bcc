"""Chart of survival: the share of chicks alive at each age."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.finding import Finding, found
from analysis.say import say
from analysis.theme import BLUE, INK, MUTED
from analysis.words import percent

if TYPE_CHECKING:
    from altair import LayerChart


def losses_by_age_chart(losses: pd.DataFrame) -> "LayerChart":
    """Chicks lost in each band of age, of those who came into it.

    Parameters
    ----------
    losses : frame
        From `losses_by_age`: band, lost, entered.

    Returns
    -------
    altair.LayerChart, as wide as the page

    Raises
    ------
    ValueError
        Where no chick was lost.

    Examples
    --------
    >>> losses = pd.DataFrame({"band": ["0–2", "3–7"], "lost": [1, 0], "entered": [4, 3]})
    >>> losses_by_age_chart(losses).description
    'Chicks lost by age in days: 0–2, 1 of 4; 3–7, 0 of 3.'
    """
    dress.something(losses[losses["lost"] > 0], "losses")
    records = losses[["band", "lost", "entered"]].to_dict("records")
    rows = losses.assign(
        name=[say("charts.days-band", band=band) for band in losses["band"]],
        told=[say("charts.lost-of", lost=row["lost"], entered=row["entered"]) for row in records],
    )
    told = [found("charts.band-told", **{str(name): fact for name, fact in row.items()}) for row in records]
    return _bars(
        rows,
        who=say("charts.who-age"),
        title=say("charts.chicks-lost-axis"),
        description=found("charts.by-age-told", told=told),
        caption=found("charts.by-age-caption"),
    )


def losses_by_cause_chart(losses: pd.DataFrame) -> "LayerChart":
    """Losses by what the keeper thought was the cause, the keeper's own words beside them.

    Parameters
    ----------
    losses : frame
        From `losses_by_cause`: cause_group, lost, as_written. Drawn in the order of the frame.

    Returns
    -------
    altair.LayerChart, as wide as the page

    Raises
    ------
    ValueError
        Where nothing was lost.

    Examples
    --------
    >>> losses = pd.DataFrame({"cause_group": ["cold"], "lost": [2], "as_written": ["chilled; cold night"]})
    >>> losses_by_cause_chart(losses).description
    'Losses by cause as the keeper saw it: cold, 2.'
    """
    dress.something(losses[losses["lost"] > 0], "losses")
    written = zip(losses["lost"], losses["as_written"], strict=True)
    told = [say("charts.lost-as-written", lost=lost, written=words) for lost, words in written]
    by_cause = zip(dress.called(losses["cause_group"]), losses["lost"], strict=True)
    causes = dress.first_told(found("charts.cause-told", cause=cause, lost=lost) for cause, lost in by_cause)
    return _bars(
        losses.assign(name=dress.called(losses["cause_group"]), told=told),
        who=say("charts.cause"),
        title=say("charts.losses-axis"),
        description=found("charts.by-cause-told", told=causes),
        caption=[found("charts.by-cause-caption"), found("charts.a-guess")],
    )


def _bars(rows: pd.DataFrame, *, who: str, title: str, description: dress.Told, caption: dress.Told) -> "LayerChart":
    """Lost things: white bars with a dashed outline, the count in words beside them."""
    import altair as alt

    rows = rows[["name", "lost", "told"]].assign(start=0)
    x = dress.counts(title, int(rows["lost"].max()))
    base = alt.Chart(rows).encode(y=dress.names(rows["name"].tolist()))
    tips = [alt.Tooltip("name:N", title=who), alt.Tooltip("told:N", title=say("charts.lost"))]
    bars = base.transform_filter("datum.lost > 0").mark_bar(height=15, **dress.LOST)
    words = base.mark_text(align="left", dx=6, color=INK, limit=200)
    return dress.page(
        bars.encode(x=x, x2="lost", tooltip=tips),
        words.encode(x="lost:Q", text="told:N"),
        height=dress.rows_px(len(rows)),
        description=description,
        caption=caption,
    )


if TYPE_CHECKING:
    from altair import Chart, LayerChart, X

BAND = "#dce4ee"  # BLUE at one seventh, as an opaque colour: prints alike everywhere
HEIGHT_PX = 190
AT_LEFT: dict[str, Any] = {"minExtent": 34, "maxExtent": 34, "titleX": -34}


def survival_chart(km: pd.DataFrame) -> "LayerChart":
    """Share of chicks alive after each age, with its 95 % interval and the chicks under watch.

    Parameters
    ----------
    km : frame
        From `kaplan_meier`: age_d, at_risk, lost, survival, low, high, sound. Only the sound part is drawn.

    Returns
    -------
    altair.LayerChart, as wide as the page

    Raises
    ------
    ValueError
        Where there are no chicks, or no age at which the curve is sound.

    Examples
    --------
    >>> km = pd.DataFrame({
    ...     "age_d": [0, 5, 30], "at_risk": [4, 4, 3], "lost": [0, 1, 0], "sound": True,
    ...     "survival": [1, 0.75, 0.75], "low": [0.51, 0.13, 0.13], "high": [1, 0.96, 0.96],
    ... })
    >>> survival_chart(km).description
    'Under watch from day 0: 75 % were alive after day 30 (95 % interval 13 % to 96 %); 1 chick lost.'
    """
    dress.something(km, "chicks")
    curve = km.loc[km["sound"], ["age_d", "at_risk", "lost", "survival", "low", "high"]]
    dress.something(curve, "sound ages")
    start_d, end_d = float(curve["age_d"].iloc[0]), float(curve["age_d"].iloc[-1])
    reach = max(end_d - start_d, 1.0)
    x = _ages(start_d, end_d, start_d + 1.08 * reach)  # the last value stands in the room at the end
    return dress.page(
        *_curve_layers(curve, x),
        *_watched_layers(_spread(curve, 0.05 * reach), x),
        height=HEIGHT_PX,
        description=_told(curve.iloc[0], curve.iloc[-1], int(curve["lost"].sum())),
        caption=_caption(km),
    )


def _ages(start_d: float, end_d: float, edge_d: float) -> "X":
    """Axis of ages."""
    import altair as alt

    axis = alt.Axis(grid=False, values=dress.ticks(start_d, end_d))
    return alt.X(
        "age_d:Q", title=say("charts.age-days"), scale=alt.Scale(domain=[start_d, edge_d], nice=False), axis=axis
    )


def _curve_layers(curve: pd.DataFrame, x: "X") -> list["Chart"]:
    """Band, line, losses, and the last value."""
    import altair as alt

    start = curve.head(1).assign(lost=0, survival=1.0, low=1.0, high=1.0)
    steps = pd.concat([start, curve], ignore_index=True)  # all were alive when the watch began
    end = steps.tail(1).assign(label=percent(steps["survival"].iloc[-1]))
    axis = alt.Axis(values=[0, 0.25, 0.5, 0.75, 1], labelExpr=dress.PERCENT, **AT_LEFT, **dress.LYING)
    y = alt.Y("survival:Q", title=say("charts.chicks-alive-axis"), scale=alt.Scale(domain=[0, 1]), axis=axis)
    counts = {"age_d": "charts.age-days", "at_risk": "charts.under-watch", "lost": "charts.lost"}
    rates = {"survival": "charts.alive-after", "low": "charts.from", "high": "charts.to"}
    tips = [alt.Tooltip(f"{name}:Q", title=say(title)) for name, title in counts.items()]
    tips += [alt.Tooltip(f"{name}:Q", title=say(title), format=".0%") for name, title in rates.items()]
    base = alt.Chart(steps).encode(x=x)
    losses = alt.Chart(curve[curve["lost"] > 0]).mark_point(filled=True, color=BLUE, size=26)
    return [
        base.mark_area(interpolate="step-after", color=BAND).encode(y="low:Q", y2="high"),
        base.mark_line(interpolate="step-after", color=BLUE, strokeWidth=1.8).encode(y=y),
        losses.encode(x=x, y=y, tooltip=tips),
        alt.Chart(end).mark_text(align="left", dx=6, fontWeight=600).encode(x=x, y=y, text="label:N"),
    ]


def _watched_layers(curve: pd.DataFrame, x: "X") -> list["Chart"]:
    """How many chicks were under watch, along the foot of the chart."""
    import altair as alt

    head = alt.Chart(curve.head(1)).mark_text(align="left", color=MUTED, fontSize=10)
    numbers = alt.Chart(curve).mark_text(color=MUTED, fontSize=10)
    return [
        head.encode(x=x, y=alt.value(HEIGHT_PX - 22), text=alt.TextValue(say("charts.under-watch"))),
        numbers.encode(x=x, y=alt.value(HEIGHT_PX - 8), text="at_risk:Q"),
    ]


def _spread(curve: pd.DataFrame, apart_d: float) -> pd.DataFrame:
    """Rows far enough apart that their numbers do not touch."""
    kept: list[Any] = []
    for row in curve.itertuples():
        if not kept or row.age_d - curve.loc[kept[-1], "age_d"] >= apart_d:
            kept.append(row.Index)
    return curve.loc[kept]


def _told(first: "pd.Series[Any]", last: "pd.Series[Any]", lost: int) -> Finding:
    """Alt text of the curve."""
    ends = {"first": first["age_d"], "last": last["age_d"], "low": last["low"], "high": last["high"]}
    return found("charts.survival-told", rate=last["survival"], lost=lost, **ends)


def _caption(km: pd.DataFrame) -> list[Finding]:
    """What the parts are, and where the curve had to end."""
    parts = [found("charts.survival-caption")]
    if not km["sound"].all():
        parts.append(found("charts.survival-ends", day=km.loc[~km["sound"], "age_d"].iloc[0]))
    return parts
