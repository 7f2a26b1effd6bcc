"""Chart of the outlook: chicks in hand, week by week."""

from typing import TYPE_CHECKING

import pandas as pd

from analysis.charts import dress
from analysis.charts.survival import AT_LEFT, BAND
from analysis.finding import found
from analysis.say import say
from analysis.theme import BLUE, PAGE_PX

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
