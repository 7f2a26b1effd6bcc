"""A chart's bundle: alive in JupyterLab without a network, still everywhere else.

JupyterLab draws Vega-Lite 5 itself, without network, kernel or trust; `text/html` would win over it, so there is
none. The caption is a title at the foot of the live chart and a `figcaption` in the HTML export; the still picture
is without it, because the page sets it.
"""

import base64
import json
import os
import re
import textwrap
from typing import Any

from analysis.show.fonts import font_folder
from analysis.show.letters import every_text, printable, whole
from analysis.show.markup import escaped, figure_html
from analysis.theme import MUTED, PAGE_PX

MIME = "application/vnd.season+json"
LIVE = "application/vnd.vegalite.v5+json"
_SCHEMA = "https://vega.github.io/schema/vega-lite/v5.json"
LATER = "SEASON_STILLS_LATER"  # set for the kernel of a report: its parent draws while it goes on
_OF = "drawn_of"
_TAG = re.compile(r"""<(?:[^<>"']|"[^"]*"|'[^']*')*>""")
_NAME = re.compile(r'((?:\bid="|url\(#|href="#))((?:clip|gradient_)\d+)')
_CAPTION_PX = 5.3  # mean width of a letter of an 11 px caption


def chart_bundle(spec: dict[str, Any], **_: Any) -> dict[str, Any]:
    """What a chart's cell carries, as an Altair renderer: its live form, its still, its words and its caption.

    The `description` of a specification is the alternative text, `usermeta["caption"]` the caption. The still is left
    out where `LATER` is set, and its specification stands in for it.
    """
    spec = every_text(spec, whole)
    bare = {key: value for key, value in spec.items() if key != "usermeta"}
    alt = spec.get("description", "")
    caption = spec.get("usermeta", {}).get("caption", "")
    bundle = {
        LIVE: _with_caption(bare, caption) | {"$schema": _SCHEMA, "padding": 8},
        "text/plain": alt,
        MIME: {"kind": "chart", "alt": alt, "caption": caption},
    }
    if os.environ.get(LATER):
        bundle[MIME][_OF] = bare
        return bundle
    return bundle | _stills(still(bare), alt, caption)


def left_undrawn(bundle: dict[str, Any]) -> dict[str, Any] | None:
    """The specification of a chart whose kernel left the still to the program that started it; it is taken out."""
    ours = bundle.get(MIME)
    return ours.pop(_OF, None) if isinstance(ours, dict) else None


def put_still(bundle: dict[str, Any], svg: str) -> None:
    """Add the still picture to a chart's bundle."""
    bundle |= _stills(svg, bundle[MIME]["alt"], bundle[MIME]["caption"])


def _stills(svg: str, alt: str, caption: str) -> dict[str, str]:
    uri = "data:image/svg+xml;base64," + base64.b64encode(svg.encode()).decode()
    return {"image/svg+xml": svg, "text/markdown": figure_html(uri, alt, caption)}


def still(spec: dict[str, Any]) -> str:
    """The chart as SVG text: no network, no character the page lacks, the same text for the same chart."""
    import vl_convert

    if not json.dumps(spec, ensure_ascii=False).isascii():
        spec = every_text(spec, lambda text: printable(text, also=""))
    svg = vl_convert.vegalite_to_svg(spec, allowed_base_urls=[])
    label = f'<svg role="img" aria-label="{escaped(spec.get("description", ""))}" '
    return _renumbered(svg.replace("<svg ", label, 1))


def warm_charts() -> None:
    """Start the engine that draws stills (half a second, once in a process), and give it the fonts."""
    import vl_convert

    vl_convert.register_font_directory(font_folder())
    vl_convert.vegalite_to_svg({"mark": "point", "data": {"values": []}}, allowed_base_urls=[])


def _renumbered(svg: str) -> str:
    """Number clip paths and gradients from the start of each picture; the engine counts over its whole life."""
    names: dict[str, str] = {}

    def name(match: re.Match[str]) -> str:
        kind = match[2].rstrip("0123456789").rstrip("_")
        return match[1] + names.setdefault(match[2], f"{kind}_{len(names)}")

    return _TAG.sub(lambda tag: _NAME.sub(name, tag[0]), svg)


def _with_caption(spec: dict[str, Any], caption: str) -> dict[str, Any]:
    if not caption:
        return spec
    width = spec.get("width")
    width_px = width if isinstance(width, int | float) else PAGE_PX
    lines = textwrap.wrap(caption, max(20, int(width_px / _CAPTION_PX)))
    if title := spec.get("title"):
        title = title if isinstance(title, dict) else {"text": title}
        return spec | {"title": title | {"subtitle": lines, "subtitleColor": MUTED}}
    look = {"orient": "bottom", "anchor": "start", "frame": "bounds", "offset": 8}
    type_ = {"fontSize": 11, "fontWeight": "normal", "color": MUTED}
    return spec | {"title": {"text": lines, **look, **type_}}
