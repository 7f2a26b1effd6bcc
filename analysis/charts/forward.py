"""Lines of many chicks, of which those of one pair, or the one that is pointed at, come forward.

On paper, and until something is chosen, all of them look alike.
"""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.charts.dress import of_part
from analysis.charts.survival import AT_LEFT, BAND
from analysis.charts.weighings import WIDE, tips
from analysis.finding import found
from analysis.names import by_name
from analysis.say import say
from analysis.theme import BLUE, PAGE_PX

if TYPE_CHECKING:
    from altair import Chart

POINTED, PAIR = "hover", "shown_pair"  # names of what is chosen
FADED = 0.1  # opacity beside a pair that is chosen


def weight_layers(x: Any, y: Any, rows: pd.DataFrame) -> list["Chart"]:
    """Lines and points of the chicks; those of the pair that is chosen, and the chick pointed at, come forward."""
    import altair as alt

    base = of_part("weight").encode(x=x, y=y, detail="chick:N")
    pointed = alt.selection_point(name=POINTED, fields=["chick"], on="pointerover", clear="pointerout", empty=False)
    pair = _pair(rows)
    size = alt.when(pointed).then(alt.value(2.5))  # a line's width: a theme's own would win over `strokeWidth`
    lines = base.mark_line(color=BLUE, aria=False).encode(
        opacity=_forward(pointed, pair, 0.3), size=size.otherwise(alt.value(1.5))
    )
    points = base.mark_point(filled=True, size=9, color=BLUE, aria=False, **WIDE).encode(
        opacity=_forward(pointed, pair, 0.5), tooltip=tips(rows)
    )
    return [lines, points.add_params(pointed, *([] if pair is None else [pair]))]


def _pair(rows: pd.DataFrame) -> Any:
    """A pair, chosen from a list below the chart or by a click on one of its weighings; none where there is but one."""
    import altair as alt

    pairs = by_name(rows.loc[rows["pair"] != say("words.not-written"), "pair"].unique()) if "pair" in rows else []
    if len(pairs) < 2:
        return None
    bound = alt.binding_select(
        options=[None, *pairs], labels=[say("charts.all-pairs"), *pairs], name=say("charts.choose-pair")
    )
    return alt.selection_point(name=PAIR, fields=["pair"], bind=bound, on="click", clear="dblclick")


def _forward(pointed: Any, pair: Any, usual: float) -> Any:
    """Opacity: full where pointed at or of the pair that is chosen, faded beside it, else as usual."""
    import altair as alt

    look = alt.when(pointed).then(alt.value(1))
    if pair is None:
        return look.otherwise(alt.value(usual))
    chosen = look.when(pair, empty=False).then(alt.value(1))
    return chosen.when(pair).then(alt.value(usual)).otherwise(alt.value(FADED))


if TYPE_CHECKING:
    from altair import LayerChart

HEIGHT_PX = 170


def outlook_chart(weeks: pd.DataFrame, year: str = "") -> "LayerChart":
    """Chicks in hand by week, as a range and its middle.

    Parameters
    ----------
    weeks : frame
        A row a week: week (1 is the first of the year), low, middle, high.
    year : str
        The season that is looked ahead to, for the alt text.

    Returns
    -------
    altair.LayerChart, as wide as the page

    Raises
    ------
    ValueError
        Where there are no weeks.

    Examples
    --------
    >>> weeks = pd.DataFrame({"week": [14, 15, 16], "low": [0, 1, 0], "middle": [1, 4, 2], "high": [3, 8, 5]})
    >>> outlook_chart(weeks).description
    'Chicks in hand by week: most in the week of 9 April, 4, and in four seasons of five 1 to 8.'
    """
    import altair as alt

    dress.something(weeks, "weeks")
    rows = weeks.assign(day=[_day(week) for week in weeks["week"]])
    rows = rows.assign(when=[say("charts.day", day=day) for day in rows["day"]])
    x = alt.X("day:T", title=say("charts.week-of-year"), axis=alt.Axis(format="%-d %b", grid=False, tickCount=8))
    axis = alt.Axis(format="d", tickMinStep=1, **AT_LEFT, **dress.LYING)
    y = alt.Y("middle:Q", title=say("charts.chicks-in-hand"), axis=axis, scale=alt.Scale(domainMin=0))
    base = alt.Chart(rows).encode(x=x)
    titles = {"middle": "charts.chicks-in-hand", "low": "charts.four-in-five-from", "high": "charts.to"}
    tips = [
        alt.Tooltip("when:N", title=say("charts.week-from")),
        *(alt.Tooltip(f"{name}:Q", title=say(title), format=".0f") for name, title in titles.items()),
    ]
    most = rows.loc[rows["middle"].idxmax(), ["day", "middle", "low", "high"]].to_dict()
    return dress.page(
        base.mark_area(interpolate="step", color=BAND).encode(
            y=alt.Y("low:Q", axis=axis, title=say("charts.chicks-in-hand")), y2="high"
        ),
        base.mark_line(interpolate="step", color=BLUE, strokeWidth=1.8).encode(y=y),
        base.mark_rule(opacity=0, strokeWidth=PAGE_PX / len(rows), aria=False).encode(
            tooltip=tips
        ),  # a line has one tip
        height=HEIGHT_PX,
        description=found("charts.outlook-told", year=year, **most),
        caption=found("charts.outlook-caption"),
    )


def _day(week: int) -> pd.Timestamp:
    """The first day of a week of a year without a leap day."""
    return pd.Timestamp(2001, 1, 1) + pd.Timedelta(days=7 * (int(week) - 1))
