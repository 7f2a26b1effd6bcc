"""Outputs that are not the season's own: what a keeper's cell showed → blocks in the page's dress."""

import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from html.parser import HTMLParser
from typing import Any

from analysis.report.markdown import markdown_nodes
from analysis.report.press import can_draw, photo_svg
from analysis.say import say
from analysis.show.letters import printable_markup

Block = dict[str, Any]
_WIDGET = "application/vnd.jupyter.widget-view+json"
_LINES, _LETTERS = 60, 6000
_BARE_NAME = re.compile(r"<[\w.]+[^<>]*>", re.DOTALL)  # <Figure size 640x480>, <...HTML object>: not for reading
_NUMBER = re.compile(r"[-+−]?[\d.,]+(?:e[-+]?\d+)?|NaN|nan|<NA>|")
_BLOCKS = frozenset({"p", "div", "br", "li", "h1", "h2", "h3", "h4", "h5", "h6", "tr", "ul", "ol", "pre"})
_UNSEEN = frozenset({"style", "script", "head", "title"})


def foreign_blocks(data: Mapping[str, Any], said: Mapping[str, str], keep: Callable[[str], Block]) -> list[Block]:
    """The best form of an output that paper can have; none for a control or for a bare name of a thing.

    `data` is MIME type to content, as the notebook holds it; `said` alt and caption of a chart, "" where it has none;
    `keep` takes the SVG of a picture and returns what the page needs to draw it (file, width_pt). At most one block:
    chart, markdown, table (as `analysis.show.table` has it), plain or prose.
    """
    if _WIDGET in data:
        return []
    for svg in filter(None, (_text(data, "image/svg+xml"), photo_svg(data))):
        if said.get("alt") or can_draw(printable_markup(svg).encode()):  # one of ours is known to be sound
            return [{"kind": "chart", **said, **keep(svg)}]
    if "text/markdown" in data:
        return [{"kind": "markdown", "nodes": markdown_nodes(_text(data, "text/markdown"), {}, keep)}]
    page = _Page(_text(data, "text/html"))
    if page.heads and page.rows:
        return [page.table()]
    if plain := _plain(_text(data, "text/plain")):
        return [{"kind": "plain", "text": plain}]
    if words := page.paragraphs():
        return [{"kind": "prose", "paragraphs": words}]
    if latex := _plain(_text(data, "text/latex")):
        return [{"kind": "plain", "text": latex}]
    if any(kind.startswith("image/") for kind in data):
        return [{"kind": "prose", "paragraphs": [say("report.no-picture")]}]
    return []


def _text(data: Mapping[str, Any], kind: str) -> str:
    content = data.get(kind, "")
    return "".join(content) if isinstance(content, list) else str(content)


def _plain(text: str) -> str:
    """Text worth reading, cut where it is longer than a page."""
    if _BARE_NAME.fullmatch(text.strip()):
        return ""
    lines = text.strip("\n").rstrip().split("\n")
    short = "\n".join(lines[:_LINES])[:_LETTERS]
    return short if short == "\n".join(lines) else say("report.cut-below", start=short.rstrip())


class _Page(HTMLParser):
    """The first table of an HTML output, cell by cell, and all its words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.heads: list[list[str]] = []
        self.rows: list[list[str]] = []
        self.caption = ""
        self._words, self._cell, self._unseen = [""], "", 0
        self._row: list[str] = []
        self._of_head = self._first_done = self._in_cell = self._in_caption = False
        self._below: dict[int, int] = {}
        with suppress(AssertionError):  # the parser's word for a "<![" that it does not know
            self.feed(text)
            self.close()

    def table(self) -> Block:
        """The table as the season's own displays have it; several rows of heads become one."""
        wide = max(map(len, [*self.heads, *self.rows]))
        lines = [row + [""] * (wide - len(row)) for row in (*self.heads, *self.rows)]
        tops, rows = lines[: len(self.heads)], lines[len(self.heads) :]
        heads = [" ".join(dict.fromkeys(filter(None, column))) or "–" for column in zip(*tops, strict=True)]
        heads[0] = say("report.row") if heads[0] == "–" else heads[0]
        numbers = [at > 0 and all(_NUMBER.fullmatch(row[at]) for row in rows) for at in range(wide)]
        align = ["right" if number else "left" for number in numbers]
        return {"kind": "table", "caption": self.caption, "heads": heads, "align": align, "rows": rows, "note": ""}

    def paragraphs(self) -> list[str]:
        """All words that a reader sees, a paragraph a block."""
        return [words for part in self._words if (words := " ".join(part.split()))]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._unseen += tag in _UNSEEN
        if tag in _BLOCKS:
            self._words.append("")
        if self._first_done:
            return
        if tag == "tr":
            self._row, self._of_head = [], True
        if tag in {"td", "th"}:
            self._pass_spanned()
            self._cell, self._in_cell = "", True
            self._of_head &= tag == "th"
            self._span = {name: int(value) for name, value in attrs if value and value.isdecimal()}
        self._in_caption |= tag == "caption"

    def handle_endtag(self, tag: str) -> None:
        self._unseen -= tag in _UNSEEN and self._unseen > 0
        if self._first_done:
            return
        if tag in {"td", "th"} and self._in_cell:
            across, down = (min(self._span.get(name, 1), 100) for name in ("colspan", "rowspan"))
            self._below |= dict.fromkeys(range(len(self._row), len(self._row) + across), down - 1)
            self._row += [" ".join(self._cell.split())] * across
            self._in_cell = False
        if tag == "tr" and self._row:
            (self.heads if self._of_head and not self.rows else self.rows).append(self._row)
        self._in_caption &= tag != "caption"
        self._first_done = tag == "table"

    def handle_data(self, data: str) -> None:
        if self._unseen:
            return
        self._words[-1] += data
        if self._in_cell:
            self._cell += data
        if self._in_caption:
            self.caption = f"{self.caption} {data}".strip()

    def _pass_spanned(self) -> None:
        """Leave room for a cell of a row above that reaches down."""
        while self._below.get(len(self._row), 0) > 0:
            self._below[len(self._row)] -= 1
            self._row.append("")
