"""A fixed page design, a document of plain data and its pictures → an accessible PDF."""

import base64
import json
import re
import struct
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

from analysis.errors import SeasonError
from analysis.say import say
from analysis.show.fonts import font_folder
from analysis.show.letters import printable_markup

TEXT_WIDTH_PT = 481.9  # 170 mm
_PT_PER_PX = 0.75
_ROOM_PT = {"A4": 640.0, "Letter": 590.0}  # text height less a heading and a caption
_ONE_PICTURE = b'#set document(title: "One picture")\n#image("picture.svg", alt: "a picture")'
_PHOTO = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 {w} {h}" width="{w}" height="{h}"><image width="{w}" height="{h}" xlink:href="data:{mime};base64,{data}"/></svg>'  # noqa: E501
_HEAD = re.compile(r"<svg\b[^>]*>")
_DATA_ADDRESS = re.compile(r"data:(image/(?:png|jpeg));base64,(.+)", re.DOTALL)


def press(design: str, document: Mapping[str, Any], pictures: Mapping[str, bytes], *, seconds: int) -> bytes:
    """Set a document as PDF/UA-1: text is data everywhere, nothing a keeper typed is read as markup.

    The design (`season.typ`) is one of this folder; it walks the document as `doc.json`, whose texts are printable and
    name the pictures by file, and puts the numbers into `page_of`, the foot of a page. `seconds` is the PDF's own date,
    since 1970: the same document gives the same bytes. SeasonError: the typesetter refuses the page.
    """
    document = {**document, "page_of": say("report.page-of", at="{at}", end="{end}")}
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


class Pictures:
    """The SVG files that travel to the typesetter beside the text."""

    def __init__(self, paper: str) -> None:
        self.files: dict[str, bytes] = {}
        self._room_pt = _ROOM_PT[paper]

    def keep(self, svg: str) -> dict[str, Any]:
        """Store a picture; return its name and the width at which neither side runs over the edge of the page.

        Examples
        --------
        >>> Pictures("A4").keep('<svg width="642" height="2000">')
        {'file': 'picture_0.svg', 'width_pt': 205.44}
        """
        name = f"picture_{len(self.files)}.svg"
        self.files[name] = printable_markup(svg).encode()
        width_pt, height_pt = (_PT_PER_PX * side for side in _size_px(svg))
        fit = min(1.0, TEXT_WIDTH_PT / width_pt, self._room_pt / height_pt)
        return {"file": name, "width_pt": round(width_pt * fit, 2)}


def can_draw(picture: bytes) -> bool:
    """Whether the typesetter takes an SVG that came from elsewhere; one that it refuses would stop the whole page."""
    try:
        _pdf({"main.typ": _ONE_PICTURE, "picture.svg": picture}, 0)
    except BaseException as trouble:
        if isinstance(trouble, KeyboardInterrupt | SystemExit):
            raise
        return False
    return True


def from_address(address: str) -> dict[str, str]:
    """The bundle of a `data:` address, empty for any other: nothing is fetched.

    Examples
    --------
    >>> from_address("data:image/png;base64,AAAA"), from_address("https://example.org/a.png")
    ({'image/png': 'AAAA'}, {})
    """
    found = _DATA_ADDRESS.fullmatch(address)
    return {found[1]: found[2]} if found else {}


def photo_svg(bundle: Mapping[str, str]) -> str | None:
    """A photo inside an SVG (the typesetter takes text only), or None where it cannot be read.

    A bundle is MIME type to base64 text, as a notebook's attachment or output holds it; PNG and JPEG are read.
    """
    for mime, size in (("image/png", _png_size), ("image/jpeg", _jpeg_size)):
        if mime in bundle:
            data = "".join(bundle[mime].split())
            try:
                width, height = size(base64.b64decode(data, validate=True))
            except (ValueError, struct.error, IndexError):  # binascii.Error is a ValueError
                return None
            return _PHOTO.format(w=width, h=height, mime=mime, data=data) if width and height else None
    return None


def _size_px(svg: str) -> tuple[float, float]:
    head = _HEAD.search(svg)
    attributes = dict(re.findall(r'\s(width|height|viewBox)="([^"]*)"', head[0] if head else ""))
    box = re.findall(r"[-\d.]+", attributes.get("viewBox", ""))
    sides = []
    for name, at in (("width", 2), ("height", 3)):
        plain = re.match(r"[\d.]+(?=(?:px)?$)", attributes.get(name, ""))
        sides.append(float(plain[0]) if plain else float(box[at]) if len(box) == 4 else 0.0)
    width, height = sides
    return (width, height) if width > 0 and height > 0 else (642.0, 400.0)


def _png_size(raw: bytes) -> tuple[int, int]:
    if not raw.startswith(b"\x89PNG"):
        raise IndexError
    width, height = struct.unpack(">II", raw[16:24])
    return width, height


def _jpeg_size(raw: bytes) -> tuple[int, int]:
    at = 2
    while not (0xC0 <= raw[at + 1] <= 0xCF and raw[at + 1] not in {0xC4, 0xC8, 0xCC}):
        at += 2 + int.from_bytes(raw[at + 2 : at + 4], "big")
    height, width = struct.unpack(">HH", raw[at + 5 : at + 9])
    return width, height
