"""When an egg is expected to pip and to hatch: a range, from its species' usual days and the keeper's own eggs."""

from collections.abc import Iterator

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import LOOK, Finding, found
from analysis.season import Season
from analysis.season.days import MORNING_H
from analysis.season.species import (
    YOURS,
    any_bird,
    incubation_range,
    pip_hours,
    said_by,
    window_held,
    written_for,
)

Array = NDArray[np.float64]
COLUMNS = {
    "counted_from": "object",
    "own": "float64",
    "likely_d": "float64",
    "low_d": "float64",
    "high_d": "float64",
    **dict.fromkeys(("hatch_low_on", "hatch_on", "hatch_high_on"), "datetime64[us]"),
    **{f"{pip}_{end}_on": "datetime64[us]" for pip in ("external", "internal") for end in ("low", "high")},
}
SHARE = 0.95
# How eggs of one species differ here, days: log-normal about the first, its spread the second (practice). Counted from
# laying, incubation begins with the second or third egg, so up to four days later (practice).
SCATTER_D, SCATTER_LN = 0.9, 0.4
LAID_LATER_D, LAID_SPREAD_D, LAID_SCATTER_D = 2.0, 0.7, 1.4
MISTAKEN_D = 6.0  # own eggs further outside the usual days than this are a date mistaken (practice)
LEAST_OWN = 3  # own eggs that stand in for the usual days where nobody knows them (practice)
# Parrots: hours from external pip to hatch, and shares of the days from internal pip to hatch (12-48 h more): a
# husbandry manual, read. Of others internal pip is put a day before external (memory).
PARROTS_H = any_bird("pip_to_hatch")[:2]
INTERNAL = {2: 0.3, 3: 0.35, 4: 0.25, 5: 0.1}
SPREAD_D = 2  # practice: eggs of a species hatch within two days or so of the longest
OVERDUE = found("eggs.run-late", about=found("eggs.overdue"), level=LOOK)
PIPPED = found("eggs.pip-rules", about=found("eggs.pip"), level=LOOK)
_DAY = pd.Timedelta(days=1)


def usual_days(season: Season, species: str) -> tuple[float, float]:
    """Days from steady incubation to hatch, from and to; NaN where nobody says. Each species has its own.

    The keeper's own `incubation_d` is the longest; else the general table, `season/species.toml`. The shortest is the
    table's, or two days fewer than the longest (practice) where no table has it or the keeper's own is shorter still.
    """
    own, read = written_for(season.logs["species"], species, "incubation_d"), incubation_range(species)
    longest = own or (read.high if read else None)
    if longest is None:
        return float("nan"), float("nan")
    shortest = read.low if read and read.low <= longest else longest - SPREAD_D
    return float(shortest), float(longest)


def usual_source(season: Season, species: str) -> Finding:
    """Who says how long the eggs of a species take."""
    if written_for(season.logs["species"], species, "incubation_d"):
        return YOURS
    read = incubation_range(species)
    return said_by(read, "incubation") if read else found("due.general-tables")


def expected_eggs(season: Season) -> pd.DataFrame:
    """When each egg of a season is expected to pip and hatch, by the index of `season.eggs`.

    From the usual days of its species and the keeper's own eggs that hatched, of this season and those joined to it:
    usual_from_d and usual_to_d (see `usual_days`), pip_from_h and pip_to_h (hours from external pip to hatch, as
    `season/species.toml` has them), and the columns of `expected_hatch`.
    """
    eggs, known = season.eggs[["species", "set_on", "laid_on"]], {}
    for species in eggs["species"].unique():
        hours = window_held(season.logs["species"], species, "pip_to_hatch")
        known[species] = (*usual_days(season, species), *(hours[:2] if hours else (np.nan, np.nan)))
    names = ["usual_from_d", "usual_to_d", "pip_from_h", "pip_to_h"]
    rows = [known[species] for species in eggs["species"]]
    eggs = eggs.join(pd.DataFrame(rows, index=eggs.index, columns=names, dtype=float))
    own = pd.concat([one.eggs for one in (season, *season.earlier)], ignore_index=True)
    hatched = own["outcome"].eq("hatched") & own["hatched_at"].notna()
    expected = expected_hatch(eggs, own.loc[hatched, ["species", "set_on", "laid_on", "hatched_at"]])
    return _by_pip(eggs[names].join(expected), season)


def _by_pip(expected: pd.DataFrame, season: Season) -> pd.DataFrame:
    """The same; an egg that pipped and is still in its shell is expected by the hours from its pip, not by its days."""
    eggs = season.eggs[season.eggs["hatch_by"].notna()]
    if eggs.empty:
        return expected
    hours = [pip_hours(season.logs["species"], species) for species in eggs["species"]]
    wide = pd.to_timedelta([held.high - held.low for held in hours], unit="h")
    ends = {"low": eggs["hatch_by"] - wide, "likely": eggs["hatch_by"] - wide / 2, "high": eggs["hatch_by"]}
    begun = eggs["set_on"].fillna(eggs["laid_on"]).dt.normalize()
    for name, moment in ends.items():
        day = moment.dt.normalize().astype("datetime64[us]")
        expected.loc[eggs.index, f"{name}_d"] = (day - begun) / _DAY
        expected.loc[eggs.index, "hatch_on" if name == "likely" else f"hatch_{name}_on"] = day
    for name in ("external_low_on", "external_high_on", "internal_low_on", "internal_high_on"):
        expected.loc[eggs.index, name] = eggs["pipped_at"].dt.normalize()
    return expected


def expected_hatch(eggs: pd.DataFrame, finished: pd.DataFrame) -> pd.DataFrame:
    """When each egg is expected to pip and to hatch.

    Whole days from setting (from laying, where the day it was set is not known) to hatch: D ~ Normal(mu, sigma),
    rounded. Beforehand mu ~ Normal(middle of the usual days, a sixth of their width + half a day) and ln sigma ~
    Normal(ln 0.9, 0.4) (practice); the keeper's own finished eggs of the species, counted from the same event, update
    both, integrated over a grid. The range is the run of days whose probability is nearest 95 %. Own eggs more
    than six days outside the usual days (from their median, where these are not known) are left out as mistaken dates.

    `eggs`: species, set_on, laid_on (days, or missing), usual_from_d, usual_to_d (days from steady incubation to hatch;
    one end stands for both), and, where known, pip_from_h and pip_to_h (else those of parrots). `finished`: the
    keeper's own eggs that hatched: species, set_on, laid_on, hatched_at.

    Returns, by the index of `eggs`: counted_from ("set" or "laid"), own (finished eggs it rests on); likely_d, low_d,
    high_d; hatch_on, hatch_low_on, hatch_high_on, and the ranges of external and internal pip: days. Missing throughout
    where no day is written, or neither usual days nor three own eggs are known. Eggs of no written species have no own.

    Source: external pip 24 to 72 h before hatch, internal pip 12 to 48 h before that: a husbandry manual of parrots.
    """
    asked = _counted(eggs).reset_index(drop=True)
    table = pd.DataFrame({name: pd.Series(index=asked.index, dtype=kind) for name, kind in COLUMNS.items()})
    own = _counted(finished)
    own["days"] = ((pd.to_datetime(finished["hatched_at"]).dt.normalize() - own["begun"]) / _DAY).astype(float)
    own = own[own["kind"] != ""].dropna(subset="days")  # those of no written species may be of any
    known = asked.dropna(subset="begun")
    by = ["kind", "start", "low", "high", "pip_from_h", "pip_to_h"]
    for (species, start, low, high, *pip_h), same_eggs in known.groupby(by, dropna=False):
        mine = own.loc[(own["kind"] == species) & (own["start"] == start), "days"].to_numpy(dtype=float)
        chances = _chances(mine, float(low), float(high), str(start))
        if chances is not None:
            for name, value in _ranges(same_eggs["begun"], *chances, *pip_h):
                table.loc[same_eggs.index, name] = value
            table.loc[same_eggs.index, "counted_from"] = start
    return table.fillna({"own": 0}).astype({"own": "int64"}).set_index(eggs.index)


def how_far(expected: pd.DataFrame, on: pd.Timestamp, hatch_by: pd.Series | None = None) -> pd.Series:
    """Tell how far each egg is on a day: "incubating", "may pip", "may hatch", "overdue", or "" where nobody knows.

    One with a moment in `hatch_by` has pipped: "pipped", and "late pip" once that is over on the morning.
    """
    on = on.normalize()
    state = pd.Series("incubating", index=expected.index, dtype=object)
    state[expected["internal_low_on"] <= on] = "may pip"
    state[expected["hatch_low_on"] <= on] = "may hatch"
    state[expected["hatch_high_on"] < on] = "overdue"
    state[expected["hatch_high_on"].isna()] = ""
    if hatch_by is not None:
        state[hatch_by.notna()] = "pipped"
        state[hatch_by < on + pd.Timedelta(hours=MORNING_H)] = "late pip"
    return state


def _counted(eggs: pd.DataFrame) -> pd.DataFrame:
    """The day each egg is counted from, and what it shares with others."""
    set_on, laid_on = (pd.to_datetime(eggs[name]).dt.normalize() for name in ("set_on", "laid_on"))
    table = eggs.reindex(columns=["usual_from_d", "usual_to_d", "pip_from_h", "pip_to_h"]).astype(float)
    table = table.rename(columns={"usual_from_d": "low", "usual_to_d": "high"}).assign(
        kind=eggs["species"].fillna("").str.casefold().str.strip(),
        start=np.where(set_on.notna(), "set", "laid"),
        begun=set_on.fillna(laid_on),
    )
    return table.assign(low=table["low"].fillna(table["high"]), high=table["high"].fillna(table["low"]))


def _chances(own: Array, low: float, high: float, start: str) -> tuple[Array, Array, int] | None:
    """Days, the probability of each, and how many own eggs it rests on; None where nothing is known."""
    scatter, flat = (SCATTER_D if start == "set" else LAID_SCATTER_D), np.isnan(low)
    own = own[own > 0]
    if flat:
        middle, width, spread = (float(np.median(own)) if len(own) else 0.0), 0.0, 10.0
    else:
        later = LAID_LATER_D if start == "laid" else 0.0
        middle, width = (low + high) / 2 + later, high - low
        spread = float(np.hypot(width / 6 + 0.5, LAID_SPREAD_D if start == "laid" else 0.0))
    own = own[np.abs(own - middle) <= width / 2 + MISTAKEN_D]
    if flat and len(own) < LEAST_OWN:
        return None
    reach = 4 * min(spread, 2.0)
    first, last = np.append(own, middle - reach).min(), np.append(own, middle + reach).max()
    mu = np.linspace(first, last, 1 + int(np.ceil((last - first) / 0.1)))[:, None]
    sigma = scatter * np.exp(SCATTER_LN * np.linspace(-3, 3, 25))[None, :]
    log_weight = -0.5 * ((mu - middle) / spread) ** 2 - 0.5 * (np.log(sigma / scatter) / SCATTER_LN) ** 2
    values, counts = np.unique(np.round(own), return_counts=True)
    for day, count in zip(values.tolist(), counts.tolist(), strict=True):
        log_weight = log_weight + count * np.log(_share(day, mu, sigma) + 1e-12)
    weight = np.exp(log_weight - log_weight.max())
    days: Array = np.arange(np.floor(middle - 20), np.ceil(middle + 21), dtype=float)
    chance = np.array([(weight * _share(day, mu, sigma)).sum() for day in days]) / weight.sum()
    return days, chance / chance.sum(), len(own)


def _share(day: float, mu: Array, sigma: Array) -> Array:
    """Probability that a duration is rounded to this day."""
    from scipy.special import ndtr

    return np.asarray(ndtr((day + 0.5 - mu) / sigma) - ndtr((day - 0.5 - mu) / sigma))


def _ranges(
    begun: pd.Series, days: Array, chance: Array, own: int, from_h: float, to_h: float
) -> Iterator[tuple[str, object]]:
    low, high = _run(days, chance)
    likely = float(days[np.searchsorted(np.cumsum(chance), 0.5)])
    yield from (("own", own), ("likely_d", likely), ("low_d", low), ("high_d", high))
    for name, day in (("hatch_low_on", low), ("hatch_on", likely), ("hatch_high_on", high)):
        yield name, begun + day * _DAY
    # days from pip to hatch, with their shares
    parrots = np.isnan(from_h) or (from_h, to_h) == PARROTS_H
    least, most = (round(hours / 24) for hours in (PARROTS_H if parrots else (from_h, to_h)))
    external = {lag: 1 / (most - least + 1) for lag in range(least, most + 1)}
    internal = INTERNAL if parrots else {lag + 1: share for lag, share in external.items()}
    for name, lags in (("external", external), ("internal", internal)):
        before = sum(share * np.roll(chance, -lag) for lag, share in lags.items())
        first, last = _run(days, np.asarray(before))
        yield f"{name}_low_on", begun + first * _DAY
        yield f"{name}_high_on", begun + last * _DAY


def _run(days: Array, chance: Array) -> tuple[float, float]:
    """The run of days whose probability is nearest 95 %; of several as long, the likeliest; of those, the first.

    Whole days step over 95 %: with own eggs, runs that hold at least as much held 97 to 99 % of the hatch days of
    tests/calibrate_hatch.py (200 aviaries a row, seed 7), equal tails 98 to 99 %, and these 95 to 98 %.
    """
    sums = np.append(0.0, np.cumsum(chance))
    best = [sums[width:] - sums[:-width] for width in range(1, len(days) + 1)]
    width = int(np.argmin([abs(held.max() - SHARE) for held in best]))
    at = int(np.round(best[width], 9).argmax())
    return float(days[at]), float(days[at + width])
