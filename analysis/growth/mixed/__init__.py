"""Mixed fits: population, pairs and chicks together, by Lindstrom & Bates' linearisation.

From below: likelihood (of a straightened model, and its slope), model (curves made straight), search (the alternation
of the two), fit (what may be asked for, and where the search begins), integrate (intervals, centiles), result.
"""

from analysis.growth.mixed.fit import fit_mixed
from analysis.growth.mixed.result import MixedFit

__all__ = ["MixedFit", "fit_mixed"]
