"""How inbred the young of each pair are, as far as the logs tell, and how the keeper reads it."""

from typing import Any

import numpy as np
import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.names import same
from analysis.names import by_name
from analysis.pedigree.parents import book_of, known_parents
from analysis.pedigree.related import holes, through
from analysis.pedigree.tabular import kinship
from analysis.season import GROUPS, Season
from analysis.season.frames import typed_frame

COLUMNS = {
    **dict.fromkeys(("pair", "cock", "hen"), "str"),
    "inbreeding": "float64",
    "known": "bool",
    "found": "object",
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
        found: how they are related, a Finding.

    Examples
    --------
    >>> from analysis import open_season
    >>> from analysis.say import in_words
    >>> table = young(open_season("data_demo/season_2026")).set_index("pair")
    >>> float(table.loc["P05", "inbreeding"]), in_words(table.loc["P05", "found"])
    (0.25, 'Clove and Nutmeg have the same parents (Thistle and Plantain): inbreeding 0.25.')
    """
    known = known_parents(season)
    book, table = book_of(known.to_dict("records")), kinship(known)
    family = _family(known, set(table.attrs["not_used"]))
    rows = []
    for pair in season.pairs.to_dict("records"):
        about: dict[str, Any] = {"inbreeding": np.nan, "known": False, "found": _cannot_be_told(pair)}
        if about["found"] is None:
            cock, hen = (book.find(pair[one]) or pair[one] for one in ("cock", "hen"))
            value = float(table.loc[cock, hen])
            both_known = all(all(family[bird]) for bird in (cock, hen))
            about = {"inbreeding": value, "known": both_known, "found": _kin(cock, hen, value, family)}
        rows.append({**{name: pair[name] for name in ("pair", "cock", "hen")}, **about})
    return typed_frame(rows, COLUMNS)


def _family(known: pd.DataFrame, not_used: set[tuple[str, str]]) -> Family:
    def used(bird: str, parent: str) -> str:
        return "" if (bird, parent) in not_used else parent

    return {row.bird: (used(row.bird, row.father), used(row.bird, row.mother)) for row in known.itertuples()}


def _cannot_be_told(pair: dict[str, Any]) -> Finding | None:
    if pair["kind"] != "pair":
        return found("pairs.kin-of-group", about=pair["pair"], pair=pair["pair"], group=GROUPS[pair["kind"]])
    blank = tuple(bird for bird in ("cock", "hen") if not pair[bird])
    if blank:
        return found(_BLANK[blank], about=pair["pair"], pair=pair["pair"])
    if same(pair["cock"]) == same(pair["hen"]):
        return found("pairs.kin-one-bird", about=pair["pair"], pair=pair["pair"])
    return None


_BLANK = {
    ("cock",): "pairs.kin-cock-blank",
    ("hen",): "pairs.kin-hen-blank",
    ("cock", "hen"): "pairs.kin-both-blank",
}


def _kin(cock: str, hen: str, value: float, family: Family) -> Finding:
    least = holes(family, cock, hen)
    if value > 0:
        return found("pairs.kin", related=_related(cock, hen, family), least=least, inbreeding=value)
    blank = _blank_parents(by_name((cock, hen)), family)
    if blank:
        one = len(blank) == 1 and "parents" not in blank and len(next(iter(blank.values()))) == 1
        missing = [found(_PARENTS[who], birds=birds) for who, birds in blank.items()]
        return found("pairs.kin-one-missing" if one else "pairs.kin-some-missing", missing=missing)
    return found("pairs.kin-missing-further-back" if least else "pairs.kin-none")


_PARENTS = {"father": "pairs.father-of", "mother": "pairs.mother-of", "parents": "pairs.parents-of"}


def _blank_parents(birds: list[str], family: Family) -> dict[str, list[str]]:
    """Which parents are blank ("father", "mother" or "parents"), and of whom."""
    blank: dict[str, list[str]] = {}
    for bird in birds:
        father, mother = family[bird]
        if not father or not mother:
            blank.setdefault("mother" if father else "father" if mother else "parents", []).append(bird)
    return blank


def _related(cock: str, hen: str, family: Family) -> Finding:
    """How two birds are related, before the number."""
    both = by_name((cock, hen))
    (father, mother), hers = family[cock], family[hen]
    if father and mother and {father, mother} == set(hers):
        return found("pairs.same-parents", birds=both, father=father, mother=mother)
    written = {bird: [one for one in two if one] for bird, two in family.items()}
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
