"""What a mixed fit found."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from analysis.finding import Finding, Words, found
from analysis.growth.curves import Array
from analysis.growth.each_chick import MOST_BEYOND, MOST_UNSURE_A, MOST_UNSURE_K
from analysis.growth.mixed.integrate import Mixture, Posterior, centiles_of, integrate, quantiles
from analysis.growth.mixed.likelihood import LEVELS, NAMES, Level, split
from analysis.growth.mixed.search import MOST, Found, at_zero
from analysis.growth.mixed.straight import Model
from analysis.say import in_words

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
COLUMNS = ("A_g", "K_per_d", "ti_d")
LIKELY = (0.025, 0.975)
EFFECTS = {"A": found("growth.effect-a"), "K": found("growth.effect-k"), "ti": found("growth.effect-ti")}
AT_ZERO = {"chick": "growth.zero-chick", "pair": "growth.zero-pair"}
# Weighings beyond the three numbers of a curve, without which their scatter is hardly known (practice, ours).
LEAST_FREE = 3
# Chicks are let differ by this share more than they seem to, or where that is by nothing they could say nothing.
MORE_DIFFERENT = 0.02
# Weighings that say less than this share of what is believed without them say nothing.
NOTHING = 1e-6


@dataclass(frozen=True, repr=False, eq=False)
class MixedFit:
    """A growth curve of a population, its pairs and its chicks, from `fit_mixed`.

    Estimates are those of maximum likelihood. Intervals (`_low`, `_high`, and those of `expect`) hold 95 %, with
    the standard deviations integrated over weak priors; they are worked out when first asked for.

    What was fitted stands beside it: the `model`, the `levels` of its effects, and where the search ended, `reached`.
    """

    model: Model
    levels: tuple[Level, ...]
    reached: Found
    _pair_names: pd.Index
    _chick_names: pd.Index

    def __repr__(self) -> str:
        A_g, K_per_d, ti_d = self._population[0]
        rows = self.model.rows
        return (
            f"<MixedFit: {self.model.curve.name}, {len(rows.age_d)} weighings of {len(rows.sizes)} chicks; "
            f"A {A_g:.4g} g, K {K_per_d:.4g} a day, ti day {ti_d:.4g}; {in_words(self.why) or 'converged'}>"
        )

    @cached_property
    def population(self) -> pd.Series:
        """A_g, K_per_d, ti_d of the typical chick, and their standard errors A_g_se, K_per_d_se, ti_d_se."""
        units, errors = self._population
        return pd.Series([*units, *errors], index=[*COLUMNS, *(f"{column}_se" for column in COLUMNS)])

    @cached_property
    def sd(self) -> pd.DataFrame:
        """Standard deviations of the effects: a row a level ("chick", "pair"), columns A, K, ti.

        On the scale of the fit: of ln A, ln K (so about a share), and of ti in days. NaN where the level has no
        such effect, 0 where the likelihood is greatest without it (`notes` says so).
        """
        at, state = self.reached.at, self.reached.state
        parts = split(self.levels, self.reached.x)
        sds = np.stack([level.sds(part)[:, 0] for level, part in zip(self.levels, parts, strict=True)])
        sds = np.where(at_zero(self.levels, self.reached.x), 0.0, sds * state.unit * at.sigma[0])
        return pd.DataFrame(sds, index=pd.Index(LEVELS[: len(sds)], name="level"), columns=list(NAMES))

    @property
    def sigma(self) -> float:
        """Residual standard deviation: of ln mass (about a share), or in gram."""
        return float(self.reached.at.sigma[0])

    @property
    def loglik(self) -> float:
        """Log-likelihood of the linearised model: of ln mass with proportional error, as R's on log(weight)."""
        return self.reached.value

    @property
    def parameters(self) -> int:
        """How many numbers were fitted: three means, all variances and covariances (zeros too), and sigma."""
        return 4 + sum(level.size for level in self.levels)

    @property
    def aicc(self) -> float:
        """Akaike's criterion on the scale of mass, less is better; NaN with too few weighings.

        -2 l + 2 k n / (n - k - 1), for k `parameters` and n weighings. With proportional error l is `loglik`
        less Σ ln mass (the Jacobian), so that both errors compare over the same weighings.
        """
        mass_g = self.model.rows.mass_g
        n, k = len(mass_g), self.parameters
        loglik = self.loglik - (0.0 if self.model.additive else float(np.sum(np.log(mass_g))))
        return -2 * loglik + 2 * k * n / (n - k - 1) if n > k + 1 else float("nan")

    @property
    def converged(self) -> bool:
        """Whether the search came to rest."""
        return self.reached.settled

    @cached_property
    def why(self) -> Words:
        """Why the numbers are not to be shown, a finding; blank where they may be."""
        (units, errors), rows = self._population, self.model.rows
        late, beyond = units[2] > rows.age_d.max(), units[0] > MOST_BEYOND * rows.mass_g.max()
        cases = (
            (len(rows.age_d) < len(units) + LEAST_FREE, found("growth.barely", weighings=len(rows.age_d))),
            (not self.converged and (late or beyond), found("growth.ran-off")),
            (not self.converged, found("growth.unsettled")),
            (late, found("growth.no-bend")),
            (beyond, found("growth.far-beyond", times=MOST_BEYOND)),
            (not errors[0] <= MOST_UNSURE_A * units[0], found("growth.unsure-weight")),
            (not errors[1] <= MOST_UNSURE_K * units[1], found("growth.unsure-rate")),
        )
        return next((why for holds, why in cases if holds), "")

    @property
    def notes(self) -> tuple[str, ...]:
        """What could not be told from these weighings, and which variances sit at zero, in sentences."""
        return tuple(in_words(note) for note in self.found)

    @cached_property
    def found(self) -> tuple[Finding, ...]:
        """What `notes` says, with its facts."""
        zero = [(LEVELS[i], NAMES[j]) for i, j in np.argwhere(at_zero(self.levels, self.reached.x))]
        parts = split(self.levels, self.reached.x)
        largest = max(float(np.max(p[: len(level.effects)])) for level, p in zip(self.levels, parts, strict=True))
        rows, first = self.model.rows, self.model.first
        chicks, once = len(rows.sizes), int(np.count_nonzero(rows.sizes == 1))
        pairs = 0 if first is None else len(first)
        cases = [
            (chicks == 1, found("growth.one-chick")),
            (once == chicks > 1, found("growth.once-each")),
            (0 < once < chicks, found("growth.once-some", once=once, chicks=chicks)),
            (pairs == 1, found("growth.one-pair")),
            (1 < pairs == chicks, found("growth.chick-a-pair")),
            (largest > np.log(MOST) - 1e-6, found("growth.no-scatter")),
        ]
        notes = [note for holds, note in cases if holds]
        if chicks > 1:
            notes += [found(AT_ZERO[level], effect=EFFECTS[effect]) for level, effect in zero]
        return tuple(notes)

    @cached_property
    def chicks(self) -> pd.DataFrame:
        """A row a chick, by name: A_g, K_per_d, ti_d, each with _low and _high, and its effects A, K, ti.

        The effects are those of the chick beside its pair's, on the scale of the fit. Where the search did not come to
        rest there are no limits (NaN).
        """
        state = self.reached.state
        table = self._table(state.theta(self.model), state.chick, self.posterior.chicks, self.model.rows.chicks)
        return table.reindex(self._chick_names)

    @cached_property
    def pairs(self) -> pd.DataFrame:
        """A row a pair, by name, of its typical chick: columns as in `chicks`; no rows without a pair level."""
        state = self.reached.state
        if state.pair is None:
            return self._table(np.zeros((3, 0)), np.zeros((3, 0)), None, self._pair_names)
        theta = state.mean[:, None] + state.pair
        table = self._table(theta, state.pair, self.posterior.pairs, self._pair_names)
        return table[self._pair_names.notna()]

    def expect(self, ages: ArrayLike, chick: Any = None) -> pd.DataFrame:
        """What a new weighing is expected to show, of a chick that was weighed, or of a new pair's new chick.

        `ages` in days; `chick` its name, None for one not yet seen. Returns a row for each age: age_d; median_g, as
        likely to be above as below; low_g and high_g, between which lies a new weighing 95 times in 100. ValueError: no
        chick of that name; an age that is no finite number.
        """
        age_d = _finite(ages)
        mean, sd = self.forecast(age_d, self.mixture_of(chick))
        median, low, high = quantiles(self.posterior.weights, mean, sd, (0.5, *LIKELY))
        columns = {"median_g": median, "low_g": low, "high_g": high}
        return pd.DataFrame({"age_d": age_d, **{name: self._mass_g(v) for name, v in columns.items()}})

    def centiles(self, ages: ArrayLike, shares: Sequence[float] = SHARES) -> pd.DataFrame:
        """Weights that these shares of chicks stay below at an age, pairs' differences included.

        They are of the chicks' own weights: the scatter of weighings is left out. With few chicks the intervals are
        wide, and wider for the outer centiles than for the middle. `ages` in days; a share of 0.05 asks for the weight
        that one chick in twenty stays below. Returns a row for each age and share: age_d, share; mass_g, the centile;
        mass_low_g and mass_high_g, its 95 % interval. ValueError: a share that is not between 0 and 1; an age that is
        no finite number.
        """
        age_d = _finite(ages)
        if not all(0 < share < 1 for share in shares):
            raise ValueError(f"Shares lie between 0 and 1, not {', '.join(map(str, shares))}.")
        middle, low, high = (self._mass_g(v) for v in centiles_of(self.model, self.posterior, age_d, shares))
        columns = {"age_d": np.repeat(age_d, len(shares)), "share": np.tile(np.asarray(shares, float), len(age_d))}
        masses = {"mass_g": middle.ravel(), "mass_low_g": low.ravel(), "mass_high_g": high.ravel()}
        return pd.DataFrame(columns | masses)

    def own(self, age_d: float) -> pd.DataFrame:
        """What each chick's own weighings say of its weight at an age, by itself and not drawn towards the others.

        Only the rest of its curve leans on them, so that a chick of few weighings says something, if little. A row for
        each chick, by name: log_mass, ln of its weight in gram; variance, of that. ValueError where the scale is not
        "log", or there is a pair level.
        """
        if self.model.natural or self.model.first is not None:
            raise ValueError(
                'Only a fit with scale="log" and without a pair level can be asked what is a chick\'s own.'
            )
        state = self.reached.state
        theta = state.theta(self.model)
        away = theta - state.mean[:, None]
        # A root of the covariance between chicks, (3, effects).
        root = self.levels[0].root(split(self.levels, self.reached.x)[0])[..., 0] * state.unit[:, None] * self.sigma
        root = np.column_stack([root, [MORE_DIFFERENT, 0.0, 0.0]])
        value, gradient = self.model.curve.log_mass_gradient(np.full(theta.shape[1], age_d), theta)
        known = np.einsum("ijn,jn->in", state.straight.P, away)
        evidence = root.T @ (state.straight.slope + known) / self.sigma**2
        inner = np.einsum("ia,ijn,jb->nab", root, state.straight.P, root) / self.sigma**2 + np.eye(root.shape[1])
        scaled = (root.T @ gradient).T
        spread = np.linalg.solve(inner, np.stack([scaled, evidence.T], axis=-1))
        before, after = np.sum(scaled**2, axis=1), np.sum(scaled * spread[..., 0], axis=1)
        drawn, without = np.sum(scaled * spread[..., 1], axis=1), value - np.sum(gradient * away, axis=0)
        learnt = np.maximum(before - after, NOTHING * before)
        columns = {"log_mass": without + drawn * before / learnt, "variance": after * before / learnt}
        return pd.DataFrame(columns, index=self.model.rows.chicks).reindex(self._chick_names)

    def _mass_g(self, value: Array) -> Array:
        """Gram, from the scale of the scatter."""
        with np.errstate(over="ignore"):
            return np.maximum(value, 0) if self.model.additive else np.exp(value)

    @cached_property
    def posterior(self) -> Posterior:
        """Draws of the standard deviations by weight, and the effects for each of them."""
        return integrate(self.model, self.levels, self.reached)

    @cached_property
    def _population(self) -> tuple[Array, Array]:
        state, at = self.reached.state, self.reached.at
        units = self.model.to_units(state.mean)
        errors = state.unit * at.sigma[0] * np.sqrt(np.diagonal(at.variance[..., 0, 0]))
        return units, errors if self.model.natural else errors * np.array([units[0], units[1], 1.0])

    def _table(self, theta: Array, effects: Array, mixture: Mixture | None, names: pd.Index) -> pd.DataFrame:
        points, low, high = self.model.to_units(theta), theta, theta
        if not self.converged:
            low, high = np.full_like(theta, np.nan), np.full_like(theta, np.nan)
        elif mixture is not None:
            sd = np.sqrt(np.maximum(np.einsum("iibn->ibn", mixture.covariance), 0))
            each = [quantiles(self.posterior.weights, mixture.mean[i], sd[i], LIKELY) for i in range(3)]
            with np.errstate(over="ignore"):
                low, high = (self.model.to_units(np.stack(ends)) for ends in zip(*each, strict=True))
        columns: dict[str, Array] = {}
        for i, column in enumerate(COLUMNS):
            columns |= {column: points[i], f"{column}_low": low[i], f"{column}_high": high[i]}
        return pd.DataFrame(columns | dict(zip(NAMES, effects, strict=True)), index=names)

    def mixture_of(self, chick: Any) -> Mixture:
        """Return the effects of a chick for each draw; None: of one never weighed. ValueError: no such chick."""
        at = np.flatnonzero(self.model.rows.chicks == chick)
        if chick is not None and not len(at):
            raise ValueError(f"No chick {chick!r} was weighed.")
        chicks, typical, between = self.posterior.chicks, self.posterior.population, self.posterior.between
        if chick is None:
            return Mixture(typical.mean, typical.covariance + between[..., None])
        return Mixture(chicks.mean[..., at], chicks.covariance[..., at])

    def forecast(self, age_d: Array, mixture: Mixture) -> tuple[Array, Array]:
        """Return mean and standard deviation of a new weighing by draw, (draws, ages), the curves made straight."""
        draws = mixture.mean.shape[1]
        theta = np.repeat(mixture.mean[..., 0], len(age_d), axis=1)
        with np.errstate(over="ignore", invalid="ignore"):
            value, gradient = self.model.value(np.tile(age_d, draws), theta)
        gradient = gradient.reshape(3, draws, -1)
        variance = np.einsum("ibt,ijb,jbt->bt", gradient, mixture.covariance[..., 0], gradient)
        value = np.maximum(value, -700.0).reshape(draws, -1)
        return value, np.sqrt(np.maximum(variance, 0) + self.posterior.sigma[:, None] ** 2)


def _finite(ages: ArrayLike) -> Array:
    """Ages as an array; ValueError: an age that is no finite number."""
    age_d = np.atleast_1d(np.asarray(ages, float))
    if not np.isfinite(age_d).all():
        raise ValueError("Ages are finite numbers of days.")
    return age_d
