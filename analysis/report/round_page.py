"""A round → its pages, typeset directly: a document of plain data for `round.typ`."""

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import Any

from analysis.feeding import CAUTIONS, ORDER_WHY, USABLE
from analysis.finding import Finding
from analysis.findings import untrusted
from analysis.nursery import NOBODY, Round, before_feeding, egg_rows, no_amounts, round_rows, still_here, water_said
from analysis.report.press import press
from analysis.say import in_words
from analysis.season import numbers_hold, unheard
from analysis.show.letters import every_text, printable
from analysis.theme import FAMILY
from analysis.words import count_words, day_in_full, day_words

ORDER = "youngest healthy first, bought-in and ailing last with their own syringe: hygiene, not urgency, sets it"
NOT_KNOWN = "No chick is known to be fed by hand on this day; of some it must be asked."
NOBODY_SAYS = "Chicks are being reared: of those that you feed, write hand in reared_by, or a move to hand."
NOTHING_DUE = "Nothing is due in your logs."
_SHORT = {"due.hari-incubation": "HARI, part 2"}
_LEAVE = frozenset[str]()


def round_page(today: Round, *, nothing: str = "") -> bytes:
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
    document = every_text(round_document(today, nothing=nothing), printable, leave=_LEAVE)
    noon = datetime(today.on.year, today.on.month, today.on.day, tzinfo=UTC)
    return press("round.typ", document, {}, seconds=int(noon.timestamp()))


def round_document(today: Round, *, nothing: str = "") -> dict[str, Any]:
    """What the page says, as data: see `round.typ` for where each part stands."""
    season, chicks, eggs = today.season, today.chicks, egg_rows(today).rename(columns={"at pip": "pip"})
    return {
        "family": FAMILY,
        "paper": "Letter" if season.settings["paper"] == "Letter" else "A4",
        "title": "Morning round",
        "day": day_in_full(today.on),
        "aviary": season.aviary,
        "line": _line(today),
        "foot": f"{season.aviary} · {day_words(today.on)} · logs {season.fingerprint}",
        "read": [list(item) for item in read_first(today)],
        "empty": nothing or ("" if len(chicks) else _nobody(today)),
        "unit": season.settings["weight_unit"],
        "rows": [{name: _text(cell) for name, cell in row.items()} for row in round_rows(today).to_dict("records")],
        "order": ORDER,
        "usable": in_words(USABLE),
        "before": _items(one for one in before_feeding(today) if one != ORDER_WHY),
        "due": [_due(row) for row in today.due.itertuples()],
        "nothing_due": NOTHING_DUE,
        "eggs": [[_at(egg), egg.day, egg.lost, egg.pip, in_words(egg.expected)] for egg in eggs.itertuples()],
        "water": _items(water_said(today)),
        "notes": _items(no_amounts(today)),
        "asked": _items(still_here(today)),
        "cautions": [in_words(one) for one in CAUTIONS],
    }


def read_first(today: Round) -> list[tuple[str, str, str]]:
    """Who or what is read of first, about what, and the sentence: logs that could not be read stand above all else."""
    read = [(in_words(one.about), in_words(one.facts["of"]), in_words(one)) for one in today.reads]
    if numbers_hold(today.season):
        return read
    return [*((in_words(one.about), "damaged log", in_words(one)) for one in untrusted(today.season)), *read]


def _items(found: Iterable[Finding]) -> list[list[str]]:
    return [[in_words(one.about), in_words(one)] for one in found]


def _text(cell: Any) -> Any:
    """A cell of a row as plain data."""
    return [in_words(one) for one in cell] if isinstance(cell, list) else in_words(cell)


def _nobody(today: Round) -> str:
    """Why the table is empty, and what would fill it."""
    asked = set(unheard(today.season, today.on)["chick"])
    reared = set(today.season.chicks.loc[today.season.chicks["fate"] == "being reared", "chick"])
    first = NOT_KNOWN if asked else in_words(NOBODY)
    return f"{first} {NOBODY_SAYS}" if reared - asked else first


def _line(today: Round) -> str:
    if not numbers_hold(today.season):
        return ""
    parts = [count_words(len(today.chicks), "chick") + " fed by hand"]
    read = len({one.about for one in today.reads})
    parts += [f"{count_words(read, 'needs', 'need')} attention first"] if read else []
    asked = len(unheard(today.season, today.on))
    parts += [f"{asked} to ask about"] if asked else []
    eggs = len(today.eggs.incubating)
    parts += [count_words(eggs, "egg") + " expected"] if eggs else []
    return " · ".join(parts)


def _at(egg: Any) -> str:
    return in_words(egg.egg) if egg.at_home else " · ".join(part for part in (in_words(egg.egg), egg.where) if part)


def _due(row: Any) -> list[str]:
    """A thing due, in few words; its source is told once. The likeliest day and its grounds stand on the screen."""
    return [row.said, row.names, row.where, row.brief, "" if row.sourced else _SHORT.get(row.source_code, row.source)]
