"""What next season would give with these pairs: chicks weaned, chicks in hand by week, one pair more or less."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.errors import SeasonError
from analysis.finding import Finding, found
from analysis.logs.names import same
from analysis.names import by_name
from analysis.next_season.draw import Drawn, draw
from analysis.next_season.habits import habits
from analysis.review import Record, read_record, review_pairs
from analysis.review.clutch_value import clutch_value
from analysis.review.record import Array
from analysis.say import in_words
from analysis.season import Season, doubtful_logs, numbers_hold

RANGE = (0.1, 0.5, 0.9)  # four seasons in five fall between the ends


@dataclass(frozen=True)
class Outlook:
    """Next season with some pairs kept, as ranges: four seasons in five fall between low and high.

    Attributes
    ----------
    keep : the pairs kept, by name
    total : Series mean, low, middle, high: chicks weaned by all of them
    pairs : a row a pair of this season, by name: pair, kept, advice (see `review_pairs`), weaned, low, high (chicks
        weaned), total_with and total_without: chicks weaned in all, on average, with this pair and without it
    weeks : week (1 is the first of the year), low, middle, high: chicks in hand, hatched and not yet weaned; from the
        first week with any to the last
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
        A name that is no pair of this season, nothing was laid to tell from, or logs are damaged (`doubtful_logs`).

    Examples
    --------
    >>> from analysis import open_season
    >>> ahead = outlook(open_season("data_demo/season_2026"), ["P01", "P07"])
    >>> ahead.keep, bool(ahead.total["low"] <= ahead.total["middle"] <= ahead.total["high"])
    (('P01', 'P07'), True)
    """
    if not numbers_hold(season, joined=True):
        raise SeasonError(in_words(found("pairs.ahead-damaged", logs=_doubtful(season), folder=str(season.folder))))
    record = read_record(season) if record is None else record
    if record.clutches.empty:
        raise SeasonError(in_words(nothing_laid(record)))
    pairs = by_name(season.pairs["pair"])
    kept = _kept(keep, pairs)
    seeds = np.random.SeedSequence(seed).spawn(len(pairs))
    drawn = {
        pair: draw(habits(record, pair), clutch_value(record, pair), np.random.default_rng(one))
        for pair, one in zip(pairs, seeds, strict=True)
    }
    total = _sum([drawn[pair].weaned for pair in kept])
    review = review_pairs(season, record) if review is None else review
    table = _by_pair(drawn, kept, total)
    table.insert(2, "advice", table["pair"].map(review.set_index("pair")["advice"]))
    return Outlook(tuple(kept), _told(total), table, _weeks(drawn, kept))


def nothing_laid(record: Record) -> Finding:
    """Tell why next season cannot be told where no egg is logged."""
    fates = record.birds.chicks["fate"]
    if not len(fates):
        return found("pairs.ahead-nothing-laid")
    return found("pairs.ahead-only-chicks", weaned=int((fates == "weaned").sum()), chicks=len(fates))


def _doubtful(season: Season) -> list[str]:
    return list(dict.fromkeys(doubt.file or doubt.log for doubt in doubtful_logs(season, joined=True)))


def _kept(keep: Sequence[str] | None, pairs: list[str]) -> list[str]:
    if keep is None:
        return pairs
    known = {same(pair): pair for pair in pairs}
    unknown = [name for name in keep if same(name) not in known]
    if unknown:
        raise SeasonError(in_words(found("pairs.no-such-pairs", names=unknown, pairs=pairs)))
    return by_name({known[same(name)] for name in keep})


def _sum(parts: list[Array]) -> Array:
    return np.sum(parts, axis=0) if parts else np.zeros(1)


def _told(draws: Array) -> pd.Series:
    low, middle, high = np.quantile(draws, RANGE)
    return pd.Series({"mean": draws.mean(), "low": low, "middle": middle, "high": high})


def _by_pair(drawn: dict[str, Drawn], kept: list[str], total: Array) -> pd.DataFrame:
    rows = []
    for pair, one in drawn.items():
        told, in_it = _told(one.weaned), pair in kept
        without = total.mean() - one.weaned.mean() if in_it else total.mean()
        rows.append((pair, in_it, told["mean"], told["low"], told["high"], without + one.weaned.mean(), without))
    return pd.DataFrame(rows, columns=["pair", "kept", "weaned", "low", "high", "total_with", "total_without"])


def _weeks(drawn: dict[str, Drawn], kept: list[str]) -> pd.DataFrame:
    if not kept:
        return pd.DataFrame(columns=["week", "low", "middle", "high"])
    in_hand = _sum([drawn[pair].in_hand for pair in kept])
    low, middle, high = np.quantile(in_hand, RANGE, axis=0)
    weeks = pd.DataFrame({"week": np.arange(1, len(low) + 1), "low": low, "middle": middle, "high": high})
    some = np.flatnonzero(weeks["high"] > 0)
    return weeks.iloc[some[0] : some[-1] + 1].reset_index(drop=True) if len(some) else weeks.iloc[:0]
