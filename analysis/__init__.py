"""A breeding season's logs → rates, growth, advice and a report.

Start with `open_season`; the rest takes the frames it holds.
"""

from analysis.errors import SeasonError
from analysis.season import Season, open_season

__version__ = "0.1.0"
__all__ = ["Season", "SeasonError", "__version__", "open_season"]
