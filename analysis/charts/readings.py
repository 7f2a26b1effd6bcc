"""Chart of what was read in incubators and other places: temperature by day, a panel a place."""

from typing import TYPE_CHECKING, Any, cast

import pandas as pd

from analysis.charts import dress
from analysis.charts.dress import AXIS_PX, BAND, HEAD_PX, WIDE, of_part, panels
from analysis.finding import Finding, found
from analysis.names import by_name, named
from analysis.say import say
from analysis.theme import BLUE, MUTED, PAGE_PX, RED

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart

GAP_PX, END_PX = 22, 39  # between panels; the ends of the range stand to the right of each
BELOW_PX, TALL_PX, LEAST_PX = 18, 120, 44
MOST = 800  # readings in range that are drawn: more would not be seen, and make pages heavy
INSIDE, WARM, COLD = "inside", "warm", "cold"
_DAY = pd.Timedelta(days=1)


def readings_chart(readings: pd.DataFrame, low_c: float, high_c: float) -> "FacetChart":
    """Temperatures by time with their range as a band, a panel a place, each with a scale of its own.

    Readings out of range are triangles, the worst of each place with its value. Of very many readings in range only
    every second, third ... is drawn, beside those next to one out of range.

    `readings` has a row a reading: place, read_at, temperature (°C; missing where it was not read); one on either end
    of the range is in it. Places stand by name, more than five in two columns.
    """
    rows = _drawn(readings, low_c, high_c)
    places = by_name(rows["place"].unique())
    columns = 1 if len(places) <= 5 else 2
    width = (PAGE_PX - GAP_PX * (columns - 1)) // columns - AXIS_PX - END_PX
    step = dress.TALLEST_PX // -(-len(places) // columns) - HEAD_PX - BELOW_PX - GAP_PX
    height = min(TALL_PX, max(LEAST_PX, step))
    every = -(-int((rows["state"] == INSIDE).sum()) // MOST)
    parts = [rows[rows["place"] == place] for place in places]
    records = [_records(own, low_c, high_c, every=every, height=height) for own in parts]
    told = dress.first_few(map(_alt_text, parts))
    return panels(_panel(rows, width=width, height=height), records, columns=columns).properties(
        bounds="flush",  # words that stick out would push their column aside
        spacing={"row": GAP_PX + HEAD_PX + BELOW_PX, "column": GAP_PX + AXIS_PX + END_PX},
        **dress.texts(found("charts.readings-told", low=low_c, high=high_c, told=told), _caption(rows, every)),
    )


def _drawn(readings: pd.DataFrame, low_c: float, high_c: float) -> pd.DataFrame:
    """Readings of the temperature by time, how far each is out of range, and on which side."""
    known = readings.dropna(subset=["read_at", "temperature"])
    dress.something(known, "temperatures")
    celsius, read_at = known["temperature"].astype(float), pd.to_datetime(known["read_at"])
    state = pd.Series(INSIDE, index=known.index).mask(celsius > high_c, WARM).mask(celsius < low_c, COLD)
    rows = pd.DataFrame({"place": named(known["place"]), "read_at": read_at, "temperature": celsius, "state": state})
    out = pd.concat([celsius - high_c, low_c - celsius], axis=1).max(axis=1).clip(lower=0)
    return rows.assign(out=out).sort_values("read_at", kind="stable", ignore_index=True)


def _records(rows: pd.DataFrame, low_c: float, high_c: float, *, every: int, height: int) -> list[dict[str, Any]]:
    """What a panel draws, each with the part it is of; its corners make room for words above and below."""
    least, most = min(low_c, rows["temperature"].min()), max(high_c, rows["temperature"].max())
    room = 18 / (height - 36) * max(most - least, 0.1)
    worst = rows.loc[[rows["out"].idxmax()]] if rows["out"].any() else rows[:0]
    parts = {
        "name": [{"label": rows["place"].iloc[0]}],
        "corner": [{"temperature": least - room}, {"temperature": most + room}],
        "range": [{"low": low_c, "high": high_c}],
        "high": [{"temperature": high_c, "label": say("charts.degrees", celsius=high_c)}],
        "low": [{"temperature": low_c, "label": say("charts.degrees", celsius=low_c)}],
    }
    out = rows["state"] != INSIDE
    beside = out | out.shift(1, fill_value=True) | out.shift(-1, fill_value=True)  # so the first and the last are kept
    drawn = rows[beside | (pd.RangeIndex(len(rows)) % max(every, 1) == 0)]
    records = dress.in_parts(parts)
    records += [{"part": row.state, **_reading(row)} for row in drawn.itertuples()]
    return records + [
        {"part": f"worst-{row.state}", **_reading(row), "label": say("charts.degrees", celsius=row.temperature)}
        for row in worst.itertuples()
    ]


def _reading(row: Any) -> dict[str, Any]:
    """A reading; its time as text without a zone, which is drawn as the hour that was written everywhere."""
    when = f"{row.read_at:%Y-%m-%d %H:%M}".removesuffix(" 00:00")
    return {"day": f"{row.read_at:%Y-%m-%dT%H:%M:%S}", "when": when, "temperature": row.temperature}


def _panel(rows: pd.DataFrame, *, width: int, height: int) -> "LayerChart":
    """One place: its name, the range, what was read, and the worst of it."""
    import altair as alt

    days = alt.Axis(format="%-d %b", grid=False, tickCount=8 if width > PAGE_PX / 2 else 4, labelFlush=False)
    axis = alt.Axis(tickCount=4, **dress.AT_LEFT)
    x = alt.X("day:T", title=None, axis=days, scale=alt.Scale(domain=_span(rows["read_at"]), nice=False))
    celsius: Any = {"title": say("charts.temperature-axis"), "axis": axis}
    y = alt.Y("temperature:Q", scale=alt.Scale(zero=False, nice=False), **celsius)
    band = of_part("range").mark_rect(color=BAND, aria=False)
    layers = [
        band.encode(x=alt.value(0), x2=alt.value(width), y=alt.Y("low:Q", **celsius), y2="high"),
        dress.head("name", width),
        of_part("corner").mark_point(opacity=0, aria=False).encode(x=alt.value(0), y=y),
        *_end_layers(y, width),
        *_reading_layers(x, y),
    ]
    return cast("LayerChart", alt.layer(*layers)).properties(width=width, height=height)


def _span(read_at: pd.Series) -> list[Any]:
    """First and last time of all places, with room for a word at either."""
    import altair as alt

    room = max(0.04 * (read_at.max() - read_at.min()), _DAY / 2)
    ends = (read_at.min() - room, read_at.max() + room)
    return [alt.DateTime(year=at.year, month=at.month, date=at.day, hours=at.hour, minutes=at.minute) for at in ends]


def _end_layers(y: Any, width: int) -> list["Chart"]:
    """The ends of the range, above and below it so that they never meet."""
    import altair as alt

    looks: dict[str, Any] = {"high": {"baseline": "bottom", "dy": 4}, "low": {"baseline": "top", "dy": -4}}
    return [
        of_part(part)
        .mark_text(align="left", color=MUTED, fontSize=10, **look)
        .encode(x=alt.value(width + 5), y=y, text="label:N")
        for part, look in looks.items()
    ]


def _reading_layers(x: Any, y: Any) -> list["Chart"]:
    """A thin line through the readings, their marks, and the value of the worst."""
    tips = dress.tips({"when:N": "charts.read", "temperature:Q": "charts.temperature-axis"})
    line = of_part(INSIDE, WARM, COLD).mark_line(color=BLUE, strokeWidth=0.8, opacity=0.6, aria=False)
    looks: dict[str, Any] = {
        INSIDE: {"shape": "circle", "size": 9, "color": BLUE},
        WARM: {"shape": "triangle-up", "size": 60, "color": RED},
        COLD: {"shape": "triangle-down", "size": 60, "color": BLUE},
    }
    marks = [
        of_part(state).mark_point(filled=True, opacity=1, aria=False, **WIDE, **look).encode(x=x, y=y, tooltip=tips)
        for state, look in looks.items()
    ]
    places: dict[str, dict[str, Any]] = {WARM: {"baseline": "bottom", "dy": -6}, COLD: {"baseline": "top", "dy": 7}}
    words = [
        layer
        for state, look in places.items()
        for layer in dress.haloed(of_part(f"worst-{state}").encode(x=x, y=y, text="label:N"), fontWeight=600, **look)
    ]
    return [line.encode(x=x, y=y), *marks, *words]


def _alt_text(rows: pd.DataFrame) -> Finding:
    """One place in words."""
    place, out = rows["place"].iloc[0], int((rows["state"] != INSIDE).sum())
    if not out:
        return found("charts.place-in-range", place=place, n=len(rows))
    worst = rows.loc[rows["out"].idxmax()]
    facts = {"worst": worst["temperature"], "day": worst["read_at"]}
    return found("charts.place-out", place=place, n=len(rows), out=out, **facts)


def _caption(rows: pd.DataFrame, every: int) -> list[Finding]:
    """What the parts are."""
    there = [found(f"charts.side-{state}") for state in (WARM, COLD) if (rows["state"] == state).any()]
    triangles = [found("charts.readings-triangles", sides=there)] if there else []
    thinned = [found("charts.readings-thinned", every=every)] if every > 1 else []
    return [found("charts.readings-caption"), *triangles, *thinned]
