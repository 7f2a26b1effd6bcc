"""What next season would give with the pairs that are kept: each one's habits, and what a clutch of it gives."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from analysis.errors import SeasonError
from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.names import by_name
from analysis.pairs.evidence import ClutchValue, StageDraws, clutch_value
from analysis.pairs.record import Array, Record, read_record
from analysis.pairs.review import review_pairs
from analysis.pairs.verdict import ADVICE
from analysis.say import in_words, say
from analysis.season import Season, numbers_hold
from analysis.season.data_quality import unreliable_logs
from analysis.season.species import incubation_range, written_for

_SPACING_D = 60.0  # practice: from one clutch's first egg to the next one's
_WEAN_D = 45.0  # practice, where no chick of the kind was weaned yet and species says nothing
_INCUBATION_D = 21.0
_FIRST_DAY = 75.0  # practice: middle of March, where no laying day is known
_WEEKS = 53
_LOST_AT = 0.2  # share of the time to weaning at which a chick is lost, about (practice: most losses come early)
_RANGE = (0.1, 0.5, 0.9)  # four seasons in five fall between the ends
CAUTION = found("pairs.ahead-caution")


@dataclass(frozen=True)
class Habits:
    """One pair's habits: `clutches` a season, `sizes` in eggs (its own and its species'), `first_day` of the year."""

    clutches: Array
    sizes: Array
    first_day: float
    spacing_d: float
    incubation_d: float
    wean_d: float


def habits(record: Record, pair: str) -> Habits:
    """Read a pair's habits from all joined seasons; what it never did is taken from its species, then from all."""
    species = str(record.birds.pairs.set_index("pair").loc[pair, "species"])
    log, read = record.season.logs["species"], incubation_range(species)
    laid = record.clutches.merge(_first_eggs(record), on=["season", "pair", "clutch"], how="left")
    ways = [laid[laid["pair"] == pair], laid[laid["species"] == species], laid]
    own, alike, every = (way["eggs"].dropna().to_numpy(float) for way in ways)
    sizes = next((some for some in (np.concatenate([own, alike]), every) if len(some)), np.array([4.0]))
    clutches = next((way.groupby(["season", "pair"]).size() for way in ways if len(way)), [1.0])
    chicks = record.birds.chicks[record.birds.chicks["species"] == species]
    weaned_d = (chicks["weaned_on"] - chicks["hatched_at"].dt.normalize()).dt.days.median()
    most = written_for(log, species, "clutches_a_season") or record.season.settings.number("clutches_then_rest")
    return Habits(
        clutches=np.minimum(np.asarray(clutches, float), most),
        sizes=sizes,
        first_day=_known([way.groupby(["season", "pair"])["day"].min().median() for way in ways], _FIRST_DAY),
        spacing_d=_known([_spacing(way) for way in ways], _SPACING_D),
        incubation_d=_known([written_for(log, species, "incubation_d"), read.high if read else None], _INCUBATION_D),
        wean_d=_known([weaned_d, written_for(log, species, "wean_to_d")], _WEAN_D),
    )


def _known(values: list[float | None], otherwise: float) -> float:
    return next((float(value) for value in values if value is not None and not pd.isna(value)), otherwise)


def _first_eggs(record: Record) -> pd.DataFrame:
    """Day of the year of the first egg of each clutch: season, pair, clutch, day."""
    by = ["season", "pair", "clutch"]
    counted = record.birds.clutches.rename(columns={"first_egg_on": "laid_on"})
    days = pd.concat([frame[[*by, "laid_on"]] for frame in (record.birds.eggs, counted)])
    return days.groupby(by)["laid_on"].min().dt.day_of_year.rename("day").reset_index()


def _spacing(laid: pd.DataFrame) -> float:
    return float(laid.dropna(subset=["day"]).sort_values("day").groupby(["season", "pair"])["day"].diff().median())


@dataclass(frozen=True)
class Drawn:
    """Draws of one pair's next season; `in_hand` (draws, weeks): chicks hatched and not yet weaned, by week."""

    weaned: Array
    hatched: Array
    in_hand: Array


def draw(habits: Habits, value: ClutchValue, rng: np.random.Generator) -> Drawn:
    """Draw a pair's next season from what a clutch of it gives, once for each draw of the rates."""
    draws = len(value.eggs)
    clutches = rng.choice(habits.clutches, draws).astype(int)
    weaned, hatched, in_hand = np.zeros(draws), np.zeros(draws), np.zeros((draws, _WEEKS))
    day = habits.first_day + rng.normal(0, 7, draws)
    for number in range(int(clutches.max(initial=0))):
        eggs = rng.choice(habits.sizes, draws).astype(int)
        out = _through(_through(_through(eggs, value.intact, rng), value.fertile, rng), value.hatch, rng)
        fledged = _through(out, value.wean, rng)
        out, fledged = (np.where(clutches > number, part.astype(float), 0) for part in (out, fledged))
        hatched, weaned = hatched + out, weaned + fledged
        hatch_day = day + number * habits.spacing_d + habits.incubation_d
        in_hand += fledged[:, None] * _weeks(hatch_day, habits.wean_d)
        in_hand += (out - fledged)[:, None] * _weeks(hatch_day, _LOST_AT * habits.wean_d)
    return Drawn(weaned, hatched, in_hand)


def _through(came: Array, stage: StageDraws, rng: np.random.Generator) -> Array:
    """How many of a clutch come through a stage; some fail whole."""
    whole = rng.random(len(came)) >= stage.failing
    return np.asarray(rng.binomial(came.astype(int), stage.rate) * whole, float)


def _weeks(from_day: Array, days: float) -> Array:
    """Whether a chick of each draw is in hand in each week."""
    week, begins = 7.0 * np.arange(_WEEKS) + 3.5, from_day[:, None]
    return ((week >= begins) & (week < begins + days)).astype(float)


@dataclass(frozen=True)
class Outlook:
    """Next season with some pairs kept, as ranges: four seasons in five fall between low and high.

    `total`: mean, low, middle, high of the chicks weaned by all that are kept. `pairs`: a row a pair of this season, by
    name: pair, kept, advice, weaned, low, high (chicks weaned), total_with and total_without: chicks weaned in all, on
    average, with this pair and without it. `weeks`: week (1 is the first of the year), low, middle, high of the chicks
    in hand, hatched and not yet weaned, from the first week with any to the last.
    """

    keep: tuple[str, ...]
    total: pd.Series
    pairs: pd.DataFrame
    weeks: pd.DataFrame


def outlook(
    season: Season,
    keep: Sequence[str] | None = None,
    *,
    record: Record | None = None,
    review: pd.DataFrame | None = None,
    seed: int = 0,
) -> Outlook:
    """Draw next season from the record, with the pairs that are kept.

    Each of some thousand draws takes one set of rates that the record allows, and lets every pair lay as often and as
    many as it and its species did, in the weeks in which it did. So a range holds what is not known of a pair and the
    luck of single eggs. New illness, new birds or another way of keeping are in none of it.

    Parameters
    ----------
    season : Season
    keep : names of pairs of this season; None: all of them
    record, review : from `read_record` and `review_pairs`, where they are known already
    seed : the same seed gives the same digits

    Returns
    -------
    Outlook

    Raises
    ------
    SeasonError
        A name that is no pair of this season, nothing was laid to tell from, or logs are damaged (`unreliable_logs`).

    Examples
    --------
    >>> from analysis import open_season
    >>> ahead = outlook(open_season("data_demo/season_2026"), ["P01", "P07"])
    >>> ahead.keep, bool(ahead.total["low"] <= ahead.total["middle"] <= ahead.total["high"])
    (('P01', 'P07'), True)
    """
    if not numbers_hold(season, joined=True):
        logs = list(dict.fromkeys(doubt.file or doubt.log for doubt in unreliable_logs(season, joined=True)))
        raise SeasonError(in_words(found("pairs.ahead-damaged", logs=logs, folder=str(season.folder))))
    record = read_record(season) if record is None else record
    if record.clutches.empty:
        fates = record.birds.chicks["fate"]
        weaned = int((fates == "weaned").sum())
        chicks = found("pairs.ahead-only-chicks", weaned=weaned, chicks=len(fates))
        raise SeasonError(in_words(chicks if len(fates) else found("pairs.ahead-nothing-laid")))
    pairs = by_name(season.pairs["pair"])
    kept = _kept(keep, pairs)
    seeds = np.random.SeedSequence(seed).spawn(len(pairs))
    drawn = {
        pair: draw(habits(record, pair), clutch_value(record, pair), np.random.default_rng(one))
        for pair, one in zip(pairs, seeds, strict=True)
    }
    total = np.sum([drawn[pair].weaned for pair in kept], axis=0) if kept else np.zeros(1)
    review = review_pairs(season, record) if review is None else review
    table = _by_pair(drawn, kept, total)
    table.insert(2, "advice", table["pair"].map(review.set_index("pair")["advice"]))
    return Outlook(tuple(kept), _range(total), table, _weeks_ahead(drawn, kept))


def _kept(keep: Sequence[str] | None, pairs: list[str]) -> list[str]:
    if keep is None:
        return pairs
    known = {same(pair): pair for pair in pairs}
    unknown = [name for name in keep if same(name) not in known]
    if unknown:
        raise SeasonError(in_words(found("pairs.no-such-pairs", names=unknown, pairs=pairs)))
    return by_name({known[same(name)] for name in keep})


def _range(draws: Array) -> pd.Series:
    low, middle, high = np.quantile(draws, _RANGE)
    return pd.Series({"mean": draws.mean(), "low": low, "middle": middle, "high": high})


def _by_pair(drawn: dict[str, Drawn], kept: list[str], total: Array) -> pd.DataFrame:
    rows = []
    for pair, one in drawn.items():
        of_it, in_it = _range(one.weaned), pair in kept
        without = total.mean() - one.weaned.mean() if in_it else total.mean()
        rows.append((pair, in_it, of_it["mean"], of_it["low"], of_it["high"], without + one.weaned.mean(), without))
    return pd.DataFrame(rows, columns=["pair", "kept", "weaned", "low", "high", "total_with", "total_without"])


def _weeks_ahead(drawn: dict[str, Drawn], kept: list[str]) -> pd.DataFrame:
    if not kept:
        return pd.DataFrame(columns=["week", "low", "middle", "high"])
    low, middle, high = np.quantile(np.sum([drawn[pair].in_hand for pair in kept], axis=0), _RANGE, axis=0)
    weeks = pd.DataFrame({"week": np.arange(1, len(low) + 1), "low": low, "middle": middle, "high": high})
    some = np.flatnonzero(weeks["high"] > 0)
    return weeks.iloc[some[0] : some[-1] + 1].reset_index(drop=True) if len(some) else weeks.iloc[:0]


def outlook_lines(ahead: Outlook) -> Iterator[str]:
    """Write the outlook in lines: chicks weaned in all, one pair more or less, chicks in hand by week."""
    if not ahead.keep:
        yield say("pairs.ahead-no-pair")
        return
    yield say("pairs.ahead", pairs=ahead.keep, **ahead.total.to_dict())
    yield ""
    yield say("pairs.ahead-one-pair")
    width = max(len(str(pair)) for pair in ahead.pairs["pair"])
    for row in ahead.pairs.to_dict("records"):
        code = "pairs.ahead-without-it" if row["kept"] else "pairs.ahead-with-it"
        yield f"  {row['pair']:<{width}}  {say(code, **row | {'advice': ADVICE[row['advice']]})}"
    yield ""
    yield say("pairs.ahead-in-hand")
    for week in ahead.weeks.to_dict("records"):
        day = _first_of(week["week"])
        of = say("pairs.ahead-week", at=day.day, day=day)
        yield f"  {of:<14}  {say('pairs.ahead-chicks', **week)}"
    yield ""
    yield in_words(CAUTION)


def _first_of(week: Any) -> pd.Timestamp:
    """The first day of a week of the year, of a year that is no leap year."""
    return pd.Timestamp(2001, 1, 1) + pd.Timedelta(days=7 * (int(week) - 1))


def most_in_hand(ahead: Outlook) -> Finding | None:
    """When most chicks would be in hand; None where none would."""
    if not len(ahead.weeks) or not ahead.weeks["high"].max():
        return None
    most = ahead.weeks.loc[ahead.weeks["middle"].idxmax()]
    day = _first_of(most["week"])
    return found("pairs.ahead-most-in-hand", at=day.day, day=day, low=most["low"], high=round(most["high"]))
