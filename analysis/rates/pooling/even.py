"""Draws of equal weight, the same for every question, so that stages can be multiplied draw by draw."""

from dataclasses import dataclass

import numpy as np

from analysis.rates.pooling.design import Array, Index
from analysis.rates.pooling.levels import inv_logit
from analysis.rates.pooling.model import NEVER, NEVER_APART, NEVER_LOGIT, Model, share_logits
from analysis.rates.pooling.sample import Draws

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
