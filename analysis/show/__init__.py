"""What a cell of a notebook shows, in one bundle that every reader can use."""

from analysis.show.displays import (
    WARNING,
    Display,
    Format,
    attention,
    cover,
    each,
    heading,
    nothing,
    numbers,
    prose,
    ready,
    table,
    warning,
)
from analysis.show.still import MIME
from analysis.show.trouble import plain_errors

__all__ = [
    "MIME",
    "WARNING",
    "Display",
    "Format",
    "attention",
    "cover",
    "each",
    "heading",
    "nothing",
    "numbers",
    "plain_errors",
    "prose",
    "ready",
    "table",
    "warning",
]
