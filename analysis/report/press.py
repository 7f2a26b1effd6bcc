"""A fixed page design and a document of plain data → an accessible PDF."""

import json
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from analysis.errors import SeasonError
from analysis.say import say
from analysis.show.fonts import font_folder

_ONE_PICTURE = b'#set document(title: "One picture")\n#image("picture.svg", alt: "a picture")'


def press(design: str, document: Mapping[str, Any], pictures: Mapping[str, bytes], *, seconds: int) -> bytes:
    """Set a document as PDF/UA-1: text is data everywhere, nothing a keeper typed is read as markup.

    Parameters
    ----------
    design
        A design of this folder, such as `season.typ`; it walks `doc.json`.
    document
        What becomes `doc.json`; its texts are printable.
    pictures
        Files that the document names.
    seconds
        The PDF's own date, since 1970: the same document gives the same bytes.

    Raises
    ------
    SeasonError
        When the typesetter refuses the page.
    """
    sources = {
        "main.typ": files("analysis.report").joinpath(design).read_bytes(),
        "doc.json": json.dumps(document, ensure_ascii=False).encode(),
        **pictures,
    }
    try:
        return _pdf(sources, seconds)
    except BaseException as trouble:  # the typesetter's panic is no Exception
        if isinstance(trouble, KeyboardInterrupt | SystemExit):
            raise
        reason = str(trouble).split("\n")[0]
        raise SeasonError(say("report.pages-not-set", why=reason)) from trouble


def page_of() -> str:
    """What stands at the foot of a page; the design puts its numbers in.

    Examples
    --------
    >>> page_of()
    'page {at} of {end}'
    """
    return say("report.page-of", at="{at}", end="{end}")


def can_draw(picture: bytes) -> bool:
    """Whether the typesetter takes an SVG that came from elsewhere; one that it refuses would stop the whole page.

    Examples
    --------
    >>> can_draw(b"<svg xmlns='http://www.w3.org/2000/svg' width='9' height='9'/>"), can_draw(b"<svg width='9'")
    (True, False)
    """
    try:
        _pdf({"main.typ": _ONE_PICTURE, "picture.svg": picture}, 0)
    except BaseException as trouble:
        if isinstance(trouble, KeyboardInterrupt | SystemExit):
            raise
        return False
    return True


def _pdf(sources: dict[str, Any], seconds: int) -> bytes:
    import typst

    pdf: bytes = typst.compile(  # type: ignore[call-overload]
        sources,
        font_paths=[font_folder()],
        ignore_system_fonts=True,
        format="pdf",
        pdf_standards=["ua-1"],
        timestamp=seconds,
    )
    return pdf
