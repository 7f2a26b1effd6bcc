"""Mixed fits: population, pairs and chicks together, by Lindstrom & Bates' linearisation.

fit          fit_mixed: what may be asked for
model        the weighings; every curve made straight at its present parameters
covariance   standard deviations and correlations as numbers without bounds
likelihood   of the straightened model, from cross-products alone, and its slope
steps        from a likelihood to the population, pairs and chicks it speaks for
search       the alternation of the two, and where it begins
integrate    intervals: the standard deviations integrated over
mixture      quantiles of the mixtures that come of it
centiles     how heavy the lighter and the heavier chicks are at an age
own          what a chick's own weighings say, without the others' pull
notes        what could not be told, in words
result       MixedFit
"""

from analysis.growth.mixed.fit import fit_mixed
from analysis.growth.mixed.result import MixedFit

__all__ = ["MixedFit", "fit_mixed"]
