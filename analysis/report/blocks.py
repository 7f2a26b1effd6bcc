"""Executed notebook → the blocks of the report, in order, and the pictures they show."""

from collections.abc import Iterator, Mapping
from typing import Any

from analysis.report.columns import printed_table
from analysis.report.markdown import markdown_nodes, words
from analysis.report.pictures import page_width_pt, photo_svg
from analysis.show.letters import printable_markup
from analysis.show.still import MIME

Block = dict[str, Any]
_NOT_ON_PAPER = {"remove-cell", "hide-cell"}
_NO_OUTPUT = {"remove-output", "hide-output"}


class Pictures:
    """The SVG files that travel to the typesetter beside the text."""

    def __init__(self, paper: str) -> None:
        self.paper = paper
        self.files: dict[str, bytes] = {}

    def keep(self, svg: str) -> dict[str, Any]:
        """Store a picture; returns what the page needs to draw it."""
        name = f"picture_{len(self.files)}.svg"
        self.files[name] = printable_markup(svg).encode()
        return {"file": name, "width_pt": page_width_pt(svg, self.paper)}


def season_displays(notebook: Any) -> Iterator[Block]:
    """The season's own displays of a notebook (tables, covers, …), wherever they stand."""
    for cell in notebook.cells:
        for output in cell.get("outputs", ()):
            if MIME in output.get("data", {}):
                yield output["data"][MIME]


def page_blocks(notebook: Any, pictures: Pictures) -> list[Block]:
    """What reaches the page: prose and outputs, never source, and no cell with a tag that hides it.

    Parameters
    ----------
    notebook
        An executed notebook, as nbformat reads it.
    pictures
        Filled with the pictures of the notebook.

    Returns
    -------
    list of dict
        `kind`: markdown (nodes), prose (paragraphs), table, numbers, attention, chart (file, width_pt, alt,
        caption), plain (text), failed (text).
    """
    found: list[Block] = []
    for cell in notebook.cells:
        tags = set(cell.metadata.get("tags", ()))
        if tags & _NOT_ON_PAPER:
            continue
        if cell.cell_type == "markdown":
            nodes = markdown_nodes(cell.source, cell.get("attachments", {}), pictures.keep)
            found.append({"kind": "markdown", "nodes": nodes})
        elif not tags & _NO_OUTPUT:
            found += [block for out in cell.get("outputs", ()) for block in _output(out, pictures)]
    _level_headings(found)
    _describe_charts(found)
    return found


def _output(output: Mapping[str, Any], pictures: Pictures) -> list[Block]:
    """Blocks of one output; what a cell printed or warned stays in the notebook."""
    if output["output_type"] == "error":
        reason = str(output.get("evalue", "")).strip().split("\n")[0]
        return [{"kind": "failed", "text": f"This part could not be made: {reason or output.get('ename', '')}"}]
    if output["output_type"] not in ("display_data", "execute_result"):
        return []
    data = output["data"]
    ours = dict(data.get(MIME, {}))
    if ours.get("kind") == "cover":
        return []
    if ours.get("kind") == "table":
        return [{"kind": "table", **piece} for piece in printed_table(ours)]
    if ours and ours["kind"] != "chart":
        return [ours]
    return _foreign(data, ours, pictures)


def _foreign(data: Mapping[str, Any], ours: Block, pictures: Pictures) -> list[Block]:
    svg = data.get("image/svg+xml") or photo_svg(data)
    if svg:
        said = {"alt": ours.get("alt", ""), "caption": ours.get("caption", "")}
        return [{"kind": "chart", **said, **pictures.keep(svg)}]
    if "text/markdown" in data:
        return [{"kind": "markdown", "nodes": markdown_nodes(data["text/markdown"], {}, pictures.keep)}]
    text = str(data.get("text/plain", "")).strip()
    return [{"kind": "plain", "text": text}] if text else []


def _level_headings(blocks: list[Block]) -> None:
    """A remark may begin at any level of heading and skip some; an accessible page may not."""
    last = 0
    for block in blocks:
        for node in block.get("nodes", ()):
            if node["type"] == "heading":
                last = node["level"] = min(node["level"], last + 1)


def _describe_charts(blocks: list[Block]) -> None:
    """A chart without a description is described by its caption or the heading above it."""
    heading = ""
    for block in blocks:
        headings = [node for node in block.get("nodes", ()) if node["type"] == "heading"]
        heading = words(headings[-1:]) or heading
        if block["kind"] == "chart" and not block["alt"].strip():
            block["alt"] = block["caption"].strip() or f"Chart without a description. {heading}".strip()
