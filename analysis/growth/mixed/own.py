"""What a chick's own weighings say of its weight at an age.

A mixed fit draws every chick towards the others, most where its weighings are few. To ask afterwards what chicks have
in common, such as a pair, that pull must be taken off again: of two normal distributions, what the chick is believed
to weigh with its weighings (mean m, variance s²) and without (m0, t²), the weighings' own part has the precision
1/s² - 1/t² and the mean that makes the first of the second.
"""

import numpy as np

from analysis.growth.curves import Array
from analysis.growth.mixed.model import Model
from analysis.growth.mixed.steps import State

# Chicks are let differ by this share more than they seem to, or where that is by nothing they could say nothing.
MORE_DIFFERENT = 0.02
# Weighings that say less than this share of what is believed without them say nothing.
NOTHING = 1e-6


def own_log_mass(model: Model, state: State, root: Array, sigma: float, age_d: float) -> tuple[Array, Array]:
    """Ln mass of each chick at an age and its variance, (chicks,) each, from its own weighings.

    Parameters
    ----------
    model, state : a fit without a pair level, on the log scale (ln A, ln K, ti)
    root : (3, effects), a root of the covariance between chicks
    sigma : residual standard deviation
    age_d : days
    """
    theta = state.theta(model)
    away = theta - state.mean[:, None]
    root = np.column_stack([root, [MORE_DIFFERENT, 0.0, 0.0]])
    value, gradient = model.curve.log_mass_gradient(np.full(theta.shape[1], age_d), theta)
    known = np.einsum("ijn,jn->in", state.straight.P, away)
    told = root.T @ (state.straight.slope + known) / sigma**2
    inner = np.einsum("ia,ijn,jb->nab", root, state.straight.P, root) / sigma**2 + np.eye(root.shape[1])
    scaled = (root.T @ gradient).T
    spread = np.linalg.solve(inner, np.stack([scaled, told.T], axis=-1))
    before, after = np.sum(scaled**2, axis=1), np.sum(scaled * spread[..., 0], axis=1)
    without = value - np.sum(gradient * away, axis=0)
    drawn = np.sum(scaled * spread[..., 1], axis=1)
    said = np.maximum(before - after, NOTHING * before)
    return without + drawn * before / said, after * before / said
