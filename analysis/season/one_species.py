"""One name a species: all the spellings and languages of a name are one, under the name that the keeper wrote first."""

from collections.abc import Iterator, Mapping

from analysis.finding import Finding, found
from analysis.logs import Ledger, Row
from analysis.logs.headings import same
from analysis.season.days import Rows
from analysis.season.species import (
    Days,
    said_span,
    species_facts,
    species_key,
)

_LOGS = ("pairs", "hatches", "birds", "species", "reference")  # whose name holds, the first of them first
# What a row of the species log says beside the table: its columns, from and to, and what it is of.
_SAID = {
    "incubation": ("incubation_d", "incubation_d"),
    "pip_to_hatch": ("pip_from_h", "pip_to_h"),
    **{what: (f"{what}_from_d", f"{what}_to_d") for what in ("candle", "ring", "wean")},
    "water_loss": ("water_loss_from_pct", "water_loss_to_pct"),
}


def one_name_a_species(
    rows: Rows, called: Mapping[str, str], ledger: Ledger
) -> tuple[Rows, dict[str, str], list[Finding]]:
    """Give each species one name throughout: the one in `called` (of a season joined to), else the first written.

    Returns the rows, the name of each species by its key (see `species_key`), and where a row of the species log goes
    before what was read, to be said. Which spellings are one species is noted. Of two rows of one species in that log
    the second is not used.
    """
    names, spelt = dict(called), dict[str, dict[str, None]]()
    for row in (row for log in _LOGS for row in rows[log] if row["species"]):
        key = species_key(row["species"])
        names.setdefault(key, row["species"])
        spelt.setdefault(key, {})[row["species"]] = None
    named = {log: [_under_one_name(row, names) for row in rows[log]] for log in _LOGS}
    first: dict[str, Row] = {}
    for row in named["species"]:
        earlier = first.setdefault(same(row["species"]), row)
        if earlier is not row:
            ledger.drop_repeat(row, earlier, "species", row["species"])
    rows = rows.but(named).used(ledger, "species")
    _understand(spelt, ledger)
    return rows, names, [*_own_days(rows["species"])]


def _under_one_name(row: Row, names: Mapping[str, str]) -> Row:
    written = row["species"]
    name = names[species_key(written)] if written else written
    return row if name == written else row.but(species=name)


def _understand(spelt: Mapping[str, Mapping[str, None]], ledger: Ledger) -> None:
    """Note which species each name was read as."""
    for names in spelt.values():
        facts = species_facts(next(iter(names)))
        for name in names:
            ledger.understand("species", name, facts.name if facts else next(iter(names)))


def _own_days(rows: list[Row]) -> Iterator[Finding]:
    """Where the keeper's own numbers and those that were read have no day in common: hers hold, and it is said."""
    differ = []
    for name, row in ((row["species"], row) for row in rows):
        facts = species_facts(name)
        for what, columns in _SAID.items():
            ends = [row[column] for column in columns if row[column] is not None]
            read: Days | None = facts.days(what) if facts else None
            if ends and read and (max(ends) < read.low or min(ends) > read.high):
                own, of = said_span(min(ends), max(ends)), found(f"logs.of-{what.replace('_', '-')}")
                differ.append(found("logs.own-number", species=name, of=of, own=own, read=said_span(*read[:2])))
    if differ:
        yield found("logs.own-species", numbers=differ)
