"""How related birds are, by the tabular method."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd

from analysis.logs.names import same

Parents = Mapping[str, tuple[str, str]]


@dataclass(frozen=True)
class Kinship:
    """Relationship of all birds of a pedigree.

    Parameters
    ----------
    relationship : frame, birds by birds: twice their coancestry; 1 + inbreeding on the diagonal
    inbreeding : Series by bird
    circles : birds that the rows make ancestors of themselves; their parents were not used
    """

    relationship: pd.DataFrame
    inbreeding: pd.Series
    circles: tuple[str, ...]


def kinship(parents: pd.DataFrame) -> Kinship:
    """Relationship and inbreeding of every bird, by the tabular method.

    Birds are taken parents first. With a(i, i) = 1 + F(i), and for j before i::

        a(i, j) = ½ (a(father, j) + a(mother, j)),   F(i) = ½ a(father, mother)

    An unknown parent is related to nobody, so every value is the least that the pedigree allows.

    Parameters
    ----------
    parents : frame
        A row a bird: bird, father, mother; blank or missing where not known. Parents without a row of their own are
        founders; of two rows of one bird the first counts. Names are compared as everywhere, without case.

    Returns
    -------
    Kinship
        relationship, inbreeding, circles. Names as first written. A bird that would be its own ancestor keeps its row,
        and the parents of every bird on the circle are not used.

    Source
    ------
    Wright 1922, *American Naturalist* 56:330; the table as in Mrode, *Linear Models*, 3rd ed., ch. 2.

    Examples
    --------
    Two full sibs have a chick:

    >>> rows = [("A", "", ""), ("B", "", ""), ("C", "A", "B"), ("D", "A", "B"), ("E", "C", "D")]
    >>> found = kinship(pd.DataFrame(rows, columns=["bird", "father", "mother"]))
    >>> float(found.inbreeding["E"]), float(found.relationship.loc["C", "D"])
    (0.25, 0.5)
    """
    written, known = _read(parents)
    circles = _circles(known)
    known = {bird: ("", "") if bird in circles else both for bird, both in known.items()}
    order = _parents_first(known)
    place = {bird: at for at, bird in enumerate(order)}
    table = np.zeros((len(order), len(order)))
    for at, bird in enumerate(order):
        both = [place[parent] for parent in known[bird] if parent]
        if both:
            table[at, :at] = table[:at, at] = 0.5 * table[both, :at].sum(axis=0)
        table[at, at] = 1 + (0.5 * table[both[0], both[1]] if len(both) == 2 else 0.0)
    names = [written[bird] for bird in order]
    relationship = pd.DataFrame(table, index=pd.Index(names, name="bird"), columns=names)
    inbreeding = pd.Series(np.diag(table) - 1, index=relationship.index, name="inbreeding")
    return Kinship(relationship, inbreeding, tuple(written[bird] for bird in order if bird in circles))


def _read(parents: pd.DataFrame) -> tuple[dict[str, str], dict[str, tuple[str, str]]]:
    """Names as written by their key, and the parents of every bird by key; parents come in as founders."""
    written: dict[str, str] = {}
    known: dict[str, tuple[str, str]] = {}
    rows = parents[["bird", "father", "mother"]].astype(object)
    rows = rows.where(rows.notna(), "")
    for row in rows.to_dict("records"):
        bird, father, mother = (same(str(row[name])) for name in ("bird", "father", "mother"))
        for key, name in ((bird, row["bird"]), (father, row["father"]), (mother, row["mother"])):
            if key:
                written.setdefault(key, str(name))
        if bird:
            known.setdefault(bird, (father, mother))
    return written, {bird: known.get(bird, ("", "")) for bird in written}


def _circles(known: Parents) -> set[str]:
    """Birds that are among their own ancestors."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    place = {bird: at for at, bird in enumerate(known)}
    links = [(place[bird], place[parent]) for bird, both in known.items() for parent in both if parent]
    if not links:
        return set()
    one, other = np.array(links).T
    graph = coo_array((np.ones(len(links)), (one, other)), shape=(len(place), len(place)))
    _, part = connected_components(graph, directed=True, connection="strong")
    large = np.bincount(part)[part] > 1
    own = {bird for bird, both in known.items() if bird in both}
    return {bird for bird, at in place.items() if large[at]} | own


def _parents_first(known: Parents) -> list[str]:
    """Birds in an order in which parents come before their young; there is no circle."""
    order: dict[str, None] = {}
    for bird in known:
        waiting = [bird]
        while waiting:
            missing = [parent for parent in known[waiting[-1]] if parent and parent not in order]
            if missing:
                waiting += missing
            else:
                order.setdefault(waiting.pop())
    return list(order)
