"""Remarks: what keepers wrote beside their rows in their own words, of whom, and which words of it may be a sign."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Words, found
from analysis.logs import Ledger, Place, Row
from analysis.logs.headings import same
from analysis.needed import typed_frame
from analysis.season.days import WHO_WHEN, Rows
from analysis.season.hatches import Hatch, HatchIndex
from analysis.season.model import Season
from analysis.season.pairs import Aviary
from analysis.season.signs import OPEN_D, sign_words, signs_named, signs_within
from analysis.season.weighings import on_the_scale

REMARKS = {
    **{"who": "str", "pair": "str", "on": "datetime64[us]", "log": "str", "text": "str", "asked": "object"},
    **{"file": "str", "row": "Int64"},
}
LONGEST = 300  # characters of a remark that a page repeats
_WHO_WHEN = {"hatches": ("", ""), "pairs": ("pair", ""), "clutches": ("pair", ""), "birds": ("bird", ""), **WHO_WHEN}
_WHO_WHEN |= {"egg_weights": ("egg", "weighed_on"), "readings": ("place", "read_at")}
_ASKS_NOBODY = {"losses", "readings"}  # what is told there is told of an end, or of a place
_DAY = pd.Timedelta(days=1)
_Whose = tuple[str, str]  # who is meant, and the pair that laid it or that it is; blank where there is none


def remarks_frame(
    rows: Rows, hatches: Iterable[Hatch], aviary: Aviary, today: pd.Timestamp | None, ledger: Ledger
) -> pd.DataFrame:
    """Return every remark, a row for each bird, egg, pair or place it stands beside; undated ones first, then by day.

    `rows` are those before weighings are dropped: a remark stands, whatever is wrong with the weight beside it. A word
    of a sign that nobody wrote into signs is noted with the code "sign-in-remark", and taken for none.

    Columns: who (chick, egg as pair/clutch/egg, pair, bird or place; blank: all), pair (who laid it, or it is), on,
    log, text, asked (the signs that it may mean), file, row.
    """
    hatches = list(hatches)
    index, hatched = HatchIndex(hatches), {h.row.place: h for h in hatches}
    known, records = _signs_known(rows, index), []
    for row in _with_remarks(rows, today):
        who, when = _WHO_WHEN[row.place.log]
        whose = [_is(hatched[row.place])] if row.place in hatched else list(_whose(row, who, index, aviary))
        on, asked = row[when], set[str]()
        for name, pair in whose:
            signs = tuple(sign for sign in _signs_in(row) if not _is_known(known.get((same(name), sign)), on))
            record = {"who": name, "pair": pair, "on": on, "log": row.place.log, "text": row["notes"], "asked": signs}
            records.append({**record, "file": row.place.file, "row": row.place.row})
            asked.update(signs)
        if asked:
            _ask(row, asked, whose[0][1], ledger)
    frame = typed_frame(records, REMARKS).drop_duplicates(["who", "on", "log", "text"])
    return frame.sort_values("on", kind="stable", na_position="first", ignore_index=True)


def _with_remarks(rows: Rows, today: pd.Timestamp | None) -> Iterator[Row]:
    """The rows with a remark, log by log; of weighings that have no weight too."""
    for log in _WHO_WHEN:
        yield from (row for row in rows[log] if row["notes"])
    for table in rows.weighings:
        yield from (table.row(at) for at in np.flatnonzero(table.notes != "").tolist())
    end = pd.Timestamp.max if today is None else today.normalize() + _DAY
    yield from (row for row in rows.crops if row["notes"] and row["weighed_at"] < end)


def _whose(row: Row, column: str, index: HatchIndex, aviary: Aviary) -> Iterator[_Whose]:
    """Who is meant in a row: chicks, of whom several may be named, an egg, a pair; else as it is written."""
    name = row[column] or row["egg"] or ""
    chicks = on_the_scale(name, index.chicks) if column in ("chick", "who", "what") else []
    if column != "bird" and name in aviary.book:
        yield aviary.pair(name), aviary.pair(name)
    elif chicks:
        yield from (_is(h) for chick in chicks if (h := index.chick(chick)))
    elif column in ("egg", "what", "chick") and (egg := index.egg(name)):
        yield _is(egg)
    else:
        yield name, ""


def _is(h: Hatch) -> _Whose:
    return h.chick or h.label, h.pair


def _signs_in(row: Row) -> list[str]:
    """The signs that a remark may mean; beside a mix, or a temperature, "too warm" is said of the food."""
    of_a_mix = row.place.log == "feeds" and not row["who"]
    if of_a_mix or row.place.log in _ASKS_NOBODY:
        return []
    of_its_food = {"panting"} if row.place.log == "feeds" and row["temperature"] is not None else set[str]()
    return [sign for sign in signs_within(row["notes"], ordinary=True) if sign not in of_its_food]


def _signs_known(rows: Rows, index: HatchIndex) -> Mapping[tuple[str, str], list[pd.Timestamp]]:
    """The days on which each sign of each was written, by (who, sign)."""
    known: dict[tuple[str, str], list[pd.Timestamp]] = defaultdict(list)
    for row in rows["signs"]:
        chick = index.chick(row["who"])
        for sign in signs_named(row["sign"]):
            known[same(chick.chick if chick else row["who"]), sign].append(row["seen_at"])
    return known


def _is_known(days: list[pd.Timestamp] | None, on: pd.Timestamp | None) -> bool:
    """Whether a sign was written about the day of a remark; one without a day, at any time."""
    return bool(days) and (on is None or any(abs(day - on) <= OPEN_D * _DAY for day in days or ()))


def _ask(row: Row, signs: set[str], pair: str, ledger: Ledger) -> None:
    text = shortened(row["notes"], row.place)
    ledger.say("sign-in-remark", row.place, "notes", text, signs=[sign_words(one) for one in sorted(signs)], about=pair)


def shortened(text: str, at: Place | Any, most: int = LONGEST) -> Words:
    """A remark as a page repeats it: in one line, and where it is long its beginning and where the rest stands.

    `at` has the file and the row where it is written.
    """
    plain = " ".join(text.split())
    if len(plain) <= most:
        return plain
    return found("season.remark-cut", start=plain[:most].rstrip(), file=at.file, row=at.row)


def remarks_of(season: Season, *names: str) -> pd.DataFrame:
    """Return the remarks that stand beside whoever goes by one of these names: rows of `season.remarks`."""
    of_each = season.once(remarks_of, lambda: season.remarks.groupby(season.remarks["who"].map(same)).indices)
    rows = {int(at) for name in names if name for at in of_each.get(same(name), ())}
    return season.remarks.iloc[sorted(rows)]
