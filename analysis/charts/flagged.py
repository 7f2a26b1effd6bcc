"""Charts of growth: the flagged chicks, each with what was flagged on the day it was seen."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, cast

import pandas as pd

from analysis.charts import dress
from analysis.charts.dress import AXIS_PX, of_part, panels
from analysis.charts.weighings import FLAGS, dots, drawn, grey, hollow, tips, title, usual_layers
from analysis.finding import ACT, LOOK, Finding, found
from analysis.names import by_name
from analysis.say import in_words, say
from analysis.theme import BLUE, INK, MUTED, PAGE_PX, RED

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart

COLUMNS, ROWS_A_PAGE = 3, 4
GAPS = {"row": 26, "column": 16}
WIDTH_PX = (PAGE_PX - GAPS["column"] * (COLUMNS - 1)) // COLUMNS - AXIS_PX - 1  # an age at the edge sticks out
HEIGHT_PX, LINE_PX = 84, 12  # of the weights, and of each line of words above them
HEAD_PX, AGES_PX = 27, 16  # of the chick and its kind above the words, and of the ages below the weights
LETTER_PX = 5.8  # a bold letter of 10 px, with something over
PRESSING = f"datum.level == '{ACT}'"


@dataclass(frozen=True)
class Frame:
    """Where the panels of a kind begin and end: first and last age in days, heaviest weight in gram."""

    first_d: float
    last_d: float
    most_g: float

    def px(self, age_d: float) -> float:
        """Pixels from the left edge."""
        return (age_d - self.first_d) / (self.last_d - self.first_d) * WIDTH_PX

    def down_px(self, mass_g: float) -> float:
        """Pixels from the top edge."""
        return (1 - mass_g / self.most_g) * HEIGHT_PX


def flagged_chicks(weights: pd.DataFrame, flags: pd.DataFrame, usual: pd.DataFrame) -> list["FacetChart"]:
    """Each flagged chick in a panel of its own, its flags marked on their days, over what is usual for its kind.

    Panels of a kind share their scales. Pointing at a mark shows the sentence of its flag, at a weight its numbers.

    `weights` has a row a weighing: chick, kind, age_d, mass_g; where known weighed_at, crop, pair, notes. `flags` has
    a row a flag: chick, age_d, flag (its name), level ("look" or "act"), sentence; a mark stands at the weighing
    nearest to age_d, and a flag without an age, or of a chick without weighings, cannot be drawn. `usual` are the
    usual weights of the kinds that have a curve: kind, age_d, mass_g (the middle), low_g, high_g (the 5th and the 95th
    centile). Kinds and chicks by name; three panels in a row, four rows a chart, so that each fits an A4 page.
    """
    rows = drawn(weights, usual=usual)
    flags = flags.dropna(subset=["chick", "age_d"])
    rows = rows[rows["chick"].isin(flags["chick"])]
    dress.something(rows, "flagged chicks")
    chicks, frames = [], {}
    for kind in by_name(rows["kind"].unique()):
        own = rows[rows["kind"] == kind]
        first, last = min(0.0, float(own["age_d"].min())), float(own["age_d"].max())
        beside = usual.loc[(usual["kind"] == kind) & usual["age_d"].between(first, last), "high_g"].dropna()
        beyond = 0.04 * max(last - first, 1)  # a mark on the last day would stick out and push its column aside
        frames[kind] = Frame(first, last + beyond, 1.04 * float(max([own["mass_g"].max(), *beside])))
        for name in by_name(own["chick"].unique()):
            weighed = own[own["chick"] == name]
            chicks.append((weighed, _marks(weighed, flags[flags["chick"] == name], frames[kind])))
    size, panel = COLUMNS * ROWS_A_PAGE, _panel(tips(rows))
    return [_page_of(chicks[at : at + size], panel, frames, usual) for at in range(0, len(chicks), size)]


def _marks(rows: pd.DataFrame, flags: pd.DataFrame, frame: Frame) -> pd.DataFrame:
    """A chick's flags at their weighings, each with the line of words it stands on."""
    nearest = [(rows["age_d"] - age).abs().idxmin() for age in flags["age_d"]]
    at = rows.loc[nearest].drop(columns=["kind", "food", "flagged"]).reset_index(drop=True)
    named = [dress.worded(FLAGS, flag) for flag in flags["flag"]]
    said = flags[["level"]].assign(flag=named, sentence=flags["sentence"].map(in_words)).reset_index(drop=True)
    marks = at.join(said).sort_values("age_d", kind="stable", ignore_index=True)
    widths = [LETTER_PX * len(flag) + 6 for flag in marks["flag"]]
    places = beside_poles([frame.px(age) for age in marks["age_d"]], widths)
    lines, turned = zip(*places, strict=True)
    return marks.assign(
        level=marks["level"].eq(ACT).map({True: ACT, False: LOOK}),
        line=lines,
        turned=turned,
        at_px=[frame.down_px(mass_g) for mass_g in marks["mass_g"]],
        word_px=[-line * LINE_PX - 6 for line in lines],
        top_px=[-(line + 1) * LINE_PX for line in lines],
    )


def beside_poles(poles: list[float], widths: list[float]) -> list[tuple[int, bool]]:
    """Return the line of each word, and whether it is turned to the left of its pole, for poles from left to right.

    A word stands beside the top of its pole like a flag, to the right of it, or turned to the left where it would
    leave the panel. Those to the right go lower from pole to pole, the turned ones higher, so that no pole crosses
    a word; where both sorts meet, a word is turned too if there is room, and else lies over the pole.
    """
    turned: dict[int, bool] = {}
    for i in reversed(range(len(poles))):
        end, room = poles[i] + widths[i], poles[i] >= widths[i]
        turned[i] = end > WIDTH_PX or (room and any(turned[k] and poles[k] <= end for k in turned))
    spans = [
        (pole - width * turned[i], pole + width * (not turned[i]))
        for i, (pole, width) in enumerate(zip(poles, widths, strict=True))
    ]
    lines: dict[int, int] = {}
    for i in sorted(turned, key=lambda i: (turned[i], i if turned[i] else -i)):
        met = [lines[k] for k in lines if spans[k][0] <= spans[i][1] and spans[i][0] <= spans[k][1]]
        lines[i] = max(met, default=-1) + 1
    return [(lines[i], turned[i]) for i in range(len(poles))]


def _page_of(
    chicks: list[tuple[pd.DataFrame, pd.DataFrame]], panel: "LayerChart", frames: dict[str, Frame], usual: pd.DataFrame
) -> "FacetChart":
    """Panels of some chicks; those in a row have room for as many lines of words as the fullest needs."""
    lines = [int(marks["line"].max()) + 1 for _, marks in chicks]
    strips = [LINE_PX * max(lines[at - at % COLUMNS :][:COLUMNS]) + 2 for at in range(len(lines))]
    records = [
        _records(rows, marks, frames[rows["kind"].iloc[0]], usual, strip)
        for (rows, marks), strip in zip(chicks, strips, strict=True)
    ]
    told = dress.first_few(_alt_text(rows, marks) for rows, marks in chicks)
    caption = _caption(pd.concat([rows for rows, _ in chicks]), usual)
    return panels(panel, records, columns=COLUMNS).properties(
        bounds="flush",  # words and marks that stick out would push their column aside
        spacing={"row": GAPS["row"] + AGES_PX + HEAD_PX + max(strips), "column": GAPS["column"] + AXIS_PX},
        title=title(say("charts.flagged-title"), PAGE_PX, offset=12, frame="bounds"),
        **dress.texts(found("charts.flagged-told", told=told), caption),
    )


def _records(
    rows: pd.DataFrame, marks: pd.DataFrame, frame: Frame, usual: pd.DataFrame, strip: int
) -> list[dict[str, Any]]:
    """What a panel draws, each with the part it is of; the corners of its scales carry its name and kind."""
    kind, head = rows["kind"].iloc[0], {"top_px": -strip}
    known = usual[(usual["kind"] == kind) & usual["age_d"].between(frame.first_d, frame.last_d)]
    parts = {
        "usual": known[["age_d", "mass_g", "low_g", "high_g"]].sort_values("age_d").to_dict("records"),
        "weight": rows.drop(columns=["kind", "flagged"]).to_dict("records"),
        "flag": marks.drop(columns="line").to_dict("records"),
        "name": [{"age_d": frame.first_d, "mass_g": 0, "label": rows["chick"].iloc[0], **head}],
        "kind": [{"age_d": frame.last_d, "mass_g": frame.most_g, "label": kind, **head}],
    }
    return dress.in_parts(parts)


def _px(field: str) -> Any:
    """Place in pixels, as there are no weights in the strip."""
    import altair as alt

    return alt.Y(field, type="quantitative", scale=None, title=None)


def _panel(tips: list[Any]) -> "LayerChart":
    """One chick: what is usual, its weights, its flags, with words in a strip above the weights."""
    import altair as alt

    ages = alt.Axis(grid=False, tickCount=4, tickMinStep=1)
    masses = alt.Axis(tickCount=3, minExtent=AXIS_PX, maxExtent=AXIS_PX)
    scale = alt.Scale(nice=False, zero=False)
    x = alt.X("age_d:Q", title=None, scale=scale, axis=ages)
    y = alt.Y("mass_g:Q", title=None, scale=scale, axis=masses)
    corners = of_part("name", "kind").mark_point(opacity=0, aria=False).encode(x=x, y=y)
    weighed = of_part("weight").encode(x=x, y=y)
    points = weighed.mark_point(opacity=1, aria=False).encode(tooltip=tips, **dots(11))
    layers = [
        corners,
        *usual_layers(x, y, alt.Y("low_g:Q", title=None)),
        *(weighed.mark_line(color=BLUE, strokeWidth=1, aria=False), points),
        *_flag_layers(x, y, tips),
        *_head_layers(),
    ]
    return cast("LayerChart", alt.layer(*layers)).properties(width=WIDTH_PX, height=HEIGHT_PX)


def _head_layers() -> list["Chart"]:
    """The chick and its kind; a facet's own head would be of one look."""
    import altair as alt

    looks: dict[str, dict[str, Any]] = {
        "name": {"dy": 9 - HEAD_PX, "fontWeight": 600},
        "kind": {"dy": 20 - HEAD_PX, "fontSize": 10, "color": MUTED},
    }
    return [
        of_part(part)
        .mark_text(align="left", baseline="alphabetic", limit=WIDTH_PX + AXIS_PX, **look)
        .encode(text="label:N", x=alt.value(-AXIS_PX), y=_px("top_px"))
        for part, look in looks.items()
    ]


def _flag_layers(x: Any, y: Any, tips: list[Any]) -> list["Chart"]:
    """A pole from each flagged weighing up to its word, and the mark on the weighing."""
    import altair as alt

    base = of_part("flag").encode(x=x)
    poles = base.mark_rule(color=INK, strokeWidth=0.7, aria=False).encode(y=_px("at_px"), y2="top_px")
    told = base.encode(
        tooltip=[*dress.tips({"flag:N": "charts.tip-flag", "sentence:N": "charts.what-was-seen"}), *tips]
    )
    words = told.mark_text(
        aria=False,
        baseline="middle",
        fontSize=10,
        fontWeight=alt.expr(f"{PRESSING} ? 600 : 400"),
        align=alt.expr("datum.turned ? 'right' : 'left'"),
        dx=alt.expr("datum.turned ? -3 : 3"),
    ).encode(y=_px("word_px"), text="flag:N")
    looks = {"shape": ("diamond", "circle"), "fill": (RED, "transparent"), "size": (50, 90)}
    by_level = {name: dress.either(PRESSING, act, look) for name, (act, look) in looks.items()}
    points = told.mark_point(stroke=RED, strokeWidth=1.4, opacity=1).encode(y=y, **by_level)
    return [poles, words, points]


def _alt_text(rows: pd.DataFrame, marks: pd.DataFrame) -> Finding:
    """One chick and its flags in words."""
    flags = [found(f"charts.flagged-{mark.level}", flag=mark.flag, age_d=mark.age_d) for mark in marks.itertuples()]
    return found("charts.flagged-chick", chick=rows["chick"].iloc[0], kind=rows["kind"].iloc[0], flags=flags)


def _caption(rows: pd.DataFrame, usual: pd.DataFrame) -> list[Finding]:
    """What the parts are."""
    behind, without = grey(rows, usual)
    bare = [found("charts.flagged-no-grey", kinds=without)] if without else []
    marks = [found("charts.flagged-marks"), found("charts.flagged-scales")]
    return [found("charts.flagged-points"), *hollow(rows), *behind, *bare, *marks]
