"""What two rows or two logs say of one another: used, but questionable, and said."""

import math
from collections.abc import Mapping
from itertools import pairwise

import pandas as pd

from analysis.finding import found
from analysis.logs import Ledger, Place, Row, Settings
from analysis.logs.headings import NameBook, same
from analysis.season.days import Rows, last_day
from analysis.season.pairs import Aviary
from analysis.season.parentage import check_parents
from analysis.season.rings import check_rings
from analysis.season.species import keepers_species
from analysis.season.spelling import check_names, near_miss
from analysis.season.vocabulary import is_formula, is_kept_warm

LEFT_OUT = ("temperature_written", "temperature_if_other")

# An incubator at 37.5 °C stands at 99.5 °F. The ends are (practice).
_LIKE_F = (90.0, 125.0)  # in a log kept in °C nothing that is read or fed is so hot; in °F an incubator or a mix is
_LIKE_C = (30.0, 45.0)  # in a log kept in °F no egg is so cold; in °C it is an incubator
_FOOD_LIKE_C = (30.0, 60.0)  # in a log kept in °F no formula is so cold; in °C it is warm, or burns
_NIGHT_H = 16  # from the last feed of a day to a late look in the morning (practice)
_FED_D = 3  # practice: a day or two is help; three days of feeds, the last so lately, are rearing
_NEVER = (math.inf, -math.inf)
_IN_ORDER = {
    "hatches": (("laid_on", "set_on", "hatched_at", "weaned_on"), ("laid_on", "candled_on", "candled_again_on")),
    "pairs": (("put_up_on", "parted_on"),),
    "birds": (("hatched_on", "arrived_on"),),
}


def drop_other_unit_temperatures(rows: Rows, settings: Settings, ledger: Ledger) -> Rows:
    """Leave out temperatures of readings and feeds that are in the other unit, and say so; the rest of the row stays.

    Temperatures are in °C, whatever they were written in. What was left out stands beside it, so that the round can ask
    about it: `temperature_written`, the number, and `temperature_if_other`, °C where it is read in the other unit.
    """
    in_c = settings["temperature_unit"] == "C"
    incubators = {same(row["incubated_by"]) for row in rows["hatches"] if row["incubated_by"]}
    checked: dict[str, list[Row]] = {"readings": [], "feeds": []}
    for log, mine in checked.items():
        for row in rows[log]:
            celsius = row["temperature"]
            written = celsius if in_c or celsius is None else celsius * 1.8 + 32
            low, high = _LIKE_F if in_c else _like_c(row, incubators)
            if celsius is not None and low <= written <= high:
                facts = {"other": "F", "yours": "C"} if in_c else {"other": "C", "yours": "F"}
                ledger.bad_cell("other-temperature", row.place, "temperature", f"{written:g}", **facts)
                other_c = (written - 32) / 1.8 if in_c else written
                row = row.but(temperature=None, temperature_written=written, temperature_if_other=other_c)
            mine.append(row)
    return rows.but(checked)


def drop_odd_crop_hours(rows: Rows, ledger: Ledger) -> Rows:
    """Leave out when a crop was empty where that is before its feed, or after any night, and say so."""
    feeds = []
    for row in rows["feeds"]:
        if row["crop_empty_at"] is not None:
            hours = (row["crop_empty_at"] - row["fed_at"]) / pd.Timedelta(hours=1)
            if not 0 <= hours <= _NIGHT_H + 24 * (row["fed_at"] == row["fed_at"].normalize()):
                written = f"{row['crop_empty_at']:%Y-%m-%d %H:%M}"
                ledger.bad_cell("crop-hours", row.place, "crop_empty_at", written, hours=f"{hours:.3g}")
                row = row.but("crop_empty_at")
        feeds.append(row)
    return rows.but({"feeds": feeds})


def _like_c(row: Row, incubators: set[str]) -> tuple[float, float]:
    """Between which numbers one in a log kept in °F is in °C, by what it was taken of; where any may be °F, none."""
    if row.place.log == "feeds":
        return _FOOD_LIKE_C if is_formula(row["food"] or "") else _NEVER
    place = same(row["place"])
    return _LIKE_C if place in incubators or is_kept_warm(place) else _NEVER


def mark_known_birds(rows: Rows, aviary: Aviary, chicks: pd.DataFrame, ledger: Ledger) -> Rows:
    """Write beside each sign whether any log knows who was seen (`known`); who is not known is said."""
    birds = [row["bird"] for row in rows["birds"]]
    birds += [str(pair[bird]) for pair in aviary.pairs.values() for bird in ("cock", "hen") if pair.get(bird)]
    book = NameBook([*chicks["chick"], *chicks["ring"], *aviary.pairs, *birds])
    signs = [row.but(known=row["who"] in book) for row in rows["signs"]]
    for row in signs:
        if not row["known"]:
            ledger.say("unknown-who", row.place, "who", row["who"], near=near_miss(row["who"], book))
    return rows.but({"signs": signs})


def cross_check(
    rows: Rows, aviary: Aviary, frames: Mapping[str, pd.DataFrame], settings: Settings, ledger: Ledger
) -> None:
    """Note everything questionable that takes more than one row or log to see."""
    eggs, chicks = frames["eggs"], frames["chicks"]
    _dates_in_order(rows, ledger)
    for row in rows["hatches"]:
        if row["chick"] and row["chick"] in aviary.book:
            ledger.say("one-name-two-things", row.place, "chick", row["chick"])
    _cages(rows, aviary, ledger)
    check_parents(rows, aviary, frames, ledger)
    check_rings(rows, ledger)
    _eggs_of_a_clutch(rows, aviary, eggs, ledger)
    _counts(rows, eggs, frames["clutches"], chicks, ledger)
    _what_nobody_wrote(rows, eggs, chicks, ledger)
    check_names(rows, aviary, ledger)
    _fed_and_by_hand(rows, chicks, ledger)
    limit = settings.number("formula_burn_c")
    for row in rows["feeds"]:
        if row["temperature"] is not None and row["temperature"] >= limit:
            ledger.say("burning-hot", row.place, "temperature", f"{row['temperature']:.1f} °C", limit=limit)


def _fed_and_by_hand(rows: Rows, chicks: pd.DataFrame, ledger: Ledger) -> None:
    """Ask of each chick that is fed day by day, and written as with birds, whether it is reared by hand."""
    asked = chicks[~chicks["by_hand"] & (chicks["rearer_asked"] == "") & (chicks["fate"] == "being reared")]
    names, last = NameBook(asked["chick"]), last_day(rows)
    fed: dict[str, list[Row]] = {}
    for row in rows["feeds"]:
        chick = names.find(row["who"])
        if chick and row["amount"] and is_formula(row["food"] or ""):
            fed.setdefault(chick, []).append(row)
    for chick, feeds in fed.items():
        latest, days = max(feeds, key=lambda row: row["fed_at"]), {row["fed_at"].normalize() for row in feeds}
        if last is not None and len(days) >= _FED_D and last - max(days) < _FED_D * pd.Timedelta(days=1):
            ledger.say("fed-not-by-hand", latest.place, "who", chick, days=len(days))


def _dates_in_order(rows: Rows, ledger: Ledger) -> None:
    for log, columns in ((log, columns) for log, orders in _IN_ORDER.items() for columns in orders):
        for row in rows[log]:
            known = [(name, row[name].normalize()) for name in columns if row[name] is not None]
            for (before, first), (after, second) in pairwise(known):
                if first > second:
                    facts = {"earlier": before, "later": after}
                    ledger.say("dates-out-of-order", row.place, after, f"{second:%Y-%m-%d}", **facts)


def _cages(rows: Rows, aviary: Aviary, ledger: Ledger) -> None:
    """Look for a pair put in two cages on one day, and two pairs in one cage at once."""
    places = {row["pair"]: row.place for row in rows["pairs"]}
    whole = Place("pairs", "", "", None)
    spans: list[tuple[str, pd.Timestamp, str, pd.Timestamp]] = []
    for pair, stays in aviary.stays.items():
        parted = aviary.pairs[pair].get("parted_on") or pd.Timestamp.max
        for (since, cage), (until, _) in pairwise([*stays, (parted, "")]):
            if since == until and since > pd.Timestamp.min:
                ledger.say("two-cages-at-once", places.get(pair, whole), "cage", f"{cage}, {since:%Y-%m-%d}")
            spans.append((same(cage), since, pair, until))
    spans.sort()
    for (cage, _, pair, until), (other_cage, since, other, _) in pairwise(spans):
        colony = "colony" in (aviary.pairs[pair].get("kind"), aviary.pairs[other].get("kind"))
        if cage == other_cage and pair != other and since < until and not colony:
            both = found("problems.named", names=[pair, other])
            ledger.say("two-pairs-one-cage", places.get(other, whole), "cage", both)


def _eggs_of_a_clutch(rows: Rows, aviary: Aviary, eggs: pd.DataFrame, ledger: Ledger) -> None:
    own = keepers_species(rows["species"])
    for (pair, clutch), laid in eggs.groupby(["pair", "clutch"], sort=True):
        place = Place("hatches", laid["file"].iloc[0], "", int(laid["row"].iloc[0]))
        row = own.get(same(laid["species"].iloc[0]))
        most = row["clutch_eggs"] if row else None
        if most and len(laid) > most:
            written = found("problems.eggs-of-clutch", pair=pair, clutch=clutch, eggs=len(laid))
            ledger.say("large-clutch", place, "clutch", written, most=most)
        days = laid["laid_on"].dropna()
        span = (days.max() - days.min()).days + 1 if len(days) else 0
        if len(days) > span > 0 and aviary.pairs.get(pair, {}).get("kind") == "pair":
            facts = {"about": pair, "eggs": len(days), "days": span}
            ledger.say("eggs-too-fast", place, "laid_on", f"{pair} {clutch}", **facts)


def _counts(rows: Rows, eggs: pd.DataFrame, clutches: pd.DataFrame, chicks: pd.DataFrame, ledger: Ledger) -> None:
    """Hold the counts of a clutch against its eggs, where both are there, and against its chicks."""
    own = chicks[chicks["arrived_on"].isna()]
    named = own.groupby([own["pair"].map(same), own["clutch"].map(same)]).size().to_dict()
    laid = {key: group for key, group in eggs.groupby([eggs["pair"].map(same), eggs["clutch"].map(same)])}
    places = {(same(row["pair"]), same(row["clutch"])): row.place for row in rows["clutches"]}
    for count in clutches.itertuples():
        key = (same(str(count.pair)), same(str(count.clutch)))
        place = places.get(key) or Place("clutches", "", "", None)
        group = laid.get(key)
        if group is not None:
            hatched = int((group["outcome"] == "hatched").sum())
            if len(group) != count.eggs or (count.hatched is not pd.NA and hatched != count.hatched):
                facts = {"counted": count.eggs, "counted_hatched": None if count.hatched is pd.NA else count.hatched}
                ledger.say("counts-disagree", place, "eggs", count.eggs, **facts, eggs=len(group), hatched=hatched)
        if count.hatched is not pd.NA and named.get(key, 0) > count.hatched:
            facts = {"chicks": named[key], "hatched": count.hatched}
            ledger.say("more-chicks-than-hatched", place, "hatched", count.hatched, **facts)


def _what_nobody_wrote(rows: Rows, eggs: pd.DataFrame, chicks: pd.DataFrame, ledger: Ledger) -> None:
    """Say where a whole log holds only what went well, so that a rate would be too high."""
    outcomes = eggs["outcome"].value_counts()
    hatched, unknown = (int(outcomes.get(name, 0)) for name in ("hatched", "unknown"))
    if hatched and unknown and not set(outcomes.index) - {"hatched", "unknown", "still incubating"}:
        place = Place("hatches", eggs["file"].iloc[0], "", None)
        ledger.say("only-hatched-written", place, "outcome", hatched=hatched, unknown=unknown)
    weaned = int((chicks["fate"] == "weaned").sum())
    if weaned and not rows["losses"] and not ledger.read["losses"]:
        ledger.say("no-losses-written", Place("losses", chicks["file"].iloc[0], "", None), weaned=weaned)
