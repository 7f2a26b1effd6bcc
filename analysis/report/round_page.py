"""A round → its pages, typeset directly: a document of plain data for `round.typ`."""

from datetime import UTC, datetime
from typing import Any

from analysis.feeding import CAUTIONS, ORDER_WHY, USABLE
from analysis.finding import Words, found
from analysis.findings import untrusted
from analysis.nursery import NOBODY, Round, before_feeding, egg_rows, no_amounts, round_rows, still_here, water_said
from analysis.report.press import page_of, press
from analysis.say import in_words, say
from analysis.say.voice import sentences
from analysis.season import numbers_hold, unheard
from analysis.show import item_words
from analysis.show.letters import every_text, printable
from analysis.theme import FAMILY
from analysis.words import day_in_full

_MIXES = (1, 2, 3)
_SHORT = {"due.hari-incubation": found("report.round-hari")}
_LEAVE = frozenset[str]()


def round_page(today: Round, *, nothing: Words = "") -> bytes:
    """The round of a day as a PDF to print and write on (PDF/UA-1); the same bytes for the same logs and day.

    Parameters
    ----------
    today
        The round.
    nothing
        What stands in the place of the table where the logs hold nothing yet.

    Raises
    ------
    SeasonError
        When the typesetter refuses the page.
    """
    document = every_text(_with_words(round_document(today, nothing=nothing)), printable, leave=_LEAVE)
    noon = datetime(today.on.year, today.on.month, today.on.day, tzinfo=UTC)
    return press("round.typ", document, {}, seconds=int(noon.timestamp()))


def round_document(today: Round, *, nothing: Words = "") -> dict[str, Any]:
    """What the page says, as data: see `round.typ` for where each part stands."""
    season, chicks, eggs = today.season, today.chicks, egg_rows(today).rename(columns={"at pip": "pip"})
    return {
        "family": FAMILY,
        "paper": "Letter" if season.settings["paper"] == "Letter" else "A4",
        "title": say("report.round"),
        "day": day_in_full(today.on),
        "aviary": season.aviary,
        "line": _line(today),
        "foot": say("report.round-foot", aviary=season.aviary, day=today.on, fingerprint=season.fingerprint),
        "read": [item_words(item) for item in read_first(today)],
        "empty": in_words(nothing or ("" if len(chicks) else _nobody(today))),
        "unit": season.settings["weight_unit"],
        "rows": [{name: _text(cell) for name, cell in row.items()} for row in round_rows(today).to_dict("records")],
        "order": say("report.round-order"),
        "usable": in_words(USABLE),
        "before": [item_words(one) for one in before_feeding(today) if one != ORDER_WHY],
        "due": [_due(row) for row in today.due.itertuples()],
        "nothing_due": say("report.round-nothing-due"),
        "eggs": [[_at(egg), egg.day, egg.lost, egg.pip, in_words(egg.expected)] for egg in eggs.itertuples()],
        "water": [item_words(one) for one in water_said(today)],
        "notes": [item_words(one) for one in no_amounts(today)],
        "asked": [item_words(one) for one in still_here(today)],
        "cautions": [in_words(one) for one in CAUTIONS],
    }


def _with_words(document: dict[str, Any]) -> dict[str, Any]:
    """The same with what stands on the page whatever the day, by the codes that `round.typ` knows."""
    words = {code: say(f"paper.{code}", **document) for code in sentences("paper")}
    mixes = [say("report.round-mix", number=number) for number in _MIXES]
    return document | {"words": words, "mixes": mixes, "page_of": page_of()}


def read_first(today: Round) -> list[tuple[str, str, str]]:
    """Who or what is read of first, about what, and the sentence: logs that could not be read stand above all else."""
    read = [(in_words(one.about), in_words(one.facts["of"]), in_words(one)) for one in today.reads]
    if numbers_hold(today.season):
        return read
    damaged = [item_words(one) for one in untrusted(today.season)]
    return [*((what, say("report.round-damaged-log"), said) for what, said in damaged), *read]


def _text(cell: Any) -> Any:
    """A cell of a row as plain data."""
    return [in_words(one) for one in cell] if isinstance(cell, list) else in_words(cell)


def _nobody(today: Round) -> list[Words]:
    """Why the table is empty, and what would fill it."""
    asked = set(unheard(today.season, today.on)["chick"])
    reared = set(today.season.chicks.loc[today.season.chicks["fate"] == "being reared", "chick"])
    first = found("report.round-not-known") if asked else NOBODY
    return [first, found("report.round-nobody-says")] if reared - asked else [first]


def _line(today: Round) -> str:
    if not numbers_hold(today.season):
        return ""
    parts = [say("report.round-fed", chicks=len(today.chicks))]
    if read := len({one.about for one in today.reads}):
        parts.append(say("report.round-first", chicks=read))
    if asked := len(unheard(today.season, today.on)):
        parts.append(say("report.round-asked", chicks=asked))
    if eggs := len(today.eggs.incubating):
        parts.append(say("report.round-eggs", eggs=eggs))
    return " · ".join(parts)


def _at(egg: Any) -> str:
    return in_words(egg.egg) if egg.at_home else " · ".join(part for part in (in_words(egg.egg), egg.where) if part)


def _due(row: Any) -> list[str]:
    """A thing due, in few words; its source is told once. The likeliest day and its grounds stand on the screen."""
    return [
        row.said,
        row.names,
        row.where,
        row.brief,
        "" if row.sourced else in_words(_SHORT.get(row.source_code, row.source)),
    ]
