"""How inbred the young of each pair are, as far as the logs tell, and how the keeper reads it."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.logs.names import same
from analysis.names import by_name
from analysis.pedigree.parents import book_of, known_parents
from analysis.pedigree.related import holes, through
from analysis.pedigree.tabular import kinship
from analysis.season import Season
from analysis.season.frames import typed_frame
from analysis.words import listed

COLUMNS = {
    **dict.fromkeys(("pair", "cock", "hen"), "str"),
    "inbreeding": "float64",
    "known": "bool",
    "sentence": "str",
}
Family = dict[str, tuple[str, str]]  # father and mother of each bird, blank where not known or not used


def young(season: Season) -> pd.DataFrame:
    """How inbred the young of each pair of this season are.

    Parameters
    ----------
    season : Season
        With its `earlier`: parents are read from all joined seasons, see `known_parents`.

    Returns
    -------
    frame, a row a pair of this season, by name
        pair, cock, hen;
        inbreeding: the kinship of cock and hen, a least value where ancestors are not written; NaN where it cannot be
        told (a colony or trio; cock or hen not written, or one bird for both);
        known: whether both birds have both parents written;
        sentence: what the keeper reads.

    Examples
    --------
    >>> from analysis import open_season
    >>> table = young(open_season("data_demo/season_2026")).set_index("pair")
    >>> float(table.loc["P05", "inbreeding"]), table.loc["P05", "sentence"]
    (0.25, 'Clove and Nutmeg have the same parents (Thistle and Plantain): inbreeding 0.25.')
    """
    known = known_parents(season)
    book, table = book_of(known.to_dict("records")), kinship(known)
    family = _family(known, set(table.attrs["not_used"]))
    rows = []
    for pair in season.pairs.to_dict("records"):
        about: dict[str, Any] = {"inbreeding": np.nan, "known": False, "sentence": _cannot_be_told(pair)}
        if not about["sentence"]:
            cock, hen = (book.find(pair[one]) or pair[one] for one in ("cock", "hen"))
            value = float(table.loc[cock, hen])
            both_known = all(all(family[bird]) for bird in (cock, hen))
            about = {"inbreeding": value, "known": both_known, "sentence": _sentence(cock, hen, value, family)}
        rows.append({**{name: pair[name] for name in ("pair", "cock", "hen")}, **about})
    return typed_frame(rows, COLUMNS)


def _family(known: pd.DataFrame, not_used: set[tuple[str, str]]) -> Family:
    def used(bird: str, parent: str) -> str:
        return "" if (bird, parent) in not_used else parent

    return {row.bird: (used(row.bird, row.father), used(row.bird, row.mother)) for row in known.itertuples()}


def _cannot_be_told(pair: dict[str, Any]) -> str:
    if pair["kind"] != "pair":
        return f"{pair['pair']} is a {pair['kind']}: how its birds are related cannot be told."
    blank = [bird for bird in ("cock", "hen") if not pair[bird]]
    if blank:
        are = "is" if len(blank) == 1 else "are"
        return f"The {listed(blank)} of {pair['pair']} {are} not written, so how they are related cannot be told."
    if same(pair["cock"]) == same(pair["hen"]):
        return f"Cock and hen of {pair['pair']} are written as one bird, so how they are related cannot be told."
    return ""


def _sentence(cock: str, hen: str, value: float, family: Family) -> str:
    least = holes(family, cock, hen)
    if value > 0:
        return f"{_related(cock, hen, family)}: inbreeding {'at least ' if least else ''}{value:.3g}."
    missing = _missing(by_name((cock, hen)), family)
    if missing:
        return f"Nothing in the logs makes them related; {missing} not written, so it cannot be ruled out."
    if least:
        return "Nothing in the logs makes them related; further back some parents are not written."
    return "Nothing in the logs makes them related, and the parents of both are written."


def _missing(birds: list[str], family: Family) -> str:
    """Which parents are blank, and the verb to it: "the mother of Ash and the parents of Elm are"."""
    blank: dict[str, list[str]] = {}
    for bird in birds:
        father, mother = family[bird]
        if not father or not mother:
            blank.setdefault("mother" if father else "father" if mother else "parents", []).append(bird)
    words = [f"the {who} of {listed(mine)}" for who, mine in blank.items()]
    one = len(words) == 1 and "parents" not in blank and len(next(iter(blank.values()))) == 1
    return f"{listed(words)} {'is' if one else 'are'}" if words else ""


def _related(cock: str, hen: str, family: Family) -> str:
    """How two birds are related, the words before the number."""
    both = listed(by_name((cock, hen)))
    (father, mother), hers = family[cock], family[hen]
    if father and mother and {father, mother} == set(hers):
        return f"{both} have the same parents ({father} and {mother})"
    written = {bird: [one for one in two if one] for bird, two in family.items()}
    shared = through(cock, hen, written)
    for bird, parent, word in ((hen, cock, "father"), (cock, hen, "mother")):
        if shared == {parent} and parent in family[bird]:
            return f"{parent} is the {word} of {bird}"
    for word, one, other in (("father", father, hers[0]), ("mother", mother, hers[1])):
        if one and shared == {one} and one == other:
            return f"{both} have the same {word} ({one})"
    others = by_name(shared - {cock, hen})
    if cock in shared or hen in shared:
        older, younger = (cock, hen) if cock in shared else (hen, cock)
        also = f", and related through {listed(others, most=4)}" if others else ""
        return f"{younger} descends from {older}{also}"
    return f"{both} are related through {listed(others, most=4)}"
