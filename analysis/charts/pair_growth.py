"""Chart of growth by pair: whose chicks are lighter or heavier than the typical chick."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.names import by_name, named
from analysis.theme import BLUE, MUTED
from analysis.words import count_words

if TYPE_CHECKING:
    from altair import Chart, LayerChart

PALE = "#8f8f8f"
FEW = "few chicks"
LEAST = 10.0  # percent to either side that the axis always shows: small differences must look small
ROOM = 0.2  # of the axis, to its right, for the count


def pair_growth_chart(table: pd.DataFrame) -> "LayerChart":
    """How much lighter or heavier than the typical chick the chicks of each pair are.

    Parameters
    ----------
    table : frame
        A row a pair: pair, chicks (how many were weighed), share (their weight as a share of the typical
        chick's; 0.93 is 7 % lighter) and its 95 % interval low, high; enough (False: with so few chicks the row
        is drawn open and paler and says "few chicks").

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

    dress.something(table, "no pairs")
    rows = _dressed(table)
    left, right = 1.05 * min(-LEAST, rows["low"].min()), 1.05 * max(LEAST, rows["high"].max())
    end = right + ROOM * (right - left)
    y = dress.names(rows["name"].tolist())
    words = alt.Chart(rows[["name", "told"]]).mark_text(align="right").encode(y=y, x=alt.XDatum(end), text="told:N")
    few = "Open and pale: too few chicks to judge by. " if not rows["enough"].all() else ""
    return dress.page(
        *_typical(),
        *_points(rows, _axis(left, right, end), y),
        words,
        height=dress.rows_px(len(rows)),
        description="Weight of each pair's chicks beside the typical chick, with 95 % intervals: "
        f"{dress.sentence_list(_told(row) for row in rows.itertuples())}.",
        caption="Point: how much lighter or heavier the pair's chicks are than the typical chick. Bar: its 95 % "
        f"interval; where it crosses the dashed line they may be as heavy. {few}In order of name.",
    )


def _dressed(table: pd.DataFrame) -> pd.DataFrame:
    """What is drawn, by name: percent away from the typical chick, the count in words."""
    rows = table.assign(name=named(table["pair"]).astype(str))
    place = {name: i for i, name in enumerate(by_name(rows["name"].unique()))}
    rows = rows.iloc[rows["name"].map(place).argsort(kind="stable")]
    told = [count_words(row.chicks, "chick") if row.enough else f"{FEW} ({row.chicks})" for row in rows.itertuples()]
    away = {column: 100 * (rows[column] - 1) for column in ("share", "low", "high")}
    return rows[["name", "enough"]].assign(**away, told=told).reset_index(drop=True)


def _axis(left: float, right: float, end: float) -> Any:
    """Percent lighter to the left, heavier to the right; no ticks where only words stand."""
    import altair as alt

    steps = dress.ticks(0, max(-left, right))
    values = [value for value in (*(-step for step in reversed(steps[1:])), *steps) if left <= value <= right]
    signed = "datum.value == 0 ? '0' : format(datum.value, '+d')"
    return alt.X(
        "share:Q",
        title="lighter (−) or heavier (+) than the typical chick (%), with 95 % interval",
        scale=alt.Scale(domain=[left, end], nice=False),
        axis=alt.Axis(values=values, labelExpr=signed, domain=False),
    )


def _typical() -> list["Chart"]:
    """The line of the typical chick, its label above the rows."""
    import altair as alt

    base = alt.Chart(pd.DataFrame({"share": [0.0], "label": ["typical chick"]})).encode(x="share:Q")
    label = base.mark_text(baseline="bottom", dy=-4, color=MUTED).encode(y=alt.value(0), text="label:N")
    return [base.mark_rule(color=MUTED, strokeDash=[2, 2]), label]


def _points(rows: pd.DataFrame, x: Any, y: Any) -> list["Chart"]:
    """Interval and point of every pair: solid where there are chicks enough, open and paler where not."""
    import altair as alt

    tips = [
        alt.Tooltip("name:N", title="pair"),
        alt.Tooltip("told:N", title="weighed"),
        *(
            alt.Tooltip(f"{column}:Q", title=f"{words} (%)", format="+.0f")
            for column, words in (("share", "beside the typical chick"), ("low", "from"), ("high", "to"))
        ),
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


def _told(row: Any) -> str:
    """One pair in words."""
    if pd.isna(row.share):
        return f"{row.name}, {row.told}"
    return f"{row.name}, {row.told}, {_words(row.share)} ({_words(row.low)} to {_words(row.high)})"


def _words(away: float) -> str:
    """Say how far from the typical chick.

    Examples
    --------
    >>> _words(-7.2), _words(0.3), _words(4.0)
    ('7 % lighter', 'as heavy', '4 % heavier')
    """
    size = f"{abs(away):.0f} %"
    return "as heavy" if size == "0 %" else f"{size} {'lighter' if away < 0 else 'heavier'}"
