"""Losses along the season: which weeks they fell in, beside the chicks that hatched, and of what."""

from typing import TYPE_CHECKING, Any, cast

import pandas as pd

from analysis.charts import dress
from analysis.charts.dress import in_parts, inline, of_part
from analysis.finding import Finding, found
from analysis.names import by_name
from analysis.say import say
from analysis.theme import INK, MUTED, NAME_PX, PAGE_PX
from analysis.words import day_words

if TYPE_CHECKING:
    from altair import Chart, LayerChart, VConcatChart

WEEKS = "weeks"  # the name of the selection
HATCHED = "#c5cfdc"  # a pale blue that a grey printer still shows
WIDTH_PX, TALL_PX, STEP_PX, WORD_PX, GAP_PX = PAGE_PX - NAME_PX, 170, 11, 16, 44
ROW_PX, LINE_PX, ABOVE_PX = 34, 13, 330  # of a cause, of a line of words, and of all that is not causes
ROOM = 4.0  # of the axis, for the names of the chicks after the longest bar
LEFT_OUT = 0.25  # opacity of a week that is not among those chosen
_DAY, YEAR = pd.Timedelta(days=1), pd.Timedelta(weeks=53)


def losses_calendar(losses: pd.DataFrame, hatched: pd.Series) -> "VConcatChart":
    """Chicks hatched and lost, week by week, above the losses by cause; choosing weeks shows only their losses.

    A week begins on Monday (ISO 8601). A loss without a day stands under its cause, and in no week.

    `losses` has a row a chick lost: chick, found_on, age_d (missing where it is not known), cause (the keeper's
    words), cause_group; causes stand by how many were lost, "not written" last. `hatched` are the days on which chicks
    hatched, a row a chick; those a year and more before the first loss are not drawn. One loss at least has a day.
    """
    import altair as alt

    rows = _drawn(losses)
    dress.something(rows.dropna(subset=["monday"]), "dated losses")
    weeks = _mondays(hatched).value_counts().sort_index()
    weeks = weeks[weeks.index >= rows["monday"].min() - YEAR]  # a bird bought old would squeeze the others
    no_day = [found("charts.calendar-undated", n=int(rows["monday"].isna().sum()))] if rows["monday"].hasnans else []
    caption = [found("charts.calendar-caption"), found("charts.a-guess"), *no_day, found("charts.calendar-screen")]
    brush = alt.selection_interval(name=WEEKS, encodings=["x"])
    return alt.vconcat(
        _calendar(rows, weeks, brush),
        _by_cause(rows, brush),
        spacing=GAP_PX,
        bounds="flush",  # or the names of the causes would push the weeks aside
        **dress.texts(_alt_text(rows, weeks), caption),
    )


def _mondays(days: pd.Series) -> pd.Series:
    """The Monday of the week of each day that is known."""
    days = pd.to_datetime(days).dropna().dt.normalize()
    return days - pd.to_timedelta(days.dt.day_of_week, unit="D")


def _drawn(losses: pd.DataFrame) -> pd.DataFrame:
    """Losses by day, in words, each with the Monday of its week."""
    cause, unknown = losses["cause"].fillna("").astype(str), say("charts.not-known")
    rows = pd.DataFrame(
        {
            "chick": dress.called(losses["chick"]),
            "group": dress.called(losses["cause_group"]),
            "cause": cause.where(cause != "", say("charts.nothing-written")),
            "age": [unknown if pd.isna(age) else f"{age:.0f}" for age in losses["age_d"]],
            "when": [day_words(day) or unknown for day in losses["found_on"]],
            "found_on": pd.to_datetime(losses["found_on"]),
            "monday": _mondays(losses["found_on"]).reindex(losses.index),
        }
    )
    return rows.sort_values("found_on", kind="stable", ignore_index=True)


def _middle(monday: pd.Timestamp) -> str:
    """The middle of a week, as text without a zone, which is the same week everywhere."""
    return f"{monday + 3.5 * _DAY:%Y-%m-%dT%H:%M:%S}"


def _calendar(rows: pd.DataFrame, weeks: pd.Series, brush: Any) -> "LayerChart":
    """Hatched above the line, lost below it, a column a week."""
    import altair as alt

    lost = rows["monday"].value_counts()
    first, last = min([*weeks.index, *lost.index]), max([*weeks.index, *lost.index])
    up, down = max([1, *weeks]), int(lost.max())
    step_px = min(STEP_PX, TALL_PX / (up + down))  # of a chick
    week_px = WIDTH_PX / ((last - first).days // 7 + 1)
    room = WORD_PX / step_px
    scale = alt.Scale(domain=[-down - room, up + room], nice=False)
    y, x = alt.Y("chicks:Q", title=None, scale=scale, axis=None), _week_axis(first, last)
    layers = [*_hatched(x, y, week_px, brush), *_lost(x, y, min(step_px, week_px) - 2.5, brush), *_sides(y)]
    chart = cast("LayerChart", alt.layer(*layers, data=inline(_week_records(rows, weeks))))
    return chart.properties(width=WIDTH_PX, height=(up + down) * step_px + 2 * WORD_PX)


def _week_records(rows: pd.DataFrame, weeks: pd.Series) -> list[dict[str, Any]]:
    """Weeks with their counts, and each chick lost, in its place below the line."""
    dated = rows.dropna(subset=["monday"])
    dated = dated.assign(chicks=-dated.groupby("monday").cumcount() - 0.5, day=dated["monday"].map(_middle))
    lost = dated["monday"].value_counts().sort_index()
    parts: dict[str, list[dict[str, Any]]] = {
        "hatched": [{"day": _middle(at), "week": day_words(at), "chicks": int(n)} for at, n in weeks.items()],
        "lost": [{"day": _middle(at), "chicks": -int(n), "label": str(n)} for at, n in lost.items()],
        "chick": dated[["day", "chicks", "chick", "when", "age", "cause"]].to_dict("records"),
        "up": [{"chicks": 0, "label": say("charts.chicks-hatched")}],
        "down": [{"chicks": 0, "label": say("charts.chicks-lost")}],
    }
    return in_parts(parts)


def _week_axis(first: pd.Timestamp, last: pd.Timestamp) -> Any:
    """Weeks from their Mondays, of which at most nine are named."""
    import altair as alt

    mondays = pd.date_range(first, last + 7 * _DAY, freq="7D")
    every = -(-len(mondays) // 9)
    dates = [alt.DateTime(year=day.year, month=day.month, date=day.day) for day in mondays]
    axis = alt.Axis(values=dates[:-1:every], format="%-d %b", grid=False, labelFlush=False)
    scale = alt.Scale(domain=[dates[0], dates[-1]], nice=False, padding=0)
    return alt.X("day:T", title=say("charts.week-axis"), scale=scale, axis=axis)


def _hatched(x: Any, y: Any, week_px: float, brush: Any) -> list["Chart"]:
    """A bar and a count a week."""
    base = of_part("hatched").encode(x=x, y=y, opacity=dress.either(brush, 1, LEFT_OUT))
    tips = dress.tips({"week:N": "charts.week-from-monday", "chicks:Q": "charts.chicks-hatched"})
    bars = base.mark_bar(width=max(week_px - 2, 1), color=HATCHED).encode(tooltip=tips)
    words = base.mark_text(baseline="bottom", dy=-3, fontSize=10, color=MUTED, aria=False)
    return [bars.add_params(brush), words.encode(text="chicks:Q")]


def _lost(x: Any, y: Any, square_px: float, brush: Any) -> list["Chart"]:
    """A square a chick, hung from the line, their number below them."""
    titles = {"chick:N": "charts.chick", "when:N": "charts.found"}
    tips = dress.tips(titles | {"age:N": "charts.age-days", "cause:N": "charts.cause-as-written"})
    squares = of_part("chick").mark_point(shape="square", size=max(square_px, 2) ** 2, **dress.LOST)
    words = of_part("lost").mark_text(baseline="top", dy=3, fontSize=10, fontWeight=600, aria=False)
    return [
        squares.encode(x=x, y=y, opacity=dress.either(brush, 1, LEFT_OUT), tooltip=tips),
        words.encode(x=x, y=y, opacity=dress.either(brush, 1, LEFT_OUT), text="label:N"),
    ]


def _sides(y: Any) -> list["Chart"]:
    """The line, and what stands above and below it."""
    import altair as alt

    looks: dict[str, dict[str, Any]] = {"up": {"baseline": "bottom", "dy": -4}, "down": {"baseline": "top", "dy": 4}}
    words = [
        of_part(part).mark_text(align="left", **look).encode(x=alt.value(-NAME_PX), y=y, text="label:N")
        for part, look in looks.items()
    ]
    line = of_part("up").mark_rule(color=MUTED, strokeWidth=0.8, aria=False)
    return [line.encode(x=alt.value(0), x2=alt.value(WIDTH_PX), y=y), *words]


def _by_cause(rows: pd.DataFrame, brush: Any) -> "LayerChart":
    """Losses by cause, of the weeks that are chosen: which chicks, and below them the keeper's words."""
    import altair as alt

    causes = _causes(rows)
    row_px = min(ROW_PX, max(14, (dress.TALLEST_PX - ABOVE_PX) // len(causes)))
    two_lines = row_px >= 2 * LINE_PX
    base = _grouped(alt.Chart(inline(_loss_records(rows), dates=("day",))), brush).encode(y=dress.names(causes))
    x = dress.counts(say("charts.chicks-lost-axis"), int(rows["group"].value_counts().max()), room=ROOM)
    titles = {"name:N": "charts.cause", "lost:N": "charts.chicks-lost"}
    tips = dress.tips(titles | {"which:N": "charts.which", "written:N": "charts.as-written"})
    bars = base.mark_bar(height=min(15, row_px - 3), **dress.LOST).encode(x=x, x2="lost", tooltip=tips)
    look: dict[str, Any] = {"align": "left", "dx": 6, "limit": WIDTH_PX * (1 - 1 / ROOM) - 8}
    words = base.mark_text(color=INK, dy=-LINE_PX / 2 if two_lines else 0, **look).encode(x="lost:Q", text="told:N")
    below = base.mark_text(color=MUTED, fontSize=10, dy=LINE_PX / 2, **look).encode(x="lost:Q", text="written:N")
    chart = cast("LayerChart", alt.layer(bars, words, *([below] if two_lines else [])))
    return chart.properties(width=WIDTH_PX, height=row_px * len(causes))


def _causes(rows: pd.DataFrame) -> list[str]:
    """Causes by how many were lost, "not written" last."""
    lost, blank = rows["group"].value_counts(), say("words.not-written")
    return sorted(by_name(lost.index), key=lambda group: (group == blank, -lost[group]))


def _loss_records(rows: pd.DataFrame) -> list[dict[str, Any]]:
    """Each loss under its cause."""
    return [
        {
            "name": row.group,
            "cause": row.cause,
            "chick": row.chick,
            "which": say("charts.which-lost", chick=row.chick, age=row.age, when=row.when),
            "day": None if pd.isna(row.monday) else _middle(row.monday),
        }
        for row in rows.itertuples()
    ]


def _grouped(losses: "Chart", brush: Any) -> "Chart":
    """Losses of the weeks that are chosen, counted by cause on the screen: name, lost, told, which, written, start."""
    import altair as alt

    one = alt.AggregatedFieldDef(op="count", **{"as": "lost"})
    total = alt.AggregatedFieldDef(op="sum", field="lost", **{"as": "lost"})
    those = alt.AggregatedFieldDef(op="values", field="chick", **{"as": "those"})
    joined = {name: f"join(pluck(datum.those, '{name}'), '{{}}')" for name in ("chick", "which")}
    by_words = losses.transform_filter(brush).transform_aggregate(aggregate=[one, those], groupby=["name", "cause"])
    by_words = by_words.transform_calculate(chick=joined["chick"].format(", "), which=joined["which"].format(", "))
    by_cause = by_words.transform_aggregate(aggregate=[total, those], groupby=["name"])
    return by_cause.transform_calculate(
        told="datum.lost + ': ' + " + joined["chick"].format(", "),
        which=joined["which"].format("; "),
        written="join(pluck(datum.those, 'cause'), '; ')",
        start="0",
    )


def _alt_text(rows: pd.DataFrame, weeks: pd.Series) -> list[Finding]:
    """Alt text of both."""
    lost = rows["monday"].value_counts().sort_index()
    first, last = (end([*weeks.index, *lost.index]) for end in (min, max))
    most = list(lost.index[lost == lost.max()][: dress.TOLD])
    own = {cause: rows.loc[rows["group"] == cause, "chick"].tolist() for cause in _causes(rows)}
    by_cause = [
        found("charts.cause-chicks-told", cause=cause, lost=len(chicks), chicks=chicks) for cause, chicks in own.items()
    ]
    return [
        found("charts.weeks-told", first=first, last=last, hatched=weeks.sum(), lost=len(rows)),
        found("charts.weeks-most", weeks=most, most=lost.max()),
        found("charts.by-cause-told", told=dress.first_few(by_cause)),
    ]
