"""Frames in, Altair charts out. Nothing is computed here: a chart shows the numbers of its frame.

Every chart carries its alt text (`description`: a sentence made from the frame's numbers) and its caption
(``usermeta["caption"]``), and is drawn by Vega-Lite 5 and later. On a screen one can point, choose and draw across
weeks; with nothing chosen, and so on paper, all is shown. All are as wide as the page. A function that is given
nothing to draw raises ``ValueError("nothing to draw: ...")``: ask before. What a keeper typed is only ever data.
"""

from analysis.charts.bars import egg_path_chart, losses_by_age_chart, losses_by_cause_chart
from analysis.charts.by_chick import brood_charts, growth_by_chick
from analysis.charts.calendar import losses_calendar
from analysis.charts.flagged import flagged_chicks
from analysis.charts.growth import growth_by_kind
from analysis.charts.rates import pair_growth_chart, stages_chart
from analysis.charts.readings import readings_chart
from analysis.charts.survival import survival_chart
from analysis.charts.water_loss import water_loss_chart

__all__ = [
    "brood_charts",
    "egg_path_chart",
    "flagged_chicks",
    "growth_by_chick",
    "growth_by_kind",
    "losses_by_age_chart",
    "losses_by_cause_chart",
    "losses_calendar",
    "pair_growth_chart",
    "readings_chart",
    "stages_chart",
    "survival_chart",
    "water_loss_chart",
]
