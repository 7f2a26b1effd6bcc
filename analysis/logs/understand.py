"""Sheets → tables of a log: which log a sheet is, told by its name, or by its headings where it is an old sheet."""

from collections import Counter
from dataclasses import replace
from pathlib import PurePath

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.by_cells import by_cells
from analysis.logs.dates import is_date
from analysis.logs.fitted import fitted
from analysis.logs.headings import column_asked
from analysis.logs.layout import (
    GRIDS,
    Block,
    OwnNames,
    blocks,
    day_columns,
    grid_kind,
    is_total,
    named_columns,
    without,
)
from analysis.logs.ledger import Ledger, Place
from analysis.logs.sheets import Cells, RawTable, Sheet, TextRows, as_column, with_column
from analysis.logs.tables import LOGS
from analysis.logs.which_log import log_asked_of, log_meant, log_of

_NAMES = ("chick", "ring", "egg")
GUIDE_SHEET = "read me first"
_COUNTS = ("hatched", "weaned", "clear", "fertile", "died_in_egg")


def _flat_tables(sheet: Sheet, own: OwnNames) -> list[RawTable]:
    """Read a sheet with a row a chick and its weights by day as hatches, weights and losses.

    Empty where the sheet is no flat sheet: it needs a hatch date and two headings that are days.
    """
    block = _one_block(sheet, own)
    if block is None:
        return []
    names = [name and name[0] for name in named_columns(block.written, LOGS["hatches"], own)]
    days = day_columns(block.written, names)
    if "hatched_at" not in names or len(days) < 2:
        return []
    chick = _chick_names(block, names)
    written, rows = block.written, block.rows
    if names.count("chick") + names.count("egg") == 0:
        rows = with_column(rows, len(written), as_column(chick))
        written, names = (*written, "chick"), [*names, "chick"]
    hatched = tuple(name or "" for name in names)
    losses = _losses(written, hatched, own)
    headings = tuple(name or written[at] for at, name in enumerate(hatched))
    keep = [at for at in range(len(written)) if at not in days and at not in losses]
    part = TextRows(rows.numbers, [*(rows.columns[at].filled() for at in keep), *rows.columns[len(written) :]])
    named, kept = tuple(headings[at] for at in keep), tuple(written[at] for at in keep)
    table = RawTable("hatches", sheet.file, sheet.name, named, part, kept)
    kind = "dates" if sum(map(is_date, (written[at] for at in days))) > 0 else "ages"
    weighed = _beside(chick, rows, days).take([not is_total(cells) for _, cells in rows])
    top = ("chick", *(written[at] for at in days))
    weights = RawTable("weights", sheet.file, sheet.name, top, weighed, top, {}, kind)
    return [table, weights, *_losses_table(sheet, losses, written, rows, chick)]


def _count_table(sheet: Sheet, own: OwnNames) -> RawTable | None:
    """Read a sheet with a row a clutch and counts of its eggs as the log of clutches; None where it is none."""
    block = _one_block(sheet, own, "clutches")
    if block is None:
        return None
    names = [*_table(sheet, "clutches", block, own).headings]
    single = {name[0] for name in named_columns(block.written, LOGS["hatches"], own) if name}
    counted = [name for name in _COUNTS if name in names]
    of_chicks = single & {"chick", "ring", "outcome", "hatched_at"} - {"hatched_at" if "hatched" in names else ""}
    if not {"pair", "eggs"} <= set(names) or not counted or of_chicks:
        return None
    eggs = names.index("eggs")
    rows = block.rows
    if rows.columns[eggs].map(lambda cell: cell.replace(".0", "").isdecimal(), bool, False).sum() < len(rows) / 2:
        return None
    if "clutch" not in names:
        pairs = pd.Series([_cell(cells, names.index("pair")).casefold() for _, cells in rows], dtype=object)
        numbers = pairs.groupby(pairs).cumcount() + 1  # of each pair, in the order of the rows
        rows = with_column(rows, len(names), as_column(numbers.astype(str).tolist()))
        names, block = [*names, "clutch"], Block((*block.written, "clutch"), rows, block.top)
    return RawTable("clutches", sheet.file, sheet.name, tuple(names), rows, block.written)


def _one_block(sheet: Sheet, own: OwnNames, log: str = "hatches") -> Block | None:
    found, _ = blocks(sheet.rows, LOGS[log], own)
    return found[0] if len(found) == 1 and found[0].written and found[0].rows else None


def _cell(cells: Cells, at: int) -> str:
    return cells[at] if at < len(cells) else ""


def _chick_names(block: Block, names: list[str | None]) -> list[str]:
    """Return the name of each row's chick; where none is written, its pair and a number."""
    at = [names.index(name) for name in _NAMES if name in names]
    pair = names.index("pair") if "pair" in names else None
    seen: Counter[str] = Counter()
    found = []
    for _, cells in block.rows:
        of = _cell(cells, pair) if pair is not None else ""
        seen[of] += 1
        written = next((_cell(cells, a) for a in at if _cell(cells, a)), "")
        found.append(written or f"{of or 'chick'}/{seen[of]}")
    return found


def _losses(written: Cells, hatched: Cells, own: OwnNames) -> dict[int, str]:
    """Return the columns that only a log of losses has: the day a chick was lost, and why."""
    named = named_columns(written, LOGS["losses"], own)
    of_losses = ("found_on", "cause", "examined", "last_seen_well_on")
    losses = {at: name[0] for at, name in enumerate(named) if name and not hatched[at] and name[0] in of_losses}
    return losses if "found_on" in losses.values() else {}


def _losses_table(
    sheet: Sheet, losses: dict[int, str], written: Cells, rows: TextRows, chick: list[str]
) -> list[RawTable]:
    lost = TextRows(rows.numbers, [rows.columns[at] for at in losses]).without_blank() if losses else rows[:0]
    if not lost:
        return []
    top = ("chick", *losses.values())
    found = _beside(chick, rows, list(losses)).take(np.isin(rows.numbers, lost.numbers))
    return [RawTable("losses", sheet.file, sheet.name, top, found, top)]


def _beside(names: list[str], rows: TextRows, at: list[int]) -> TextRows:
    """Set names beside some columns of rows."""
    return TextRows(rows.numbers, [as_column(names), *(rows.columns[one].filled() for one in at)])


def settings_sheets(sheets: list[Sheet]) -> list[Sheet]:
    """Return the sheets that hold settings, which are read first."""
    return [sheet for sheet in sheets if log_of(sheet, sheets) == "settings"]


def understand(sheets: list[Sheet], among: list[Sheet], own: OwnNames, ledger: Ledger) -> list[RawTable]:
    """Find the log, the headings and the rows of each sheet, in the order of the logs, then of the files' names.

    `among` are all sheets of the folder; `own` the keeper's own headings, folded, and the columns they stand for. The
    ledger is told of every sheet that is no log, and of how each was read.
    """
    tables = []
    for sheet in sheets:
        mine = _tables(sheet, log_of(sheet, among), own, ledger)
        tables += _without_marred(mine, sheet, ledger) if sheet.marred else mine
    order = list(LOGS)
    return sorted(tables, key=lambda t: order.index(t.log))


def _without_marred(tables: list[RawTable], sheet: Sheet, ledger: Ledger) -> list[RawTable]:
    """Part the rows in which control characters stood from the others; say where else any stood."""
    parted, in_tables = [], set()
    for table in tables:
        at = np.flatnonzero(np.isin(table.rows.numbers, list(sheet.marred))).tolist()
        held = table.rows.take(at)
        in_tables |= set(held.numbers.tolist())
        parted.append(replace(table, rows=without(table.rows, at), held_back=held) if at else table)
    if outside_tables := sheet.marred - in_tables:
        log = tables[0].log if tables else PurePath(sheet.file).stem
        ledger.say("control-dropped", Place(log, sheet.file, sheet.name, None), rows=sorted(outside_tables))
    return parted


def _tables(sheet: Sheet, log: str | None, own: OwnNames, ledger: Ledger) -> list[RawTable]:
    whole = Place(log or PurePath(sheet.file).stem, sheet.file, sheet.name, None)
    if sheet.name.casefold() == GUIDE_SHEET:
        return []
    if not sheet.rows:
        if not sheet.name:
            ledger.say("empty-file", whole)
        return []
    tables = _flat(sheet, log, own, ledger)
    if tables:
        return tables
    log = log_meant(sheet, log, own)
    if log is None:
        ledger.say("unknown-log", whole, logs=list(LOGS), near=log_asked_of(sheet, own))
        return []
    whole = replace(whole, log=log)
    ledger.assume(sheet.file, sheet.name, sheet.how)
    under, comments = blocks(sheet.rows, LOGS[log], own)
    if comments:
        ledger.assume(sheet.file, sheet.name, found("logs.comments", lines=comments))
    ledger.assume(sheet.file, sheet.name, _headings_stand(under))
    if not any(block.rows for block in under):
        if not sheet.name:
            ledger.say("no-rows" if under else "empty-file", whole)
        return []
    tables = [_table(sheet, log, block, own) for block in under]
    _say_joined(sheet, under, tables, ledger)
    parted, said = zip(*map(by_cells, tables), strict=True)
    ledger.assume(sheet.file, sheet.name, *(how for table_said in said for how in table_said))
    return [table for parts in parted for table in parts]


def _say_joined(sheet: Sheet, under: list[Block], tables: list[RawTable], ledger: Ledger) -> None:
    """Tell of each column of hours that was joined to its days."""
    for block, table in zip(under, tables, strict=True):
        for heading in block.written:
            if heading not in table.written and column_asked(heading) == "day-and-time":
                ledger.assume(sheet.file, sheet.name, found("logs.hours-beside", column=heading))


def _headings_stand(under: list[Block]) -> Finding:
    tops = [top for top in dict.fromkeys(block.top for block in under) if top is not None]
    if len(tops) > 1:
        return found("logs.headings-in-rows", rows=tops)
    return found("logs.headings-in-row", row=tops[0]) if tops else found("logs.no-headings")


def _table(sheet: Sheet, log: str, block: Block, own: OwnNames) -> RawTable:
    names = named_columns(block.written, LOGS[log], own)
    kind = grid_kind(block, names, LOGS[log])
    headings = tuple(name[0] if name else cell for cell, name in zip(block.written, names, strict=True))
    units = {name[0]: name[1] for name in names if name and name[1]}
    return fitted(RawTable(log, sheet.file, sheet.name, headings, block.rows, block.written, units, kind))


def _flat(sheet: Sheet, log: str | None, own: OwnNames, ledger: Ledger) -> list[RawTable]:
    """Read an old flat sheet or a count sheet, recognised by its headings, as the logs that it fills."""
    if log not in (None, "hatches", "weights", "clutches"):
        return []
    counts = _count_table(sheet, own) if log not in GRIDS else None
    tables = [counts] if counts else _flat_tables(sheet, own) if log != "clutches" else []
    if tables:
        ledger.assume(sheet.file, sheet.name, sheet.how, found("logs.count-sheet" if counts else "logs.flat-sheet"))
    return tables
