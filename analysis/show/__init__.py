"""What a cell of a notebook shows, in one bundle that every reader can use."""

from analysis.show import controls
from analysis.show.displays import (
    Display,
    Format,
    attention,
    cover,
    each,
    heading,
    if_any,
    item_words,
    lines,
    nothing,
    numbers,
    prose,
    ready,
    table,
    warning,
)
from analysis.show.still import MIME
from analysis.trouble import plain_errors

__all__ = [
    "MIME",
    "Display",
    "Format",
    "attention",
    "controls",
    "cover",
    "each",
    "heading",
    "if_any",
    "item_words",
    "lines",
    "nothing",
    "numbers",
    "plain_errors",
    "prose",
    "ready",
    "table",
    "warning",
]
