"""From where on a record is judged: the keeper's thresholds."""

from dataclasses import dataclass

from analysis.logs import Settings


@dataclass(frozen=True)
class Limits:
    """The keeper's thresholds: see the settings of the same names."""

    clutches: int
    eggs: int
    share: float
    sure_to_check: float
    sure_to_part: float

    @classmethod
    def of(cls, settings: Settings) -> "Limits":
        """Read them from the settings."""
        clutches, eggs = int(settings.number("enough_clutches")), int(settings.number("enough_eggs"))
        rates = (settings.number(name) for name in ("low_share", "sure_to_check", "sure_to_part"))
        return cls(clutches, eggs, *rates)
