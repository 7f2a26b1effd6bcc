"""A breeding season's logs → rates, growth, advice and a report.

Start with `open_season`; the rest takes the frames it holds.
"""

from typing import TYPE_CHECKING, Any

from analysis.errors import SeasonError

if TYPE_CHECKING:
    from analysis.season import Season, open_season

__version__ = "0.1.0"
__all__ = ["Season", "SeasonError", "__version__", "open_season"]


def __getattr__(name: str) -> Any:
    """What needs pandas is loaded when it is asked for: `season --help` and a menu of exports need not wait for it."""
    if name in ("Season", "open_season"):
        import analysis.season

        return getattr(analysis.season, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
