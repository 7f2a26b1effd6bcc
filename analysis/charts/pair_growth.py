"""Chart of growth by pair: whose chicks are lighter or heavier than the typical chick."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.finding import Finding, found
from analysis.names import by_name, named
from analysis.say import say
from analysis.theme import BLUE, MUTED

if TYPE_CHECKING:
    from altair import Chart, LayerChart

PALE = "#8f8f8f"
LEAST = 10.0  # percent to either side that the axis always shows: small differences must look small
ROOM = 0.2  # of the axis, to its right, for the count


def pair_growth_chart(table: pd.DataFrame) -> "LayerChart":
    """How much lighter or heavier than the typical chick the chicks of each pair are.

    Parameters
    ----------
    table : frame
        A row a pair: pair, chicks (how many were weighed), share (their weight as a share of the typical
        chick's; 0.93 is 7 % lighter) and its 95 % interval low, high; enough (False: with so few chicks the row
        is drawn open and paler and says so).

    Returns
    -------
    altair.LayerChart, as wide as the page, a row a pair, by name

    Raises
    ------
    ValueError
        Where there are no rows.

    Examples
    --------
    >>> table = pd.DataFrame({"pair": ["P10", "P2"], "chicks": [7, 3], "share": [0.93, 1.02],
    ...     "low": [0.88, 0.90], "high": [0.98, 1.13], "enough": [True, False]})
    >>> print(pair_growth_chart(table).description.replace(": ", ":\\n").replace("; ", ";\\n"))
    Weight of each pair's chicks beside the typical chick, with 95 % intervals:
    P2, few chicks (3), 2 % heavier (10 % lighter to 13 % heavier);
    P10, 7 chicks, 7 % lighter (12 % lighter to 2 % lighter).
    """
    import altair as alt

    dress.something(table, "pairs")
    rows = _dressed(table)
    left, right = 1.05 * min(-LEAST, rows["low"].min()), 1.05 * max(LEAST, rows["high"].max())
    end = right + ROOM * (right - left)
    y = dress.names(rows["name"].tolist())
    words = alt.Chart(rows[["name", "told"]]).mark_text(align="right").encode(y=y, x=alt.XDatum(end), text="told:N")
    few = [] if rows["enough"].all() else [found("charts.pairs-few")]
    return dress.page(
        *_typical(),
        *_points(rows, _axis(left, right, end), y),
        words,
        height=dress.rows_px(len(rows)),
        description=found("charts.pairs-told", told=dress.first_told(_told(row) for row in rows.itertuples())),
        caption=[found("charts.pairs-point"), *few, found("charts.by-name")],
    )


def _dressed(table: pd.DataFrame) -> pd.DataFrame:
    """What is drawn, by name: percent away from the typical chick, the count in words."""
    rows = table.assign(name=named(table["pair"]).astype(str))
    place = {name: i for i, name in enumerate(by_name(rows["name"].unique()))}
    rows = rows.iloc[rows["name"].map(place).argsort(kind="stable")]
    counts = zip(rows["chicks"], rows["enough"], strict=True)
    told = [say("charts.chicks" if enough else "charts.few-chicks", n=chicks) for chicks, enough in counts]
    away = {column: 100 * (rows[column] - 1) for column in ("share", "low", "high")}
    return rows[["enough"]].assign(name=dress.called(rows["name"]), **away, told=told).reset_index(drop=True)


def _axis(left: float, right: float, end: float) -> Any:
    """Percent lighter to the left, heavier to the right; no ticks where only words stand."""
    import altair as alt

    steps = dress.ticks(0, max(-left, right))
    values = [value for value in (*(-step for step in reversed(steps[1:])), *steps) if left <= value <= right]
    signed = "datum.value == 0 ? '0' : format(datum.value, '+d')"
    return alt.X(
        "share:Q",
        title=say("charts.beside-typical-axis"),
        scale=alt.Scale(domain=[left, end], nice=False),
        axis=alt.Axis(values=values, labelExpr=signed, domain=False),
    )


def _typical() -> list["Chart"]:
    """The line of the typical chick, its label above the rows."""
    import altair as alt

    base = alt.Chart(pd.DataFrame({"share": [0.0], "label": [say("charts.typical-chick")]})).encode(x="share:Q")
    label = base.mark_text(baseline="bottom", dy=-4, color=MUTED).encode(y=alt.value(0), text="label:N")
    return [base.mark_rule(color=MUTED, strokeDash=[2, 2]), label]


def _points(rows: pd.DataFrame, x: Any, y: Any) -> list["Chart"]:
    """Interval and point of every pair: solid where there are chicks enough, open and paler where not."""
    import altair as alt

    titles = {"share": "charts.beside-typical-tip", "low": "charts.from-percent", "high": "charts.to-percent"}
    tips = [
        alt.Tooltip("name:N", title=say("charts.pair")),
        alt.Tooltip("told:N", title=say("charts.weighed")),
        *(alt.Tooltip(f"{name}:Q", title=say(title), format="+.0f") for name, title in titles.items()),
    ]
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


def _told(row: Any) -> Finding:
    """One pair in words."""
    if pd.isna(row.share):
        return found("charts.pair-not-told", pair=row.name, chicks=row.told)
    away: dict[str, Any] = {name: _away(getattr(row, name)) for name in ("low", "high")}
    return found("charts.pair-told", pair=row.name, chicks=row.told, away=_away(row.share), **away)


def _away(percent: float) -> Finding:
    """How far from the typical chick.

    Examples
    --------
    >>> [_away(percent).code for percent in (-7.2, 0.3, 4.0)]
    ['charts.lighter', 'charts.as-heavy', 'charts.heavier']
    """
    if round(abs(percent)) == 0:
        return found("charts.as-heavy")
    return found("charts.lighter" if percent < 0 else "charts.heavier", away=abs(percent))
