"""The tag tree of a PDF, read here: what a reader who hears the page would miss (ISO 14289-1, clause by clause)."""

import io
from collections.abc import Iterator
from typing import Any

import pikepdf


def kids(node: Any) -> list[Any]:
    below = node.get("/K", [])
    return list(below) if isinstance(below, pikepdf.Array) else [below]


def tags(node: Any) -> Iterator[Any]:
    """All elements of the structure below a node, in the order of reading."""
    for kid in kids(node):
        if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
            yield kid
            yield from tags(kid)


def of(document: pikepdf.Pdf, *names: str) -> list[Any]:
    return [tag for tag in tags(document.Root.StructTreeRoot) if str(tag.S)[1:] in names]


def marked(node: Any, page: Any = None) -> Iterator[tuple[Any, int]]:
    """Page and number of every piece of content below a tag; a caption is read before its picture."""
    page = node.get("/Pg", page)
    for kid in kids(node):
        if not isinstance(kid, pikepdf.Dictionary):
            yield page.objgen, int(kid)
        elif "/MCID" in kid:
            yield kid.get("/Pg", page).objgen, int(kid.MCID)
        elif "/S" in kid and kid.S != "/Caption":
            yield from marked(kid, page)


def attribute(tag: Any, name: str) -> Any:
    held = tag.get("/A", [])
    owners = list(held) if isinstance(held, pikepdf.Array) else [held]
    return next((owner[name] for owner in owners if isinstance(owner, pikepdf.Dictionary) and name in owner), None)


def faults(content: bytes) -> list[str]:
    """What a reader who does not see the page would miss."""
    with pikepdf.open(io.BytesIO(content)) as document:
        checks = (_document, _headings, _tables, _lists, _figures, _order, _fonts, _bookmarks)
        return [f"{check.__name__[1:]}: {what}" for check in checks for what in check(document)]


def _document(document):
    """7.1 (marked, title shown) and 7.2 (language)."""
    root = document.Root
    if not root.MarkInfo.get("/Marked", False):
        yield "not marked"
    if not str(root.get("/Lang", "")):
        yield "no language"
    if not root.get("/ViewerPreferences", {}).get("/DisplayDocTitle", False):
        yield "title not shown"
    with document.open_metadata() as told:
        if not str(told.get("dc:title", "")).strip():
            yield "no title"
        if str(told.get("pdfuaid:part")) != "1":
            yield "does not say what it is"
    yield from ("page order" for page in document.pages if page.obj.get("/Tabs", "/S") != "/S")


def _headings(document):
    """7.4.2: the first is H1, none skips a level, none is empty."""
    last = 0
    for tag in of(document, "H1", "H2", "H3", "H4", "H5", "H6"):
        level = int(str(tag.S)[2])
        if level > last + 1:
            yield f"{tag.S} after H{last}"
        if not list(marked(tag)):
            yield "empty"
        last = level


def _tables(document):
    """7.5: heads are heads of columns and have words, rows are equally long, every cell names its head."""
    for table in of(document, "Table"):
        inside = list(tags(table))
        heads = [tag for tag in inside if tag.S == "/TH"]
        if not heads or not any(tag.S == "/THead" for tag in inside):
            yield "no heads"
        for head in heads:
            if attribute(head, "/Scope") != "/Column":
                yield "head of nothing"
            if not list(marked(head)):
                yield "head without words"
        yield from ("cell without a head" for tag in inside if tag.S == "/TD" and not attribute(tag, "/Headers"))
        if len({len(kids(row)) for row in inside if row.S == "/TR"}) != 1:
            yield "rows of unequal length"


def _lists(document):
    """7.6: an item has words, and a label that is one."""
    for item in of(document, "LI"):
        parts = {str(kid.S): list(marked(kid)) for kid in kids(item)}
        if not parts.get("/LBody"):
            yield "item without words"
        if "/Lbl" in parts and not parts["/Lbl"]:
            yield "empty label"


def _figures(document):
    """7.3: every picture is described, a caption has words."""
    yield from ("not described" for tag in of(document, "Figure") if not str(tag.get("/Alt", "")).strip())
    yield from ("empty caption" for tag in of(document, "Caption") if not list(marked(tag)))


def _order(document):
    """7.2: it is read in the order in which it stands on the page (foot and rules are no part of it)."""
    pages = {page.obj.objgen: number for number, page in enumerate(document.pages)}
    read = [(pages[page], number) for page, number in marked(document.Root.StructTreeRoot)]
    if read != sorted(read):
        yield "not as it stands"
    if len({page for page, _ in read}) != len(pages):
        yield "a page without words"


def _fonts(document):
    """7.21.4: every face travels in the file, and its letters can be read back (7.21.7)."""
    for page in document.pages:
        for _, font in page.resources.get("/Font", {}).items():
            held = font.DescendantFonts[0].FontDescriptor
            if not {"/FontFile", "/FontFile2", "/FontFile3"} & set(held.keys()):
                yield f"{font.BaseFont} is not in the file"
            if "/ToUnicode" not in font:
                yield f"{font.BaseFont} cannot be read back"


def _bookmarks(document):
    """Every heading of the first two levels is a bookmark, in order."""
    with document.open_outline() as outline:
        said = [one for top in outline.root for one in (top.title, *(below.title for below in top.children))]
    heads = [str(tag.T) for tag in of(document, "H1", "H2")]
    if [one.split() for one in said] != [one.split() for one in heads]:
        yield "are not the headings"
