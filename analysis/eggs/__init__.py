"""Eggs in incubation: what each weighs and loses, when it is expected, and incubators out of range.

of_season      `Eggs`: the eggs of a season on a day, worked out once
findings       what they ask for: humidity by place, shells by pair, days to pip and hatch
egg_mass       volume and fresh mass from length and breadth, and a species' own constant
water_loss     what each egg has lost, and will have lost at pip; what that tells of a pair's shells
water_line     the model of it
water_advice   between which lines of its species it is usual, and what it asks of an incubator
hatch_days     the usual days of a species, and when each egg is expected to pip and to hatch
incubators     how long one was too warm or too cold, and the eggs that were in it then
"""

from analysis.eggs.of_season import Eggs

__all__ = ["Eggs"]
