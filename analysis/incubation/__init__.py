"""Eggs in incubation: mass, water loss, expected hatch, and incubators out of range. Frames in, frames out.

egg_mass       volume and fresh mass from length and breadth, and a species' own constant
water_loss     what each egg has lost, and will have lost at pip
water_line     the model of it
guide_lines    between which that is usual
water_advice   what that asks of an incubator
shells         what it tells of a pair's shells
hatch_days     when each egg is expected to pip and to hatch
out_of_range   how long an incubator was too warm or too cold
spells         when that was, and the eggs that were in it then
"""

from analysis.incubation.egg_mass import HOYT_G_PER_CM3, OwnConstant, egg_volume_cm3, fresh_mass_g, own_constant
from analysis.incubation.guide_lines import HIGH_LINE, LINES_SOURCE, LOW_LINE, Lines, lines_of, lines_words
from analysis.incubation.hatch_days import OVERDUE, expected_hatch, how_far
from analysis.incubation.out_of_range import humidity_range, time_out
from analysis.incubation.shells import pair_shells
from analysis.incubation.spells import inside, spells
from analysis.incubation.water_advice import Advice, advice, advice_for, group_losses
from analysis.incubation.water_loss import loss_of_two, water_loss

__all__ = [
    "HIGH_LINE",
    "HOYT_G_PER_CM3",
    "LINES_SOURCE",
    "LOW_LINE",
    "OVERDUE",
    "Advice",
    "Lines",
    "OwnConstant",
    "advice",
    "advice_for",
    "egg_volume_cm3",
    "expected_hatch",
    "fresh_mass_g",
    "group_losses",
    "how_far",
    "humidity_range",
    "inside",
    "lines_of",
    "lines_words",
    "loss_of_two",
    "own_constant",
    "pair_shells",
    "spells",
    "time_out",
    "water_loss",
]
