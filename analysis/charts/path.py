"""Chart of all eggs, from laid to weaned."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.finding import Finding, found
from analysis.say import in_words, say

if TYPE_CHECKING:
    from altair import Chart, LayerChart, Y

_WORDS = ("stage", "lost_text", "open_text")
OPEN_GREY = "#c8c8c8"
LINE_PX = 13
ROW_PX = 38  # two lines of words stand beside each bar of the path


def egg_path_chart(path: pd.DataFrame) -> "LayerChart":
    """All eggs laid, as bars: solid went on, dashed was lost at this step, grey is still open.

    Parameters
    ----------
    path : frame
        From `egg_path`: stage, count, lost_here, lost_text, open_here, open_text, note.

    Returns
    -------
    altair.LayerChart, as wide as the page

    Raises
    ------
    ValueError
        Where no egg was laid.

    Examples
    --------
    >>> path = pd.DataFrame({"stage": ["Laid", "Showed fertile"], "count": [9, 6], "lost_here": [0, 3],
    ...     "lost_text": ["", "3 clear"], "open_here": 0, "open_text": "", "note": ""})
    >>> egg_path_chart(path).description
    'Laid: 9. Showed fertile: 6 (lost here: 3 clear).'
    """
    dress.something(path[path["count"] > 0], "eggs")
    path = path.assign(**{name: path[name].map(in_words) for name in _WORDS})
    notes = [found("charts.path-note", what=note) for note in path["note"] if note]
    return dress.page(
        *_layers(_bars(path)),
        height=len(path) * ROW_PX,
        description=[_told(row) for row in path.to_dict("records")],
        caption=[found("charts.path-caption"), *notes],
    )


def _bars(path: pd.DataFrame) -> pd.DataFrame:
    """Where each part of a bar ends, and the words beside it."""
    bars = path.rename(columns={"stage": "name"}).drop(columns="note")
    bars = bars.assign(start=0, lost_to=bars["count"] + bars["lost_here"])
    bars = bars.assign(end=bars["lost_to"] + bars["open_here"], fits=bars["count"] >= 0.08 * bars["count"].max())
    return bars.assign(beside=[_beside(row) for row in bars.to_dict("records")])


def _layers(bars: pd.DataFrame) -> list["Chart"]:
    """What went on, what was lost, what is open, and the words."""
    import altair as alt

    y, x = dress.names(bars["name"].tolist()), dress.counts(say("charts.eggs-then-chicks"), int(bars["count"].max()))
    titles = {"name:N": "charts.stage", "count:Q": "charts.came-so-far"}
    titles |= {"lost_text:N": "charts.lost-here", "open_text:N": "charts.still-open"}
    tips = [alt.Tooltip(field, title=say(title)) for field, title in titles.items()]
    base = alt.Chart(bars).encode(y=y)
    told: dict[str, Any] = {"align": "right", "dx": -6, "color": "white", "fontWeight": 600, "fontSize": 12}
    inside = base.transform_filter("datum.fits").encode(x="count:Q", text="count:Q")
    return [
        base.mark_bar(height=19).encode(x=x, x2="count", tooltip=tips),
        _segment(base, "count", "lost_to", tips).mark_bar(height=18, **dress.LOST),
        _segment(base, "lost_to", "end", tips).mark_bar(height=18, fill=OPEN_GREY),
        *_words(bars, y),
        inside.mark_text(**told),
    ]


def _words(bars: pd.DataFrame, y: "Y") -> list["Chart"]:
    """Words beside the bars, in the middle of their height however many lines they have."""
    import altair as alt

    lines = bars["beside"].str.count("\n") + 1
    return [
        alt.Chart(rows)
        .mark_text(align="left", dx=7, dy=-LINE_PX / 2 * (number - 1), lineBreak="\n", lineHeight=LINE_PX)
        .encode(y=y, x="end:Q", text="beside:N")
        for number, rows in bars[bars["beside"] != ""].groupby(lines)
    ]


def _segment(base: "Chart", start: str, end: str, tips: list[Any]) -> "Chart":
    """Part of each bar between two columns; nothing where it is empty."""
    return base.transform_filter(f"datum.{end} > datum.{start}").encode(x=f"{start}:Q", x2=end, tooltip=tips)


def _beside(row: dict[str, Any]) -> str:
    """Words beside a bar; the count too, where the bar is too short to hold it."""
    lines = [] if row["fits"] else [say("charts.went-on", n=row["count"])]
    return "\n".join([*lines, *(text for text in (row["lost_text"], row["open_text"]) if text)])


def _told(row: dict[str, Any]) -> Finding:
    """One stage as a sentence."""
    codes = {"lost_text": "charts.path-lost", "open_text": "charts.path-open"}
    asides = [found(code, what=row[name]) for name, code in codes.items() if row[name]]
    aside = "charts.path-stage-aside" if asides else "charts.path-stage"
    return found(aside, stage=row["stage"], n=row["count"], asides=asides)
