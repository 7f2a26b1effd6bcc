"""Misspelt names: a bird, cage, species, pair or place that no log lists, and which one may be meant."""

import re
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from difflib import SequenceMatcher

from analysis.logs import Ledger, Row
from analysis.logs.headings import NameBook, same, words_of
from analysis.season.days import Rows
from analysis.season.pairs import Aviary
from analysis.season.species import all_species, shared_words, species_asked, species_facts, species_key
from analysis.season.vocabulary import HAND, is_hand, is_parents, names_nobody, sex_of

Cell = tuple[Row, str]  # a row, and the column that names something
_MOST = 2 / 3  # a log that lists less than this share of the names in use is hardly begun, and nothing is missing in it
_CLOSE = 0.75  # two words are one misspelt where more than this share of their letters agrees
_HAND = (HAND, "incubator", "brooder")  # what a slip may be meant for; more words stand in the vocabulary
_OF_BIRDS = ("pairs.species", "hatches.species", "birds.species")


@dataclass(frozen=True)
class _Kind:
    """Names of one kind: who lists them, who else knows them, and where they are used."""

    log: str  # the log to add a name to
    listed: dict[str, str]  # each name that may be meant, and the log that lists it
    known: NameBook  # every name that is no slip
    used: list[Cell]  # names that the log should list
    loose: list[Cell]  # names that may be something else: said only where a listed name is close
    not_meant: Callable[[Row, str], set[str]] = lambda row, column: set()


def check_names(rows: Rows, aviary: Aviary, ledger: Ledger) -> None:
    """Note each name that the log of its kind does not list, once a log and column, with the code "unknown-name".

    A name that is close to a listed one is noted with it ("Did you mean Zoe?"). One that is like none is noted only
    where the log lists at least two thirds of the names of its kind that the other logs use, so that a log that is
    hardly begun says nothing. Who sat, fathers, mothers, places of readings and pairs are noted only where
    a listed name is close.
    """
    pairs, laid = _names(rows, "pairs.pair"), list(_written(rows, "hatches.pair", "clutches.pair"))
    of_pairs = _Kind("pairs", pairs, NameBook(pairs), [], laid)  # one like none of these is said to have no species
    for kind in (_birds(rows), _species(rows), of_pairs, *_places(rows, aviary)):
        if kind.listed:
            _check(kind, ledger)
    _ask_species(rows, ledger)


def near_miss(name: str, known: Iterable[str]) -> str:
    """The known name that is most likely meant by a misspelt one; blank where none is close.

    Accents, blanks, hyphens and zeros before a number do not count: "P1" is "P01", "Zoe" is "Zoë". Otherwise the names
    have as many words, each begins with the same letter and more than three quarters of its letters agree; words of up
    to three letters, single letters and numbers agree wholly: C10 is no slip of C11, incubator A none of incubator B.
    """
    words = _words(name)
    close = [(_agree(words, _words(other)), other) for other in known]
    best = max(close, key=lambda one: one[0], default=(0.0, ""))
    return best[1] if best[0] else ""


def _words(name: str) -> list[str]:
    """Words and numbers of a name, without case, accents and zeros before a number."""
    plain = "".join(one for one in unicodedata.normalize("NFKD", same(name)) if not unicodedata.combining(one))
    return [one.lstrip("0") or one[:1] if one.isdecimal() else one for one in re.findall(r"\d+|[^\W\d_]+", plain)]


def _agree(words: list[str], others: list[str]) -> float:
    """How well two names agree, from 0 (not close) to 1."""
    numbers, other_numbers = ([word for word in one if word.isdecimal()] for one in (words, others))
    if words and "".join(words) == "".join(others) and numbers == other_numbers:
        return 1.0
    if len(words) != len(others):
        return 0.0
    return min((_alike(one, other) for one, other in zip(words, others, strict=True)), default=0.0)


def _alike(one: str, other: str) -> float:
    if one == other:
        return 1.0
    if min(len(one), len(other)) <= 3 or one[0] != other[0]:
        return 0.0
    differ = [at for at, (a, b) in enumerate(zip(one, other, strict=False)) if a != b]
    two_changed_places = sorted(one) == sorted(other) and len(differ) == 2 and differ[1] == differ[0] + 1
    share = SequenceMatcher(None, one, other, autojunk=False).ratio()
    return share if share > _CLOSE or two_changed_places else 0.0


def _check(kind: _Kind, ledger: Ledger) -> None:
    names = {same(row[column]) for row, column in kind.used}
    complete = sum(name in kind.known for name in names) >= _MOST * len(names)
    told = set()
    for at, (row, column) in enumerate([*kind.used, *kind.loose]):
        key = row.place.log, column, same(row[column])
        parts = re.split(r"\s*[,;+/&]\s*|\s+and\s+", row[column].strip())
        if key in told or row[column] in kind.known or all(part in kind.known for part in parts):
            continue
        not_meant = kind.not_meant(row, column)
        meant = near_miss(row[column], (name for name in kind.listed if same(name) not in not_meant))
        if meant or (complete and at < len(kind.used)):
            told.add(key)
            log = kind.listed.get(meant, kind.log)
            ledger.say("unknown-name", row.place, column, row[column], log=log, near=meant)


def _written(rows: Rows, *columns: str) -> Iterator[Cell]:
    """The filled cells of some columns, each "log.column", that hold a name."""
    for log, column in (one.split(".") for one in columns):
        for row in rows[log]:
            if row[column] and _words(row[column]) and not names_nobody(row[column]):
                yield row, column


def _not_a_word(cells: Iterable[Cell]) -> Iterator[Cell]:
    """The cells that say neither by hand nor the parents."""
    return ((row, column) for row, column in cells if not is_hand(row[column]) and not is_parents(row[column]))


def _names(rows: Rows, *columns: str) -> dict[str, str]:
    return {row[column]: row.place.log for row, column in _written(rows, *columns)}


def _birds(rows: Rows) -> _Kind:
    """Cocks and hens; a name close to a bird of the other sex, or to the partner, is no slip."""
    listed = _names(rows, "birds.bird", "birds.ring")
    used = [(row, bird) for row, bird in _written(rows, "pairs.cock", "pairs.hen") if row["kind"] in (None, "pair")]
    known = NameBook([*listed, *_names(rows, "hatches.chick", "hatches.ring")])
    parents = list(_written(rows, "birds.father", "birds.mother"))
    of_pairs = {same(row[bird]) for row, bird in used}
    loose = [(row, parent) for row, parent in parents if same(row[parent]) not in of_pairs]
    return _Kind("birds", listed, known, used, loose, _not_meant(rows))


def _not_meant(rows: Rows) -> Callable[[Row, str], set[str]]:
    sexes: dict[str, set[str]] = {"cock": set(), "hen": set()}
    for row, column in _written(rows, "birds.sex"):
        sexes.get(sex_of(row[column]), set()).update(same(row[name]) for name in ("bird", "ring") if row[name])
    other = {"cock": "hen", "hen": "cock", "father": "mother", "mother": "father"}

    def not_meant(row: Row, column: str) -> set[str]:
        beside = {same(row[name]) for name in (other[column], "bird") if row[name]}
        return beside | sexes["hen" if column in ("cock", "father") else "cock"]

    return not_meant


def _species(rows: Rows) -> _Kind:
    """Species that the keeper's own log does not list; a weight table may well be of others, that nobody here keeps."""
    listed = _names(rows, "species.species")
    used = list(_written(rows, *_OF_BIRDS))
    kept = NameBook(row[column] for row, column in used)
    loose = [(row, column) for row, column in _written(rows, "reference.species") if row[column] not in kept]
    known = [row[column] for row, column in [*used, *loose] if species_facts(row[column])]
    return _Kind("species", listed, NameBook([*listed, *known]), [], [*used, *loose])


def _ask_species(rows: Rows, ledger: Ledger) -> None:
    """Ask about each species of which nobody gives days, once: which of several it is, or what it may be a slip of."""
    listed = {species_key(name): name for name in _names(rows, "species.species")}
    with_days = {species_key(row["species"]) for row in rows["species"] if row["species"] and row["incubation_d"]}
    told = set(with_days)
    for row, column in _written(rows, *_OF_BIRDS):
        name, key = row[column], species_key(row[column])
        if key in told or species_facts(name) or (key not in listed and near_miss(name, listed.values())):
            continue
        told.add(key)
        may_be = _may_be(name)
        if may_be:
            ledger.say("which-species", row.place, column, name, species=name, may_be=may_be)
        else:
            ledger.say("no-days-known", row.place, column, name, species=name, near=_near_species(name))


def _may_be(name: str) -> tuple[str, ...]:
    """The species that a name, or its last words, may mean: "blue lovebird" is a lovebird."""
    of_a_genus = (species_asked(part, of_a_genus=True) for part in _parts(name))
    return species_asked(name) or next((several for several in of_a_genus if several), ())


def _near_species(name: str) -> str:
    """The species that a name is a slip of, or has within it as "lutino cockatiel" has; blank where none is close."""
    within = next((facts.name for part in _parts(name) if (facts := species_facts(part))), "")
    known = {known: facts.name for facts in all_species() for known in (facts.name, *facts.names)}
    known |= dict(zip(shared_words(), shared_words(), strict=True))
    return within or known.get(near_miss(name, known), "")


def _parts(name: str) -> Iterator[str]:
    """A name and the runs of words within it, those that end last before the others, the longest first."""
    words = words_of(name)
    yield name
    for end in range(len(words), 0, -1):
        yield from (" ".join(words[start:end]) for start in range(end))


def _places(rows: Rows, aviary: Aviary) -> Iterator[_Kind]:
    """Cages of pairs, eggs and chicks; who sat, and where eggs were moved to; places of readings.

    Who sat may be a pair, a cage, a room or an incubator; who rears is asked in `chicks`. What an egg or chick was put
    in counts as a listed place where it is read as well.
    """
    moved, chicks = list(_written(rows, "moves.to")), NameBook(_names(rows, "hatches.chick", "hatches.ring"))
    cages, rooms, read = (_names(rows, column) for column in ("cages.cage", "cages.room", "readings.place"))
    used = list(_not_a_word(_written(rows, "pairs.cage", "hatches.cage")))
    used += [(row, to) for row, to in moved if row["what"] in aviary.book]
    yield _Kind("cages", cages, NameBook([*cages, *rooms, *read, *_HAND]), used, [])
    did = list(_written(rows, "hatches.incubated_by", "hatches.reared_by", "clutches.incubated_by"))
    did += [(row, to) for row, to in moved if row["what"] not in aviary.book]
    sat = [(row, column) for row, column in did if column != "reared_by" and row["what"] not in chicks]
    listed = dict.fromkeys(_HAND, "cages") | read | rooms | cages | _names(rows, "pairs.pair")
    yield _Kind("cages", listed, NameBook([*listed, *aviary.book]), [], list(_not_a_word(sat)))
    put, places = {row[column]: "readings" for row, column in did}, NameBook(read)
    listed = {place: log for place, log in put.items() if place in places} | rooms | cages
    yield _Kind("cages", listed, NameBook([*listed, *put]), [], list(_written(rows, "readings.place")))
