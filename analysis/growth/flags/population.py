"""What is known of a kind of bird from its chicks: the typical curve, how chicks differ, and how weighings scatter."""

from dataclasses import dataclass, field, replace

import numpy as np

from analysis.growth.as_arrays import Log
from analysis.growth.curves import Array, Curve
from analysis.growth.flags.settle import Prior, Scatter, Settled, Table, invert, scatter_of, settle
from analysis.growth.least_squares import side_by_side

ROUNDS = 6
# Before any chick is weighed: how chicks differ in ln A, in ln K, and in ti as a share of the days from 10 % to
# 90 %, and how many chicks that is worth (practice, ours).
AS_A_RULE, WORTH = (0.10, 0.10, 0.04), 4.0
# A full crop adds up to about a tenth (practice): before it is seen, so much either way.
CROP_SD = 0.1
# Weighings of other chicks that a bend of the whole kind must be seen in before half of it is believed.
BEND_WORTH = 6.0
# Times the days of growing, either side of the fastest growth, within which the kind may bend.
FAR = 6.0
# Two mornings running that are not alike count as seen so often beforehand; and the most that is believed.
ALIKE_WORTH, MOST_ALIKE = 30.0, 0.8
# Weighings enough to tell how they scatter.
ENOUGH = 1500
# Weighings either side, no further away than this, that say where a chick stood (practice, ours).
BESIDE, NEAR_D = 2, 4.0
BOTH_SIDES = (*range(-BESIDE, 0), *range(1, BESIDE + 1))


@dataclass(frozen=True)
class Population:
    """One kind of bird, reared one way."""

    curve: Curve
    mean: Array  # (3,), ln A, ln K, ti of the typical chick
    between: Array  # (3, 3), covariance from chick to chick
    scatter: Scatter  # of weighings about their chick's curve
    crop: dict[str, float] = field(default_factory=lambda: {"part": 0.0, "full": 0.0})  # ln mass that one so noted adds
    bend: Array = field(default_factory=lambda: np.zeros((2, 1)))  # (2, ages), departure from such curves in ln mass
    chicks: int = 0  # how many chicks this rests on

    @property
    def growing_d(self) -> float:
        """Days from 10 % to 90 % of the typical chick."""
        return float(self.curve.t10_90(np.exp(self.mean[1])))

    def bent(self, age_d: Array) -> Array:
        """Departure of the kind from its curve at these ages, in ln mass."""
        return np.interp(age_d, *self.bend)

    def filled(self, log: Log) -> Array:
        """What the crop adds to each weighing, in ln mass."""
        return np.select([log.crop == word for word in self.crop], list(self.crop.values()), 0.0)

    def shift(self, log: Log) -> Array:
        """What sits on each weighing beside the chick's curve: the crop and the kind's bend."""
        return self.filled(log) + self.bent(log.rows.age_d)

    def carried(self, log: Log) -> Array:
        """What share of the weighing before is still off at each weighing, (weighings,); 0 at a chick's first."""
        gap = np.diff(log.rows.age_d, prepend=np.nan)
        gap[log.rows.first] = np.inf
        return self.scatter.alike ** np.maximum(gap, 0.0)

    def prior(self, unsure_d: Array) -> Prior:
        """What is known of chicks whose age may be wrong by so many days, (chicks,)."""
        spread = np.repeat(self.between[:, :, None], len(unsure_d), axis=2)
        spread[2, 2] += unsure_d**2
        return Prior(np.repeat(self.mean[:, None], len(unsure_d), axis=1), invert(spread))


@dataclass(frozen=True)
class Chicks(Settled):
    """The same of all chicks of a log, end to end; `fitted` is without crop and bend."""

    scale: Array  # (weighings,), of the scatter
    off: Array  # (weighings,), ln mass less all that is known


def chicks_of(log: Log, population: Population) -> Chicks:
    """The curve of each chick, from its own weighings and its kind."""
    rows, chicks = log.rows, len(log.rows.sizes)
    theta, covariance = np.empty((3, chicks)), np.empty((3, 3, chicks))
    flat = {name: np.empty(len(rows.age_d)) for name in ("fitted", "leverage", "counted")}
    scale = population.scatter.scale(rows.mass_g)
    y, prior = log.log_mass - population.shift(log), population.prior(log.unsure_d)
    says = news(population.carried(log))
    for numbers, place, real in side_by_side(rows.sizes):
        at = rows.first[numbers] + place
        every = np.ones(at.shape) if real is None else real
        own = Prior(prior.mean[:, numbers], prior.precision[..., numbers])
        table = Table(rows.age_d[at], y[at], scale[at], every * says[at])
        found = settle(population.curve, own, table, population.scatter)
        theta[:, numbers], covariance[..., numbers] = found.theta, found.covariance
        for name, values in flat.items():
            values[at[every > 0]] = getattr(found, name)[every > 0]
    return Chicks(theta, covariance, **flat, scale=scale, off=y - flat["fitted"])


def population_of(log: Log, start: Population, *, rounds: int = ROUNDS, bends: bool = True) -> Population:
    """Learn a kind from its chicks, beginning at a curve that is near; `bends`: it may depart from such curves.

    Expectation and maximisation over the chicks' curves, with what is held as a rule worth a few chicks, so that
    no variance is ever zero; between rounds the scatter, the crop and the bend are taken from what is left over.
    """
    now = replace(start, chicks=len(log.rows.sizes))
    as_a_rule = np.diag((np.array(AS_A_RULE) * [1, 1, start.growing_d]) ** 2)
    for turn in range(rounds):
        chicks = chicks_of(log, now)
        mean = chicks.theta.mean(axis=1)
        effect = chicks.theta - mean[:, None]
        seen = np.einsum("in,jn->ij", effect, effect) + chicks.covariance.sum(axis=2)
        between = (seen + WORTH * as_a_rule) / (len(log.rows.sizes) + WORTH)
        bend = _bend(log, chicks, now) if bends else now.bend
        now = replace(now, mean=mean, between=between, crop=_crop(log, chicks, now.crop), bend=bend)
        if turn in (0, 1, 3, rounds - 1):
            some = slice(None, None, 1 + len(chicks.off) // ENOUGH)
            scatter = scatter_of(chicks.off[some], log.rows.mass_g[some], 1 - chicks.leverage[some])
            now = replace(now, scatter=replace(scatter, alike=_alike(log, chicks)))
    return now


def log_likelihood(log: Log, population: Population) -> float:
    """Log-likelihood of a kind's weighings, each chick's curve integrated over (Laplace), up to a constant."""
    chicks = chicks_of(log, population)
    off = chicks.theta - population.mean[:, None]
    own = np.linalg.slogdet(np.moveaxis(chicks.covariance, -1, 0))[1] - np.linalg.slogdet(population.between)[1]
    far = np.einsum("in,ij,jn->n", off, np.linalg.inv(population.between), off)
    weighed = population.scatter.log_density(chicks.off / chicks.scale) - np.log(chicks.scale)
    return float(np.sum(weighed) + 0.5 * np.sum(own - far))


def news(carried: Array) -> Array:
    """What a weighing counts for, beside one that shares nothing with the weighing before."""
    return (1 - carried) / (1 + carried)


def _alike(log: Log, chicks: Chicks) -> float:
    """How alike weighings of two days running are off, drawn towards not at all where few were seen."""
    off = chicks.off / chicks.scale * np.minimum(chicks.counted, 1.0)
    next_day = (np.diff(log.rows.of) == 0) & (np.diff(log.rows.age_d) < 1.5)
    one, other = off[:-1][next_day], off[1:][next_day]
    both = np.sum(one**2 + other**2) / 2
    if not both > 0:
        return 0.0
    alike = float(np.sum(one * other) / both)
    return float(np.clip(alike * len(one) / (len(one) + ALIKE_WORTH), 0.0, MOST_ALIKE))


def _crop(log: Log, chicks: Chicks, crop: dict[str, float]) -> dict[str, float]:
    """What crops that were noted add, drawn towards nothing where few were; food in a crop makes no chick lighter."""
    left = chicks.off / (1 - np.minimum(chicks.leverage, 0.9))
    found = {}
    for word, before in crop.items():
        noted = log.crop == word
        trust = chicks.counted[noted] / chicks.scale[noted] ** 2
        found[word] = max(float(np.sum(trust * (left[noted] + before)) / (np.sum(trust) + CROP_SD**-2)), 0.0)
    return found


def _bend(log: Log, chicks: Chicks, now: Population) -> Array:
    """The kind's departure from its curve, smoothed over a twelfth of the days it grows."""
    step = now.growing_d / 24
    age_d = log.rows.age_d
    # Long before and after it grows there is no bend to be seen, whatever a mistyped year makes of an age.
    first, last = np.clip([age_d.min(), age_d.max()], *(now.mean[2] + now.growing_d * np.array([-FAR, FAR])))
    ages = np.arange(first, last + 2 * step, step)
    nearest = np.clip(np.rint((age_d - ages[0]) / step), 0, len(ages) - 1).astype(int)
    left = chicks.off + now.bent(age_d)
    trust = np.bincount(nearest, chicks.counted, len(ages))
    total = np.bincount(nearest, chicks.counted * left, len(ages))
    near = np.exp(-0.5 * ((ages[:, None] - ages) / (2 * step)) ** 2)
    return np.stack([ages, near @ total / (near @ trust + BEND_WORTH)])


@dataclass(frozen=True)
class Residuals:
    """Each weighing against what the chick's others say, (weighings,): its curve, or past its peak those beside it."""

    off: Array  # ln mass less what was expected
    sd: Array  # scale of `off`
    z: Array  # scales off by the curve and by the weighings beside it, the lesser; 0 where they differ in sign


def residuals(log: Log, population: Population, rising: np.ndarray) -> Residuals:
    """Hold each weighing against its chick's others; `rising` (weighings,): it is not past the peak."""
    y = log.log_mass - population.filled(log)
    scale = population.scatter.scale(log.rows.mass_g)
    off, sd, about = np.zeros(len(y)), scale * np.sqrt(1.4), y.copy()
    chicks = chicks_of(log.keep(rising), population)
    left = 1 - np.minimum(chicks.leverage, 0.98)
    unsure = chicks.leverage * chicks.scale**2 / np.maximum(chicks.counted, 1e-3)
    off[rising], about[rising] = chicks.off / left, chicks.off
    sd[rising] = np.sqrt(chicks.scale**2 + np.minimum(unsure / left, 0.25))
    stood, beside = beside_it(log, about, rising)
    local, local_sd = about - stood, scale * np.sqrt(1 + 1.5 / np.maximum(beside, 1))
    off = np.where(rising, off, np.where(beside > 0, local, 0.0))
    z, by_local = off / sd, local / local_sd
    nearer = np.where(z * by_local > 0, np.sign(z) * np.minimum(np.abs(z), np.abs(by_local)), 0.0)
    return Residuals(off, sd, np.where(beside >= 2, nearer, np.where(rising, z, 0.0)))


def beside_it(log: Log, values: Array, kind: np.ndarray) -> tuple[Array, np.ndarray]:
    """Median of the values of a chick's few weighings before and after of the same `kind`, and how many they are."""
    beside = np.full((len(BOTH_SIDES), len(values)), np.nan)
    for i, step in enumerate(BOTH_SIDES):
        other, near = log.beside(step, NEAR_D)
        near &= kind[other] == kind
        beside[i, near] = values[other[near]]
    return median_of(beside)


def median_of(values: Array) -> tuple[Array, np.ndarray]:
    """Median down each column of those that are there, 0 where none is, and how many they are."""
    count = np.sum(~np.isnan(values), axis=0)
    ordered = np.sort(values, axis=0)  # NaN last
    at = np.arange(values.shape[1])
    low, high = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, len(values) - 1)
    middle = (ordered[low, at] + ordered[high, at]) / 2
    return np.where(count > 0, middle, 0.0), count
