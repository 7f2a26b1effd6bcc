"""Weighings → one row a chick and weighing, with its age; what cannot be right is not used, and said."""

import math
import re
from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from analysis.finding import Finding, Words
from analysis.logs import Ledger, Place, Row, Settings
from analysis.logs.cells import GRAMS, near
from analysis.logs.headings import NameBook, same
from analysis.logs.values import Weighings
from analysis.season.dates import Rows
from analysis.season.frames import typed_columns, typed_frame
from analysis.season.rearing import kind_of
from analysis.season.species import keepers_species

TEN = math.log(10)
OUNCE = math.log(GRAMS["oz"])
_LONGEST_GAP_D = 3.0
_WIDE = 0.25  # how far from the exact factor, in ln; the two factors lie 1.04 apart
_GAIN = 0.2  # early gain a day, about 20 % (Wragg, a hand-rearing account)


def leaps(days: Sequence[float], mass_g: Sequence[float]) -> list[float]:
    """Return for each weighing of one chick the factor (as ln) by which it is off; 0 where it is not.

    Weighings more than three days apart say nothing about each other. Where half stand on either side of a
    leap, nobody can tell which half is wrong, and none is called off.

    Examples
    --------
    >>> [round(x, 1) for x in leaps([1, 2, 3, 4], [10, 11, 125, 14])]
    [0.0, 0.0, 2.3, 0.0]
    """
    level, levels, runs = 0.0, [0.0], [0]
    for i in range(1, len(days)):
        gap = days[i] - days[i - 1]
        if gap > _LONGEST_GAP_D:
            level = 0.0
            runs.append(i)
        else:
            level = round(level + _leap(math.log(mass_g[i] / mass_g[i - 1]), gap), 6) + 0.0
        levels.append(level)
    off: list[float] = []
    for start, end in zip(runs, [*runs[1:], len(days)], strict=True):
        off += _off(levels[start:end])
    return off


def _leap(step: float, gap: float) -> float:
    for factor in (TEN, OUNCE):
        if factor - _WIDE <= step <= factor + _WIDE + _GAIN * gap:
            return factor
        if -factor - _WIDE <= step <= -factor + _WIDE + _GAIN * gap:
            return -factor
    return 0.0


def _off(levels: list[float]) -> list[float]:
    ranked = Counter(levels).most_common(2)
    if len(ranked) > 1 and ranked[0][1] == ranked[1][1]:
        return [0.0] * len(levels)
    return [level - ranked[0][0] for level in levels]


def find_leaps(weights: pd.DataFrame) -> dict[int, str]:
    """Return the weighings that are off: index label → "ten-fold" or "another-unit".

    Parameters
    ----------
    weights
        One row a weighing: chick, weighed_at, mass_g, together; positive weights.

    Returns
    -------
    dict
        A single weighing 28 times off is called another unit only where at least half of the chicks of
        that morning are: one person read one scale.
    """
    alone = weights[weights["together"] == 1]
    days = (alone["weighed_at"].to_numpy() - np.datetime64(0, "us")) / np.timedelta64(86_400_000_000, "us")
    chicks: dict[str, list[tuple[int, float, float]]] = defaultdict(list)
    names, labels, masses = alone["chick"].to_numpy(), alone.index.to_numpy(), alone["mass_g"].to_numpy()
    for at in _that_leap(alone, days):
        chicks[names[at]].append((labels[at], days[at], masses[at]))
    found: dict[int, str] = {}
    ounces: dict[int, list[int]] = defaultdict(list)
    for weighings in chicks.values():
        labels, when, mass_g = zip(*weighings, strict=True)
        for label, day, off in zip(labels, when, leaps(when, mass_g), strict=True):
            if abs(abs(off) - TEN) < 1e-3:
                found[label] = "ten-fold"
            elif abs(abs(off) - OUNCE) < 1e-3:
                ounces[int(day)].append(label)
    for morning, off_labels in ounces.items():
        weighed = int((np.floor(days) == morning).sum())
        if 2 * len(off_labels) >= weighed:
            found |= dict.fromkeys(off_labels, "another-unit")
    return found


def _that_leap(alone: pd.DataFrame, days: NDArray[np.float64]) -> NDArray[np.intp]:
    """Return where the weighings of chicks stand that leap at all, in the order of time."""
    codes, _ = pd.factorize(alone["chick"])
    order = np.lexsort((days, codes))
    log = np.log(alone["mass_g"].to_numpy(dtype=float)[order])
    same_chick = codes[order][1:] == codes[order][:-1]
    leap = same_chick & (np.abs(np.diff(log)) >= TEN - _WIDE)
    leapers = np.zeros(codes.max(initial=-1) + 1, dtype=bool)
    leapers[codes[order][1:][leap]] = True
    by_time = np.argsort(days, kind="stable")
    leaping: NDArray[np.intp] = by_time[leapers[codes[by_time]]]
    return leaping


WEIGHTS = {
    "chick": "str",
    "weighed_at": "datetime64[us]",
    "age_d": "float64",
    "mass_g": "float64",
    "crop": "str",
    "together": "int64",
    "notes": "str",
    "file": "str",
    "row": "Int64",
}
OF_THE_CHICK = ("pair", "clutch", "species", "kind", "did_well", "sure_to_days")


CROPS = {"chick": "str", "weighed_at": "datetime64[us]", "crop": "str", "odd_crop": "str"}
_CROPS_SAID = {crop: Finding(f"season.crop-{crop}") for crop in ("empty", "part", "full")}


def crop_said(crop: str) -> Words:
    """Say how full a crop was; another word as it was written.

    Examples
    --------
    >>> crop_said("part").code, crop_said("bulging")
    ('season.crop-part', 'bulging')
    """
    return _CROPS_SAID.get(crop, crop)


def weights_frame(
    rows: Rows, chicks: pd.DataFrame, book: NameBook, settings: Settings, ledger: Ledger
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Return one row a chick and weighing, by chick and time; and the crops of the weighings that are not used.

    The columns of the first are `WEIGHTS`, and before file and row what is known of the chick, `OF_THE_CHICK`; those
    of the second `CROPS`: a crop that was written stands, whatever is wrong with the weight beside it.
    """
    written = Written(rows)
    found = _of_known_chicks(written, chicks, book, ledger)
    found = _in_their_lives(found, chicks, written, ledger)
    found["age_d"] = ages_d(found, chicks)
    found["mass_g"] = found["weight"] / found["together"]
    found = _one_at_a_time(found, written, ledger)
    found = _without_leaps(found, settings, written, ledger)
    _too_heavy(found, chicks, rows, written, ledger)
    written.leave_used(rows)
    found = found.iloc[np.lexsort((found["row"], found["weighed_at"], found["number"]))]
    names = chicks["chick"].to_numpy()[found["number"]]
    table = typed_columns({"chick": names, **{name: found[name] for name in WEIGHTS if name != "chick"}}, WEIGHTS)
    unused = written.frame[(written.frame["crop"] != "") & ~written.frame.index.isin(found["entry"])]
    return _with_the_chick(table, chicks, found["number"].to_numpy()), _crops(unused, rows.crops, book)


def _crops(unused: pd.DataFrame, crops: list[Row], book: NameBook) -> pd.DataFrame:
    """Crops of one chick alone, as `CROPS`; of weighings that were set aside, and of those without a weight."""
    rows = [(row.who, row.weighed_at, row.crop, "") for row in unused.itertuples()]
    rows += [tuple(row[name] for name in ("chick", "weighed_at", "crop", "odd_crop")) for row in crops]
    records = [dict(zip(CROPS, (book.find(who), *rest), strict=True)) for who, *rest in rows]
    return typed_frame([record for record in records if record["chick"]], CROPS)


def _with_the_chick(table: pd.DataFrame, chicks: pd.DataFrame, number: Any) -> pd.DataFrame:
    """Put beside each weighing what is known of its chick: `number` says which of `chicks` it is."""
    known = chicks.assign(kind=kind_of(chicks).astype("str"), did_well=chicks["fate"] == "weaned")
    beside = known[list(OF_THE_CHICK)].take(number).reset_index(drop=True)
    written = [name for name in WEIGHTS if name not in ("file", "row")]
    return pd.concat([table[written], beside, table[["file", "row"]]], axis=1)


class Written:
    """All weighings as they were written, in the order of the tables, their rows and columns.

    Attributes
    ----------
    frame : who, weighed_at, timed, weight, crop, notes, file, row
    """

    def __init__(self, rows: Rows):
        self._rows, self._tables = list(rows["weights"]), rows.weighings
        self._starts = np.cumsum([len(self._rows), *map(len, self._tables)])
        parts = [_by_row(self._rows), *map(_by_column, self._tables)]
        every = {name: np.concatenate([part[name] for part in parts]) for name in parts[0]}
        table, column = every.pop("table"), every.pop("column")
        self._order = np.lexsort((column, every["row"], table)) if self._rows else np.arange(len(table))
        self.frame = pd.DataFrame(every, copy=False)
        if self._rows:
            self.frame = self.frame.take(self._order).reset_index(drop=True)
        self._dropped: list[int] = []

    def place(self, at: int) -> Place:
        """Return where a weighing was written."""
        at = int(self._order[at])
        part = int(np.searchsorted(self._starts, at, side="right"))
        return self._rows[at].place if part == 0 else self._tables[part - 1].place(at - self._starts[part - 1])

    def drop(self, at: int, code: str, column: str, value: str, ledger: Ledger, **facts: Any) -> None:
        """Say that a weighing is not used, and why."""
        ledger.drop(code, self.place(at), column, value, **facts)
        self._dropped.append(at)

    def leave_used(self, rows: Rows) -> None:
        """Take out of the rows what was dropped."""
        if not self._dropped:
            return
        used = np.ones(len(self.frame), dtype=bool)
        used[self._order[self._dropped]] = False
        parts = np.split(used, self._starts[:-1])
        rows["weights"][:] = [row for row, is_used in zip(self._rows, parts[0], strict=True) if is_used]
        rows.weighings[:] = [one.take(part) for one, part in zip(self._tables, parts[1:], strict=True)]


def _by_row(rows: list[Row]) -> dict[str, Any]:
    return {
        "who": np.array([row["chick"] for row in rows], dtype=object),
        "weighed_at": np.array([row["weighed_at"] for row in rows], dtype="datetime64[us]"),
        "timed": np.array([row["weighed_at_timed"] for row in rows], dtype=bool),
        "weight": np.array([row["weight"] for row in rows], dtype=float),
        "crop": np.array([row["crop"] or "" for row in rows], dtype=object),
        "notes": np.array([row["notes"] or "" for row in rows], dtype=object),
        "file": np.array([row.place.file for row in rows], dtype=object),
        "row": np.array([row.place.row for row in rows], dtype=np.int64),
        "table": np.array([row.place.nth for row in rows], dtype=np.int64),
        "column": np.array([row.place.at for row in rows], dtype=np.int64),
    }


def _by_column(weighings: Weighings) -> dict[str, Any]:
    return {
        "who": weighings.names(),
        "weighed_at": weighings.weighed_at,
        "timed": weighings.timed,
        "weight": weighings.weight,
        "crop": weighings.crop,
        "notes": weighings.notes,
        "file": np.full(len(weighings), weighings.table.file, dtype=object),
        "row": weighings.numbers(),
        "table": np.full(len(weighings), weighings.table.nth),
        "column": weighings.column,
    }


def _of_known_chicks(written: Written, chicks: pd.DataFrame, book: NameBook, ledger: Ledger) -> pd.DataFrame:
    """Return a row a chick on the scale: number (which of `chicks`), together, entry (which weighing), and the rest."""
    frame = written.frame
    codes, names = pd.factorize(frame["who"].to_numpy(dtype=object))
    number = {name: at for at, name in enumerate(chicks["chick"])}
    who = [[number[name] for name in _who(text, book)] for text in names]
    size = np.array([len(one) for one in who], dtype=np.int64)[codes]
    close = {name: near(name, book) for name, one in zip(names, who, strict=True) if not one}
    for at in np.flatnonzero(size == 0).tolist():
        name = names[codes[at]]
        written.drop(at, "unknown-chick", "chick", name, ledger, near=close[name])
    weight = frame["weight"].to_numpy()
    for at in np.flatnonzero((size > 0) & ~(weight > 0)).tolist():
        written.drop(at, "weight-not-positive", "weight", f"{weight[at]:g}", ledger)
    entry = np.repeat(np.arange(len(frame)), np.where(weight > 0, size, 0))
    first = np.array([one[0] if one else -1 for one in who], dtype=np.int64)
    numbers = first[codes[entry]]
    together = size[entry]
    for at in np.flatnonzero(together > 1).tolist():
        nth = at - np.searchsorted(entry, entry[at])
        numbers[at] = who[codes[entry[at]]][nth]
    return frame.iloc[entry].assign(entry=entry, number=numbers, together=together).reset_index(drop=True)


def _who(written: str, book: NameBook) -> list[str]:
    """Return the chicks on the scale; K3+K4 are two, unless a chick bears that name."""
    chick = book.find(written)
    if chick:
        return [chick]
    parts = [book.find(part) for part in re.split(r"\+|&|/|\band\b", written)]
    return [part for part in parts if part] if len(parts) > 1 and None not in parts else []


def _in_their_lives(found: pd.DataFrame, chicks: pd.DataFrame, written: Written, ledger: Ledger) -> pd.DataFrame:
    """Drop what was weighed before its chick hatched, by more than the day is sure to, or after it was lost."""
    unsure = pd.to_timedelta(chicks["sure_to_days"].fillna(0).astype(int), unit="D")
    begins = (chicks["hatched_at"].dt.normalize() - unsure).to_numpy()[found["number"]]
    ends = (chicks["lost_on"] + pd.Timedelta(days=1)).to_numpy()[found["number"]]
    moment = found["weighed_at"].to_numpy()
    early, late = moment < begins, moment >= ends  # a day that is not known bounds nothing
    gone = set()
    for at in np.flatnonzero(early | late):
        entry = int(found["entry"].iloc[at])
        if entry not in gone:
            code = "weight-before-hatch" if early[at] else "weight-after-loss"
            written.drop(entry, code, "weighed_at", f"{pd.Timestamp(moment[at]):%Y-%m-%d}", ledger)
            gone.add(entry)
    return found[~found["entry"].isin(gone)] if gone else found


def ages_d(found: pd.DataFrame, chicks: pd.DataFrame) -> Any:
    """Return the age of each weighing in days, as `age_d` does for one."""
    hatched = chicks["hatched_at"].to_numpy().astype("datetime64[us]")[found["number"]]
    both = found["timed"].to_numpy() & chicks["hatched_at_timed"].to_numpy(dtype=bool)[found["number"]]
    moment = found["weighed_at"].to_numpy().astype("datetime64[us]")
    day = np.timedelta64(1, "D")
    whole = moment.astype("datetime64[D]") - hatched.astype("datetime64[D]")
    return np.where(both, (moment - hatched) / np.timedelta64(86_400_000_000, "us"), whole / day)


def _one_at_a_time(found: pd.DataFrame, written: Written, ledger: Ledger) -> pd.DataFrame:
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
            facts = {"first": earlier.mass_g, "second": weighing.mass_g}
            both = Finding("problems.two-weights", facts=facts)
            ledger.say("weighed-twice", written.place(weighing.entry), "weight", both)
    return found.drop(index=gone)


def _without_leaps(found: pd.DataFrame, settings: Settings, written: Written, ledger: Ledger) -> pd.DataFrame:
    leaps = find_leaps(found.rename(columns={"number": "chick"}))
    if not leaps:
        return found
    unit = "oz" if settings["weight_unit"] == "g" else "g"
    off = found.loc[sorted(leaps), ["entry", "mass_g"]]
    mornings = found.loc[found["together"] == 1, "weighed_at"].dt.normalize()
    weighed = mornings.value_counts()
    in_unit = mornings[[at for at, code in leaps.items() if code == "another-unit"]].value_counts()
    for weighing in off.itertuples():
        facts: dict[str, Any] = {}
        if leaps[weighing.Index] == "another-unit":
            morning = mornings[weighing.Index]
            facts = {"off": in_unit[morning], "weighed": weighed[morning], "unit": unit}
        written.drop(weighing.entry, leaps[weighing.Index], "weight", f"{weighing.mass_g:g}", ledger, **facts)
    return found.drop(index=list(leaps))


def _too_heavy(found: pd.DataFrame, chicks: pd.DataFrame, rows: Rows, written: Written, ledger: Ledger) -> None:
    own = keepers_species(rows["species"])
    most = {name: row["heaviest"] for name, row in own.items() if row["heaviest"]}
    if not most:
        return
    limits = np.array([most.get(same(species), np.nan) for species in chicks["species"]], dtype=float)
    limit = limits[found["number"]]
    for at in np.flatnonzero(found["mass_g"].to_numpy() > limit):
        weighing = found.iloc[at]
        place = written.place(weighing["entry"])
        ledger.say("too-heavy", place, "weight", f"{weighing['mass_g']:g}", most=limit[at])
