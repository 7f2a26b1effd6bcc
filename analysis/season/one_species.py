"""One name a species: all the spellings and languages of a name are one, under the name that the keeper wrote first."""

from collections.abc import Iterator, Mapping

from analysis.finding import Finding, found
from analysis.logs import Row
from analysis.season.days import Rows
from analysis.season.species import (
    Days,
    keepers_species,
    said_span,
    species_facts,
    species_key,
)

_LOGS = ("species", "pairs", "hatches", "birds", "reference")  # whose name holds, the first of them first
# What a row of the species log says beside the table: its columns, from and to, and what it is of.
_SAID = {
    "incubation": ("incubation_d", "incubation_d"),
    "pip_to_hatch": ("pip_from_h", "pip_to_h"),
    **{what: (f"{what}_from_d", f"{what}_to_d") for what in ("candle", "ring", "wean")},
    "water_loss": ("water_loss_from_pct", "water_loss_to_pct"),
}


def one_name_a_species(rows: Rows, called: Mapping[str, str]) -> tuple[Rows, dict[str, str], list[Finding]]:
    """Give each species one name throughout: the one in `called` (of a season joined to), else the first written.

    Returns the rows, the name of each species by its key (see `species_key`), and what was understood, to be said:
    which spellings are one species, and where a row of the species log goes before what was read.
    """
    names, spelt = dict(called), dict[str, dict[str, None]]()
    for row in (row for log in _LOGS for row in rows[log] if row["species"]):
        key = species_key(row["species"])
        names.setdefault(key, row["species"])
        spelt.setdefault(key, {})[row["species"]] = None
    named = {log: [_under_one_name(row, names) for row in rows[log]] for log in _LOGS}
    understood = [*_spellings(spelt), *_own_days(named["species"])]
    return rows.but(named), names, understood


def _under_one_name(row: Row, names: Mapping[str, str]) -> Row:
    written = row["species"]
    name = names[species_key(written)] if written else written
    return row if name == written else row.but(species=name)


def _spellings(spelt: Mapping[str, Mapping[str, None]]) -> Iterator[Finding]:
    """What was read as one species, said once for all."""
    kinds = []
    for key, written in spelt.items():
        facts = species_facts(next(iter(written)))
        name = facts.name if facts else next(iter(written))
        others = [one for one in written if one.casefold() != name.casefold()]
        if len(written) > 1 or others:
            kinds.append(found("logs.one-species", written=list(written), name=name))
    if kinds:
        yield found("logs.species-read", kinds=kinds)


def _own_days(rows: list[Row]) -> Iterator[Finding]:
    """Where the keeper's own numbers and those that were read have no day in common: hers hold, and it is said."""
    differ = []
    for name, row in ((row["species"], row) for row in keepers_species(rows).values()):
        facts = species_facts(name)
        for what, columns in _SAID.items():
            ends = [row[column] for column in columns if row[column] is not None]
            read: Days | None = facts.days(what) if facts else None
            if ends and read and (max(ends) < read.low or min(ends) > read.high):
                both = {"own": said_span(min(ends), max(ends)), "read": said_span(read.low, read.high)}
                differ.append(
                    found("logs.own-number", species=name, of=found(f"logs.of-{what.replace('_', '-')}"), **both)
                )
    if differ:
        yield found("logs.own-species", numbers=differ)
