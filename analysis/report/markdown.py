"""Notebook Markdown as plain data for the page: a tree of small dictionaries, no markup left in it."""

import html
import re
from collections.abc import Callable, Mapping
from typing import Any

from analysis.report.press import from_address, photo_svg
from analysis.say import say
from analysis.show.letters import printable

Node = dict[str, Any]
Attachments = Mapping[str, Mapping[str, str]]
Keep = Callable[[str], Mapping[str, Any]]
_DEEPEST = 12  # the typesetter stops at some depth of nesting; below this only the words are kept
_SAFE_ADDRESS = re.compile(r"(https?://|mailto:)[\x21-\x7e]+")
_LINE_BREAK = re.compile(r"<br\s*/?>\s*", re.IGNORECASE)
_COMMENT = re.compile(r"<!--.*?-->\s*", re.DOTALL)
_BARE = {"linebreak": {"type": "break"}, "softbreak": {"type": "text", "text": " "}, "thematic_break": {"type": "rule"}}
_PLAIN = {
    "block_text": "span",
    "list_item": "item",
    "block_quote": "quote",
    "strong": "strong",
    "emphasis": "emphasis",
    "strikethrough": "strike",
}


def markdown_nodes(source: str, attachments: Attachments, keep: Keep) -> list[Node]:
    """The blocks of a Markdown cell; HTML in it is text, apart from comments and line breaks.

    `attachments` are the cell's pasted pictures, name to MIME bundle; `keep` takes the SVG of a picture and returns
    what the page needs to draw it (file, width_pt). By `type`: heading (level), paragraph, list (ordered, start), item,
    quote, code, rule, table (align, rows), and inline text, strong, emphasis, strike, code, break, link (url), image
    (file, width_pt, alt); `children` and `text` where they apply.
    """
    import mistune

    reader = mistune.create_markdown(renderer=None, plugins=["table", "strikethrough", "url", "task_lists"])
    return _Reader(attachments, keep).nodes(reader(source), 0)  # type: ignore[arg-type]


def words(nodes: list[Node]) -> str:
    """The text of a tree, without its form."""
    return "".join((node.get("text") or node.get("alt") or "") + words(node.get("children", [])) for node in nodes)


class _Reader:
    """Walks mistune's tree; `nodes` looks each type up in the methods below."""

    def __init__(self, attachments: Attachments, keep: Keep) -> None:
        self.attachments, self.keep = attachments, keep

    def nodes(self, tokens: list[Node], depth: int) -> list[Node]:
        made = (self.node(token, depth) for token in tokens)
        return [one for one in made if one is not None]

    def node(self, token: Node, depth: int) -> Node | None:
        kind = token["type"]
        if kind == "blank_line":
            return None
        if depth > _DEEPEST:
            return {"type": "text", "text": _raw(token)}
        method: Callable[[Node, int], Node | None] | None = getattr(self, "_" + kind, None)
        if method:
            return method(token, depth)
        if kind in _BARE:
            return dict(_BARE[kind])
        if "children" in token:
            return {"type": _PLAIN.get(kind, "paragraph"), "children": self.nodes(token["children"], depth + 1)}
        return {"type": "text", "text": html.unescape(token.get("raw", ""))}

    def _heading(self, token: Node, depth: int) -> Node:
        children = self.nodes(token["children"], depth + 1)
        if not printable(words(children)).strip():
            return {"type": "paragraph", "children": children}
        return {"type": "heading", "level": token["attrs"]["level"], "children": children}

    def _list(self, token: Node, depth: int) -> Node:
        attributes = token["attrs"]
        form = {"ordered": attributes["ordered"], "start": attributes.get("start", 1)}
        return {"type": "list", **form, "children": self.nodes(token["children"], depth + 1)}

    def _task_list_item(self, token: Node, depth: int) -> Node:
        box = {"type": "text", "text": "☑ " if token["attrs"]["checked"] else "☐ "}
        return {"type": "item", "children": [box, *self.nodes(token["children"], depth + 1)]}

    def _table(self, token: Node, depth: int) -> Node:
        head, *body = token["children"]
        lines = [head["children"], *(row["children"] for part in body for row in part["children"])]
        rows = [[self.nodes(cell["children"], depth + 1) for cell in line] for line in lines]
        align = [cell["attrs"].get("align") or "left" for cell in head["children"]]
        return {"type": "table", "align": align, "rows": rows}

    def _link(self, token: Node, depth: int) -> Node:
        children = self.nodes(token["children"], depth + 1)
        address = token["attrs"]["url"]
        if _SAFE_ADDRESS.fullmatch(address) and words(children).strip():
            return {"type": "link", "url": address, "children": children}
        return {"type": "span", "children": children}

    def _image(self, token: Node, depth: int) -> Node:
        alt = words(self.nodes(token["children"], depth + 1)).strip()
        address = html.unescape(token["attrs"]["url"])
        bundle = self.attachments.get(address.removeprefix("attachment:")) or from_address(address)
        if svg := photo_svg(bundle):
            return {"type": "image", "alt": alt or say("report.keepers-picture"), **self.keep(svg)}
        return {"type": "text", "text": say("report.picture-not-here", name=alt)}

    def _codespan(self, token: Node, depth: int) -> Node:
        return {"type": "code", "text": html.unescape(token["raw"])}

    def _block_code(self, token: Node, depth: int) -> Node:
        return {"type": "code_block", "text": token["raw"].rstrip("\n")}

    def _inline_html(self, token: Node, depth: int) -> Node | None:
        if _LINE_BREAK.fullmatch(token["raw"]):
            return {"type": "break"}
        return None if _COMMENT.fullmatch(token["raw"]) else {"type": "text", "text": token["raw"]}

    def _block_html(self, token: Node, depth: int) -> Node | None:
        text = _COMMENT.sub("", _LINE_BREAK.sub("\n", token["raw"])).strip()
        return {"type": "paragraph", "children": [{"type": "text", "text": text}]} if text else None


def _raw(token: Node) -> str:
    return html.unescape(token.get("raw", "")) + " ".join(_raw(child) for child in token.get("children", []))
