"""What weighted draws say of every level."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from analysis.rates.pooling.design import Array, Index
from analysis.rates.pooling.even import Own
from analysis.rates.pooling.model import NEVER_APART, NEVER_LOGIT, Model, inv_logit
from analysis.rates.pooling.posterior import Draws, Part

# Rates are counted on an even line of logits.
FINE = 0.02
LINE = np.arange(-16.0, 16.0 + FINE / 2, FINE)
ENDS = (0.025, 0.975)


@dataclass(frozen=True)
class Levels:
    """One group's levels: mean, low, high, below and never, (levels,) each."""

    mean: Array
    low: Array
    high: Array
    below: Array
    never: Array


def first_group(m: Model, draws: Draws, times: Index, rng: np.random.Generator) -> tuple[Levels, Array, Own]:
    """The levels of the group that is integrated over; `times`: as how many even draws each draw is taken.

    Also each lost clutch's chance that it failed whole, and even draws of the levels.
    """
    levels, failed, own = m.design.sizes[0], np.zeros(len(m.design.lost)), []
    counted, never_counted = np.zeros((levels, len(LINE))), np.zeros((levels, len(NEVER_LOGIT)))
    mean, below = np.zeros((2, levels))
    for part in draws.parts:
        share, of_lost = draws.within(part)
        own.append(_chosen(part, share, times[part.at], rng))
        failed += draws.weights[part.at] @ of_lost
        share = share * draws.weights[part.at, None, None].astype(share.dtype)
        u, never = part.model.u, share[:, :, len(part.model.u) :]
        eta, mine = draws.x[part.at, :1] + draws.sds[part.at, :1] * u, share[:, :, : len(u)]
        mean += np.einsum("blj,bj->l", mine, inv_logit(eta), optimize=True)
        below += np.einsum("blj,j->l", mine, below_zero(u), optimize=True)
        at = np.clip(np.rint((eta - LINE[0]) / FINE), 0, len(LINE) - 1).astype(int).ravel()
        for level in range(levels):
            counted[level] += np.bincount(at, mine[:, level].ravel(), len(LINE))
        never_counted += never.sum(axis=0) if m.options.never else 0.0
    mean, below = mean + never_counted @ inv_logit(NEVER_LOGIT), below + never_counted.sum(axis=1)
    low, high = ends_on_line(counted + spread_out(never_counted))
    return Levels(mean, low, high, below, never_counted.sum(axis=1)), failed, _joined(own)


def own_draws(draws: Draws, times: Index, rng: np.random.Generator) -> Own:
    """Even draws of the levels alone."""
    return _joined([_chosen(part, draws.within(part)[0], times[part.at], rng) for part in draws.parts])


def _joined(own: Iterable[Own]) -> Own:
    return Own(*(np.concatenate(part) for part in zip(*((one.draw, one.u, one.never) for one in own), strict=True)))


def below_zero(u: Array) -> Array:
    """What each of evenly laid nodes, 0 among them, adds to the integral up to 0 of what is smooth, by sinc functions.

    Half of the node at 0 alone would be off by up to 0.03 where the nodes are far apart.
    """
    from scipy.special import sici

    return np.asarray(0.5 - sici(np.pi * np.rint(u / (u[1] - u[0])))[0] / np.pi)


def ends_on_line(counted: Array) -> tuple[Array, Array]:
    """Ends of the 95 % interval of rates whose chances stand along the line of logits, (levels, line)."""
    total = np.cumsum(counted, axis=1)
    ends = [[np.interp(end * row[-1], row, LINE + FINE / 2) for row in total] for end in ENDS]
    low, high = inv_logit(np.array(ends))
    return low, high


def _chosen(part: Part, share: Array, times: Index, rng: np.random.Generator) -> Own:
    """Even draws of the nodes of the levels, moved evenly about them and drawn in by the width that this adds."""
    u, total = part.model.u, np.cumsum(share, axis=2).repeat(times, axis=0)  # as often as each draw stands for
    node = (total < rng.random(total.shape[:2])[..., None] * total[..., -1:]).sum(axis=2)
    away, nodes, apart = rng.random(node.shape) - 0.5, len(u), u[1] - u[0]
    own = share[:, :, :nodes] / np.maximum(share[:, :, :nodes].sum(axis=2, keepdims=True), 1e-30)
    mean, square = (np.matmul(own, u**power).repeat(times, axis=0) for power in (1, 2))
    width = np.maximum(square - mean**2, 0.0)
    effect = mean + (u[np.minimum(node, nodes - 1)] + apart * away - mean) * np.sqrt(width / (width + apart**2 / 12))
    logit = NEVER_LOGIT[np.clip(node - nodes, 0, len(NEVER_LOGIT) - 1)] + NEVER_APART * away
    never = np.where(node >= nodes, logit, np.nan)
    return Own(part.at.repeat(times), effect, never)


def spread_out(never_counted: Array) -> Array:
    """What lies on the nodes of a level that never works, spread evenly between them along the line."""
    spread = np.zeros((len(never_counted), len(LINE)))
    width = round(NEVER_APART / FINE)
    at = np.rint((NEVER_LOGIT - LINE[0]) / FINE).astype(int)
    for away in range(-(width // 2), width - width // 2):
        spread[:, at + away] += never_counted / width
    return spread


def other_group(mu: Array, effects: Array, weights: Array) -> Levels:
    """Another group's levels, from weighted draws of mu (draws,) and of the effects (draws, levels)."""
    rate = inv_logit(mu[:, None] + effects)
    order = np.argsort(rate, axis=0)
    ends = [weighted_ends(rate[order[:, j], j], weights[order[:, j]]) for j in range(rate.shape[1])]
    low, high = np.array(ends).T if ends else (np.array([]), np.array([]))
    return Levels(weights @ rate, low, high, weights @ (effects < 0), np.full(rate.shape[1], np.nan))


def weighted_ends(values: Array, weights: Array) -> Array:
    """Ends of the 95 % interval of weighted values that are in order."""
    middle = np.cumsum(weights) - weights / 2
    return np.asarray(np.interp(np.array(ENDS) * weights.sum(), middle, values))
