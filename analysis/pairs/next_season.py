"""What next season would give with the pairs that are kept: each one's habits, and what a clutch of it gives."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.errors import SeasonError
from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.names import by_name
from analysis.pairs.dates_ahead import DATES_CAUTION, PUT_UP, TOO_OLD, dates_ahead
from analysis.pairs.draws_ahead import NextSeason, draw
from analysis.pairs.evidence import clutch_sizes, clutch_value
from analysis.pairs.habits import clutch_chances, pair_seasons
from analysis.pairs.record import Array, Record, read_record
from analysis.pairs.review import review_pairs
from analysis.pairs.verdict import ADVICE, CHECK, RE_PAIR, STOP
from analysis.say import in_words, say
from analysis.season import Season, numbers_hold
from analysis.season.data_quality import unreliable_logs

_FOUR_IN_FIVE = 0.8
_NOT_KEPT = (CHECK, RE_PAIR, STOP)
CAUTION, NO_PAIR = found("pairs.ahead-caution"), found("pairs.ahead-no-pair")


@dataclass(frozen=True)
class Outlook:
    """Next season with some pairs kept, as ranges: four seasons in five fall between low and high.

    `total`: mean, low, middle, high of the chicks weaned by all that are kept. `pairs`: a row a pair of this season, by
    name: pair, kept, advice, weaned, low, high (chicks weaned), total_with and total_without (chicks weaned in all, on
    average, with this pair and without it), weaned_new (on average, by a new pair in its place, were
    it settled), why (why it is not kept: a Finding, else None). `dates`: what comes when, by habit and rule, as
    `dates_ahead` has it: of the pairs that are kept, and the ages of all hens.
    """

    keep: tuple[str, ...]
    total: pd.Series
    pairs: pd.DataFrame
    dates: pd.DataFrame


def outlook(
    season: Season,
    keep: Sequence[str] | None = None,
    *,
    record: Record | None = None,
    review: pd.DataFrame | None = None,
    seed: int = 0,
) -> Outlook:
    """Draw next season from the record, with the pairs that are kept.

    Each of some thousand draws takes one set of rates that the record allows, moves them as seasons move (by what all
    pairs share and by what a pair has of its own), and lets every pair lay as often and as many as it and its species
    did, a season without a clutch among them. Eggs of one clutch are alike, some clutches fail whole, and what was set
    aside (eggs spoilt in an incubator, chicks lost in one event) comes again as often as it came. New illness, new
    birds or another way of keeping are in none of it.

    Parameters
    ----------
    season : Season
    keep : names of pairs of this season; None: all whose advice is keep, watch, rest, nothing against it so far or
        not enough to judge, but for a hen who will be older than the keeper's own limit before she is put up
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
    told, pairs = _told(season, record), by_name(season.pairs["pair"])
    asked = None if keep is None else _asked(keep, pairs)
    review = review_pairs(season, record) if review is None else review
    dates = dates_ahead(told, review)
    why = _left_out(review, dates)
    kept = [pair for pair in pairs if pair not in why] if asked is None else asked
    drawn, new = _drawn(told, pairs, seed), _drawn(told, pairs, seed, new=True)
    total = np.sum([drawn[pair] for pair in kept], axis=0) if kept else np.zeros(1)
    table = _by_pair(drawn, kept, total)
    table["weaned_new"] = [float(new[pair].mean()) for pair in table["pair"]]
    table.insert(2, "advice", table["pair"].map(review.set_index("pair")["advice"]))
    reasons = [None if pair in kept else why.get(pair, found("pairs.ahead-not-asked")) for pair in pairs]
    table["why"] = pd.Series(reasons, dtype=object)
    shown = dates[dates["pair"].isin(kept) | (dates["bird"] != "")].reset_index(drop=True)
    return Outlook(tuple(kept), _range(total), table, shown)


def _told(season: Season, record: Record | None) -> Record:
    """The record of a season that next season can be told from."""
    if not numbers_hold(season, joined=True):
        logs = list(dict.fromkeys(doubt.file or doubt.log for doubt in unreliable_logs(season, joined=True)))
        raise SeasonError(in_words(found("pairs.ahead-damaged", logs=logs, folder=str(season.folder))))
    record = read_record(season) if record is None else record
    if record.clutches.empty:
        fates = record.birds.chicks["fate"]
        weaned = int((fates == "weaned").sum())
        chicks = found("pairs.ahead-only-chicks", weaned=weaned, chicks=len(fates))
        raise SeasonError(in_words(chicks if len(fates) else found("pairs.ahead-nothing-laid")))
    return record


def _asked(keep: Sequence[str], pairs: list[str]) -> list[str]:
    known = {same(pair): pair for pair in pairs}
    unknown = [name for name in keep if same(name) not in known]
    if unknown:
        raise SeasonError(in_words(found("pairs.no-such-pairs", names=unknown, pairs=pairs)))
    return by_name({known[same(name)] for name in keep})


def _left_out(review: pd.DataFrame, dates: pd.DataFrame) -> dict[str, Finding]:
    """The pairs that are not kept unless they are asked for, and why."""
    put_up = dates[dates["what"] == PUT_UP].set_index("pair")["on"]
    old = dates[dates["what"] == TOO_OLD].set_index("pair")["on"]
    before = put_up.index[put_up >= old.reindex(put_up.index)]
    why = {pair: found("pairs.ahead-too-old", on=old[pair]) for pair in before}
    advice = review.loc[review["advice"].isin(_NOT_KEPT)].set_index("pair")["advice"]
    return why | {pair: found("pairs.ahead-advice", advice=ADVICE[word]) for pair, word in advice.items()}


def _drawn(record: Record, pairs: list[str], seed: int, *, new: bool = False) -> dict[str, Array]:
    """Draws of the chicks that each pair weans, or a `new` one in its place."""
    if not pairs:
        return {}
    first, *seeds = np.random.SeedSequence(seed).spawn(1 + len(pairs))
    values = {pair: clutch_value(record, pair, every_season=True, new=new) for pair in pairs}
    shared = NextSeason.of(record, len(next(iter(values.values())).eggs), np.random.default_rng(first))
    seasons, drawn = pair_seasons(record), {}
    for pair, one in zip(pairs, seeds, strict=True):
        chances = clutch_chances(record, seasons, pair, new=new)
        sizes = clutch_sizes(record, pair, len(values[pair].eggs), new=new)
        drawn[pair] = draw(chances, sizes, values[pair], shared, np.random.default_rng(one))
    return drawn


def _range(draws: Array) -> pd.Series:
    """Mean and middle of whole numbers, and the ends of the narrowest range that holds four in five of them.

    The tenths would hold more: where one draw in four is 0, nothing lies below the lower one.
    """
    ordered = np.sort(draws)
    inside = int(np.ceil(_FOUR_IN_FIVE * len(ordered))) - 1
    at = int(np.argmin(ordered[inside:] - ordered[: len(ordered) - inside]))
    middle = float(np.median(ordered))
    return pd.Series({"mean": draws.mean(), "low": ordered[at], "middle": middle, "high": ordered[at + inside]})


def _by_pair(drawn: dict[str, Array], kept: list[str], total: Array) -> pd.DataFrame:
    rows = []
    for pair, one in drawn.items():
        of_it, in_it = _range(one), pair in kept
        without = total.mean() - one.mean() if in_it else total.mean()
        rows.append((pair, in_it, of_it["mean"], of_it["low"], of_it["high"], without + one.mean(), without))
    return pd.DataFrame(rows, columns=["pair", "kept", "weaned", "low", "high", "total_with", "total_without"])


def not_kept(ahead: Outlook) -> Finding | None:
    """The pairs that are not kept, and why each is not; None where all are."""
    pairs_of: dict[Finding, list[str]] = {}
    for row in ahead.pairs[~ahead.pairs["kept"].astype(bool)].itertuples():
        pairs_of.setdefault(row.why, []).append(row.pair)
    parts = [found("pairs.ahead-pairs-and-why", pairs=pairs, why=why) for why, pairs in pairs_of.items()]
    return found("pairs.ahead-not-kept", parts=parts) if parts else None


def outlook_lines(ahead: Outlook) -> Iterator[str]:
    """Write the outlook in lines: chicks weaned in all, who is not kept and why, each pair, and what comes when."""
    yield say("pairs.ahead", pairs=ahead.keep, **ahead.total.to_dict()) if ahead.keep else in_words(NO_PAIR)
    if left := not_kept(ahead):
        yield in_words(left)
    if not ahead.keep:
        return
    yield ""
    yield say("pairs.ahead-one-pair")
    width = max(len(str(pair)) for pair in ahead.pairs["pair"])
    for row in ahead.pairs.to_dict("records"):
        code = "pairs.ahead-without-it" if row["kept"] else "pairs.ahead-with-it"
        yield f"  {row['pair']:<{width}}  {say(code, **row | {'advice': ADVICE[row['advice']]})}"
    yield ""
    yield in_words(CAUTION)
    yield ""
    yield say("pairs.dates-ahead")
    for row in ahead.dates.itertuples():
        yield f"  {say('pairs.dates-on', on=row.on):<18}  {in_words(row.found)}"
    yield ""
    yield in_words(DATES_CAUTION)
