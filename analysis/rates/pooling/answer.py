"""What a model says of everything, by the method that suits its size."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.rates.pooling import one_group
from analysis.rates.pooling.design import Array
from analysis.rates.pooling.even import EVEN_DRAWS, Even, even_draws, times_drawn
from analysis.rates.pooling.levels import Levels, first_group, other_group, own_draws, weighted_ends
from analysis.rates.pooling.model import Model, inv_logit, shares_of
from analysis.rates.pooling.posterior import draw, is_large

NESTED = "rates.nested"  # the method that is not exact


@dataclass(frozen=True)
class Answer:
    """Levels and standard deviation of each group, and the rest as `Pooled` has it; `method`: its word."""

    levels: dict[str, Levels]
    sd: dict[str, pd.Series]
    typical: pd.Series
    share_failing: pd.Series | None
    share_never: pd.Series | None
    failed: Array
    even: Even
    ess: float
    method: str


def answer(m: Model, seed: int) -> Answer:
    """Quadrature for one group, draws that are weighed for several, nested Laplace for very many effects."""
    return _by_quadrature(m, seed) if one_group.is_small(m) else _by_draws(m, seed, large=is_large(m))


def _by_quadrature(m: Model, seed: int) -> Answer:
    found, rng = one_group.quadrature(m), np.random.default_rng([seed, 3])
    draws, everyone = one_group.drawn(m, found, rng), np.ones(EVEN_DRAWS, int)

    def share(name: str) -> pd.Series | None:
        return _told(*found.told(name, lambda x: one_group.share_at(m, name, x))) if name in m.outer else None

    return Answer(
        levels={m.design.groups[0]: found.levels},
        sd={m.design.groups[0]: _told(*found.told("root", np.square))},
        typical=_told(*found.told("mu", inv_logit)),
        share_failing=share("failures"),
        share_never=share("never"),
        failed=found.failed,
        even=even_draws(m, draws, own_draws(draws, everyone, rng), rng),
        ess=draws.ess,
        method="rates.quadrature",
    )


def _by_draws(m: Model, seed: int, *, large: bool) -> Answer:
    draws = draw(m, seed, large=large)
    rng, shares = np.random.default_rng([seed, 3]), shares_of(m, draws.x)
    first, failed, own = first_group(m, draws, times_drawn(draws.weights, seed), rng)
    groups, levels = m.design.groups, {m.design.groups[0]: first}
    for number, (group, part) in enumerate(zip(groups[1:], m.effects, strict=True), start=1):
        levels[group] = other_group(draws.x[:, 0], draws.sds[:, number, None] * draws.x[:, part], draws.weights)

    def told(values: Array | None, of: Callable[[Array], Array] = inv_logit) -> pd.Series | None:
        return None if values is None else _mean_and_ends(of(values), draws.weights)

    return Answer(
        levels=levels,
        sd={group: _mean_and_ends(draws.sds[:, number], draws.weights) for number, group in enumerate(groups)},
        typical=_mean_and_ends(inv_logit(draws.x[:, 0]), draws.weights),
        share_failing=told(shares.failing),
        share_never=told(shares.never),
        failed=failed,
        even=even_draws(m, draws, own, rng),
        ess=draws.ess,
        method=NESTED if large else "rates.exact",
    )


def _mean_and_ends(values: Array, weights: Array) -> pd.Series:
    order = np.argsort(values)
    return _told(float(weights @ values), *weighted_ends(values[order], weights[order]))


def _told(mean: float, low: float, high: float) -> pd.Series:
    return pd.Series({"mean": mean, "low": float(low), "high": float(high)})
