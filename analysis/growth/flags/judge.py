"""From numbers to flags: which chick, at which weighing, how much, how pressing, and what was found."""

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, Level, Words, found
from analysis.growth.as_arrays import Log
from analysis.growth.curves import Array
from analysis.growth.flags import facts
from analysis.growth.flags.falls import ACT, BACK, LOOK, Falls, Followed, falls, follow, stalls
from analysis.growth.flags.kinds import LEVEL, Kind, departure, grown_enough, standing
from analysis.growth.flags.population import NEAR_D, Population, chicks_of, median_of
from analysis.growth.flags.slips import borne_out, mistaken
from analysis.growth.trade_rule import FALLEN

COLUMNS = ("chick", "age_d", "flag", "size", "level", "r", "sentence", "told", "call")
# Evidence of a stall that raises a flag: one false alarm in more than 80 healthy chick-weeks (calibrated: see
# tests/calibrate_flags.py). Below this r nobody can tell a stall from a chick that is nearly grown.
ALARM, LEAST_R = 90.0, 0.7
# No gain in the first three days is normal (HARI, artificial incubation and hand-rearing papers, read).
FROM_D = 3.0
# Chicks below this share of what was expected do poorly (Klaassen & Bech 1992, arctic tern, read): act.
POORLY = 0.75
# From this share down a chick is looked at, however healthy chicks differ ("dwarf" macaw chicks stood 20 % below:
# Guedes et al. 2022, Sci. Rep., abstract): by so many weighings, once a typical chick has so much of its final weight
# that a day of age no longer counts for a fifth (ours; one in fifteen simulated healthy chicks is looked at).
LIGHT, ENOUGH, TELLS = 0.80, 5, 0.3
# Where a kind was learnt from too few chicks, a chick is held against so many weighings of its own, or none (ours).
LEAST_OWN = 2
# Looked at every morning, a chick is called off the curve only at a level so much stricter, on two mornings running
# (calibrated).
STRICTER = 0.2


@dataclass(frozen=True)
class Flags:
    """Flags as they are found."""

    log: Log
    mass_g: Array
    r: Array
    rows: list[dict[str, Any]] = field(default_factory=list)

    def add(
        self, at: int, flag: str, size: float, level: Level, told: Finding, call: Words = "", *, r: float | None = None
    ) -> None:
        """Raise a flag at a weighing: what was seen, and what that calls for."""
        chick, age_d = self.log.rows.chicks[self.log.rows.of[at]], self.log.rows.age_d[at]
        row = {"chick": chick, "age_d": float(age_d), "flag": flag, "size": float(size), "level": level}
        told = replace(told, about=str(chick), level=level)
        self.rows.append(row | {"r": float(self.r[at]) if r is None else r, "told": told, "call": call})

    def when(self, at: int) -> Finding:
        """A weighing's day: of the year where it is known, and of the chick's life."""
        day, age_d = int(self.log.morning[at]), round(float(self.log.rows.age_d[at]))
        on = None if day < 0 else pd.Timestamp(day, unit="D")
        return found("growth.on-day", day=on, age_d=age_d) if on else found("growth.on-age", age_d=age_d)


def table_of(rows: list[dict[str, Any]]) -> pd.DataFrame:
    """Flags as a frame, by chick and age, mornings first; told, call (or blank) and sentence (both) are findings."""
    whole = [row | {"sentence": facts.called(row["told"], row["call"])} for row in rows]
    return in_order(pd.DataFrame(whole, columns=list(COLUMNS)))


def in_order(table: pd.DataFrame) -> pd.DataFrame:
    """Flags by chick and age."""
    order = sorted(range(len(table)), key=lambda i: (str(table["chick"].iloc[i]), table["age_d"].iloc[i]))
    return table.iloc[order].reset_index(drop=True)


def expected_gain(population: Population, theta: Array, log: Log) -> Array:
    """R: the gain expected over the next day, over the scatter of a weighing, (weighings,)."""
    curve, age_d = population.curve, log.rows.age_d
    with np.errstate(invalid="ignore"):  # a curve that no bird follows ends at no number
        gain = curve.log_mass(age_d + 1, theta) - curve.log_mass(age_d, theta)
    return np.where(np.isfinite(gain), gain, 0.0) / population.scatter.sd(log.rows.mass_g)


def look_back(kind: Kind, log: Log) -> Flags:
    """Stalls, falls and chicks off the curve, from weighings that have been looked through."""
    population = kind.standard
    theta = log.rows.each(chicks_of(log, population).theta)
    flags = Flags(log, np.exp(log.log_mass), expected_gain(population, theta, log))
    fallen = falls(log, population, theta)
    _stalls(flags, kind, follow(log, population))
    for at in log.rows.last:
        if fallen.fall[at] >= LOOK:
            _fall(flags, fallen, int(at))
    for chick in standing(kind, log).itertuples():
        if chick.light_p < LEVEL / 2:
            _light(flags, int(chick.at), float(chick.share))
        elif chick.shape_p < LEVEL / 2:
            finding = facts.unusual(float(chick.odd_share), float(chick.odd_age_d))
            flags.add(int(chick.at), "unusual shape", float(chick.odd_share), "look", finding)
    return flags


def look_on(kind: Kind, log: Log, followed: Followed) -> Flags:
    """Every flag at the weighing that first raised it, from the weighings up to then alone."""
    population = kind.standard
    flags = Flags(log, np.exp(log.log_mass), expected_gain(population, followed.before, log))
    fallen = falls(log, population, followed.before)
    _weigh_again(flags, kind, followed, fallen)
    _stalls(flags, kind, followed)
    for at in sorted({at for least in (LOOK, ACT) for at in _first(log, fallen.fall >= least)}):
        _fall(flags, fallen, at)
    _off_the_curve_so_far(flags, kind, followed, fallen)
    return flags


def _stalls(flags: Flags, kind: Kind, followed: Followed) -> None:
    log, population = flags.log, kind.standard
    rows = np.flatnonzero(log.once_a_day())
    if len(rows) < len(log.log_mass):  # the evidence is of days, however often a chick is weighed
        log = log.keep(log.once_a_day())
        followed = follow(log, population)
    evidence = stalls(log, population, followed)
    slow = (evidence.ratio > ALARM) & (evidence.r >= LEAST_R)
    # Two weighings running far below what was expected bear each other out: no slip, but more than any course loses.
    z = followed.off / followed.sd
    low = mistaken(z, followed.off, population.scatter) & (followed.off < 0) & borne_out(log, followed.off, z, -1)
    gone = low & ~slow & (flags.r[rows] >= LEAST_R)
    alarm = (slow | gone) & (log.rows.age_d > FROM_D)
    before_both = np.maximum(np.arange(len(alarm)) - 2, log.rows.each(log.rows.first))
    since_when = np.where(gone, before_both, evidence.since)
    net = log.log_mass - population.filled(log)
    at_alarm = np.flatnonzero(alarm)  # told where it begins, not having held for so many before
    begins = np.append(True, (np.diff(log.rows.of[at_alarm]) > 0) | (np.diff(at_alarm) > BACK))[: len(at_alarm)]
    for i in at_alarm[begins]:
        at, since = int(rows[i]), int(since_when[i])
        expected = float(np.exp(evidence.expected[i] + population.shift(log)[i]))
        gained = float(np.exp(net[i] - net[since]))
        before = (float(flags.mass_g[rows[since]]), float(log.rows.age_d[since]))
        told = expected if kind.expects else None
        finding = facts.stall(float(flags.mass_g[at]), told, flags.when(at), *before, gained=gained)
        flags.add(at, "stall", flags.mass_g[at] / expected - 1, "act", finding, facts.VET, r=float(evidence.r[i]))


def _fall(flags: Flags, fallen: Falls, at: int) -> None:
    share, act = float(fallen.fall[at]), fallen.fall[at] >= ACT
    age = float(flags.log.rows.age_d[fallen.peak_at[at]])
    peak, code = float(np.exp(fallen.peak[at])), "growth.fall-far" if act else "growth.fall-usual"
    finding = found(code, share=share, peak=peak, peak_d=age, at=flags.when(at))
    flags.add(at, "fall", share, *(("act", finding, facts.FEED_AGAIN) if act else ("look", finding, facts.SEE_IT_EATS)))


def _weigh_again(flags: Flags, kind: Kind, followed: Followed, fallen: Falls) -> None:
    """Weighings far from what was expected of them; of a grown chick, and of few, from the three before as well."""
    log, population = flags.log, kind.standard
    scatter = population.scatter
    off, sd = followed.off, followed.sd
    local, before = _off_the_last(log, population, followed)
    by_local = local / (scatter.scale(log.rows.mass_g) * np.sqrt(1 + 1.5 / np.maximum(before, 1)))
    both = np.where(off * local > 0, np.sign(off) * np.minimum(np.abs(off / sd), np.abs(by_local)), 0.0)
    grown = (np.isfinite(fallen.peak) | (not kind.expects)) & (before >= LEAST_OWN)
    z = np.where(grown, both, off / sd)
    odd = mistaken(z, off, scatter) & ~borne_out(log, off, off / sd, -1)
    for at in np.flatnonzero(odd & (log.rows.age_d > 0) & (kind.expects | grown)):
        expected = flags.mass_g[at] * np.exp(-(local if grown[at] else off)[at])
        written, code = log.rows.mass_g[at], "growth.weigh-again" if kind.expects else "growth.weigh-again-before"
        weights = {"written": written, "expected": float(expected), "more": facts.meant(written, float(expected))}
        finding = found(code, **weights, at=flags.when(int(at)))
        flags.add(int(at), "weigh again", flags.mass_g[at] / expected - 1, "look", finding)


def _off_the_last(log: Log, population: Population, followed: Followed) -> tuple[Array, np.ndarray]:
    """Each weighing less the three before it and what was to be gained since, and how many of them there are."""
    y, age_d, curve = log.log_mass - population.filled(log), log.rows.age_d, population.curve
    last = np.full((3, len(log.log_mass)), np.nan)
    now = curve.log_mass(age_d, followed.before) + population.bent(age_d)
    for back in (1, 2, 3):
        at = np.flatnonzero(log.beside(-back, NEAR_D)[1])
        then = curve.log_mass(age_d[at - back], followed.before[:, at]) + population.bent(age_d[at - back])
        last[back - 1, at] = y[at - back] + now[at] - then
    stood, before = median_of(last)
    return y - stood, before


def _off_the_curve_so_far(flags: Flags, kind: Kind, followed: Followed, fallen: Falls) -> None:
    """Chicks held against the others at each weighing."""
    population, log = kind.standard, flags.log
    if not kind.enough:
        return
    value, J = population.curve.log_mass_gradient(log.rows.age_d, followed.theta)
    usual = population.curve.log_mass(log.rows.age_d, population.mean[:, None])
    learnt = np.isin(log.rows.chicks[log.rows.of], kind.models)
    apart = departure(population, followed.theta, followed.covariance, J, learnt)
    judged = log.rows.each(~log.guessed) & (fallen.fall < FALLEN)
    strict = STRICTER * LEVEL / 2
    light, odd = judged & (apart.light_p < strict), judged & (apart.shape_p < strict)
    for at in _first(log, _twice(log, light)):
        _light(flags, at, float(np.expm1(apart.light[at])))
    for at in _first(log, _twice(log, odd & ~light)):
        share = float(np.expm1(value[at] - usual[at]))
        flags.add(at, "unusual shape", share, "look", facts.unusual(share, float(log.rows.age_d[at])))
    _small(flags, population, np.expm1(apart.light), judged & ~light & ~odd)


def _small(flags: Flags, population: Population, share: Array, judged: np.ndarray) -> None:
    """Chicks lighter by a fifth, over all weighings that tell so far and on two mornings running."""
    log = flags.log
    tells = grown_enough(log, population, TELLS)
    both = np.stack([tells.astype(float), np.where(tells, share, 0.0)])
    up_to = np.cumsum(both, axis=1)
    number, total = up_to - log.rows.each((up_to - both)[:, log.rows.first])
    least = np.where(judged & tells & (number >= ENOUGH), np.maximum(share, total / np.maximum(number, 1)), 0.0)
    for at in sorted({at for limit in (LIGHT, POORLY) for at in _first(log, _twice(log, least <= limit - 1))}):
        finding = found("growth.light", share=-float(share[at]), at=flags.when(at))
        flags.add(at, "small for age", float(share[at]), "look", finding)


def _light(flags: Flags, at: int, share: float) -> None:
    act = share <= POORLY - 1
    finding = found("growth.light", share=-share, at=flags.when(at))
    flags.add(at, "light for age", share, "act" if act else "look", finding, facts.VET if act else "")


def _first(log: Log, holds: np.ndarray) -> list[int]:
    """The first weighing of each chick at which something holds."""
    at = np.flatnonzero(holds)
    return [int(i) for i in at[np.unique(log.rows.of[at], return_index=True)[1]]]


def _twice(log: Log, holds: np.ndarray) -> np.ndarray:
    """Whether it holds at this weighing and the chick's one before."""
    before = np.append(False, holds[:-1])
    before[log.rows.first] = False
    return np.asarray(holds & before)
