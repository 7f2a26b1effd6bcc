"""Weighings → one row a chick and weighing, with its age; what cannot be right is not used, and said."""

import math
import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, Words
from analysis.logs import Ledger, Place, Settings
from analysis.logs.cells import GRAMS, near
from analysis.logs.headings import NameBook, same
from analysis.logs.values import Weighings
from analysis.needed import typed_frame
from analysis.season.chicks import kind_of
from analysis.season.days import Rows
from analysis.season.species import keepers_species
from analysis.season.weight_units import logs_in_another_unit

TEN = math.log(10)
OUNCE = math.log(GRAMS["oz"])
_LONGEST_GAP_D = 3.0
_SLIP_WIDTH = 0.25  # how far from the exact factor, in ln; the two factors lie 1.04 apart
_GAIN = 0.2  # early gain a day, about 20 % (Wragg, a hand-rearing account)
_DAY = np.timedelta64(86_400_000_000, "us")

WEIGHTS = {
    **{"chick": "str", "weighed_at": "datetime64[us]", "age_d": "float64", "mass_g": "float64"},
    **{"crop": "str", "together": "int64", "notes": "str", "file": "str", "row": "Int64"},
}
_PLACE = ("file", "row")
_OF_THE_CHICK = ("pair", "clutch", "species", "kind", "did_well", "sure_to_days")
CROPS = {"chick": "str", "weighed_at": "datetime64[us]", "crop": "str", "odd_crop": "str"}
_WRITTEN: dict[str, Any] = {"who": object, "weighed_at": "datetime64[us]", "timed": bool, "weight": float}
_WRITTEN |= {"crop": object, "notes": object, "file": object, "row": np.int64, "table": np.int64, "column": np.int64}
_CROPS_CALLED = {crop: Finding(f"season.crop-{crop}") for crop in ("empty", "part", "full")}


def crop_words(crop: str) -> Words:
    """What is said of how full a crop was; another word as it was written."""
    return _CROPS_CALLED.get(crop, crop)


def weights_frame(
    rows: Rows, chicks: pd.DataFrame, book: NameBook, settings: Settings, ledger: Ledger
) -> tuple[Rows, pd.DataFrame, pd.DataFrame]:
    """Return the rows that are used; one row a chick and weighing, by chick and time; and the crops of all others.

    The columns of the first frame are `WEIGHTS`, and before file and row what is known of the chick, `_OF_THE_CHICK`;
    of the second `CROPS`: a crop that was written stands, whatever is wrong with the weight beside it.
    """
    written = _Written(rows)
    found = _of_known_chicks(written, chicks, book, ledger)
    found = _in_their_lives(found, chicks, written, ledger)
    found = found.assign(age_d=_ages_d(found, chicks), mass_g=found["weight"] / found["together"])
    found = _without_whole_logs(found, settings["weight_unit"], written, ledger)
    found = _one_at_a_time(found, written, ledger)
    found = _without_slips(found, settings, written, ledger)
    _too_heavy(found, chicks, rows, written, ledger)
    found = found.iloc[np.lexsort((found["row"], found["weighed_at"], found["number"]))]
    known = chicks.assign(kind=kind_of(chicks).astype("str"), did_well=chicks["fate"] == "weaned")
    beside = known[["chick", *_OF_THE_CHICK]].take(found["number"].to_numpy()).reset_index(drop=True)
    table = pd.concat([found.reset_index(drop=True), beside], axis=1).astype(WEIGHTS)
    table = table[[*(name for name in WEIGHTS if name not in _PLACE), *_OF_THE_CHICK, *_PLACE]]
    unused = written.frame[(written.frame["crop"] != "") & ~written.frame.index.isin(found["entry"])]
    alone = (row.values for row in rows.crops if row["crop"] or row["odd_crop"])
    crops = [*unused.rename(columns={"who": "chick"}).to_dict("records"), *alone]
    crops = [{**crop, "chick": chick} for crop in crops if (chick := book.find(crop["chick"]))]  # of one chick alone
    return written.used(rows), table, typed_frame(crops, CROPS)


class _Written:
    """All weighings as they were written, in the order of the tables, their rows and columns: a frame as `_WRITTEN`."""

    def __init__(self, rows: Rows):
        self._rows, self._tables = rows["weights"], rows.weighings
        self._starts = np.cumsum([len(self._rows), *map(len, self._tables)])
        cells = [[row[name] for row in self._rows] for name in ("chick", "weighed_at", "weighed_at_timed", "weight")]
        cells += [[row[name] or "" for row in self._rows] for name in ("crop", "notes")]
        cells += [[getattr(row.place, name) for row in self._rows] for name in ("file", "row", "nth", "at")]
        by_row = [np.array(column, dtype=kind) for column, kind in zip(cells, _WRITTEN.values(), strict=True)]
        columns = zip(_WRITTEN, zip(by_row, *map(_by_column, self._tables), strict=True), strict=True)
        every = {name: np.concatenate(part) for name, part in columns}
        where = (every.pop("column"), every["row"], every.pop("table"))
        self._order = np.lexsort(where) if self._rows else np.arange(len(every["row"]))
        self.frame = pd.DataFrame(every, copy=False)
        if self._rows:
            self.frame = self.frame.take(self._order).reset_index(drop=True)
        self._dropped: list[int] = []

    def place(self, at: int) -> Place:
        """Where a weighing was written."""
        at = int(self._order[at])
        part = int(np.searchsorted(self._starts, at, side="right"))
        return self._rows[at].place if part == 0 else self._tables[part - 1].place(at - self._starts[part - 1])

    def drop(self, at: int, code: str, column: str, value: str, ledger: Ledger, **facts: Any) -> None:
        """Say that a weighing is not used, and why."""
        ledger.drop(code, self.place(at), column, value, **facts)
        self._dropped.append(at)

    def set_aside(self, entries: pd.Series, ledger: Ledger) -> None:
        """Leave out weighings of which one problem speaks for all."""
        for at in entries.unique().tolist():
            ledger.set_aside(self.place(at))
            self._dropped.append(at)

    def used(self, rows: Rows) -> Rows:
        """The rows without the weighings that were dropped."""
        if not self._dropped:
            return rows
        used = np.ones(len(self.frame), dtype=bool)
        used[self._order[self._dropped]] = False
        parts = np.split(used, self._starts[:-1])
        kept = [row for row, is_used in zip(self._rows, parts[0], strict=True) if is_used]
        return rows.but({"weights": kept}, [one.take(part) for one, part in zip(self._tables, parts[1:], strict=True)])


def _by_column(table: Weighings) -> list[Any]:
    file, nth = np.full(len(table), table.table.file, dtype=object), np.full(len(table), table.table.nth)
    written = [table.names(), table.weighed_at, table.timed, table.weight, table.crop, table.notes]
    return [*written, file, table.numbers(), nth, table.column]


def _of_known_chicks(written: _Written, chicks: pd.DataFrame, book: NameBook, ledger: Ledger) -> pd.DataFrame:
    """Return a row a chick on the scale: number (which of `chicks`), together, entry (which weighing), and the rest."""
    frame = written.frame
    codes, names = pd.factorize(frame["who"].to_numpy(dtype=object))
    number = {name: at for at, name in enumerate(chicks["chick"])}
    who = [[number[name] for name in on_the_scale(text, book)] for text in names]
    size = np.array([len(one) for one in who], dtype=np.int64)[codes]
    close = {name: near(name, book) for name, one in zip(names, who, strict=True) if not one}
    for at in np.flatnonzero(size == 0).tolist():
        name = names[codes[at]]
        written.drop(at, "unknown-chick", "chick", name, ledger, near=close[name])
    weight = frame["weight"].to_numpy()
    for at in np.flatnonzero((size > 0) & ~(weight > 0)).tolist():
        written.drop(at, "weight-not-positive", "weight", f"{weight[at]:g}", ledger)
    entry = np.repeat(np.arange(len(frame)), np.where(weight > 0, size, 0))
    together = size[entry]
    nth = np.arange(len(entry)) - np.searchsorted(entry, entry)
    on_scale = np.full((len(who), max(map(len, who), default=1)), -1)
    for at, mine in enumerate(who):
        on_scale[at, : len(mine)] = mine
    number_of = on_scale[codes[entry], nth]
    return frame.iloc[entry].assign(entry=entry, number=number_of, together=together).reset_index(drop=True)


def on_the_scale(written: str, book: NameBook) -> list[str]:
    """Return the chicks that a cell names; K3+K4 are two, unless a chick bears that name."""
    chick = book.find(written)
    if chick:
        return [chick]
    parts = [book.find(part) for part in re.split(r"\+|&|/|\band\b", written)]
    return [part for part in parts if part] if len(parts) > 1 and None not in parts else []


def _in_their_lives(found: pd.DataFrame, chicks: pd.DataFrame, written: _Written, ledger: Ledger) -> pd.DataFrame:
    """Drop what was weighed before its chick hatched, by more than the day is sure to, or after it was lost."""
    unsure = pd.to_timedelta(chicks["sure_to_days"].fillna(0).astype(int), unit="D")
    begins = (chicks["hatched_at"].dt.normalize() - unsure).to_numpy()[found["number"]]
    ends = (chicks["lost_on"] + pd.Timedelta(days=1)).to_numpy()[found["number"]]
    moment = found["weighed_at"].to_numpy()
    early, late = moment < begins, moment >= ends  # a day that is not known bounds nothing
    entries = found["entry"].to_numpy()
    gone = {int(entries[at]): at for at in np.flatnonzero(early | late)[::-1]}  # chicks weighed together: the first
    for entry, at in sorted(gone.items()):
        code = "weight-before-hatch" if early[at] else "weight-after-loss"
        written.drop(entry, code, "weighed_at", f"{pd.Timestamp(moment[at]):%Y-%m-%d}", ledger)
    return found[~found["entry"].isin(gone)] if gone else found


def _ages_d(found: pd.DataFrame, chicks: pd.DataFrame) -> Any:
    """The age of each weighing in days; the day of hatch is 0.

    Where a time of day is missing on either side, the difference of the dates; otherwise a fraction.
    """
    hatched = chicks["hatched_at"].to_numpy().astype("datetime64[us]")[found["number"]]
    both = found["timed"].to_numpy() & chicks["hatched_at_timed"].to_numpy(dtype=bool)[found["number"]]
    moment = found["weighed_at"].to_numpy().astype("datetime64[us]")
    whole = moment.astype("datetime64[D]") - hatched.astype("datetime64[D]")
    return np.where(both, (moment - hatched) / _DAY, whole / np.timedelta64(1, "D"))


def _without_whole_logs(found: pd.DataFrame, unit: str, written: _Written, ledger: Ledger) -> pd.DataFrame:
    """Set aside whole logs in another unit: said at their first weighing."""
    logs = logs_in_another_unit(found, unit)
    for file, facts in logs.items():
        entries = found.loc[found["file"] == file, "entry"]
        ledger.say("log-in-another-unit", written.place(int(entries.min())), "weight", f"{facts['number']:g}", **facts)
        written.set_aside(entries, ledger)
    return found[~found["file"].isin(list(logs))] if logs else found


def _one_at_a_time(found: pd.DataFrame, written: _Written, ledger: Ledger) -> pd.DataFrame:
    """Drop the same weighing written twice; two that differ are both used, and said."""
    key = ["number", "weighed_at", "together"]
    twice = found[found.duplicated(key, keep=False)] if len(found) else found
    first: dict[tuple[Any, ...], Any] = {}
    gone = []
    for weighing in twice.itertuples():
        earlier = first.setdefault((weighing.number, weighing.weighed_at, weighing.together), weighing)
        if earlier is weighing:
            continue
        if earlier.mass_g == weighing.mass_g:
            written.drop(weighing.entry, "repeated-row", "weight", f"{weighing.mass_g:g}", ledger, first=earlier.row)
            gone.append(weighing.Index)
        else:
            both = Finding("problems.two-weights", facts={"first": earlier.mass_g, "second": weighing.mass_g})
            ledger.say("weighed-twice", written.place(weighing.entry), "weight", both)
    return found.drop(index=gone)


def _without_slips(found: pd.DataFrame, settings: Settings, written: _Written, ledger: Ledger) -> pd.DataFrame:
    slips = _find_slips(found.rename(columns={"number": "chick"}))
    if not slips:
        return found
    unit = "oz" if settings["weight_unit"] == "g" else "g"
    mornings = found.loc[found["together"] == 1, "weighed_at"].dt.normalize()
    weighed = mornings.value_counts()
    in_unit = mornings[[at for at, code in slips.items() if code == "another-unit"]].value_counts()
    for weighing in found.loc[sorted(slips)].itertuples():
        facts: dict[str, Any] = {}
        if slips[weighing.Index] == "another-unit":
            morning = mornings[weighing.Index]
            facts = {"off": in_unit[morning], "weighed": weighed[morning], "unit": unit}
        written.drop(weighing.entry, slips[weighing.Index], "weight", f"{weighing.mass_g:g}", ledger, **facts)
    return found.drop(index=list(slips))


def slip_factors(days: Sequence[float], mass_g: Sequence[float]) -> list[float]:
    """The factor, as ln, by which each weighing of one chick is off: a decimal point or an ounce; 0 where it is not.

    Weighings more than three days apart say nothing about each other. Where half stand on either side of a leap, nobody
    can tell which half is wrong, and none is called off.
    """
    level, levels, runs = 0.0, [0.0], [0]
    for i in range(1, len(days)):
        gap = days[i] - days[i - 1]
        if gap > _LONGEST_GAP_D:
            level = 0.0
            runs.append(i)
        else:
            step, most = math.log(mass_g[i] / mass_g[i - 1]), _SLIP_WIDTH + _GAIN * gap
            leap = next((one for one in (TEN, -TEN, OUNCE, -OUNCE) if one - _SLIP_WIDTH <= step <= one + most), 0.0)
            level = round(level + leap, 6) + 0.0
        levels.append(level)
    off: list[float] = []
    for start, end in zip(runs, [*runs[1:], len(days)], strict=True):
        ranked = Counter(levels[start:end]).most_common(2)
        usual = ranked[0][0]
        tied = len(ranked) > 1 and ranked[0][1] == ranked[1][1]
        off += [0.0 if tied else level - usual for level in levels[start:end]]
    return off


def _find_slips(weights: pd.DataFrame) -> dict[int, str]:
    """The weighings that are off: index label → "ten-fold" or "another-unit".

    A single weighing 28 times off is called another unit only where at least half of the chicks of that morning are:
    one person read one scale.
    """
    alone = weights[weights["together"] == 1].sort_values("weighed_at", kind="stable")
    if alone.empty:
        return {}
    alone = alone.assign(day=(alone["weighed_at"].to_numpy() - np.datetime64(0, "us")) / _DAY)
    leap = np.log(alone["mass_g"]).groupby(alone["chick"]).diff().abs() >= TEN - _SLIP_WIDTH
    found: dict[int, str] = {}
    ounces: dict[int, list[int]] = defaultdict(list)
    for _, mine in alone[alone["chick"].isin(alone.loc[leap, "chick"])].groupby("chick"):
        days = mine["day"].tolist()
        for label, day, off in zip(mine.index, days, slip_factors(days, mine["mass_g"].tolist()), strict=True):
            if abs(abs(off) - TEN) < 1e-3:
                found[label] = "ten-fold"
            elif abs(abs(off) - OUNCE) < 1e-3:
                ounces[int(day)].append(label)
    for morning, labels in ounces.items():
        if 2 * len(labels) >= int((np.floor(alone["day"]) == morning).sum()):
            found |= dict.fromkeys(labels, "another-unit")
    return found


def _too_heavy(found: pd.DataFrame, chicks: pd.DataFrame, rows: Rows, written: _Written, ledger: Ledger) -> None:
    most = {name: row["heaviest"] for name, row in keepers_species(rows["species"]).items() if row["heaviest"]}
    if not most:
        return
    limit = chicks["species"].map(same).map(most).to_numpy(dtype=float)[found["number"]]
    for at in np.flatnonzero(found["mass_g"].to_numpy() > limit):
        entry, mass_g = found["entry"].iloc[at], found["mass_g"].iloc[at]
        ledger.say("too-heavy", written.place(entry), "weight", f"{mass_g:g}", most=limit[at])
