"""A breeding season's logs → rates, growth, advice and a report.

Start with `open_season`; the rest takes the season, or the frames it holds.
"""

from typing import TYPE_CHECKING, Any

from analysis.errors import SeasonError

if TYPE_CHECKING:
    from analysis.growth import find_flags, fit_each, fit_mixed, reference_curve
    from analysis.pairs.by_hen import hens
    from analysis.pairs.by_place import places
    from analysis.pairs.next_season import outlook
    from analysis.pairs.review import review_pairs
    from analysis.rates import interval, kaplan_meier, pooled
    from analysis.season import Season, open_season
    from analysis.simulate import simulate_season

__version__ = "0.1.0"
__all__ = [  # noqa: RUF022 - in the order a reader meets them
    "open_season",
    "Season",
    "SeasonError",
    "fit_each",
    "fit_mixed",
    "find_flags",
    "reference_curve",
    "interval",
    "pooled",
    "kaplan_meier",
    "review_pairs",
    "outlook",
    "places",
    "hens",
    "simulate_season",
    "__version__",
]
_ROOM_OF = {
    **dict.fromkeys(("open_season", "Season"), "season"),
    **dict.fromkeys(("fit_each", "fit_mixed", "find_flags", "reference_curve"), "growth"),
    **dict.fromkeys(("interval", "pooled", "kaplan_meier"), "rates"),
    "places": "pairs.by_place",
    "hens": "pairs.by_hen",
    "review_pairs": "pairs.review",
    "outlook": "pairs.next_season",
    "simulate_season": "simulate",
}


if not TYPE_CHECKING:  # to mypy any name would be there

    def __getattr__(name: str) -> Any:
        """What needs pandas is loaded when it is asked for: `season --help` and a menu of exports do not wait."""
        if name in _ROOM_OF:
            from importlib import import_module

            return getattr(import_module(f"analysis.{_ROOM_OF[name]}"), name)
        from difflib import get_close_matches

        if near := get_close_matches(name, __all__, n=1, cutoff=0.7):
            raise AttributeError(f"module {__name__!r} has no name {name}. Did you mean {near[0]}?", name=name)
        raise AttributeError(
            f"module {__name__!r} has no name {name}. There are: {', '.join(__all__[:-1])}.", name=name
        )


def __dir__() -> list[str]:
    return __all__
