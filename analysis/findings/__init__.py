"""What a season says: the numbers of the first page, sentences, and frames laid out for reading."""

from analysis.findings.attention import attention
from analysis.findings.growing import Growth, growing
from analysis.findings.growth_said import in_time, lost_chicks, warnings, watched
from analysis.findings.growth_tables import (
    kinds_table,
    outside_tables,
    pairs_table,
    place_words,
    rule_table,
    states_table,
    usual,
)
from analysis.findings.judged_said import (
    advice_said,
    ahead_said,
    cannot_tell,
    heat_said,
    places_said,
    prior_said,
    related_said,
)
from analysis.findings.judged_tables import (
    advice_table,
    ahead_table,
    both_ways_table,
    events_table,
    hens_table,
    likely_of_pairs,
    likely_of_places,
    partners_table,
    survival_table,
    typical_rates,
)
from analysis.findings.judging import Judging, judging
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
    "Judging",
    "advice_said",
    "advice_table",
    "ahead_said",
    "ahead_table",
    "attention",
    "both_ways_table",
    "cannot_tell",
    "curves_table",
    "earlier_table",
    "events_table",
    "growing",
    "headline",
    "heat_said",
    "hens_table",
    "in_time",
    "judging",
    "kinds_table",
    "likely_of_pairs",
    "likely_of_places",
    "losses_table",
    "lost_chicks",
    "no_curve_table",
    "outside_tables",
    "pairs_table",
    "partners_table",
    "place_words",
    "places_said",
    "prior_said",
    "problems_table",
    "rates_table",
    "reading_lines",
    "related_said",
    "rule_table",
    "season_line",
    "settings_table",
    "states_table",
    "survival_table",
    "typical_rates",
    "unanswered",
    "usual",
    "warnings",
    "watched",
    "whereabouts",
]
