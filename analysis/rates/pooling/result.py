"""What `pooled` returns."""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.rates.pooling.design import Array
from analysis.rates.pooling.even import Even
from analysis.say import in_words

# By whether it is the exact one.
METHODS = {True: found("rates.exact"), False: found("rates.nested")}


@dataclass(frozen=True, eq=False)
class Pooled:
    """Rates of all levels of all groups together.

    Attributes
    ----------
    groups : frame
        A row a level, groups as given, levels by name: group, name, tried, worked, raw (worked / tried; NaN where
        nothing was tried), mean, low, high (95 %) of its rate with all other groups at an effect of 0, p_below_typical
        (the probability that its effect is below 0), and with ``never=True`` p_never (that it never works).
    sd : frame
        Index group: mean, low, high of the standard deviation of its effects, on the logit.
    typical : Series
        mean, low, high of the rate where all effects are 0.
    share_failing, share_never : Series or None
        mean, low, high of the share of clutches that fail whole, and of levels that never work.
    failed : frame
        A row a clutch of which nothing worked, by its label in the frame: the groups, tried, p_failed (the probability
        that it failed whole). Empty where failures is off.
    found : tuple of findings
        What the data cannot tell apart, what was left out, and where the method is not the exact one.
    ess : float
        Effective sample size: how many independent draws the weighted ones are worth.
    exact : bool
        Whether draws were weighed by the exact posterior.
    """

    groups: pd.DataFrame
    sd: pd.DataFrame
    typical: pd.Series
    share_failing: pd.Series | None
    share_never: pd.Series | None
    failed: pd.DataFrame
    found: tuple[Finding, ...]
    ess: float
    exact: bool
    seed: int
    even: Even = field(repr=False)
    _first: str = field(repr=False)
    _names: dict[str, list[str]] = field(repr=False)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was found, a sentence each."""
        return tuple(in_words(note) for note in self.found)

    @property
    def method(self) -> str:
        """How the rates were worked out, in words."""
        return in_words(METHODS[self.exact])

    def rates(self, **names: object) -> Array:
        """Draws of the rate of these levels together, (draws,), each as likely as any other.

        The same draws stand behind every call. The effect of a level that was never seen is drawn from its group's
        spread; of a group that is not named it is 0.

        Parameters
        ----------
        names : by group, such as ``pair="P01", cage="C1"``

        Raises
        ------
        ValueError : a group that the rates were not worked out for

        Examples
        --------
        >>> from analysis.rates import pooled
        >>> frame = pd.DataFrame({"pair": ["P1", "P1", "P2"], "eggs": 4, "hatched": [4, 3, 0]})
        >>> fit = pooled(frame, groups=("pair",))
        >>> means = [fit.rates(pair=pair).mean() for pair in ("P2", "P3", "P1")]  # P3 was never seen
        >>> means == sorted(means)
        True
        """
        unknown = [group for group in names if group not in self._names]
        if unknown:
            raise ValueError(f"rates were worked out for {', '.join(self._names)}, not for {', '.join(unknown)}")
        at = {group: self._number(group, str(name)) for group, name in names.items()}
        unseen = sorted(f"{group} {names[group]}" for group, number in at.items() if number is None)
        seed = [self.seed, 2, *(ord(letter) for letter in " ".join(unseen))]
        return self.even.rates(at, self._first, np.random.default_rng(seed))

    def under(self, scale: float) -> pd.Series:
        """Mean rate of every level of the first group, had its spread been thought otherwise beforehand.

        The draws are weighed anew, by HalfNormal(scale) over HalfNormal(1), for all standard deviations.

        Parameters
        ----------
        scale : above 0; 0.5 for levels that differ half as much, 2 for twice as much

        Returns
        -------
        Series by name, to be compared with ``under(1.0)``

        Examples
        --------
        >>> from analysis.rates import pooled
        >>> frame = pd.DataFrame({"pair": ["P1", "P2", "P3"], "eggs": 8, "hatched": [7, 7, 1]})
        >>> fit = pooled(frame, groups=("pair",))
        >>> bool(fit.under(0.5)["P3"] > fit.under(1.0)["P3"] > fit.under(2.0)["P3"])
        True
        """
        sds = np.column_stack(list(self.even.sd.values()))
        weight = np.exp(-0.5 * np.sum(sds**2, axis=1) * (scale**-2 - 1))
        rates = {name: self.rates(**{self._first: name}) for name in self._names[self._first]}
        return pd.Series({name: float(draws @ weight / weight.sum()) for name, draws in rates.items()})

    @property
    def failing(self) -> Array | None:
        """Draws of the share of clutches that fail whole, (draws,), to go with `rates`; None where failures is off."""
        return self.even.failing

    def _number(self, group: str, name: str) -> int | None:
        names = self._names[group]
        return names.index(name) if name in names else None
