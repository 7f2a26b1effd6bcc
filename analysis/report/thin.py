"""Sections that have nothing to show yet: left out of the page, and what they would need said in one place."""

from typing import Any

from analysis.report.markdown import words
from analysis.say import say

Block = dict[str, Any]


def bare() -> Block:
    """A section of which nothing more is said than that there is nothing.

    Examples
    --------
    >>> bare()["text"]
    'Nothing to show here.'
    """
    return {"kind": "nothing", "text": say("report.nothing"), "bare": True}


def without_empty(blocks: list[Block]) -> list[Block]:
    """Leave out sections of which every display says that there is nothing, and chapters of such sections alone.

    What they said stands in a list after the last chapter. The first chapter's heading stays.

    Parameters
    ----------
    blocks
        As `page_blocks` makes them; a section with nothing holds blocks of kind "nothing" (text) alone.

    Returns
    -------
    list of dict

    Examples
    --------
    >>> heading = lambda level, text: {"kind": "markdown", "nodes": [
    ...     {"type": "heading", "level": level, "children": [{"type": "text", "text": text}]}]}
    >>> page = [heading(1, "Season"), {"kind": "numbers"}, heading(1, "Growth"), {"kind": "nothing", "text": "None."}]
    >>> [block["kind"] for block in without_empty(page)]
    ['markdown', 'numbers', 'markdown', 'attention']
    >>> without_empty(page)[-1]["items"]
    [['Growth', 'None.']]
    """
    kept, left_out = [], []
    for number, (title, parts) in enumerate(_split(blocks, level=1)):
        rest, said = _sections(parts)
        words_said = " ".join(dict.fromkeys(block["text"] for block in said if not block.get("bare")))
        left_out += [[title, words_said]] if words_said else []
        if not said or not number or _shows(rest):
            kept += rest
    return [*kept, *_listed(left_out)]


def _sections(parts: list[Block]) -> tuple[list[Block], list[Block]]:
    """A chapter without its empty sections, and the blocks that say so."""
    rest: list[Block] = []
    said: list[Block] = []
    for _, section in _split(parts, level=2):
        shown = [block for block in section if block["kind"] != "markdown"]
        if shown and all(block["kind"] == "nothing" for block in shown):
            said += shown
            rest += [block for block in section if block["kind"] == "markdown" and not _is_head_of(block, 2)]
        else:
            rest += as_prose(section)
    return rest, said


def _split(blocks: list[Block], *, level: int) -> list[tuple[str, list[Block]]]:
    """Runs of blocks, each from a heading of that level or above on, with the heading's words."""
    runs: list[tuple[str, list[Block]]] = []
    for piece in (piece for block in blocks for piece in _pieces(block, level)):
        heading = _heading(piece)
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


def _heading(block: Block) -> Any:
    nodes = block.get("nodes", ())
    return nodes[0] if block["kind"] == "markdown" and nodes and nodes[0]["type"] == "heading" else None


def _is_head_of(block: Block, level: int) -> bool:
    heading = _heading(block)
    return heading is not None and heading["level"] == level


def _shows(blocks: list[Block]) -> bool:
    return any(block["kind"] != "markdown" for block in blocks)


def as_prose(blocks: list[Block]) -> list[Block]:
    """The blocks, with what has nothing to show as a sentence where it stands."""
    return [
        {"kind": "prose", "paragraphs": [block["text"]]} if block["kind"] == "nothing" else block for block in blocks
    ]


def _listed(left_out: list[list[str]]) -> list[Block]:
    if not left_out:
        return []
    title = {
        "type": "heading",
        "level": 2,
        "chapter": False,
        "children": [{"type": "text", "text": say("report.nothing-yet")}],
    }
    return [{"kind": "markdown", "nodes": [title]}, {"kind": "attention", "items": left_out}]
