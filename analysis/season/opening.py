"""A season folder → a `Season`: read, check, link."""

import hashlib
from collections.abc import Iterator, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pandas as pd

from analysis.errors import SeasonError
from analysis.finding import Finding, found
from analysis.logs import (
    LOGS,
    Ledger,
    Place,
    Settings,
    Sheet,
    check_tables,
    read_folder,
    read_settings,
    settings_sheets,
    understand,
)
from analysis.logs.cells import BadCell
from analysis.logs.dates import read_day
from analysis.logs.read import TEXT_FILES, WORKBOOKS
from analysis.say import say
from analysis.season.chicks import chicks_frame, read_losses
from analysis.season.clutches import counted_clutches, drop_repeats, number_clutches
from analysis.season.dates import Rows, date_by_age, forget_after, keep_in_bounds, last_day, season_bounds
from analysis.season.doubts import LEFT_OUT, question, question_temperatures
from analysis.season.egg_weighings import egg_weights_frame
from analysis.season.eggs import eggs_frame, read_hatches
from analysis.season.losses import with_events
from analysis.season.model import Season
from analysis.season.nest import Nest
from analysis.season.pairs import build_aviary, cages_frame, pairs_frame
from analysis.season.rearing import Rearers
from analysis.season.repeats import distinct, set_aside_copies
from analysis.season.weighings import weights_frame

_LINKED = ("hatches", "weights", "losses", "pairs", "cages", "clutches", "settings")


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


def _open(folder: Path, earlier: Sequence[str | Path], up_to: str | date | None, *, join: bool) -> Season:
    fingerprint = fingerprint_of(folder)  # before they are read: what is saved meanwhile makes a difference later
    ledger = Ledger()
    sheets = read_folder(folder, ledger)
    asked_on = None if up_to is None else _day(up_to)
    settings, rows = _typed(sheets, asked_on, ledger)
    linked, numbered = _linked(rows, settings, asked_on or last_day(rows), ledger)
    season = Season(
        folder=folder,
        name=settings["season"] or folder.resolve().name,
        last_day=last_day(rows),
        settings=settings,
        **linked,
        logs=_others(rows),
        **_problems(ledger),
        not_used=ledger.not_used(),
        accounting=ledger.accounting(),
        read_as=(*ledger.read_as(), *(("", said) for said in _assumed(settings, numbered))),
        unread=ledger.unread(),
        fingerprint=fingerprint,
        asked_on=asked_on,
    )
    return _joined(season, earlier, ledger) if join else season


def _problems(ledger: Ledger) -> dict[str, Any]:
    return dict(zip(("problems", "to_do"), ledger.told(), strict=True))


def _joined(season: Season, earlier: Sequence[str | Path], ledger: Ledger) -> Season:
    """Join the earlier seasons that the settings name and those that are given; a copy is left out, and said."""
    named = [season.folder / name.strip() for name in season.settings["earlier"].split(";") if name.strip()]
    others = _open_earlier([*named, *map(Path, earlier)], but_not=season.folder)
    if not others:
        return season
    seasons, alike = distinct((season, *others))
    for what in alike:
        ledger.say("same-season-twice", Place("settings", "", "", None), what=what)
    return replace(season, earlier=seasons[1:], **_problems(ledger))


def _typed(sheets: list[Sheet], asked_on: pd.Timestamp | None, ledger: Ledger) -> tuple[Settings, Rows]:
    """Type every row; leave out what is far from the season or later than the day that was asked for."""
    own = settings_sheets(sheets)
    settings_rows = check_tables(understand(own, sheets, {}, ledger), Settings(), ledger)["settings"]
    settings = read_settings(settings_rows, ledger)
    others = [sheet for sheet in sheets if sheet not in own]
    rows = check_tables(understand(others, sheets, settings.columns, ledger), settings, ledger)
    set_aside_copies(rows, ledger)
    date_by_age(rows, settings, ledger)
    keep_in_bounds(rows, settings, ledger)
    if asked_on is not None:
        forget_after(rows, asked_on, ledger)
    return settings, rows


def _linked(
    rows: Rows, settings: Settings, today: pd.Timestamp | None, ledger: Ledger
) -> tuple[dict[str, pd.DataFrame], list[str]]:
    """Link the logs into the frames of a season; also return the pairs whose clutches were told by dates."""
    aviary = build_aviary(rows, ledger)
    numbered = number_clutches(rows, aviary, settings.number("clutch_gap_d"))
    drop_repeats(rows, aviary, ledger)
    hatches = read_hatches(rows, aviary, today, ledger)
    nest = Nest(hatches, aviary)
    nest.read_moves(rows, ledger)
    losses = with_events(read_losses(rows, nest, ledger), hatches)
    eggs = eggs_frame(hatches, aviary, nest.sat_on_by)
    clutches = counted_clutches(rows, aviary, ledger)
    chicks = chicks_frame(hatches, losses, aviary, nest, Rearers(rows, aviary), today, ledger)
    weights, crops = weights_frame(rows, chicks, nest.chicks, settings, ledger)
    egg_weights = egg_weights_frame(rows, eggs, nest, ledger)
    question_temperatures(rows, settings, ledger)
    question(rows, aviary, eggs, clutches, chicks, settings, ledger)
    frames = {"eggs": eggs, "clutches": clutches, "chicks": chicks, "weights": weights, "losses": losses}
    frames |= {"egg_weights": egg_weights, "crops": crops}
    frames["pairs"] = pairs_frame(aviary)
    frames["cages"] = cages_frame(rows, aviary, eggs["cage"], chicks["cage"])
    return frames, numbered


def _assumed(settings: Settings, numbered: list[str]) -> Iterator[Finding]:
    if numbered:
        yield found("logs.clutches-by-dates", pairs=numbered)
    bounds = season_bounds(settings)
    if bounds:
        yield found("logs.bounds", first=bounds[0], last=bounds[1])
    else:
        yield found("logs.no-bounds")


def _open_earlier(folders: list[Path], but_not: Path) -> tuple[Season, ...]:
    """Open each earlier season once; what they in turn call earlier is not followed."""
    try:
        known = {folder.resolve(): folder for folder in folders}
        known.pop(but_not.resolve(), None)
        return tuple(_open(folder, (), None, join=False) for folder in known.values())
    except SeasonError as wrong:
        raise SeasonError(say("season.earlier-not-joined", why=str(wrong))) from None


def _day(up_to: str | date) -> pd.Timestamp:
    try:
        return pd.Timestamp(read_day(str(up_to)))
    except BadCell:
        raise SeasonError(say("season.no-day", day=str(up_to))) from None


def _others(rows: Rows) -> dict[str, pd.DataFrame]:
    """Return the logs that no frame holds yet, typed, with the place of each row."""
    frames = {}
    for log in LOGS.values():
        if log.name not in _LINKED:
            left_out = LEFT_OUT if log.column("temperature") else ()
            known = ("known",) if log.name == "signs" else ()
            columns = [*(c.name for c in log.columns), *left_out, *known, "file", "row"]
            records = [{**r.values, "file": r.place.file, "row": r.place.row} for r in rows[log.name]]
            frames[log.name] = pd.DataFrame(records, columns=columns).astype(dict.fromkeys(left_out, float))
    return frames


def fingerprint_of(folder: Path) -> str:
    """Return what tells whether two reports were made from the same logs, as these are on the disk now.

    Examples
    --------
    >>> demo = Path("data_demo/season_2026")
    >>> fingerprint_of(demo) == open_season(demo).fingerprint
    True
    """
    digest = hashlib.sha256()
    with suppress(OSError):  # what cannot be read is told where it is read
        for path in sorted(folder.iterdir()):
            if path.suffix.casefold() in TEXT_FILES + WORKBOOKS and not path.name.startswith(("~$", ".")):
                digest.update(path.name.encode(errors="surrogateescape") + b"\x00" + _content(path) + b"\x00")
    return digest.hexdigest()[:12]


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes() if path.is_file() else b""
    except OSError:
        return b""


def changed_since(season: Season) -> bool:
    """Tell whether logs of a season, or of those joined to it, were saved since they were read."""
    return any(fingerprint_of(one.folder) != one.fingerprint for one in (season, *season.earlier))
