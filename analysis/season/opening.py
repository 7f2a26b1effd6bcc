"""A season folder → a `Season`: read, check, link."""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

import pandas as pd

from analysis.errors import SeasonError
from analysis.finding import Finding, found
from analysis.logs import LOGS, Ledger, Place, Settings, Sheet, check_tables, settings_sheets, understand
from analysis.logs.cells import BadCell
from analysis.logs.dates import read_day
from analysis.logs.read import TEXT_FILES, WORKBOOKS, read_folder
from analysis.logs.settings import read_settings
from analysis.logs.tables import Log
from analysis.say import say
from analysis.season.chicks import chicks_frame
from analysis.season.cross_checks import (
    LEFT_OUT,
    cross_check,
    drop_odd_crop_hours,
    drop_other_unit_temperatures,
    mark_known_birds,
)
from analysis.season.data_quality import distinct_seasons, without_copied_rows
from analysis.season.days import (
    Rows,
    date_by_age,
    forget_after,
    held_against,
    keep_in_bounds,
    last_day,
    season_bounds,
)
from analysis.season.egg_weighings import egg_weights_frame
from analysis.season.hatches import HatchIndex, drop_repeated_hatches, eggs_frame, read_hatches, read_moves
from analysis.season.losses import read_losses
from analysis.season.model import Season
from analysis.season.one_species import one_name_a_species
from analysis.season.pairs import (
    begun_when_laid,
    build_aviary,
    cages_frame,
    counted_clutches,
    number_clutches,
    pairs_by_cage,
    pairs_frame,
    without_no_pairs,
)
from analysis.season.remarks import remarks_frame
from analysis.season.two_lists import join_lists
from analysis.season.two_sheets import one_row_an_egg
from analysis.season.understood import understand_words
from analysis.season.weighings import weights_frame
from analysis.season.years import Held, bounds_said, days_written

_IN_FRAMES = ("hatches", "weights", "losses", "pairs", "cages", "clutches", "settings")


def open_season(folder: str | Path, earlier: Sequence[str | Path] = (), up_to: str | date | None = None) -> Season:
    """Read a season folder. Bad rows never raise: they are in `problems` and `not_used`.

    Parameters
    ----------
    folder
        The season folder.
    earlier
        Folders of earlier seasons to join, beside those that the setting `earlier` names.
    up_to
        Show the season as it stood at the end of this day (a date, or 2026-05-20 as text): ages are counted to it, and
        later rows are set aside and counted. Left out, the last day that anything was logged.

    Returns
    -------
    Season
        Frozen; see its attributes.

    Raises
    ------
    SeasonError
        There is no such folder, no log in it, or `up_to` is no date.

    Examples
    --------
    >>> season = open_season("data_demo/season_2026")
    >>> season.name, len(season.pairs) > 0
    ('2026', True)
    """
    return _open(Path(folder), earlier, up_to, join=True)


def _open(
    folder: Path,
    earlier: Sequence[str | Path],
    up_to: str | date | None,
    *,
    join: bool,
    called: Mapping[str, str] = MappingProxyType({}),
) -> Season:
    fingerprint = _fingerprint(folder)  # before they are read: what is saved meanwhile makes a difference later
    ledger = Ledger()
    sheets = read_folder(folder, ledger)
    asked_on = None if up_to is None else _day(up_to)
    settings, rows = _typed(sheets, ledger)
    rows, called, own_days = one_name_a_species(rows, called, ledger)
    rows, two_sheets = one_row_an_egg(without_copied_rows(rows, ledger), ledger)
    rows = date_by_age(rows, settings, ledger)
    held = held_against(rows, settings)
    rows = keep_in_bounds(rows, held, ledger)
    written = days_written(rows)
    rows = rows if asked_on is None else forget_after(rows, asked_on, ledger)
    rows, frames, of_clutches = _linked(rows, settings, asked_on or last_day(rows), ledger)
    season = Season(
        folder=folder,
        name=settings["season"] or folder.resolve().name,
        last_day=last_day(rows),
        settings=settings,
        **frames,
        logs=_other_logs(rows),
        **_problems(ledger),
        not_used=ledger.not_used(),
        accounting=ledger.accounting(),
        read_as=(
            *ledger.read_as(),
            *(("", how) for how in (*two_sheets, *_assumed(settings, held, of_clutches), *own_days)),
        ),
        understood=ledger.understood(),
        unread=ledger.unread(),
        fingerprint=fingerprint,
        asked_on=asked_on,
        days_written=written,
    )
    return _joined(season, earlier, ledger, called) if join else season


def _problems(ledger: Ledger) -> dict[str, Any]:
    return dict(zip(("problems", "to_do"), ledger.advised(), strict=True))


def _typed(sheets: list[Sheet], ledger: Ledger) -> tuple[Settings, Rows]:
    """The settings, and every row with its cells typed by them."""
    own = settings_sheets(sheets)
    settings_rows = check_tables(understand(own, sheets, {}, ledger), Settings(), ledger)["settings"]
    settings = read_settings(settings_rows, ledger)
    others = [sheet for sheet in sheets if sheet not in own]
    return settings, check_tables(understand(others, sheets, settings.columns, ledger), settings, ledger)


def _linked(
    rows: Rows, settings: Settings, today: pd.Timestamp | None, ledger: Ledger
) -> tuple[Rows, dict[str, pd.DataFrame], list[Finding]]:
    """Link the logs into the frames of a season; also return what was assumed of clutches."""
    rows = without_no_pairs(join_lists(rows, ledger), ledger)
    aviary = build_aviary(rows, ledger)
    rows, numbered = number_clutches(pairs_by_cage(rows, aviary, ledger), aviary, settings.number("clutch_gap_d"))
    rows, set_early = begun_when_laid(rows, aviary)
    rows = drop_repeated_hatches(rows, aviary, ledger)
    hatches = read_hatches(rows, aviary, today, ledger)
    index = HatchIndex(hatches)
    rows, moves = read_moves(rows, index, aviary, ledger)
    rows, losses = read_losses(rows, index, ledger)
    frames = {"losses": losses, "eggs": eggs_frame(hatches, aviary, moves)}
    frames["clutches"] = counted_clutches(rows, aviary, ledger)
    frames["chicks"] = chicks_frame(rows, hatches, losses, moves, today, ledger)
    frames["remarks"] = remarks_frame(rows, hatches, aviary, today, ledger)
    rows, frames["weights"], frames["crops"] = weights_frame(rows, frames["chicks"], index.chicks, settings, ledger)
    rows, frames["egg_weights"] = egg_weights_frame(rows, frames["eggs"], index, ledger)
    rows = drop_other_unit_temperatures(rows, settings, ledger)
    rows = drop_odd_crop_hours(rows, ledger)
    rows = mark_known_birds(rows, aviary, frames["chicks"], ledger)
    cross_check(rows, aviary, frames, settings, ledger)
    understand_words(rows, aviary, ledger)
    frames["pairs"] = pairs_frame(aviary)
    frames["cages"] = cages_frame(rows, aviary, frames["eggs"]["cage"], frames["chicks"]["cage"])
    return rows, frames, [*_of_clutches(numbered, set_early)]


def _of_clutches(numbered: list[str], set_early: list[str]) -> Iterator[Finding]:
    if numbered:
        yield found("logs.clutches-by-dates", pairs=numbered)
    if set_early:
        yield found("logs.begun-when-laid", pairs=set_early)


def _assumed(settings: Settings, held: Held | None, of_clutches: list[Finding]) -> Iterator[Finding]:
    yield from of_clutches
    yield bounds_said(held, named=season_bounds(settings) is not None)


def _joined(season: Season, earlier: Sequence[str | Path], ledger: Ledger, called: Mapping[str, str]) -> Season:
    """Join the earlier seasons that the settings name and those that are given; a copy is left out, and said.

    `called`: what this season calls each species; the others call it the same.
    """
    named = [season.folder / name.strip() for name in season.settings["earlier"].split(";") if name.strip()]
    try:
        folders = {folder.resolve(): folder for folder in (*named, *map(Path, earlier))}
        folders.pop(season.folder.resolve(), None)
        others = [
            _open(folder, (), None, join=False, called=called) for folder in folders.values()
        ]  # none of what these join
    except SeasonError as wrong:
        raise SeasonError(say("season.earlier-not-joined", why=str(wrong))) from None
    if not others:
        return season
    seasons, alike = distinct_seasons((season, *others))
    for what in alike:
        ledger.say("same-season-twice", Place("settings", "", "", None), what=what)
    return replace(season, earlier=seasons[1:], **_problems(ledger))


def _day(up_to: str | date) -> pd.Timestamp:
    try:
        return pd.Timestamp(read_day(str(up_to)))
    except BadCell:
        raise SeasonError(say("season.no-day", day=str(up_to))) from None


def _other_logs(rows: Rows) -> dict[str, pd.DataFrame]:
    """The logs that no frame holds yet, typed, with the place of each row."""
    frames = {}
    for log in (log for log in LOGS.values() if log.name not in _IN_FRAMES):
        records = [{**row.values, "file": row.place.file, "row": row.place.row} for row in rows[log.name]]
        frames[log.name] = _as_written(log, records) if records else _nothing_written(log).copy()
    return frames


def _as_written(log: Log, records: Sequence[Mapping[str, Any]]) -> pd.DataFrame:
    left_out = LEFT_OUT if log.column("temperature") else ()
    known = ("known",) if log.name == "signs" else ()
    columns = [*(c.name for c in log.columns), *left_out, *known, "file", "row"]
    return pd.DataFrame(records, columns=columns).astype(dict.fromkeys(left_out, float))


@cache
def _nothing_written(log: Log) -> pd.DataFrame:
    return _as_written(log, ())


def _fingerprint(folder: Path) -> str:
    """What tells whether two reports were made from the same logs, as these are on the disk now."""
    digest = hashlib.sha256()
    with suppress(OSError):  # what cannot be read is told where it is read
        for path in sorted(folder.iterdir()):
            if path.suffix.casefold() in TEXT_FILES + WORKBOOKS and not path.name.startswith(("~$", ".")):
                content = b""
                with suppress(OSError):
                    content = path.read_bytes() if path.is_file() else b""
                digest.update(path.name.encode(errors="surrogateescape") + b"\x00" + content + b"\x00")
    return digest.hexdigest()[:12]


def changed_since(season: Season) -> bool:
    """Tell whether logs of a season, or of those joined to it, were saved since they were read."""
    return any(_fingerprint(one.folder) != one.fingerprint for one in (season, *season.earlier))
