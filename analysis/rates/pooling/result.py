"""What `pooled` returns."""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.rates.pooling.levels import inv_logit
from analysis.rates.pooling.model import NEVER, NEVER_APART, NEVER_LOGIT, Array, Index, Model, share_logits
from analysis.rates.pooling.posterior import Draws
from analysis.say import in_words

EVEN = 4000


@dataclass(frozen=True)
class Even:
    """Draws of equal weight.

    Parameters
    ----------
    mu : (draws,)
    sd : of each group, (draws,)
    effects : of each group, (draws, levels), on the logit
    never : (draws, levels of the first group), the rate of a level that never works in that draw, else NaN
    share_never, failing : (draws,) or None where the model has none
    """

    mu: Array
    sd: dict[str, Array]
    effects: dict[str, Array]
    never: Array
    share_never: Array | None
    failing: Array | None

    def rates(self, at: dict[str, int | None], first: str, rng: np.random.Generator) -> Array:
        """Rates of these levels together; None: a level that was never seen."""
        eta, never = self.mu.copy(), np.full(len(self.mu), np.nan)
        for group, number in at.items():
            if number is not None:
                eta = eta + self.effects[group][:, number]
                never = self.never[:, number] if group == first else never
                continue
            eta = eta + self.sd[group] * rng.standard_normal(len(eta))
            if group == first and self.share_never is not None:
                out = rng.random(len(eta)) < self.share_never
                never = np.where(out, rng.beta(*NEVER, len(eta)), np.nan)
        return np.where(np.isnan(never), inv_logit(eta), never)


def resampled(draws: Draws, seed: int) -> Index:
    """As how many even draws each draw is taken, as its weight says."""
    at = np.searchsorted(np.cumsum(draws.weights), (np.arange(EVEN) + np.random.default_rng([seed, 1]).random()) / EVEN)
    return np.bincount(np.minimum(at, len(draws.x) - 1), minlength=len(draws.x))


def even_of(m: Model, x: Array, sds: Array, node: Index, rng: np.random.Generator) -> Even:
    """Put together what was drawn, shuffled: of the first group its nodes, moved evenly about them."""
    turn = rng.permutation(len(x))
    x, sds, node = x[turn], sds[turn], node[turn]
    nodes, apart = len(m.u), m.u[1] - m.u[0]
    u = m.u[np.minimum(node, nodes - 1)] + apart * (rng.random(node.shape) - 0.5)
    out = node >= nodes
    logit = NEVER_LOGIT[np.maximum(node - nodes, 0)] + NEVER_APART * (rng.random(node.shape) - 0.5)
    first, *others = m.design.groups
    effects, begin = {first: np.where(out, -np.inf, sds[:, :1] * u)}, 1
    for number, group in enumerate(others, start=1):
        end = begin + m.design.sizes[number]
        effects[group], begin = sds[:, number : number + 1] * x[:, begin:end], end
    return Even(
        mu=x[:, 0],
        sd={group: sds[:, number] for number, group in enumerate(m.design.groups)},
        effects=effects,
        never=np.where(out, inv_logit(logit), np.nan),
        share_never=inv_logit(share_logits(m, x)[1]) if m.never else None,
        failing=inv_logit(share_logits(m, x)[0]) if m.failures else None,
    )


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
