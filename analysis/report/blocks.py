"""Executed notebook → the blocks of the report, in order, and the pictures they show."""

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from analysis.errors import SeasonError
from analysis.report.columns import printed_table
from analysis.report.foreign import foreign_blocks
from analysis.report.markdown import markdown_nodes, words
from analysis.report.pictures import page_width_pt
from analysis.report.thin import as_prose, bare, without_empty
from analysis.say import say
from analysis.show.letters import printable_markup
from analysis.show.still import MIME

Block = dict[str, Any]
_NOT_ON_PAPER = {"remove-cell", "hide-cell"}
_NO_OUTPUT = {"remove-output", "hide-output"}
_NOT_SHOWN = {"cover", "control"}  # a control lives on the screen only
_PLACE = re.compile(r"(?<![\w/\\])(?:[A-Za-z]:)?[/\\](?:[^\s/\\\"'“”]+[/\\])+")
_SILENT: Block = {"kind": "silent"}  # a cell that showed nothing


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
            if isinstance(output.get("data", {}).get(MIME), dict):
                yield output["data"][MIME]


def page_blocks(notebook: Any, pictures: Pictures, *, leave_out_empty: bool = False) -> list[Block]:
    """What reaches the page: prose and outputs, never source, and no cell with a tag that hides it.

    Parameters
    ----------
    notebook
        An executed notebook, as nbformat reads it.
    pictures
        Filled with the pictures of the notebook.
    leave_out_empty
        Whether sections that have nothing to show are left out, and listed at the end.

    Returns
    -------
    list of dict
        `kind`: markdown (nodes), prose (paragraphs), table, numbers, attention, warning (title, items), chart (file,
        width_pt, alt, caption), plain (text), failed (text).
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
            found += [block for out in cell.get("outputs", ()) for block in _output(out, pictures)] or [_SILENT]
    if _not_run(notebook):
        found.insert(_below_the_heading(found), {"kind": "failed", "text": say("report.not-run")})
    else:
        _say_where_nothing_is(found)
    found = [block for block in found if block is not _SILENT]
    _level_headings(found)
    _describe_charts(found)
    return without_empty(found) if leave_out_empty else as_prose(found)


def _output(output: Mapping[str, Any], pictures: Pictures) -> list[Block]:
    """Blocks of one output; what a cell printed or warned stays in the notebook."""
    if output["output_type"] == "error":
        return [{"kind": "failed", "text": _stopped(output)}]
    if output["output_type"] not in ("display_data", "execute_result"):
        return []
    data = output["data"]
    ours = dict(data[MIME]) if isinstance(data.get(MIME), dict) else {}
    kind = ours.get("kind", "chart")
    if kind in _NOT_SHOWN:
        return []
    said = {"alt": ours.get("alt", ""), "caption": ours.get("caption", "")}
    blocks = [ours] if kind != "chart" else foreign_blocks(data, said, pictures.keep)
    return [part for block in blocks for part in (_table(block) if block["kind"] == "table" else [block])]


def _table(block: Block) -> list[Block]:
    """The pieces of a table; heads without a row are no table to a reader who hears the page."""
    if not block["rows"]:
        captioned = say("report.nothing-in-table", caption=block["caption"])
        return [{"kind": "nothing", "text": captioned} if block["caption"] else bare()]
    return [{"kind": "table", **piece} for piece in printed_table(block)]


def _stopped(output: Mapping[str, Any]) -> str:
    """Why a cell stopped: our own sentences without this machine's folders, otherwise no program's words."""
    reason = str(output.get("evalue", "")).strip().split("\n")[0]
    if output.get("ename") != SeasonError.__name__ or not reason:
        return say("report.part-stopped")
    home = str(Path.home())
    why = _PLACE.sub("", reason.replace(home + "/", "").replace(home + "\\", ""))
    return say("report.part-stopped-why", why=why)


def _not_run(notebook: Any) -> bool:
    """Whether there are cells that should show something, and none was ever run."""
    cells = [cell for cell in notebook.cells if cell.cell_type == "code" and cell.source.strip()]
    return bool(cells) and not any(cell.get("outputs") or cell.get("execution_count") for cell in cells)


def _below_the_heading(blocks: list[Block]) -> int:
    """Place after the first block that has a heading, or the very beginning."""
    headed = (any(node["type"] == "heading" for node in block.get("nodes", ())) for block in blocks)
    return next((at for at, has in enumerate(headed, start=1) if has), 0)


def _say_where_nothing_is(blocks: list[Block]) -> None:
    """A heading whose cells showed nothing gets a sentence; a page with a heading alone looks torn."""
    for at in range(len(blocks) - 1, 0, -1):
        after = blocks[at + 1] if at + 1 < len(blocks) else {}
        if blocks[at] is _SILENT and after is not _SILENT and not _is_said(after):
            above = next(block for block in [*blocks[at::-1], {}] if block is not _SILENT)
            if above and _ends_in_heading(above):
                blocks[at] = bare()


def _is_said(block: Block) -> bool:
    """Whether a block says something of its own before the next heading."""
    nodes = block.get("nodes", ())
    return bool(block) and not (nodes and nodes[0]["type"] == "heading")


def _ends_in_heading(block: Block) -> bool:
    nodes = block.get("nodes", ())
    return bool(nodes) and nodes[-1]["type"] == "heading"


def _level_headings(blocks: list[Block]) -> None:
    """A remark may begin at any level of heading and skip some; an accessible page may not."""
    last, chapters = 0, 0
    for block in blocks:
        for node in block.get("nodes", ()):
            if node["type"] == "heading":
                last = node["level"] = min(node["level"], last + 1)
                chapters += last == 1
                node["chapter"] = last == 1 and chapters > 1


def _describe_charts(blocks: list[Block]) -> None:
    """A chart without a description is described by its caption or the heading above it."""
    heading = ""
    for block in blocks:
        headings = [node for node in block.get("nodes", ()) if node["type"] == "heading"]
        heading = words(headings[-1:]) or heading
        if block["kind"] == "chart" and not block["alt"].strip():
            block["alt"] = block["caption"].strip() or say("report.chart-not-described", heading=heading)
