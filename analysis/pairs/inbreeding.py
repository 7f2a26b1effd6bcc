"""How closely birds are related, through which ancestors, and what of their ancestry is not written."""

from graphlib import TopologicalSorter
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.headings import NameBook, same
from analysis.names import by_name
from analysis.needed import typed_frame
from analysis.pairs.parents import book_of, known_parents
from analysis.season import GROUPS, Season
from analysis.season.pairs import Parents, ancestors, loops

_COLUMNS = {
    **dict.fromkeys(("pair", "cock", "hen"), "str"),
    **{"inbreeding": "float64", "known": "bool", "found": "object"},
}
Family = dict[str, tuple[str, str]]  # father and mother of each bird, blank where not known or not used
_BLANK = {
    ("cock",): "pairs.kin-cock-blank",
    ("hen",): "pairs.kin-hen-blank",
    ("cock", "hen"): "pairs.kin-both-blank",
}
_PARENTS = {"father": "pairs.father-of", "mother": "pairs.mother-of", "parents": "pairs.parents-of"}


def through(cock: str, hen: str, parents: Parents) -> set[str]:
    """The ancestors through which two birds are related; one of the two, where the other descends from it.

    Those of Wright's paths: from the ancestor down to the cock and down to the hen with no bird in common. An ancestor
    of both whose every way down goes through one nearer bird adds nothing of its own to the young's inbreeding.
    """
    both = [cock, hen]
    common = {cock, *ancestors([cock], parents)} & {hen, *ancestors([hen], parents)}
    shared = set(common)
    for nearer in common:  # with it out of the way, what can no longer be reached is related through it alone
        past = {one for one in both if one != nearer} | ancestors(both, parents, without=nearer)
        shared &= past | {nearer}
    return shared


def kinship(parents: pd.DataFrame) -> pd.DataFrame:
    """How closely all birds are related, two by two: the inbreeding that young of these two would have.

    The coefficient of kinship (coancestry) f of two birds is the probability that a gene drawn from the one and a gene
    drawn from the other at the same place are copies of one gene of a founder. Parents come before their young::

        f(i, j) = (f(father, j) + f(mother, j)) / 2        f(i, i) = (1 + f(father, mother)) / 2

    An unknown parent is a founder of its own, related to nobody.

    `parents` has a row a bird: bird, father, mother (blank or missing where unknown), names compared without case and
    outer blanks; of two rows of one bird the first holds. Returns birds by birds in the order of their rows, then those
    named only as parents. Its `attrs["not_used"]` lists the links (bird, parent) by which a bird would be its own
    ancestor: a slip in the logs, taken as if that parent were not known.

    Sources: Sewall Wright (1922), Coefficients of inbreeding and relationship, Am. Nat. 56: 330–338; the tabular method
    as in Mrode, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., ch. 2.
    """
    birds, numbers, not_used = _numbered(parents)
    n = len(birds)
    table = np.zeros((n + 1, n + 1))  # row and column n are the unknown parent, related to nobody
    older = {bird: [one for one in both if one >= 0] for bird, both in enumerate(numbers.tolist())}
    for bird in TopologicalSorter(older).static_order():  # birds still to come have zeros, and fill them in then
        father, mother = numbers[bird]
        with_all = (table[father] + table[mother]) / 2
        table[bird], table[:, bird] = with_all, with_all
        table[bird, bird] = (1 + table[father, mother]) / 2
    related = pd.DataFrame(table[:n, :n], index=pd.Index(birds, name="bird"), columns=birds)
    related.attrs["not_used"] = not_used
    return related


def _numbered(parents: pd.DataFrame) -> tuple[list[str], npt.NDArray[np.intp], tuple[tuple[str, str], ...]]:
    """Birds, the numbers of father and mother of each, (n, 2), -1 where unknown, and links (bird, parent) left out."""
    book = NameBook(name for name in parents["bird"] if _written(name))
    links: dict[str, list[str]] = {}
    for bird, *named in parents[["bird", "father", "mother"]].itertuples(index=False):
        if _written(bird) and book.add(bird) not in links:
            links[book.add(bird)] = [book.add(one) if _written(one) else "" for one in named]
    birds = list(book)
    looped = loops({bird: [one for one in both if one] for bird, both in links.items()})
    used = {bird: [one if (bird, one) not in looped else "" for one in both] for bird, both in links.items()}
    at = {"": -1} | {bird: number for number, bird in enumerate(birds)}
    numbers = np.array([[at[one] for one in used.get(bird, ("", ""))] for bird in birds], dtype=np.intp).reshape(-1, 2)
    return birds, numbers, tuple(sorted(looped))


def _written(name: object) -> bool:
    return isinstance(name, str) and bool(name.strip())


def young(season: Season) -> pd.DataFrame:
    """How inbred the young of each pair of this season are, with parents from all joined seasons (`known_parents`).

    Returns a row a pair, by name: pair, cock, hen; inbreeding: the kinship of cock and hen, a least value where
    ancestors are not written, NaN where it cannot be told; known: whether both birds have both parents written; found:
    how they are related, a Finding.
    """
    known = known_parents(season)
    book, table = book_of(known.to_dict("records")), kinship(known)
    not_used = set(table.attrs["not_used"])
    family: Family = {
        bird: ("" if (bird, father) in not_used else father, "" if (bird, mother) in not_used else mother)
        for bird, father, mother in known[["bird", "father", "mother"]].itertuples(index=False)
    }
    rows = []
    for pair in season.pairs.to_dict("records"):
        about: dict[str, Any] = {"inbreeding": np.nan, "known": False, "found": _cannot_be_told(pair)}
        if about["found"] is None:
            cock, hen = (book.find(pair[one]) or pair[one] for one in ("cock", "hen"))
            value = float(table.loc[cock, hen])
            both_known = all(all(family[bird]) for bird in (cock, hen))
            about = {"inbreeding": value, "known": both_known, "found": _kin(cock, hen, value, family)}
        rows.append({**{name: pair[name] for name in ("pair", "cock", "hen")}, **about})
    return typed_frame(rows, _COLUMNS)


def _cannot_be_told(pair: dict[str, Any]) -> Finding | None:
    if pair["kind"] != "pair":
        return found("pairs.kin-of-group", about=pair["pair"], pair=pair["pair"], group=GROUPS[pair["kind"]])
    blank = tuple(bird for bird in ("cock", "hen") if not pair[bird])
    if blank:
        return found(_BLANK[blank], about=pair["pair"], pair=pair["pair"])
    if same(pair["cock"]) == same(pair["hen"]):
        return found("pairs.kin-one-bird", about=pair["pair"], pair=pair["pair"])
    return None


def _kin(cock: str, hen: str, value: float, family: Family) -> Finding:
    written = {bird: [one for one in both if one] for bird, both in family.items()}
    older = [len(written.get(bird, ())) for bird in ancestors([cock, hen], written)]
    # an ancestor with neither parent written is where the logs begin, and is taken as unrelated to the others
    least = any(len(written.get(bird, ())) < 2 for bird in (cock, hen)) or 1 in older
    if value > 0:
        return found("pairs.kin", related=_related(cock, hen, family, written), least=least, inbreeding=value)
    blank: dict[str, list[str]] = {}
    for bird in by_name((cock, hen)):
        father, mother = family[bird]
        if not father or not mother:
            blank.setdefault("mother" if father else "father" if mother else "parents", []).append(bird)
    if blank:
        one = len(blank) == 1 and "parents" not in blank and len(next(iter(blank.values()))) == 1
        missing = [found(_PARENTS[who], birds=birds) for who, birds in blank.items()]
        return found("pairs.kin-one-missing" if one else "pairs.kin-some-missing", missing=missing)
    return found("pairs.kin-missing-further-back" if least else "pairs.kin-none")


def _related(cock: str, hen: str, family: Family, written: Parents) -> Finding:
    """How two birds are related, before the number."""
    both = by_name((cock, hen))
    (father, mother), hers = family[cock], family[hen]
    if father and mother and {father, mother} == set(hers):
        return found("pairs.same-parents", birds=both, father=father, mother=mother)
    shared = through(cock, hen, written)
    for bird, parent, code in ((hen, cock, "pairs.is-father"), (cock, hen, "pairs.is-mother")):
        if shared == {parent} and parent in family[bird]:
            return found(code, parent=parent, bird=bird)
    for code, one, other in (("pairs.same-father", father, hers[0]), ("pairs.same-mother", mother, hers[1])):
        if one and shared == {one} and one == other:
            return found(code, birds=both, parent=one)
    others = by_name(shared - {cock, hen})
    if cock in shared or hen in shared:
        older, younger = (cock, hen) if cock in shared else (hen, cock)
        code = "pairs.descends-and-related" if others else "pairs.descends"
        return found(code, younger=younger, older=older, others=others)
    return found("pairs.related-through", birds=both, others=others)
