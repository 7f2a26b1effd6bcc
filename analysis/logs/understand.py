"""Sheets → tables of a log: which log a sheet is, told by its name, or by its headings where it is an old sheet."""

from collections.abc import Iterable
from dataclasses import replace
from pathlib import PurePath

from analysis.finding import Finding, Words, found
from analysis.logs.cells import near
from analysis.logs.flat import count_table, flat_tables
from analysis.logs.headings import log_named
from analysis.logs.layout import GRIDS, Block, OwnNames, blocks, grid_kind, named_columns, without
from analysis.logs.ledger import Ledger, Place
from analysis.logs.raw import RawTable
from analysis.logs.sheets import Sheet
from analysis.logs.tables import LOGS

GUIDE_SHEET = "read me first"


def log_of(sheet: Sheet, sheets: Iterable[Sheet]) -> str | None:
    """Return the log that a sheet's name says it is; a workbook's only sheet may leave that to the file's name."""
    stem = PurePath(sheet.file).stem
    if not sheet.name:
        return log_named(stem)
    alone = [other for other in sheets if other.file == sheet.file and other.rows] == [sheet]
    return log_named(sheet.name) or (log_named(stem) if alone else None)


def settings_sheets(sheets: list[Sheet]) -> list[Sheet]:
    """Return the sheets that hold settings, which are read first."""
    return [sheet for sheet in sheets if log_of(sheet, sheets) == "settings"]


def understand(sheets: list[Sheet], among: list[Sheet], own: OwnNames, ledger: Ledger) -> list[RawTable]:
    """Find the log, the headings and the rows of each sheet.

    Parameters
    ----------
    sheets
        Those to understand.
    among
        All sheets of the folder.
    own
        The keeper's own headings, folded, and the columns they stand for.
    ledger
        Told of every sheet that is no log, and of how each was read.

    Returns
    -------
    list of RawTable
        In the order of the logs, then of the files' names.
    """
    tables = []
    for sheet in sheets:
        mine = _tables(sheet, log_of(sheet, among), own, ledger)
        tables += _held_back(mine, sheet, ledger) if sheet.marred else mine
    order = list(LOGS)
    return sorted(tables, key=lambda t: order.index(t.log))


def _held_back(tables: list[RawTable], sheet: Sheet, ledger: Ledger) -> list[RawTable]:
    """Part the rows in which control characters stood from the others; say where else any stood."""
    parted, told = [], set()
    for table in tables:
        at = [at for at, (number, _) in enumerate(table.rows) if number in sheet.marred]
        held = tuple(table.rows[one] for one in at)
        told |= {number for number, _ in held}
        parted.append(replace(table, rows=without(table.rows, at), held_back=held) if at else table)
    if elsewhere := sheet.marred - told:
        log = tables[0].log if tables else PurePath(sheet.file).stem
        ledger.say("control-dropped", Place(log, sheet.file, sheet.name, None), rows=sorted(elsewhere))
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
    if log is None:
        name = sheet.name or PurePath(sheet.file).stem
        meant = near(name, LOGS) or next((other for other in LOGS if other in name.casefold()), "")
        asked = found("problems.did-you-mean", name=meant) if meant else _alike(sheet, own)
        ledger.say("unknown-log", whole, logs=list(LOGS), near=asked)
        return []
    ledger.assume(sheet.file, sheet.name, sheet.how)
    under, comments = blocks(sheet.rows, LOGS[log], own)
    if comments:
        ledger.assume(sheet.file, sheet.name, found("logs.comments", lines=comments))
    ledger.assume(sheet.file, sheet.name, _headings_stand(under))
    if not any(block.rows for block in under):
        if not sheet.name:
            ledger.say("no-rows" if under else "empty-file", whole)
        return []
    return [_table(sheet, log, block, own) for block in under]


def _alike(sheet: Sheet, own: OwnNames) -> Words:
    """Say which log has headings such as these; blank where none has."""
    told = {}
    for log in LOGS.values():
        under, _ = blocks(sheet.rows, log, own)
        names = {name for name, _ in filter(None, named_columns(under[0].written if under else (), log, own))}
        if all(names & set(group) for group in log.needs):
            told[log.name] = len(names)
    best = max(told, key=lambda name: told[name], default="")
    return found("problems.headings-like", log=best) if best else ""


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
    return RawTable(log, sheet.file, sheet.name, headings, block.rows, block.written, units, kind)


def _flat(sheet: Sheet, log: str | None, own: OwnNames, ledger: Ledger) -> list[RawTable]:
    """Read an old flat sheet or a count sheet, recognised by its headings, as the logs that it fills."""
    if log not in (None, "hatches", "weights", "clutches"):
        return []
    counts = count_table(sheet, own) if log not in GRIDS else None
    tables = [counts] if counts else flat_tables(sheet, own) if log != "clutches" else []
    if tables:
        ledger.assume(sheet.file, sheet.name, sheet.how, found("logs.count-sheet" if counts else "logs.flat-sheet"))
    return tables
