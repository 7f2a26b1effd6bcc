"""A pair beside one that was never seen: how likely parting would gain, what a check would, and other priors."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from analysis.pairs.beforehand import beforehand
from analysis.pairs.evidence import ClutchValue, clutch_value
from analysis.pairs.record import FERTILE, HATCH, INTACT, STAGES, WEAN, Array, Record

_SEASONS = 3.0  # over which a new pair's settling is spread (practice)
_FAILS_OFTENER = 9.0  # one clutch in ten, not one in twenty: Beta(1, 9)
_FIELDS = {INTACT: "intact", FERTILE: "fertile", HATCH: "hatch", WEAN: "wean"}


@dataclass(frozen=True)
class BesideNew:
    """What a clutch of a pair gives, `own`, and of a `new` one in its place, drawn together; `short`: see below.

    The new one is drawn from the spread of the aviary's own pairs, never fertile ones among them, in the same season
    and, where pair and cage cannot be told apart, in the same cage. Over three seasons the one that it settles in costs
    it the share `short` of its chicks.
    """

    own: ClutchValue
    new: ClutchValue
    short: float

    @classmethod
    def of(cls, record: Record, pair: str) -> "BesideNew":
        """Draw both; the setting `settling_cost` says what settling costs in the first season."""
        short = record.season.settings.number("settling_cost") / _SEASONS
        return cls(clutch_value(record, pair), clutch_value(record, pair, new=True), short)

    @property
    def worse(self) -> Array:
        """In which draws the pair gives less than the new one, (draws,): 1 or 0, NaN where no clutch was counted."""
        own, new = self.own.weaned, (1 - self.short) * self.new.weaned
        return np.where(np.isnan(own), np.nan, (own < new).astype(float))

    def mended(self, stage: str) -> float:
        """Chicks weaned that a clutch would give more, were the pair at one stage like a new one."""
        part = _FIELDS[stage]
        return float((replace(self.own, **{part: getattr(self.new, part)}).weaned - self.own.weaned).mean())


def p_worse_than_new(record: Record, beside: BesideNew, weighed: Mapping[str, Array] | None = None) -> float:
    """How likely the pair gives fewer chicks than a new one; `weighed` by stage, as in `other_priors`."""
    weights = None
    if weighed is not None:
        weights = np.prod([weighed[stage][record.together[stage]] for stage in STAGES], axis=0)
    return float(np.average(beside.worse, weights=weights))


def other_priors(record: Record) -> dict[str, dict[str, Array]]:
    """What each draw would weigh, by stage, had something else been thought beforehand; by the code that says what.

    Pairs and places differ half or twice as much; the usual rates lie one spread lower or higher than published counts
    have them; clutches fail whole twice as often.
    """
    options = dict(zip(STAGES, beforehand(record.birds.pairs["species"]), strict=True))
    priors: dict[str, dict[str, Array]] = {}
    for stage, told in options.items():
        even = record.rates[stage].even
        away = (even.mu - told["centre"]) / told["spread"]
        sure = np.zeros(len(away)) if even.failing is None else np.log1p(-even.failing)
        apart = {"pairs.prior-half": even.weights(0.5), "pairs.prior-twice": even.weights(2.0)}
        moved = {"pairs.prior-lower": -away, "pairs.prior-higher": away}
        moved["pairs.prior-failing"] = (_FAILS_OFTENER - told.get("failing", _FAILS_OFTENER)) * sure
        for code, weights in (apart | {code: np.exp(log - log.max()) for code, log in moved.items()}).items():
            priors.setdefault(code, {})[stage] = weights
    return priors
