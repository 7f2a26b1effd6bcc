"""Write the widths of the typeface anew, after another version of it: `PYTHONPATH=$PWD python tests/widths.py`."""

import json
from itertools import groupby
from pathlib import Path

from fontTools.ttLib import TTFont

from analysis.show import fonts


def widths_of_the_typeface() -> dict[str, float]:
    """Character to width in em, as the font file has it; figures as the page sets them, all of one width."""
    with TTFont(Path(fonts.font_folder()) / "FiraSans-Regular.ttf", lazy=True) as font:
        units, widths = font["head"].unitsPerEm, font["hmtx"].metrics
        drawn = {chr(code): widths[glyph][0] / units for code, glyph in font.getBestCmap().items()}
        return drawn | dict.fromkeys("0123456789", widths["one.tf"][0] / units)


def table() -> str:
    """The same as it is kept: a line for each width in thousandths, with its characters."""
    drawn = sorted((round(1000 * width), sign) for sign, width in widths_of_the_typeface().items())
    lines = {str(width): "".join(sign for _, sign in some) for width, some in groupby(drawn, key=lambda one: one[0])}
    return json.dumps(lines, indent=0) + "\n"


if __name__ == "__main__":
    fonts.WIDTHS.write_text(table(), encoding="utf-8")
