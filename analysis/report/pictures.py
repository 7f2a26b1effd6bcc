"""Pictures on their way to the page: their size, and photos inside an SVG."""

import base64
import re
import struct
from collections.abc import Mapping

PT_PER_PX = 0.75
TEXT_WIDTH_PT = 481.9  # 170 mm
_ROOM_PT = {"A4": 640.0, "Letter": 590.0}  # text height less a heading and a caption
_PHOTO = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 {w} {h}" width="{w}" height="{h}"><image width="{w}" height="{h}" xlink:href="data:{mime};base64,{data}"/></svg>'  # noqa: E501
_HEAD = re.compile(r"<svg\b[^>]*>")
_DATA_ADDRESS = re.compile(r"data:(image/(?:png|jpeg));base64,(.+)", re.DOTALL)


def photo_svg(bundle: Mapping[str, str]) -> str | None:
    """A pasted photo inside an SVG (the typesetter takes text only), or None where it cannot be read.

    Parameters
    ----------
    bundle
        MIME type to base64 text, as a notebook's attachment or output holds it; PNG and JPEG are read.
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


def from_address(address: str) -> dict[str, str]:
    """The bundle of a `data:` address, empty for any other: nothing is fetched.

    Examples
    --------
    >>> from_address("data:image/png;base64,AAAA"), from_address("https://example.org/a.png")
    ({'image/png': 'AAAA'}, {})
    """
    found = _DATA_ADDRESS.fullmatch(address)
    return {found[1]: found[2]} if found else {}


def page_width_pt(svg: str, paper: str) -> float:
    """Width at which a picture stands on the page, so that neither side runs over its edge.

    Examples
    --------
    >>> page_width_pt('<svg width="642" height="100">', "A4")
    481.5
    >>> page_width_pt('<svg width="642" height="2000">', "A4") < 300
    True
    """
    width, height = _size_px(svg)
    fit = min(1.0, TEXT_WIDTH_PT / (width * PT_PER_PX), _ROOM_PT[paper] / (height * PT_PER_PX))
    return round(width * PT_PER_PX * fit, 2)


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
