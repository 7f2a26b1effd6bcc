"""Which clutch an egg belongs to, repeated rows, and clutches that were counted and not numbered."""

from collections import defaultdict
from collections.abc import Iterator
from itertools import count
from typing import Any

import pandas as pd

from analysis.logs import Ledger, Row
from analysis.logs.headings import same
from analysis.season.dates import Rows
from analysis.season.frames import typed_frame
from analysis.season.pairs import Aviary

CLUTCHES = {
    "pair": "str",
    "clutch": "str",
    "cage": "str",
    "species": "str",
    "incubated_by": "str",
    "first_egg_on": "datetime64[us]",
    "eggs": "Int64",
    "clear": "Int64",
    "died_in_egg": "Int64",
    "broken_or_gone": "Int64",
    "hatched": "Int64",
    "weaned": "Int64",
}

_LONGEST_LAYING_D = 15  # practice: from the first egg to the last, and a slow hatch
_AGAIN_D = 7  # practice: a repeated row has its first one's day


def begun(row: Row) -> pd.Timestamp | None:
    """Return the first day known of an egg or chick."""
    return row["laid_on"] or row["set_on"] or row["hatched_at"]


def number_clutches(rows: Rows, aviary: Aviary, gap_d: float) -> list[str]:
    """Give each egg without a clutch a number, told from the dates; return the pairs where this was done.

    A gap longer than `gap_d` days begins the next clutch. An egg without any date goes with the one before.
    """
    by_pair: dict[str, list[Row]] = defaultdict(list)
    for row in rows["hatches"]:
        if row["pair"] and row["arrived_on"] is None:
            by_pair[aviary.pair(row["pair"])].append(row)
    counted = [row for row in rows["clutches"] if row["first_egg_on"] is not None]
    done = []
    for pair, eggs in by_pair.items():
        written = [(begun(row), row["clutch"]) for row in eggs if row["clutch"] and begun(row) is not None]
        written += [(row["first_egg_on"], row["clutch"]) for row in counted if aviary.pair(row["pair"]) == pair]
        blank = [row for row in eggs if not row["clutch"]]
        for row in blank:
            row.values["clutch"] = _nearest(row, written, gap_d)
        taken = {row["clutch"] for row in eggs} | {row["clutch"] for row in rows["clutches"]}
        free = (str(number) for number in count(1) if str(number) not in taken)
        _number([row for row in blank if not row["clutch"]], gap_d, free)
        done += [pair] if blank else []
    return sorted(done)


def _nearest(row: Row, written: list[tuple[Any, str]], gap_d: float) -> str | None:
    """Return the clutch with a number whose days are nearest, if one is within the gap; hatching comes later."""
    day, reach = begun(row), gap_d + (0 if row["laid_on"] or row["set_on"] else _LONGEST_LAYING_D)
    near = [(abs((day - other).days), clutch) for other, clutch in written if day is not None]
    return min(near)[1] if near and min(near)[0] <= reach else None


def _number(eggs: list[Row], gap_d: float, free: Iterator[str]) -> None:
    """Number clutches by their gaps; an egg's number that comes again a week later begins the next one too."""
    if not eggs:
        return
    number, last, seen = next(free), None, dict[str, pd.Timestamp]()
    for row in sorted(eggs, key=lambda r: (begun(r) is None, begun(r) or pd.Timestamp.max)):
        day, egg = begun(row), same(row["egg"] or "")
        if day is not None and last is not None:
            again = bool(egg) and egg in seen and (day - seen[egg]).days >= _AGAIN_D
            if again or (day - last).days > gap_d:
                number, seen = next(free), {}
        row.values["clutch"] = number
        last = day or last
        if egg and day is not None:
            seen.setdefault(egg, day)


def drop_repeats(rows: Rows, aviary: Aviary, ledger: Ledger) -> None:
    """Use the first of two rows with one name: an egg within its clutch, a chick anywhere."""
    first: dict[tuple[str, ...], Row] = {}
    for row in rows["hatches"]:
        names: list[tuple[str, ...]] = []
        if row["egg"]:
            clutch = (aviary.pair(row["pair"]), same(row["clutch"] or ""))
            names.append(("egg", *clutch, same(row["egg"])))
        if row["chick"] or row["ring"]:
            names.append(("chick", same(row["chick"] or row["ring"])))
        earlier = next((first[name] for name in names if name in first), None)
        if earlier is None:
            first |= dict.fromkeys(names, row)
            continue
        ledger.drop_repeat(row, earlier, "chick", row["chick"] or row["egg"])
    rows["hatches"][:] = [row for row in rows["hatches"] if ledger.is_used(row)]


def counted_clutches(rows: Rows, aviary: Aviary, ledger: Ledger) -> pd.DataFrame:
    """Return one row a counted clutch, each pair and clutch once."""
    first: dict[tuple[str, str], Row] = {}
    found = []
    for row in rows["clutches"]:
        pair = aviary.pair(row["pair"])
        earlier = first.setdefault((same(pair), same(row["clutch"])), row)
        if earlier is not row:
            ledger.drop_repeat(row, earlier, "clutch", row["clutch"])
            continue
        _add_up(row, ledger)
        found.append(
            {name: row[name] for name in CLUTCHES}
            | {
                "clear": _clear(row),
                "pair": pair,
                "cage": aviary.cage(pair, row["first_egg_on"]),
                "species": aviary.species(pair),
                "incubated_by": aviary.sitter(row["incubated_by"], pair),
            }
        )
    return typed_frame(found, CLUTCHES)


def _clear(row: Row) -> int | None:
    """Return the eggs that showed nothing: as written, else all that did not show fertile or break."""
    if row["clear"] is not None or row["fertile"] is None:
        written: int | None = row["clear"]
        return written
    left = row["eggs"] - row["fertile"] - (row["broken_or_gone"] or 0)
    return left if left >= 0 else None


def counted_chicks(clutches: pd.DataFrame, chicks: pd.DataFrame) -> pd.DataFrame:
    """Return a row for each young that was counted and not named, where a clutch says how many were weaned.

    What hatched and was not weaned counts as lost. A clutch that has chicks by name is followed by those.

    Returns
    -------
    frame
        pair, clutch, cage, species, reared_by, fate, and season where the clutches have it.
    """
    told = clutches[clutches["weaned"].notna() & clutches["hatched"].notna()]
    told = told[(told["weaned"] <= told["hatched"]).astype(bool)]
    named = set(zip(chicks["pair"].map(same), chicks["clutch"].map(same), strict=True))
    keys = zip(told["pair"].map(same), told["clutch"].map(same), strict=True)
    told = told[pd.Series([key not in named for key in keys], index=told.index, dtype=bool)]
    columns = [name for name in ("pair", "clutch", "cage", "species", "season") if name in told]
    young = told.loc[told.index.repeat(told["hatched"].astype(int))]
    weaned = young.groupby(level=0).cumcount() < young["weaned"].astype(int)
    fate = weaned.map({True: "weaned", False: "lost"}).astype("str")
    return young[columns].assign(reared_by=young["pair"], fate=fate).reset_index(drop=True)


def _add_up(row: Row, ledger: Ledger) -> None:
    parts = [row[name] for name in ("clear", "died_in_egg", "broken_or_gone", "hatched")]
    known = sum(part for part in parts if part is not None)
    hatched, weaned = row["hatched"], row["weaned"]
    if hatched is not None and weaned is not None and weaned > hatched:
        ledger.say("more-weaned-than-hatched", row.place, "weaned", weaned, weaned=weaned, hatched=hatched)
    if known > row["eggs"] or (None not in parts and known < row["eggs"]):
        ledger.say("counts-do-not-add-up", row.place, "eggs", row["eggs"], eggs=row["eggs"], parts=known)
