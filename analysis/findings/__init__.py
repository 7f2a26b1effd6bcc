"""What a season says: the numbers of the first page, sentences, and frames laid out for reading."""

from analysis.findings.attention import attention
from analysis.findings.growing import Growth, growing
from analysis.findings.growth_said import in_time, watched
from analysis.findings.growth_tables import (
    kinds_table,
    outside_tables,
    pairs_table,
    place_words,
    rule_table,
    states_table,
    usual,
)
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
    "in_time",
    "kinds_table",
    "losses_table",
    "no_curve_table",
    "outside_tables",
    "pairs_table",
    "place_words",
    "problems_table",
    "rates_table",
    "reading_lines",
    "rule_table",
    "season_line",
    "settings_table",
    "states_table",
    "unanswered",
    "usual",
    "watched",
    "whereabouts",
]
