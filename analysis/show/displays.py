"""What a cell of a notebook shows: tables (and their CSV), numbers, sentences, charts.

Each display carries one bundle that every reader can use: HTML for JupyterLab and for the HTML export, plain text
for everyone else, and `application/vnd.season+json` for the season's pages. Text is text everywhere.
"""

import os
import threading
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import pandas as pd

from analysis.finding import Finding, Words
from analysis.guard import guarded
from analysis.say import in_words, say
from analysis.show import markup
from analysis.show.letters import every_text, whole
from analysis.show.still import LATER, MIME, chart_bundle, warm_charts
from analysis.theme import altair_theme
from analysis.trouble import plain_errors

Format = str | Callable[[Any], str]
_BARE_ROWS = 60


@dataclass(frozen=True)
class Display:
    """One block of the report, as Jupyter asks for it: `data` for the page, `html` and `text` for other readers."""

    data: Mapping[str, Any]
    html: str
    text: str

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, Any]:
        bundle = {MIME: dict(self.data), "text/html": self.html, "text/plain": self.text}
        return dict(every_text(bundle, whole))


def ready() -> None:
    """Make every chart and every frame of this notebook travel; call it once, in the first cell.

    Charts get the season's dress and a bundle that is alive in JupyterLab and still in every export; bare frames
    are shown as tables; the engine that draws the stills starts in the background.
    """
    import altair as alt
    from IPython.core.getipython import get_ipython

    if LATER not in os.environ:
        threading.Thread(target=warm_charts, daemon=True).start()
    alt.theme.register("season", enable=True)(altair_theme)  # type: ignore[arg-type]
    alt.renderers.register("season", chart_bundle)
    alt.renderers.enable("season")
    alt.data_transformers.disable_max_rows()
    plain_errors()
    shell = get_ipython()
    if shell is not None and shell.display_formatter is not None:
        formatter = shell.display_formatter.mimebundle_formatter
        formatter.for_type(pd.DataFrame, _bare)
        # A check against the schema is for whoever writes a chart, and costs a third of its time.
        formatter.for_type(alt.TopLevelMixin, lambda chart: chart_bundle(chart.to_dict(validate=False)))


def table(
    frame: pd.DataFrame,
    *,
    caption: Words,
    heads: Sequence[str] | None = None,
    align: Sequence[str] | None = None,
    formats: Mapping[str, Format] | None = None,
    note: Words = "",
    name: str = "",
) -> Display:
    """A table with a caption above it and a note below.

    An index that has a name is the first column; other indexes are not shown. `heads` are the headings as the keeper
    reads them, else the column names; `align` is "left" or "right" for each column, else numbers stand right;
    `formats` gives a column's name "{:.0f} g" or a function of the value, else numbers have three decimals at most.
    `name` is the file in the report's tables folder, without ".csv" ("": none); it has the full precision and the
    column names of the frame.

    >>> frame = pd.DataFrame({"pair": ["P01"], "mass_g": [91.25]})
    >>> shown = table(frame, caption="Pairs", formats={"mass_g": "{:.0f} g"})
    >>> shown.data["rows"], shown.data["align"]
    ([['P01', '91 g']], ['left', 'right'])
    """
    frame, caption, note = _said(frame), in_words(caption), in_words(note)
    plain = _with_named_index(frame)
    names = [" ".join(map(str, one)) if isinstance(one, tuple) else str(one) for one in plain.columns]
    heads = list(heads) if heads is not None else names
    align = list(align) if align is not None else [_side(kind) for kind in plain.dtypes]
    for what, given in (("heads", heads), ("align", align)):
        if len(given) != len(names):
            raise ValueError(f"{what} has {len(given)} entries for {len(names)} columns: {', '.join(names)}")
    columns = [
        [_shown(value, (formats or {}).get(head)) for value in plain.iloc[:, at]] for at, head in enumerate(names)
    ]
    rows = [list(row) for row in zip(*columns, strict=True)]
    data = {"kind": "table", "caption": caption, "heads": heads, "align": align, "rows": rows, "note": note}
    data |= {"name": name, "csv": csv_text(plain) if name else ""}
    text = "\n".join("\t".join(row) for row in (heads, *rows))
    return Display(data, markup.table_html(caption, heads, align, rows, note), text)


def numbers(*items: Sequence[Words]) -> Display:
    """The few numbers that matter, side by side: each (value, words, count and interval)."""
    kept = [[in_words(part) for part in item] for item in items]
    text = "\n".join(f"{words}: {value} ({count})" for value, words, count in kept)
    return Display({"kind": "numbers", "items": kept}, markup.numbers_html(kept), text)


def item_words(item: Sequence[Words] | Finding) -> list[str]:
    """Write out what an item of a list is about, and what is said of it."""
    return [in_words(part) for part in ((item.about, item) if isinstance(item, Finding) else item)]


def attention(*items: Sequence[Words] | Finding, tick: bool = False) -> Display:
    """What needs attention: each a finding, or (what, sentence); `tick` sets a box to tick off before each."""
    kept = [item_words(item) for item in items]
    text = "\n".join(f"{'[ ] ' * tick}{what}: {sentence}" for what, sentence in kept)
    data = {"kind": "attention", "items": kept} | ({"tick": True} if tick else {})
    return Display(data, markup.attention_html(kept, tick=tick), text)


def if_any(*items: Sequence[Words] | Finding) -> list[Display]:
    """The list of what needs attention; nothing where nothing does."""
    return [attention(*items)] if items else []


def warning(*items: Sequence[Words] | Finding) -> Display:
    """What must be known before anything below is believed: each a finding, or (what, sentence), framed in red."""
    kept, title = [item_words(item) for item in items], say("report.read-first")
    text = "\n".join([title, *(f"{what}: {sentence}" for what, sentence in kept)])
    data = {"kind": "warning", "title": title, "items": kept}
    return Display(data, markup.warning_html(title, kept), text)


def prose(text: Words) -> Display:
    """A computed paragraph of plain text (a blank line begins the next); no Markdown is read in it."""
    text = in_words(text)
    paragraphs = [part.strip() for part in text.split("\n\n") if part.strip()]
    return Display({"kind": "prose", "paragraphs": paragraphs}, markup.prose_html(paragraphs), text)


def lines(text: Words) -> Display:
    """Lines to write on, under a few words; on paper as many as there is room for on the page, and none where few are.

    >>> lines("Your own notes").data
    {'kind': 'lines', 'text': 'Your own notes'}
    """
    text = in_words(text)
    return Display({"kind": "lines", "text": text}, markup.prose_html([text]), text)


def heading(text: Words) -> dict[str, str]:
    """A heading of the second level, for a section that is not in every season."""
    text = in_words(text)
    return {"text/markdown": f"## {text}", "text/plain": text}


def nothing(text: Words) -> Display:
    """One sentence where the logs hold nothing for a section yet; the page leaves such a section out, and lists it."""
    text = in_words(text)
    return Display({"kind": "nothing", "text": text}, markup.prose_html([text]), text)


def cover(**facts: Any) -> Display:
    """The head of the first page and the foot of each.

    `facts` are title, aviary, line (beside the title), season, as_of (as the foot says it), last_day (ISO date: the
    PDF's own date), fingerprint and version (on the last page), paper ("A4" or "Letter"), language ("en").
    """
    kept = {name: str(value) for name, value in facts.items() if value is not None}
    aviary, title = kept.get("aviary", ""), kept.get("title", "")
    foot = " · ".join(kept[name] for name in ("season", "as_of") if kept.get(name))
    text = ": ".join(part for part in (aviary, title) if part)
    return Display({"kind": "cover", **kept}, markup.cover_html(aviary, title, kept.get("line", ""), foot), text)


def each(displays: Iterable[Any]) -> None:
    """Show displays one below the other: charts, tables and whatever else this module makes."""
    from IPython.display import display

    for one in displays:
        display(one, raw=isinstance(one, dict))


def _bare(frame: pd.DataFrame, include: Any = None, exclude: Any = None) -> dict[str, Any]:
    left = len(frame) - _BARE_ROWS
    note = say("report.first-rows", shown=_BARE_ROWS, rows=len(frame)) if left > 0 else ""
    return table(frame.head(_BARE_ROWS), caption="", note=note)._repr_mimebundle_()


def _said(frame: pd.DataFrame) -> pd.DataFrame:
    """Write out the findings that stand in a frame's cells."""
    said = frame.copy(deep=False)
    for column in [name for name, kind in frame.dtypes.items() if kind == "object"]:
        said[column] = [in_words(cell) if isinstance(cell, Finding) else cell for cell in frame[column]]
    return said


def _side(kind: Any) -> str:
    return "right" if pd.api.types.is_numeric_dtype(kind) and not pd.api.types.is_bool_dtype(kind) else "left"


def _shown(value: Any, form: Format | None) -> str:
    if value is None or value is pd.NA or value is pd.NaT or (isinstance(value, float) and value != value):
        return ""
    if form is not None:
        return form.format(value) if isinstance(form, str) else form(value)
    if isinstance(value, pd.Timestamp):
        return f"{value:%Y-%m-%d}" if value == value.normalize() else f"{value:%Y-%m-%d %H:%M}"
    if isinstance(value, bool):
        return say("report.yes" if value else "report.no")
    if not isinstance(value, float):
        return str(value)
    return f"{value:.2g}" if 0 < abs(value) < 0.001 else f"{value + 0.0:.3f}".rstrip("0").rstrip(".")


def csv_text(frame: pd.DataFrame) -> str:
    """The frame as CSV text at full precision, a line feed after each row; the index only where it has a name.

    Text that a spreadsheet would take for a formula gets an apostrophe, as `guarded` says, heads too; numbers stay
    numbers. Which first characters: OWASP, "CSV Injection" (from memory).
    """
    plain = _with_named_index(frame)
    safe = pd.DataFrame({at: plain.iloc[:, at] for at in range(plain.shape[1])})
    for at in safe:
        if not pd.api.types.is_numeric_dtype(safe[at]):
            safe[at] = safe[at].astype(object).map(_cell, na_action="ignore")
    heads = [_cell(str(head)) for head in plain.columns]
    return str(safe.to_csv(index=False, header=heads, lineterminator="\n"))


def _with_named_index(frame: pd.DataFrame) -> pd.DataFrame:
    """The frame with an index that has a name turned into columns; other indexes are only row numbers."""
    if all(name is None for name in frame.index.names):
        return frame
    index = frame.index.to_frame(index=False)
    return pd.concat([index, frame.reset_index(drop=True)], axis=1)


def _cell(value: Any) -> Any:
    value = in_words(value) if isinstance(value, Finding) else value
    if not isinstance(value, str):
        return value
    text = whole(value).replace("\r\n", "\n").replace("\r", "\n")  # a lone \r would end the row for some readers
    return guarded(text)
