"""What a season says: the numbers of the first page, sentences, and frames laid out for reading."""

from analysis.findings.attention import attention
from analysis.findings.growing import Growth, growing
from analysis.findings.overview import headline, reading_lines, season_line, unanswered, whereabouts
from analysis.findings.tables import (
    curves_table,
    earlier_table,
    losses_table,
    no_curve_table,
    problems_table,
    rates_table,
    settings_table,
)

__all__ = [
    "Growth",
    "attention",
    "curves_table",
    "earlier_table",
    "growing",
    "headline",
    "losses_table",
    "no_curve_table",
    "problems_table",
    "rates_table",
    "reading_lines",
    "season_line",
    "settings_table",
    "unanswered",
    "whereabouts",
]
