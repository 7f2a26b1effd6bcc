"""A round → its pages, typeset directly: a document of plain data for `round.typ`."""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from analysis.chapters.logs import untrusted
from analysis.chicks.feeding import CAUTIONS, ORDER_WHY, USABLE
from analysis.chicks.weaning import WEANING, WEANING_RULE
from analysis.day.due import WEANS
from analysis.day.evening import LAST_FEED, READING, evening_rows
from analysis.day.preparation import before_feeding, kept_from_others, no_amounts, remarks_since, still_here
from analysis.day.round import Round, round_of
from analysis.day.round_rows import NOBODY, egg_rows, round_rows, weights_form
from analysis.eggs.findings import water_findings
from analysis.finding import Words, found
from analysis.report.press import press
from analysis.report.writing import claim, item_lines, put_all, reports_folder, said_of, scratch_folder
from analysis.say import in_words, say
from analysis.say.voice import sentences
from analysis.season import left_alone, numbers_hold, open_season, unaccounted_chicks
from analysis.season.days import today
from analysis.show import item_words
from analysis.show.displays import csv_text
from analysis.show.letters import every_text, printable
from analysis.theme import FAMILY
from analysis.words import day_in_full

_BLANKS = {LAST_FEED: found("paper.at-and-crop"), READING: found("paper.heat-and-humidity")}
_SHORT = {"due.hari-incubation": found("report.round-hari")}


@dataclass(frozen=True)
class MorningRound:
    """A finished round: its files (no CSV where none was asked for), and what is read first (who, sentence).

    `ahead`: what is asked about days later than today; on a screen alone, so that paper is the same on any day.
    """

    pdf: Path
    csv: Path | None
    read: tuple[tuple[str, str], ...]
    ahead: tuple[str, ...] = ()

    def lines(self) -> list[str]:
        """Return what the command prints: where the files are, and what is read first."""
        lines = [say("report.made-round", path=self.pdf)]
        if self.csv is not None:
            lines.append(say("report.made-weights", path=self.csv))
        lines += said_of((self.pdf, self.csv))
        lines += ["", say("paper.read-first"), *item_lines(self.read)] if self.read else []
        later = [f"  {one}" for one in self.ahead]
        return [*lines, "", say("report.later-than-today"), *later] if later else lines


def morning_round(
    folder: Path,
    out: Path | None = None,
    *,
    on: str | None = None,
    csv: bool = False,
    earlier: Sequence[Path] = (),
) -> MorningRound:
    """Make the round of a day (2026-05-20; today by default) from a season folder; what was logged later is left out.

    It is put into `out` (by default `reports/` and the folder's name); `earlier` are folders of seasons to join. `csv`
    also writes the form for this morning's weights, which the season folder takes as it is; a form that somebody wrote
    in stays, and the new one comes beside it. SeasonError: the folder cannot be used, the day cannot be read, or the
    pages could not be written.
    """
    of_day = round_of(open_season(folder, earlier, on or today()))
    day = of_day.on  # the name, the date and the rows are of this one object
    target = reports_folder(folder, out)
    with scratch_folder(target) as scratch:
        files = {target / f"round_{day:%Y-%m-%d}.pdf": round_page(of_day)}
        if csv:
            files[target / f"weights_{day:%Y-%m-%d}.csv"] = csv_text(weights_form(of_day)).encode()
        pdf, *form = put_all(files, target, scratch)
        claim(target, folder)
    read = tuple((who, sentence) for who, _, sentence in read_first(of_day))
    return MorningRound(pdf, form[0] if form else None, read, tuple(map(in_words, of_day.season.ahead)))


def round_page(today: Round) -> bytes:
    """The round of a day as a PDF to print and write on (PDF/UA-1); the same bytes for the same logs and day.

    SeasonError: the typesetter refuses the page.
    """
    document = every_text(_with_words(round_document(today)), printable, leave=frozenset())
    noon = datetime(today.on.year, today.on.month, today.on.day, tzinfo=UTC)
    return press("round.typ", document, {}, seconds=int(noon.timestamp()))


def round_document(today: Round) -> dict[str, Any]:
    """What the page says, as data: see `round.typ` for where each part stands."""
    season, eggs = today.season, egg_rows(today).rename(columns={"at pip": "pip"})
    return {
        "family": FAMILY,
        "paper": "Letter" if season.settings["paper"] == "Letter" else "A4",
        "title": say("report.round"),
        "day": day_in_full(today.on),
        "aviary": season.aviary,
        "line": _line(today),
        "foot": say("report.round-foot", aviary=season.aviary, day=today.on, fingerprint=season.fingerprint),
        "read": [item_words(item) for item in read_first(today)],
        "empty": in_words(_empty(today)),
        "unit": season.settings["weight_unit"],
        "rows": [_row(row) for row in round_rows(today).to_dict("records")],
        "order": say("report.round-order"),
        "usable": in_words(USABLE),
        "before": [item_words(one) for one in before_feeding(today) if one != ORDER_WHY],
        "due": [_due(row) for row in today.due.itertuples() if not _in_weaning(row, today)],
        "nothing_due": say("report.round-nothing-due"),
        "eggs": [[_at(egg), egg.day, egg.lost, egg.pip, in_words(egg.expected)] for egg in eggs.itertuples()],
        "water": [item_words(one) for one in water_findings(today.eggs)],
        "notes": [item_words(one) for one in no_amounts(today)],
        "asked": [item_words(one) for one in still_here(today)],
        "remarks": [item_words(one) for one in remarks_since(today)],
        "weaning": [[in_words(row[name]) for name in WEANING] for row in today.weaning.to_dict("records")],
        "weaning_rule": in_words(WEANING_RULE),
        "apart": [item_words(one) for one in kept_from_others(today)],
        "evening": [_for_tonight(row) for row in evening_rows(today).to_dict("records")],
        "cautions": [in_words(one) for one in CAUTIONS],
    }


def _with_words(document: dict[str, Any]) -> dict[str, Any]:
    """The same with what stands on the page whatever the day, by the codes that `round.typ` knows."""
    words = {code: say(f"paper.{code}", **document) for code in sentences("paper")}
    mixes = [say("report.round-mix", number=number) for number in (1, 2, 3)]
    return document | {"words": words, "mixes": mixes}


def read_first(today: Round) -> list[tuple[str, str, str]]:
    """Who or what is read of first, about what, and the sentence: logs that could not be read stand above all else."""
    read = [(in_words(one.about), in_words(one.facts["of"]), in_words(one)) for one in today.reads]
    if numbers_hold(today.season):
        return read
    damaged = [item_words(one) for one in untrusted(today.season)]
    return [*((what, say("report.round-damaged-log"), said) for what, said in damaged), *read]


def _row(row: dict[Hashable, Any]) -> dict[Hashable, Any]:
    return {name: _text(cell) for name, cell in row.items()}


def _for_tonight(row: dict[Hashable, Any]) -> dict[str, Any]:
    """A line that is handed over, with what is written on it in the night."""
    return {name: _text(row[name]) for name in ("about", "who", "told")} | {
        "tonight": in_words(_BLANKS.get(row["kind"], ""))
    }


def _text(cell: Any) -> Any:
    """A cell of a row as plain data."""
    return [in_words(one) for one in cell] if isinstance(cell, list) else in_words(cell)


def _empty(today: Round) -> list[Words]:
    """Why the table is empty, and what would fill it."""
    if today.season.is_blank:
        later = "later-than-asked" in set(today.season.problems["code"])
        if later:
            return [found("report.round-nothing-yet")]
        return [found("report.round-no-rows", left=left_alone(today.season))]
    if len(today.chicks):
        return []
    asked = set(unaccounted_chicks(today.season, today.on)["chick"])
    reared = set(today.season.chicks.loc[today.season.chicks["fate"] == "being reared", "chick"])
    first = found("report.round-not-known") if asked else NOBODY
    return [first, found("report.round-nobody-says")] if reared - asked else [first]


def _line(today: Round) -> str:
    if not numbers_hold(today.season):
        return ""
    parts = [say("report.round-fed", chicks=len(today.chicks))]
    if read := len({one.about for one in today.reads}):
        parts.append(say("report.round-first", chicks=read))
    if asked := len(unaccounted_chicks(today.season, today.on)):
        parts.append(say("report.round-asked", chicks=asked))
    if eggs := len(today.eggs.incubating):
        parts.append(say("report.round-eggs", eggs=eggs))
    return " · ".join(parts)


def _at(egg: Any) -> str:
    return in_words(egg.egg) if egg.at_home else " · ".join(part for part in (in_words(egg.egg), egg.where) if part)


def _in_weaning(row: Any, today: Round) -> bool:
    """Whether the chicks of a thing due stand under weaning, with more than their days."""
    return row.code in WEANS and set(row.who) <= set(today.weaning["chick"])


def _due(row: Any) -> list[str]:
    """A thing due, in few words; its source is told once. The likeliest day and its grounds stand on the screen."""
    source = "" if row.sourced else in_words(_SHORT.get(row.source_code, row.source))
    return [row.said, row.names, row.where, row.brief, source]
