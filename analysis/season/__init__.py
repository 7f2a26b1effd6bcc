"""Clean rows → one season of linked tables."""

from analysis.season.model import Season
from analysis.season.opening import open_season
from analysis.season.spans import chick_spans

__all__ = ["Season", "chick_spans", "open_season"]
