"""Charts of the water eggs lose: a thin line an egg on its way to pipping, a panel a group."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, cast

import pandas as pd

from analysis.charts import dress
from analysis.charts.dress import AXIS_PX, HEAD_PX, WIDE, of_part, panels
from analysis.finding import Finding, Words, found
from analysis.names import by_name, named
from analysis.say import say
from analysis.theme import BLUE, INK, PAGE_PX, RED
from analysis.words import percent

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart

Guides = tuple[float, float]
COLUMNS, ROWS_A_PAGE = 3, 3
GAPS = {"row": 22, "column": 16}
HEIGHTS_PX = {1: 190, 2: 170, 3: 140}  # of a panel, by the panels in a row
BELOW_PX = 32  # of the axis below a panel
FARTHEST = 1.5  # share of the way that is drawn at most: an egg may lie on for weeks
END_PX = 30  # room for "17 %" after the end of its line
LETTER_PX, LINE_PX, AWAY_PX = 6.0, 12, 6  # a bold letter of 11 px, a line of words, and words from their egg
NAMED = 2  # so many names stand at eggs whose names would lie on each other
LITTLE, MUCH = "little", "much"  # too little, too much
LOOKS = {  # word: shape, colour, area and line width
    "": ("circle", "#8a8a8a", 9, 0.8),
    LITTLE: ("triangle-down", BLUE, 30, 1.5),
    MUCH: ("triangle-up", RED, 30, 1.5),
}


@dataclass(frozen=True)
class Frame:
    """Where every panel begins and ends: share of the way that is drawn, least and most lost, size in pixels."""

    reach: float
    least: float
    most: float
    width_px: int
    height_px: int

    @property
    def end(self) -> float:
        """Share of the way at the right edge, behind the room for words."""
        return self.reach * self.width_px / (self.width_px - END_PX)

    def px(self, way: float, lost: float) -> tuple[float, float]:
        """Pixels from the left and from the top edge."""
        across = min(way, self.reach) / self.end
        down = (self.most - lost) / (self.most - self.least)
        return across * self.width_px, down * self.height_px


@dataclass(frozen=True)
class Label:
    """The names and the word of eggs that ended near each other, at the one whose line lies outermost."""

    names: tuple[str, ...]
    word: str
    way: float
    lost: float
    frame: Frame

    @property
    def text(self) -> str:
        """Names above, word below."""
        few = len(self.names) <= NAMED + 1  # no "and 1 more"
        names, course = by_name(self.names), say(f"charts.course-{self.word}")
        return say("charts.water-label" if few else "charts.water-label-many", eggs=names, course=course)

    @property
    def width_px(self) -> float:
        """Width of the longer line, at most the panel's."""
        return min(LETTER_PX * max(map(len, self.text.split("\n"))), self.frame.width_px)

    @property
    def corner_px(self) -> tuple[float, float]:
        """Left and top: right of an egg's end and below its line, or left of its end and above its line."""
        x, y = self.frame.px(self.way, self.lost)
        slope = max(self.frame.px(0, 0)[1] - y, 0) / max(x, 1)
        if self.word == LITTLE:
            left = min(x, self.frame.width_px - self.width_px)
            top = y + slope * (x - left) + AWAY_PX
        else:
            left = max(x - self.width_px, 0)
            top = y - slope * (left + self.width_px - x) - AWAY_PX - 2 * LINE_PX
        return left, min(max(top, 0), self.frame.height_px - 2 * LINE_PX)

    def meets(self, other: "Label") -> bool:
        """Whether the words would lie on each other."""
        (left, top), (its_left, its_top) = self.corner_px, other.corner_px
        beside = left < its_left + other.width_px and its_left < left + self.width_px
        return beside and abs(top - its_top) < 2 * LINE_PX

    def joined(self, other: "Label") -> "Label":
        """One label for both, at the egg whose line lies farther out."""
        outward = -1 if self.word == LITTLE else 1
        outer = max(self, other, key=lambda label: outward * label.lost / max(label.way, 0.01))
        return replace(outer, names=self.names + other.names)


def water_loss_chart(
    weighings: pd.DataFrame, *, guides: Guides | Mapping[str, Guides] = (0.13, 0.17)
) -> list["FacetChart"]:
    """Weight that eggs have lost on their way to pipping, a thin line an egg, a panel a group, all on one scale.

    Pointing at a weighing shows egg, day, days since setting, weight, loss and where its course leads.

    `weighings` has a row a weighing: group (text), egg (name), part (share of the way from setting to pipping), lost
    (share of the fresh mass), when (text), doubt ("": none), mass_g, word ("little" or "much" where it is on course to
    lose too little or too much, else any text; the same on all rows of an egg); where known day (days since the egg
    was set). A weighing in doubt is drawn open and joined to none; one beyond the panel stands at its edge. `guides`
    are the shares lost at pipping between which is well, for all groups or by group: 13 and 17 % are one amazon's
    chart, Duerr & Gage, *Hand-Rearing Birds*, 2nd ed., 2020, p. 65. Groups by name, at most three panels in a row and
    nine a chart, so that each fits an A4 page.
    """
    rows = _drawn(weighings, guides)
    groups, size = by_name(rows["group"].unique()), COLUMNS * ROWS_A_PAGE
    columns, sure = min(len(groups), COLUMNS), rows[rows["doubt"] == ""]
    width, height = (PAGE_PX - GAPS["column"] * (columns - 1)) // columns - AXIS_PX - 1, HEIGHTS_PX[columns]
    words_px = 2 * LINE_PX + 10 if (sure["word"] == MUCH).any() else 14  # above the egg that lost most
    least, most = min([0.0, *sure["lost"]]), max([*rows["over"], *sure["lost"]])
    most += (most - least) * words_px / (height - words_px)
    frame = Frame(min(max([1.0, *sure["way"]]), FARTHEST), least, most, width, height)
    return [_page_of(rows, groups[at : at + size], frame) for at in range(0, len(groups), size)]


def _drawn(weighings: pd.DataFrame, guides: Guides | Mapping[str, Guides]) -> pd.DataFrame:
    """The columns that are drawn, along each egg's way, with the two lines of its group."""
    known = weighings.dropna(subset=["egg", "part", "lost"])
    dress.something(known, "weighed eggs")
    lines = [guides[group] if isinstance(guides, Mapping) else guides for group in known["group"]]
    rows = known[["lost", *known.columns.intersection(["day"])]].assign(
        egg=known["egg"].astype(str),
        group=named(known["group"]),
        mass_g=known["mass_g"].round(3),
        way=known["part"].astype(float),
        when=known["when"].fillna(""),
        doubt=known["doubt"].fillna("").astype(str),
        word=known["word"].where(known["word"].isin([LITTLE, MUCH]), ""),
        under=[min(line) for line in lines],
        over=[max(line) for line in lines],
    )
    return rows.sort_values(["group", "egg", "way"], kind="stable", ignore_index=True)


def _page_of(rows: pd.DataFrame, groups: list[str], frame: Frame) -> "FacetChart":
    """Panels of some groups."""
    rows = rows[rows["group"].isin(groups)]
    records = [_records(rows[rows["group"] == group], frame) for group in groups]
    titles = {"egg:N": "charts.egg", "when:N": "charts.weighed"}
    titles |= {"day:Q": "charts.days-since-set"} if "day" in rows else {}
    tips = dress.tips(titles | {"mass_g:Q": "charts.weight-g"}) + dress.tips({"lost:Q": "charts.lost"}, format=".1%")
    return panels(_panel(frame, tips), records, columns=min(len(groups), COLUMNS)).properties(
        bounds="flush",  # words and marks that stick out would push their column aside
        spacing={"row": GAPS["row"] + BELOW_PX + HEAD_PX, "column": GAPS["column"] + AXIS_PX},
        **dress.texts(_alt_text(rows), _caption(rows)),
    )


def _records(rows: pd.DataFrame, frame: Frame) -> list[dict[str, Any]]:
    """What a panel draws, each with the part it is of."""
    doubtful, guides = rows["doubt"] != "", (float(rows["under"].iloc[0]), float(rows["over"].iloc[0]))
    columns = ["egg", "way", "lost", "when", "mass_g", "word", "course", *rows.columns.intersection(["day"])]
    courses = {word: say(f"charts.course-{word}") for word in (LITTLE, MUCH)}
    rows = rows.round({"way": 4, "lost": 4}).assign(course=rows["word"].map(courses).fillna(""))
    labels = names_at_ends(rows[~doubtful], frame)
    parts = {
        "group": [{"label": rows["group"].iloc[0]}],
        "guide": [{"way": way, "lost": way * guide, "egg": percent(guide)} for guide in guides for way in (0.0, 1.0)],
        "end": [{"way": frame.reach, "lost": guide, "label": percent(guide)} for guide in guides],
        "weight": rows.loc[~doubtful, columns].to_dict("records"),
        "doubt": rows.loc[doubtful, [*columns, "doubt"]].to_dict("records"),
        "label": [
            {"label": one.text, "at_px": one.corner_px[0] + one.width_px / 2, "top_px": one.corner_px[1]}
            for one in labels
        ],
    }
    return dress.in_parts(parts)


def names_at_ends(rows: pd.DataFrame, frame: Frame) -> list[Label]:
    """Return names at the last weighings of the eggs that lose too little or too much, one where they would overlap."""
    labels: list[Label] = []
    last: Any = rows[rows["word"] != ""].groupby("egg", sort=False).tail(1).itertuples()
    for row in last:
        new = Label((row.egg,), row.word, row.way, row.lost, frame)
        while met := next((label for label in labels if label.word == new.word and label.meets(new)), None):
            labels.remove(met)
            new = met.joined(new)
        labels.append(new)
    return labels


def _panel(frame: Frame, tips: list[Any]) -> "LayerChart":
    """One group: its name, the lines between which is well, its eggs, and the names of those that are not."""
    import altair as alt

    shares = [tick / 100 for tick in dress.ticks(0, 100 * frame.most)]
    masses = alt.Axis(values=shares, labelExpr=dress.PERCENT, **dress.AT_LEFT)
    ways = alt.Axis(values=[0, 0.25, 0.5, 0.75, 1], labelExpr=dress.PERCENT, labelFlush=False, grid=False)
    along = alt.Scale(domain=[0, frame.end], nice=False, clamp=True)
    x = alt.X("way:Q", title=say("charts.way-axis"), axis=ways, scale=along)
    scale = alt.Scale(domain=[frame.least, frame.most], nice=False, clamp=True)
    y = alt.Y("lost:Q", title=say("charts.weight-lost-axis"), axis=masses, scale=scale)
    guides = of_part("guide").mark_line(color=INK, strokeWidth=1, strokeDash=[4, 3], aria=False)
    layers = [
        dress.head("group", frame.width_px),
        *_egg_layers(x, y, tips),
        guides.encode(x=x, y=y, detail="egg:N"),  # on top: many eggs would hide them
        of_part("end").mark_text(align="left", dx=4, color=INK).encode(x=x, y=y, text="label:N"),
        *_label_layers(frame),
    ]
    return cast("LayerChart", alt.layer(*layers)).properties(width=frame.width_px, height=frame.height_px)


def _egg_layers(x: Any, y: Any, weighed: list[Any]) -> list["Chart"]:
    """Lines and marks of the eggs, those in doubt open; those that lose too little or too much on top."""
    layers = []
    for word, (shape, colour, area, width) in LOOKS.items():
        base = of_part("weight").transform_filter(f"datum.word == '{word}'").encode(x=x, y=y, detail="egg:N")
        marks = base.mark_point(shape=shape, size=area, filled=True, color=colour, opacity=1, aria=False, **WIDE)
        course = dress.tips({"course:N": "charts.on-course"}) if word else []
        layers += [base.mark_line(color=colour, strokeWidth=width, aria=False), marks.encode(tooltip=weighed + course)]
    looks: Any = {"size": 30, "fill": "white", "stroke": INK, "strokeWidth": 0.9, "opacity": 1}
    doubtful = of_part("doubt").mark_point(shape="circle", aria=False, **looks)
    return [*layers, doubtful.encode(x=x, y=y, tooltip=weighed + dress.tips({"doubt:N": "charts.in-doubt"}))]


def _label_layers(frame: Frame) -> list["Chart"]:
    """Names and words with a white edge, for lines may cross them."""
    import altair as alt

    look: Any = {"baseline": "top", "fontWeight": 600, "lineBreak": "\n", "lineHeight": LINE_PX}
    x, y = alt.X("at_px:Q", scale=None, title=None), alt.Y("top_px:Q", scale=None, title=None)
    return dress.haloed(of_part("label").encode(x=x, y=y, text="label:N"), limit=frame.width_px, **look)


def _alt_text(rows: pd.DataFrame) -> list[Finding]:
    """Alt text of some panels."""
    last = rows[rows["doubt"] == ""].groupby(["group", "egg"], sort=False).tail(1)
    above, below = last["lost"] > last["way"] * last["over"], last["lost"] < last["way"] * last["under"]
    lines: dict[str, Any] = {"over": _line(rows, "over"), "under": _line(rows, "under")}
    course = {word: _names(rows[rows["word"] == word]) or [found("charts.none")] for word in (MUCH, LITTLE)}
    eggs, groups = len(rows[["group", "egg"]].drop_duplicates()), rows["group"].nunique()
    return [
        found("charts.water-told", eggs=eggs, groups=groups),
        found("charts.water-last", above=_counted(last[above]), below=_counted(last[below]), **lines),
        found("charts.water-course", much=course[MUCH], little=course[LITTLE]),
    ]


def _line(rows: pd.DataFrame, which: str) -> Finding:
    """What the upper or lower line is called: by its share where all groups have one."""
    if (rows[which] == rows[which].iloc[0]).all():
        return found("charts.line-of", share=rows[which].iloc[0])
    return found("charts.upper-line" if which == "over" else "charts.lower-line")


def _counted(rows: pd.DataFrame) -> Finding:
    return found("charts.water-eggs", n=len(rows), eggs=_names(rows)) if len(rows) else found("charts.none")


def _names(rows: pd.DataFrame) -> list[Words]:
    return dress.first_few(by_name(rows["egg"].astype(str).unique()))


def _caption(rows: pd.DataFrame) -> list[Finding]:
    """What the parts are."""
    low, high = rows["under"].iloc[0], rows["over"].iloc[0]
    alike = len(rows[["under", "over"]].drop_duplicates()) == 1
    parts = [found("charts.water-ways", low=low, high=high) if alike else found("charts.water-guides")]
    there = [found(f"charts.side-{word}") for word in (MUCH, LITTLE) if (rows["word"] == word).any()]
    parts += [found("charts.water-triangles", sides=there)] if there else []
    return [*parts, *([found("charts.water-open")] if (rows["doubt"] != "").any() else [])]
