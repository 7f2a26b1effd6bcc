"""Bars from 0 with words beside them: what became of all eggs, and chicks lost by age and by cause."""

from typing import TYPE_CHECKING, Any

import pandas as pd

from analysis.charts import dress
from analysis.finding import Finding, found
from analysis.say import in_words, say
from analysis.theme import INK

if TYPE_CHECKING:
    from altair import Chart, LayerChart, Y

_WORDS = ("stage", "lost_text", "open_text")
OPEN_GREY = "#c8c8c8"
LINE_PX, ROW_PX = 13, 38  # two lines of words stand beside each bar of the path


def egg_path_chart(path: pd.DataFrame) -> "LayerChart":
    """All eggs laid, as bars: solid went on, dashed was lost at this step, grey is still open.

    `path` is from `egg_path`: stage, count, lost_here, lost_text, open_here, open_text, note.
    """
    dress.something(path[path["count"] > 0], "eggs")
    path = path.assign(**{name: path[name].map(in_words) for name in _WORDS})
    notes = [found("charts.path-note", what=note) for note in path["note"] if note]
    return dress.page(
        *_path_layers(_path_bars(path)),
        height=len(path) * ROW_PX,
        description=[_alt_of_stage(row) for row in path.to_dict("records")],
        caption=[found("charts.path-caption"), *notes],
    )


def _path_bars(path: pd.DataFrame) -> pd.DataFrame:
    """Where each part of a bar ends, and the words beside it."""
    bars = path.rename(columns={"stage": "name"}).drop(columns="note")
    bars = bars.assign(start=0, lost_to=bars["count"] + bars["lost_here"])
    bars = bars.assign(end=bars["lost_to"] + bars["open_here"], fits=bars["count"] >= 0.08 * bars["count"].max())
    went_on = [
        "" if fits else say("charts.went-on", n=count)  # a short bar does not hold its count
        for fits, count in zip(bars["fits"], bars["count"], strict=True)
    ]
    words = zip(went_on, bars["lost_text"], bars["open_text"], strict=True)
    return bars.assign(beside=["\n".join(filter(None, lines)) for lines in words])


def _path_layers(bars: pd.DataFrame) -> list["Chart"]:
    """What went on, what was lost, what is open, and the words."""
    import altair as alt

    y, x = dress.names(bars["name"].tolist()), dress.counts(say("charts.eggs-then-chicks"), int(bars["count"].max()))
    titles = {"name:N": "charts.stage", "count:Q": "charts.came-so-far"}
    tips = dress.tips(titles | {"lost_text:N": "charts.lost-here", "open_text:N": "charts.still-open"})
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


def _alt_of_stage(row: dict[str, Any]) -> Finding:
    """One stage as a sentence."""
    codes = {"lost_text": "charts.path-lost", "open_text": "charts.path-open"}
    asides = [found(code, what=row[name]) for name, code in codes.items() if row[name]]
    aside = "charts.path-stage-aside" if asides else "charts.path-stage"
    return found(aside, stage=row["stage"], n=row["count"], asides=asides)


def losses_by_age_chart(losses: pd.DataFrame) -> "LayerChart":
    """Chicks lost in each band of age, of those who came into it; `losses` is from `losses_by_age`."""
    dress.something(losses[losses["lost"] > 0], "losses")
    records = losses[["band", "lost", "entered"]].to_dict("records")
    rows = losses.assign(
        name=[say("charts.days-band", band=band) for band in losses["band"]],
        told=[say("charts.lost-of", lost=row["lost"], entered=row["entered"]) for row in records],
    )
    told = [found("charts.band-told", **{str(name): fact for name, fact in row.items()}) for row in records]
    return _lost_bars(
        rows,
        who="charts.who-age",
        title=say("charts.chicks-lost-axis"),
        description=found("charts.by-age-told", told=told),
        caption=found("charts.by-age-caption"),
    )


def losses_by_cause_chart(losses: pd.DataFrame) -> "LayerChart":
    """Losses by what the keeper thought was the cause, the keeper's own words beside them, in the order of the frame.

    `losses` is from `losses_by_cause`: cause_group, lost, as_written.
    """
    dress.something(losses[losses["lost"] > 0], "losses")
    causes = dress.called(losses["cause_group"])
    by_cause = list(zip(causes, losses["lost"], losses["as_written"], strict=True))
    told = [say("charts.lost-as-written", lost=lost, written=written) for _, lost, written in by_cause]
    parts = dress.first_few(found("charts.cause-told", cause=cause, lost=lost) for cause, lost, _ in by_cause)
    return _lost_bars(
        losses.assign(name=causes, told=told),
        who="charts.cause",
        title=say("charts.losses-axis"),
        description=found("charts.by-cause-told", told=parts),
        caption=[found("charts.by-cause-caption"), found("charts.a-guess")],
    )


def _lost_bars(rows: pd.DataFrame, *, who: str, title: str, **told: dress.Texts) -> "LayerChart":
    """Lost things: white bars with a dashed outline, the count in words beside them."""
    import altair as alt

    rows = rows[["name", "lost", "told"]].assign(start=0)
    x = dress.counts(title, int(rows["lost"].max()))
    base = alt.Chart(rows).encode(y=dress.names(rows["name"].tolist()))
    tips = dress.tips({"name:N": who, "told:N": "charts.lost"})
    bars = base.transform_filter("datum.lost > 0").mark_bar(height=15, **dress.LOST)
    words = base.mark_text(align="left", dx=6, color=INK, limit=200)
    return dress.page(
        bars.encode(x=x, x2="lost", tooltip=tips),
        words.encode(x="lost:Q", text="told:N"),
        height=dress.rows_px(len(rows)),
        **told,
    )
