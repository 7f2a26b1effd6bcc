"""The HTML of what a cell shows: inline styles only, and everything a keeper typed is escaped.

JupyterLab strips style sheets and scripts from a notebook it does not trust, so there are none. The class keeps
mathematics renderers from reading `$` in a keeper's text.
"""

import html
import re
from collections.abc import Iterable, Sequence

PLAIN = "tex2jax_ignore mathjax_ignore"
_BIDI = re.compile("[\u202a-\u202e\u2066-\u2069]")
_RULE = "rgba(128,128,128,.45)"
_ALARM = "#c04455"  # the red of the charts, light enough to be seen on a dark page too
_ACCENT = "#3377bb"  # the blue of the charts, light enough to be seen on a dark page too


def escaped(text: str) -> str:
    """Text as HTML text, also safe inside an attribute and inside Markdown.

    Marks that turn the direction of writing are left out: one would turn everything after it on the screen.
    """
    return html.escape(_BIDI.sub("", text), quote=True).replace("$", "&#36;")


def element(tag: str, inside: str, style: str = "", **attributes: str) -> str:
    """One HTML element; `inside` is HTML already, attribute values are escaped here."""
    pairs = ({"style": style} if style else {}) | attributes
    written = "".join(f' {name.rstrip("_")}="{html.escape(value, quote=True)}"' for name, value in pairs.items())
    return f"<{tag}{written}>{inside}</{tag}>"


def table_html(
    caption: str, heads: Sequence[str], align: Sequence[str], rows: Iterable[Sequence[str]], note: str
) -> str:
    """A table with its caption above and its note below."""
    cell = f"border-bottom:1px solid {_RULE};padding:.25em .7em .25em 0;"

    def line(tag: str, values: Sequence[str], **scope: str) -> str:
        cells = zip(values, align, strict=True)
        return element("tr", "".join(element(tag, _cell(v), f"{cell}text-align:{a}", **scope) for v, a in cells))

    head = element("thead", line("th", heads, scope="col"))
    body = element("tbody", "".join(line("td", row) for row in rows))
    above = element("caption", escaped(caption), "text-align:left;caption-side:top;opacity:.75") if caption else ""
    below = element("p", escaped(note), "font-size:85%;opacity:.75") if note else ""
    sheet = element("table", above + head + body, "border-collapse:collapse;margin:0;max-width:100%")
    return element("div", sheet + below, "overflow-x:auto", class_=PLAIN)


def numbers_html(items: Iterable[Sequence[str]]) -> str:
    """A row of large numbers, each over its words and its count."""
    box = f"flex:1 1 8em;border-top:2px solid {_ACCENT};padding-top:.4em"

    def number(value: str, words: str, count: str) -> str:
        large = element("div", escaped(value), "font-size:200%;font-weight:600;line-height:1.1")
        return element("div", large + element("div", escaped(words)) + _small(count), box)

    return element("div", "".join(number(*item) for item in items), "display:flex;gap:1.5em", class_=PLAIN)


def attention_html(items: Iterable[Sequence[str]], *, tick: bool = False) -> str:
    """A list of sentences, each after what it is about; `tick`: with a box before it."""
    box = "&#9744; " if tick else ""
    lines = (element("li", element("b", box + escaped(what) + ":") + " " + escaped(say)) for what, say in items)
    return element("ul", "".join(lines), "list-style:none" if tick else "", class_=PLAIN)


def warning_html(title: str, items: Iterable[Sequence[str]]) -> str:
    """A framed list of what must be known first, under its title."""
    box = f"border:2px solid {_ALARM};border-left-width:8px;padding:.6em 1em;max-width:60em"
    return element("div", element("b", escaped(title)) + attention_html(items), box, role="note", class_=PLAIN)


def cover_html(aviary: str, title: str, line: str, foot: str) -> str:
    """The head of the first page, and what stands on the foot of each."""
    large = element("div", escaped(title), "font-size:200%;font-weight:600;line-height:1.2")
    return element("div", _small(aviary) + large + _small(line) + _small(foot), class_=PLAIN)


def prose_html(paragraphs: Iterable[str]) -> str:
    """Paragraphs of plain text."""
    return element("div", "".join(element("p", escaped(one)) for one in paragraphs), class_=PLAIN)


def figure_html(source: str, alt: str, caption: str) -> str:
    """A picture with its alternative text and its caption below, on one line (so that Markdown keeps it whole)."""
    picture = f'<img src="{source}" alt="{escaped(" ".join(alt.split()))}">'
    below = element("figcaption", escaped(" ".join(caption.split())), "font-size:85%") if caption else ""
    return element("figure", picture + below, "margin:0", class_=PLAIN)


def _cell(value: str) -> str:
    """A long text wraps, also inside a word, so that it does not push the other columns off the screen."""
    wrap = "max-width:40em;white-space:normal;overflow-wrap:anywhere"
    return element("div", escaped(value), wrap) if len(value) > 60 else escaped(value)


def _small(text: str) -> str:
    return element("div", escaped(text), "font-size:85%;opacity:.75") if text else ""
