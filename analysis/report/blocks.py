"""Executed notebook → the blocks of the report, in order; sections that have nothing to show yet may be left out."""

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from analysis.errors import SeasonError
from analysis.report.columns import printed_table
from analysis.report.foreign import foreign_blocks
from analysis.report.markdown import markdown_nodes, words
from analysis.report.press import Pictures
from analysis.say import say
from analysis.show.still import MIME

Block = dict[str, Any]
_NOT_ON_PAPER = {"remove-cell", "hide-cell"}
_NO_OUTPUT = {"remove-output", "hide-output"}
_NOT_SHOWN = {"cover", "control"}  # a control lives on the screen only
_PLACE = re.compile(r"(?<![\w/\\])(?:[A-Za-z]:)?[/\\](?:[^\s/\\\"'“”]+[/\\])+")
_SILENT: Block = {"kind": "silent"}  # a cell that showed nothing


def season_displays(notebook: Any) -> Iterator[Block]:
    """The season's own displays of a notebook (tables, covers, …), wherever they stand."""
    for cell in notebook.cells:
        for output in cell.get("outputs", ()):
            if isinstance(output.get("data", {}).get(MIME), dict):
                yield output["data"][MIME]


def page_blocks(notebook: Any, pictures: Pictures, *, leave_out_empty: bool = False) -> list[Block]:
    """What of an executed notebook reaches the page: prose and outputs, never source, and no cell tagged as hidden.

    By `kind`: markdown (nodes), prose (paragraphs), table, numbers, attention, warning (title, items), chart (file,
    width_pt, alt, caption), plain (text), failed (text). The pictures are kept in `pictures`. `leave_out_empty` leaves
    out sections of which every display says that there is nothing, and chapters of such sections alone but the first;
    what they said stands in a list at the end.
    """
    blocks: list[Block] = []
    for cell in notebook.cells:
        tags = set(cell.metadata.get("tags", ()))
        if tags & _NOT_ON_PAPER:
            continue
        if cell.cell_type == "markdown":
            nodes = markdown_nodes(cell.source, cell.get("attachments", {}), pictures.keep)
            blocks.append({"kind": "markdown", "nodes": nodes})
        elif not tags & _NO_OUTPUT:
            blocks += [block for out in cell.get("outputs", ()) for block in _output(out, pictures)] or [_SILENT]
    if _not_run(notebook):
        below_the_heading = next((at for at, block in enumerate(blocks, start=1) if headings(block)), 0)
        blocks.insert(below_the_heading, {"kind": "failed", "text": say("report.not-run")})
    else:
        _say_where_nothing_is(blocks)
    blocks = [block for block in blocks if block is not _SILENT]
    _level_headings(blocks)
    _describe_charts(blocks)
    return _without_empty(blocks) if leave_out_empty else _as_prose(blocks)


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
    if block["rows"]:
        return [{"kind": "table", **piece} for piece in printed_table(block)]
    if block["caption"]:
        return [{"kind": "nothing", "text": say("report.nothing-in-table", caption=block["caption"])}]
    return [_bare()]


def _bare() -> Block:
    """A section of which nothing more is said than that there is nothing."""
    return {"kind": "nothing", "text": say("report.nothing"), "bare": True}


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


def headings(block: Block) -> list[Any]:
    """The headings of a block of prose, none of any other."""
    return [node for node in block.get("nodes", ()) if node["type"] == "heading"]


def _begins_with_heading(block: Block) -> Any:
    """The heading that a block of prose begins with; None where it begins with none."""
    nodes = block.get("nodes") if block["kind"] == "markdown" else ()
    return nodes[0] if nodes and nodes[0]["type"] == "heading" else None


def _say_where_nothing_is(blocks: list[Block]) -> None:
    """A heading whose cells showed nothing gets a sentence; a page with a heading alone looks torn."""
    for at in range(len(blocks) - 1, 0, -1):
        after = blocks[at + 1] if at + 1 < len(blocks) else None
        if blocks[at] is _SILENT and after is not _SILENT and (after is None or _begins_with_heading(after)):
            nodes = next((block for block in blocks[at::-1] if block is not _SILENT), {}).get("nodes")
            if nodes and nodes[-1]["type"] == "heading":
                blocks[at] = _bare()


def _level_headings(blocks: list[Block]) -> None:
    """A remark may begin at any level of heading and skip some; an accessible page may not."""
    last, chapters = 0, 0
    for node in (node for block in blocks for node in headings(block)):
        last = node["level"] = min(node["level"], last + 1)
        chapters += last == 1
        node["chapter"] = last == 1 and chapters > 1


def _describe_charts(blocks: list[Block]) -> None:
    """A chart without a description is described by its caption or the heading above it."""
    heading = ""
    for block in blocks:
        heading = words(headings(block)[-1:]) or heading
        if block["kind"] == "chart" and not block["alt"].strip():
            block["alt"] = block["caption"].strip() or say("report.chart-not-described", heading=heading)


def _as_prose(blocks: list[Block]) -> list[Block]:
    """The blocks, with what has nothing to show as a sentence where it stands."""
    return [
        {"kind": "prose", "paragraphs": [block["text"]]} if block["kind"] == "nothing" else block for block in blocks
    ]


def _without_empty(blocks: list[Block]) -> list[Block]:
    """The blocks without empty sections and chapters; what those said is listed at the end, a line a chapter."""
    kept, left_out = [], []
    for number, (title, chapter) in enumerate(_split(blocks, level=1)):
        rest, empty = _full_and_empty(chapter)
        why = " ".join(dict.fromkeys(block["text"] for block in empty if not block.get("bare")))
        left_out += [[title, why]] if why else []
        if not empty or not number or any(block["kind"] != "markdown" for block in rest):
            kept += rest
    if not left_out:
        return kept
    words_of = {"type": "text", "text": say("report.nothing-yet")}
    heading = {"type": "heading", "level": 2, "chapter": False, "children": [words_of]}
    return [*kept, {"kind": "markdown", "nodes": [heading]}, {"kind": "attention", "items": left_out}]


def _full_and_empty(chapter: list[Block]) -> tuple[list[Block], list[Block]]:
    """A chapter without its empty sections, and the blocks that say so."""
    rest: list[Block] = []
    empty: list[Block] = []
    for _, section in _split(chapter, level=2):
        shown = [block for block in section if block["kind"] != "markdown"]
        if shown and all(block["kind"] == "nothing" for block in shown):
            empty += shown
            prose = [block for block in section if block["kind"] == "markdown"]
            rest += [block for block in prose if (_begins_with_heading(block) or {}).get("level") != 2]
        else:
            rest += _as_prose(section)
    return rest, empty


def _split(blocks: list[Block], *, level: int) -> list[tuple[str, list[Block]]]:
    """Runs of blocks, each from a heading of that level or above on, with the heading's words."""
    runs: list[tuple[str, list[Block]]] = []
    for piece in (piece for block in blocks for piece in _pieces(block, level)):
        heading = _begins_with_heading(piece)
        if not runs or (heading is not None and heading["level"] <= level):
            runs.append((words([heading]).strip() if heading else "", []))
        runs[-1][1].append(piece)
    return runs


def _pieces(block: Block, level: int) -> list[Block]:
    """A block of prose in pieces, one from each heading on."""
    if block["kind"] != "markdown":
        return [block]
    pieces: list[list[Any]] = [[]]
    for node in block["nodes"]:
        if node["type"] == "heading" and node["level"] <= level and pieces[-1]:
            pieces.append([])
        pieces[-1].append(node)
    return [{**block, "nodes": nodes} for nodes in pieces if nodes]
