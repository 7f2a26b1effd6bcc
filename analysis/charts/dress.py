"""What the charts share: axes, panels, tips, how lost things look, words for alt texts and captions."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, cast

import pandas as pd

from analysis.finding import Words, found
from analysis.names import by_name, name_said, named
from analysis.say import in_words, say
from analysis.theme import INK, NAME_PX, PAGE_PX

if TYPE_CHECKING:
    from altair import Chart, FacetChart, LayerChart, X, Y

Texts = Words | Iterable[Words]
LOST: dict[str, Any] = {"fill": "white", "stroke": INK, "strokeWidth": 0.9, "strokeDash": [3, 2]}
TOLD = 20  # so many names an alt text spells out; a screen reader reads every one of them
TALLEST_PX = 900  # what a page holds beneath a heading
PERCENT = "format(datum.value * 100, '.0f')"
AXIS_PX, HEAD_PX = 34, 29  # room for weights of four digits, and for the name of a panel above it
AT_LEFT: dict[str, Any] = {"minExtent": AXIS_PX, "maxExtent": AXIS_PX, "titleX": -AXIS_PX}
# a y axis's title above it, not along it: it reads at once and costs no width
AT_LEFT |= {"titleAngle": 0, "titleAlign": "left", "titleBaseline": "bottom", "titleY": -8}
BAND = "#dce4ee"  # BLUE at one seventh, as an opaque colour: prints alike everywhere
WIDE: dict[str, Any] = {"stroke": "transparent", "strokeWidth": 6}  # an edge unseen, so that a dot is easily met


def something(frame: pd.DataFrame | pd.Series, what: str) -> None:
    """Raise ValueError where there are no rows: a chart of nothing would look like a finding."""
    if not len(frame):
        raise ValueError(f"nothing to draw: no {what}")


def page(*layers: "Chart", height: int, description: Texts, caption: Texts) -> "LayerChart":
    """Layers as one chart, as wide as the page, with its alt text and caption."""
    import altair as alt

    chart = cast("LayerChart", alt.layer(*layers))
    return chart.properties(
        width=PAGE_PX,
        autosize=alt.AutoSizeParams(type="fit-x", contains="padding"),
        height=height,
        **texts(description, caption),
    )


def texts(description: Texts, caption: Texts) -> dict[str, Any]:
    """A chart's alt text and caption, as its properties."""
    return {"description": in_words(description), "usermeta": {"caption": in_words(caption)}}


def called(names: pd.Series) -> pd.Series:
    """Names as they are drawn, one that the keeper left blank said to be so."""
    return named(names).map(lambda name: in_words(name_said(str(name))))


def worded(codes: Mapping[str, str], name: str) -> str:
    """What a stage or a flag is called; one that is not ours as it stands."""
    code = codes.get(name.replace(" ", "-"))
    return say(code) if code else name


def in_order(names: pd.Series) -> list[int]:
    """The place of each row where names stand by name, never by merit; rows of one name in the order they have."""
    place = {name: at for at, name in enumerate(by_name(names.unique()))}
    return list(names.map(place).argsort(kind="stable"))


def names(order: list[str]) -> "Y":
    """Column of names, flush left, as wide as in tables; a long name is cut."""
    import altair as alt

    axis = alt.Axis(
        minExtent=NAME_PX,
        maxExtent=NAME_PX,
        labelAlign="left",
        labelPadding=NAME_PX,
        labelLimit=NAME_PX - 8,
        grid=False,
    )
    # The order as an explicit domain: a `sort` would be compiled into an expression around keepers' words.
    return alt.Y("name:N", title=None, sort=None, scale=alt.Scale(domain=order), axis=axis)


def counts(title: str, largest: int, *, room: float = 1.7) -> "X":
    """Axis of counts from 0, in whole numbers, so many times as long as the longest bar: words stand after it."""
    import altair as alt

    scale = alt.Scale(domain=[0, max(largest, 1) * room], nice=False)
    axis = alt.Axis(values=ticks(0, largest), format="d", grid=False, domain=False)
    return alt.X("start:Q", title=title, scale=scale, axis=axis)


def ticks(first: float, last: float) -> list[int]:
    """Whole round numbers from first to last, about six: an axis may go on where only words stand.

    >>> ticks(0, 115), ticks(0, 3), ticks(9, 44)
    ([0, 20, 40, 60, 80, 100], [0, 1, 2, 3], [10, 20, 30, 40])
    """
    steps = (scale * digit for scale in (1, 10, 100, 1000, 10_000) for digit in (1, 2, 5))
    step = next((step for step in steps if step >= (last - first) / 6), 100_000)
    return [tick for tick in range(0, int(last) + 1, step) if tick >= first]


def rows_px(rows: int) -> int:
    """Height of so many rows: rows grow narrower, down to 14 px, where they would not fit a page."""
    return rows * max(14, min(24, TALLEST_PX // max(rows, 1)))


def first_few(parts: Iterable[Words]) -> list[Words]:
    """The first parts, and how many there are besides."""
    parts = list(parts)
    more = [found("charts.and-more", n=len(parts) - TOLD)] if len(parts) > TOLD else []
    return [*parts[:TOLD], *more]


def tips(titles: Mapping[str, str], **more: Any) -> list[Any]:
    """What pointing shows: fields, each under the sentence of its code."""
    import altair as alt

    return [alt.Tooltip(field, title=say(code), **more) for field, code in titles.items()]


def either(test: Any, then: Any, otherwise: Any) -> Any:
    """One look where a test holds, another where it does not."""
    import altair as alt

    return alt.when(test).then(alt.value(then)).otherwise(alt.value(otherwise))


def in_parts(parts: Mapping[str, Iterable[dict[str, Any]]]) -> list[dict[str, Any]]:
    """Records, each with the part it is of."""
    return [{"part": part, **record} for part, records in parts.items() for record in records]


def panels(panel: "LayerChart", records: list[list[dict[str, Any]]], *, columns: int) -> "FacetChart":
    """A panel of each list of records; its heading is drawn in it, since a facet's own has but one look.

    One chart of panels is far quicker to build than a chart a panel, and records have no empty cells to carry.
    """
    import altair as alt

    facet = alt.Facet("place:O", header=alt.Header(labelExpr="''", labelFontSize=0, labelPadding=0))
    placed = [{"place": place, **record} for place, own in enumerate(records) for record in own]
    facets = panel.facet(facet=facet, data=inline(placed), columns=columns)
    panels: FacetChart = facets.resolve_scale(x="independent", y="independent")
    return panels


def inline(records: list[dict[str, Any]], *, dates: tuple[str, ...] = ()) -> Any:
    """Records as the data of a chart, without their empty cells; dates that no axis shows must be named."""
    import altair as alt

    read = alt.DataFormat(parse=dict.fromkeys(dates, "date")) if dates else alt.Undefined
    data = alt.InlineData(values=[], format=read)
    data.values = [  # only now: Altair would check every one of them
        {name: value for name, value in record.items() if pd.notna(value)} for record in records
    ]
    return data


def of_part(*parts: str) -> "Chart":
    """Only the records of some parts."""
    import altair as alt

    return alt.Chart().transform_filter(" || ".join(f"datum.part == '{part}'" for part in parts))


def head(part: str, width: int, text: str = "label:N") -> Any:
    """The name of a panel above it, flush with its axis."""
    import altair as alt

    words = of_part(part).mark_text(align="left", fontWeight=600, limit=width + AXIS_PX)
    return words.encode(x=alt.value(-AXIS_PX), y=alt.value(-HEAD_PX), text=text)


def haloed(words: "Chart", **look: Any) -> list["Chart"]:
    """Words with a white edge, for where lines cross them."""
    return [words.mark_text(stroke="white", strokeWidth=4, aria=False, **look), words.mark_text(**look)]
