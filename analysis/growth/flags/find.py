"""`find_flags`: what in the weighings of each kind of bird asks for a look, or for help."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import found
from analysis.growth.as_arrays import ASKS, COLUMNS, Log, kinds_in, log_of
from analysis.growth.curves import Array
from analysis.growth.flags import facts
from analysis.growth.flags.falls import Followed, falls_back, follow
from analysis.growth.flags.judge import LEAST_OWN, Flags, in_order, look_back, look_on, table_of
from analysis.growth.flags.kinds import Kind, kind_of, relearn, standing
from analysis.growth.flags.population import Residuals, chicks_of, residuals
from analysis.growth.flags.settle import variance_along
from analysis.growth.flags.slips import Morning, contradicted, lost_since, mornings_off, slips, swaps
from analysis.needed import need_columns
from analysis.say import in_words

# Flags that say a chick is no model for the others.
ODD = ("stall", "light for age", "unusual shape")
# An amount below so many gram is told to a tenth.
FINE_G = 3
# Weighings that tell less than this share of what is known of any chick say next to nothing.
HARDLY_TOLD = 0.05


def find_flags(frame: pd.DataFrame, live: bool = False) -> pd.DataFrame:
    """Find what in the weighings asks for a look or for help, each kind of bird held against itself.

    Chicks that did well say what is usual, in two passes: first all of them, then without those that the first
    pass flags. Each chick is held against them without itself. Mistaken weighings count for little throughout.
    Kinds are looked at apart (a finch says nothing of a conure), but for a morning's scale, which weighed them all.

    Parameters
    ----------
    frame : chick, age_d (days; the day of hatch is 0), mass_g (gram), one row a weighing; and where known kind (a
        species and a way of rearing; else species: without either all rows are of one kind), weighed_at (day), pair,
        clutch, crop ("part", "full", else empty), did_well (truth value; all where it is missing), sure_to_days (days
        by which the age may be wrong: above one and a half, a chick is judged on gain only), together (chicks on the
        scale: rows of more than one count for nothing). `season.weights` has all of these; where a hatch date is not
        known, take the rows with an age: `weights[weights["age_d"].notna()]`. The season's own watch (the chapter
        Growth) also learns from the seasons joined to it, so it may flag another weighing, or a kind that has too few
        chicks that did well in one season
    live : every flag at the age on which it was first raised, from this chick's weighings up to then and the chicks
        that did well; a mistaken weight is then a "weigh again"

    Returns
    -------
    Frame with a row a flag, by chick and age:
        chick : blank for a morning
        age_d : age at the weighing that raised it; looking back, a chick's last for "fall", "light for age" and
            "unusual shape"
        flag : "slip", "weigh again", "stall", "fall" (before weaning), "light for age", "unusual shape", "swapped",
            "scale" (a morning); live also "small for age": lighter by a fifth, which some healthy chicks are
        size : as a share: of what was expected, less one; a fall, of the peak; "scale": gram
        level : "look", or "act"
        r : gain a day expected there over the scatter of a weighing; below 1 a stall cannot be seen yet
        sentence : in plain words, what was seen and what it calls for
        told, call : the two apart; call is blank where nothing is to be done, and nobody's to do of a chick that is
            weaned, lost or gone
        kind : the chick's, as the frame has it; blank for a morning, and where the frame tells no kinds

    No rows where the weighings hold no curve to judge by; `watch` says why.

    Raises
    ------
    ValueError : a column is missing, or one of those above holds something else; an age that is no finite number, a
        weight not above 0; a chick of two kinds

    Examples
    --------
    >>> rng, age_d = np.random.default_rng(1), np.arange(1, 36)
    >>> A_g = 90 * np.exp(0.08 * rng.standard_normal((10, 1)))
    >>> mass_g = A_g / (1 + np.exp(-0.25 * (age_d - 11))) * np.exp(0.02 * rng.standard_normal((10, 35)))
    >>> mass_g[3, 22] = 47
    >>> chick = np.repeat([f"K{i}" for i in range(10)], 35)
    >>> frame = pd.DataFrame({"chick": chick, "age_d": np.tile(age_d, 10), "mass_g": mass_g.ravel()})
    >>> found = find_flags(frame)
    >>> found[["chick", "age_d", "flag"]].values.tolist()
    [['K3', 23.0, 'slip']]
    >>> found["sentence"].item()
    '47 g on day 23 looks mistaken: about 77 g was expected. With its digits exchanged it would be 74 g.'
    """
    need_columns(ASKS, frame, COLUMNS)
    seen = watch(kinds_in(frame))
    kinds = {"": seen.scale(live=live)}, (seen.live if live else seen.back)
    mornings, flagged = ([table.assign(kind=kind) for kind, table in part.items()] for part in kinds)
    some = [table for table in flagged if len(table)]
    flags = [*mornings, in_order(pd.concat(some, ignore_index=True))] if some else mornings
    table = pd.concat([one for one in flags if len(one)] or flags[:1], ignore_index=True)
    return table.assign(**{name: table[name].map(in_words) for name in ("sentence", "told", "call")})


def watch(frames: Mapping[str, pd.DataFrame]) -> "Watch":
    """Look at several kinds of bird together; the frames are those of `find_flags`, by name of the kind."""
    first = {name: kind_of(log_of(frame)) for name, frame in frames.items()}
    left = {name: _look_through(kind, kind.log).left for name, kind in _able(first).items()}
    mornings = _mornings(first, {name: (one.off, one.sd) for name, one in left.items()})
    learnt = {}
    for name, kind in _able(first).items():
        log = _judged(kind.log, mornings)
        clean = log.keep(_look_through(kind, log).good)
        odd = {row["chick"] for row in look_back(kind, clean).rows if row["flag"] in ODD}
        learnt[name] = relearn(kind, clean, odd)
    return Watch(first | learnt, mornings)


@dataclass(frozen=True)
class Watch:
    """Several kinds of bird looked at together, so that a morning's scale is seen over all of them."""

    kinds: Mapping[str, Kind]  # what was learnt of each, by name, and its weighings as written
    mornings: list[Morning]  # on which the scale was off, looking back

    @cached_property
    def back(self) -> dict[str, pd.DataFrame]:
        """Flags looking back, by name of the kind: as from `find_flags`, but findings, not text; no mornings."""
        found = {name: _back(kind, _judged(kind.log, self.mornings)) for name, kind in _able(self.kinds).items()}
        return {name: found.get(name, table_of([])) for name in self.kinds}

    @cached_property
    def live(self) -> dict[str, pd.DataFrame]:
        """Flags as they were first raised, by name of the kind."""
        found = {}
        for name, kind in _able(self.kinds).items():
            log = _judged(kind.log, self.mornings_live)
            followed = self._followed[name] if log is kind.log else follow(log, kind.standard)
            found[name] = table_of(look_on(kind, log, followed).rows)
        return {name: found.get(name, table_of([])) for name in self.kinds}

    @cached_property
    def clean(self) -> dict[str, pd.DataFrame]:
        """Weighings that were looked through, by name of the kind: chick, age_d, mass_g with an empty crop."""
        return {
            name: one.clean.frame(one.population.filled(one.clean) if one.population else 0.0)
            for name, one in self.kinds.items()
        }

    def own(self, name: str) -> tuple[pd.DataFrame, float]:
        """What each chick's own weighings say of its weight at the typical day of fastest growth, and that day.

        By chick: log_mass, variance; the pull of its kind is taken off again, as in `MixedFit.own`. Chicks of guessed
        age, and chicks whose weighings say next to nothing, are left out.
        """
        kind = self.kinds[name]
        population = kind.standard
        found, age_d = chicks_of(kind.clean, population), float(population.mean[2])
        mean, slope = population.curve.log_mass_gradient(np.array([age_d]), population.mean[:, None])
        log_mass, J = population.curve.log_mass_gradient(np.full(len(found.theta[0]), age_d), found.theta)
        after = variance_along(J[:, None], found.covariance)[0]
        before = variance_along(slope, population.between[..., None])[0]
        information = 1 / after - 1 / before
        some = ~kind.clean.guessed & (information > HARDLY_TOLD / before)
        own = (mean + (log_mass - mean) / (after * np.where(some, information, 1.0)))[some]
        chicks = pd.Index(kind.clean.rows.chicks[some], name="chick")
        return pd.DataFrame({"log_mass": own, "variance": 1 / information[some]}, index=chicks), age_d

    @cached_property
    def peaks(self) -> pd.Series:
        """Age in days at the peak, by chick, of those that have begun to fall before weaning."""
        found: dict[object, float] = {}
        for kind in _able(self.kinds).values():
            log, population = kind.clean, kind.standard
            fallen = falls_back(log, population)
            last = log.rows.last[fallen.past(log)[log.rows.last]]
            found |= dict(zip(log.rows.chicks[log.rows.of[last]], log.rows.age_d[fallen.peak_at[last]], strict=True))
        return pd.Series(found, dtype=float)

    @cached_property
    def standing(self) -> pd.DataFrame:
        """How each chick stands among its kind: a row a chick, by name of the kind; see `kinds.standing`."""
        parts = [standing(kind, kind.clean).assign(kind=name) for name, kind in _able(self.kinds).items()]
        columns = ["chick", "share", "light_p", "shape_p", "kind"]
        return pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=columns)

    def scale(self, *, live: bool = False) -> pd.DataFrame:
        """Mornings on which the scale was off, as rows of such a frame."""
        mornings = self.mornings_live if live else [one for one in self.mornings if one.sure]
        rows: list[dict[str, Any]] = []
        for one in mornings:
            level, call = ("look", "") if one.sure else ("act", facts.ALL_AGAIN)
            code = "growth.scale-high" if one.gram > 0 else "growth.scale-low"
            off = found("growth.gram" if abs(one.gram) < FINE_G else "growth.whole-gram", mass=abs(one.gram))
            told = found(code, day=pd.Timestamp(one.day, unit="D"), chicks=one.chicks, off=off, sure=one.sure)
            rows.append({"chick": "", "age_d": np.nan, "flag": "scale", "size": one.gram, "level": level})
            rows[-1] |= {"r": np.nan, "told": told, "call": call}
        return table_of(rows)

    @cached_property
    def _followed(self) -> dict[str, Followed]:
        return {name: follow(kind.log, kind.standard) for name, kind in _able(self.kinds).items()}

    @cached_property
    def mornings_live(self) -> list[Morning]:
        """The mornings of `scale(live=True)`: as seen on the morning itself."""
        return _mornings(self.kinds, {name: (one.off, one.sd) for name, one in self._followed.items()}, live=True)


def _able(kinds: Mapping[str, Kind]) -> dict[str, Kind]:
    """The kinds that have a curve to judge by."""
    return {name: kind for name, kind in kinds.items() if kind.population is not None}


def _mornings(
    kinds: Mapping[str, Kind], off: Mapping[str, tuple[Array, Array]], *, live: bool = False
) -> list[Morning]:
    """Mornings on which the scale was off, over all kinds."""
    if not off:
        return []
    parts, chicks, broods = [], 0, 0
    for name, (off_by, sd) in off.items():
        log = kinds[name].log
        brood = np.where(log.brood < 0, -1, log.brood + broods)[log.rows.of]
        columns = {"day": log.morning, "chick": log.rows.of + chicks, "brood": brood, "mass_g": log.rows.mass_g}
        parts.append(pd.DataFrame(columns | {"off": off_by, "sd": sd}))
        chicks, broods = chicks + len(log.rows.sizes), broods + int(log.brood.max(initial=-1)) + 1
    heaviest = min((kinds[name].standard.scatter for name in off), key=lambda scatter: scatter.tails)
    return mornings_off(pd.concat(parts, ignore_index=True), heaviest, live=live)


def _judged(log: Log, mornings: list[Morning]) -> Log:
    """The weighings of mornings on which nothing says that the scale was off."""
    kept = ~np.isin(log.morning, [morning.day for morning in mornings if morning.sure])
    return log if kept.all() else log.keep(kept)


@dataclass(frozen=True)
class _Seen:
    """One kind's weighings looked through: what they are off, and which of them are mistaken."""

    left: Residuals
    slip: np.ndarray
    swap: list[tuple[int, int]]
    good: np.ndarray  # neither slip nor swapped


def _look_through(kind: Kind, log: Log) -> _Seen:
    population = kind.standard
    left = residuals(log, population, ~falls_back(log, population).past(log))
    swap = swaps(log, left, population.scatter)
    slip = slips(log, left, population.scatter)
    slip &= kind.expects | (log.rows.sizes > LEAST_OWN)[log.rows.of]
    swapped = [at for pair in swap for at in pair]
    slip[swapped] = False
    good = ~slip
    good[swapped] = False
    return _Seen(left, slip, swap, good)


def _back(kind: Kind, log: Log) -> pd.DataFrame:
    """Flags looking back."""
    seen = _look_through(kind, log)
    flags = look_back(kind, log.keep(seen.good))
    mistakes = Flags(log, log.rows.mass_g, np.full(len(log.log_mass), np.nan), flags.rows)
    beside, lost, off = contradicted(log, seen.left, seen.slip), lost_since(log), seen.left.off
    for at in map(int, np.flatnonzero(seen.slip)):
        written = float(log.rows.mass_g[at])
        expected = float(written * np.exp(-off[at]))
        disagrees = float(log.rows.mass_g[beside[at]]) if at in beside else None
        fell = float(lost[at]) if at in log.rows.last and off[at] < 0 else None
        slip = facts.slip(written, expected, mistakes.when(at), disagrees, lost=fell, told=kind.expects)
        call = facts.VET if fell is not None and at not in beside else ""
        mistakes.add(at, "slip", written / expected - 1, "look", slip, call)
    for pair in seen.swap:
        one, other = (str(log.rows.chicks[log.rows.of[at]]) for at in sorted(pair))
        for at in pair:
            told = found("growth.swapped", one=one, other=other, at=mistakes.when(at))
            mistakes.add(at, "swapped", float(np.expm1(off[at])), "look", told)
    return table_of(mistakes.rows)
