"""What the record says of pairs, cages and hens, worked out once and read by the first page and the chapter."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import pandas as pd

from analysis.findings.ahead import worked_ahead
from analysis.next_season import Outlook, outlook
from analysis.review import Record, hens, places, read_record, review_pairs
from analysis.season import Season, numbers_hold


@dataclass(frozen=True)
class Judging:
    """A season's pairs judged on all joined seasons; each part is worked out when it is asked for.

    Attributes
    ----------
    season : Season
    alone : whether to work everything out here, also where another process may have worked ahead
    """

    season: Season
    alone: bool = False

    @cached_property
    def _ahead(self) -> dict[str, Any]:
        return {} if self.alone else worked_ahead(self.season) or {}

    @cached_property
    def record(self) -> Record:
        """Every stage, a row a clutch and who did it, without what is set aside."""
        return self._ahead.get("record") or read_record(self.season)

    @cached_property
    def review(self) -> pd.DataFrame:
        """The advice for each pair: see `review_pairs`."""
        ahead = self._ahead.get("review")
        return review_pairs(self.season, self.record) if ahead is None else ahead

    @property
    def has_ended(self) -> bool:
        """Whether any egg or chick of any stage has come to its end, so that there is a rate at all."""
        return any((rows["tried"] > 0).any() for rows in self.record.rows.values())

    @cached_property
    def places(self) -> pd.DataFrame:
        """Cages and other places: see `places`."""
        return places(self.season, self.record)

    @cached_property
    def hens(self) -> pd.DataFrame:
        """How each hen's eggs hatched from season to season: see `hens`."""
        return hens(self.season, self.record)

    @cached_property
    def partners(self) -> pd.DataFrame:
        """What each bird did with each partner: see `partners`."""
        return self.record.partners

    @cached_property
    def outlook(self) -> Outlook | None:
        """Next season with all pairs kept that may breed; None where nothing was laid, or logs are damaged."""
        if self.record.clutches.empty or not numbers_hold(self.season, joined=True):
            return None
        if "outlook" in self._ahead:
            ahead: Outlook | None = self._ahead["outlook"]
            return ahead
        fit = self.review[self.review["advice"] != "stop breeding"]
        return outlook(self.season, list(fit["pair"]), record=self.record, review=self.review)


def judging(season: Season) -> Judging:
    """Judge a season's pairs on all joined seasons."""
    return Judging(season)


def heaviest(season: Season) -> dict[str, Any]:
    """The parts of a judging that take longest, by name, worked out now."""
    judged = Judging(season, alone=True)
    return {"record": judged.record, "review": judged.review, "outlook": judged.outlook}
