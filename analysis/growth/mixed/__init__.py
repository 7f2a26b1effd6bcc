"""Mixed fits: population, pairs and chicks together, by Lindstrom & Bates' linearisation.

From below: likelihood (of a straightened model), straight (curves made so), search (the two in turn), integrate
(intervals, centiles), result, starts (what may be asked for, and where the search begins).
"""

from analysis.growth.mixed.result import MixedFit
from analysis.growth.mixed.starts import fit_mixed

__all__ = ["MixedFit", "fit_mixed"]
