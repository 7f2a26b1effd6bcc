"""What a season says: the numbers of the first page, sentences, and frames laid out for reading."""

from analysis.findings.attention import attention
from analysis.findings.cautions import CAUTIONS, PROMISE
from analysis.findings.chick_fed import chick_named, fed_said
from analysis.findings.chick_page import about_chick, chick_line, not_known_of_chick
from analysis.findings.chick_stands import flagged_said, signs_said, stands, weights_said
from analysis.findings.growing import Growth, growing
from analysis.findings.growth_said import in_time, warnings, watched
from analysis.findings.growth_tables import (
    kinds_table,
    outside_tables,
    pairs_table,
    place_words,
    rule_table,
    states_table,
    usual,
)
from analysis.findings.in_short import asks_most, growth_in_short, logs_in_short, pairs_in_short
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
from analysis.findings.lost_said import beside_mates, lost_chicks
from analysis.findings.next_steps import has_only_begun, here_table, next_steps
from analysis.findings.not_weaned import NOT_WEANED, burnt_said, not_weaned, not_weaned_said
from analysis.findings.overview import day_line, headline, reading_lines, season_line, unanswered, whereabouts
from analysis.findings.pair_advice import advice_items, birds_items
from analysis.findings.pair_chicks import chick_notes, chicks_of, chicks_said, not_known
from analysis.findings.pair_page import PairPages, about_pair, pair_line, pair_named, pair_pages
from analysis.findings.pair_record import record_note, record_table
from analysis.findings.rule_said import called_by_rule, may_wean, near_fledging
from analysis.findings.tables import (
    curves_table,
    earlier_table,
    losses_by_age,
    losses_table,
    no_curve_table,
    problems_table,
    rates_table,
    settings_table,
)
from analysis.findings.untrusted import NO_HATCHING, WITHHELD, untrusted

__all__ = [
    "CAUTIONS",
    "NOT_WEANED",
    "NO_HATCHING",
    "PROMISE",
    "WITHHELD",
    "Growth",
    "Judging",
    "PairPages",
    "about_chick",
    "about_pair",
    "advice_items",
    "advice_said",
    "advice_table",
    "ahead_said",
    "ahead_table",
    "asks_most",
    "attention",
    "beside_mates",
    "birds_items",
    "both_ways_table",
    "burnt_said",
    "called_by_rule",
    "cannot_tell",
    "chick_line",
    "chick_named",
    "chick_notes",
    "chicks_of",
    "chicks_said",
    "curves_table",
    "day_line",
    "earlier_table",
    "events_table",
    "fed_said",
    "flagged_said",
    "growing",
    "growth_in_short",
    "has_only_begun",
    "headline",
    "heat_said",
    "hens_table",
    "here_table",
    "in_time",
    "judging",
    "kinds_table",
    "likely_of_pairs",
    "likely_of_places",
    "logs_in_short",
    "losses_by_age",
    "losses_table",
    "lost_chicks",
    "may_wean",
    "near_fledging",
    "next_steps",
    "no_curve_table",
    "not_known",
    "not_known_of_chick",
    "not_weaned",
    "not_weaned_said",
    "outside_tables",
    "pair_line",
    "pair_named",
    "pair_pages",
    "pairs_in_short",
    "pairs_table",
    "partners_table",
    "place_words",
    "places_said",
    "prior_said",
    "problems_table",
    "rates_table",
    "reading_lines",
    "record_note",
    "record_table",
    "related_said",
    "rule_table",
    "season_line",
    "settings_table",
    "signs_said",
    "stands",
    "states_table",
    "survival_table",
    "typical_rates",
    "unanswered",
    "untrusted",
    "usual",
    "warnings",
    "watched",
    "weights_said",
    "whereabouts",
]
