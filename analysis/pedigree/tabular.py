"""Kinship and inbreeding by the tabular method."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import pandas as pd

from analysis.logs.names import NameBook
from analysis.season.ancestry import loops

Array = npt.NDArray[np.float64]


def kinship(parents: pd.DataFrame) -> pd.DataFrame:
    """How closely all birds are related, two by two: the inbreeding that young of these two would have.

    The coefficient of kinship (coancestry) f of two birds is the probability that a gene drawn from the one and a gene
    drawn from the other at the same place are copies of one gene of a founder. Birds are taken in an order in which
    parents come before their young. Each has half of its father's kinship with all birds before it and half of its
    mother's, and with itself::

        f(i, j) = (f(father, j) + f(mother, j)) / 2        f(i, i) = (1 + f(father, mother)) / 2

    An unknown parent is a founder of its own, related to nobody. The numerator relationship is twice this.

    Parameters
    ----------
    parents : frame
        A row a bird: bird, father, mother (names; blank or missing where unknown). Names are compared without case and
        outer blanks. Of two rows of one bird the first holds. Birds named only as parents are founders.

    Returns
    -------
    frame, birds by birds in the order of their rows, then those named only as parents
        Its `attrs["not_used"]` lists the links (bird, parent) by which a bird would be its own ancestor: a slip in the
        logs. These are not used, each of them as if that parent were not known.

    Notes
    -----
    Sewall Wright (1922), Coefficients of inbreeding and relationship, Am. Nat. 56: 330–338; the tabular method as in
    Mrode, Linear Models for the Prediction of Animal Breeding Values, 3rd ed., ch. 2.

    Examples
    --------
    Full sibs, and a bird with its father:

    >>> birds = pd.DataFrame({"bird": ["Ash", "Elm"], "father": ["Oak", "Oak"], "mother": ["Fir", "Fir"]})
    >>> f = kinship(birds)
    >>> float(f.loc["Ash", "Elm"]), float(f.loc["Ash", "Oak"])
    (0.25, 0.25)
    """
    pedigree = _numbered(parents)
    half = _kinship(pedigree)
    table = pd.DataFrame(half, index=pd.Index(pedigree.birds, name="bird"), columns=pedigree.birds)
    table.attrs["not_used"] = pedigree.not_used
    return table


def inbreeding(parents: pd.DataFrame) -> pd.Series:
    """How inbred each bird is: the kinship of its father and mother, see `kinship`.

    0 where a parent is unknown, so a least value: what is not written makes it no smaller.

    Parameters
    ----------
    parents : frame
        bird, father, mother, as in `kinship`.

    Returns
    -------
    series by bird
        With the `attrs["not_used"]` of `kinship`.

    Examples
    --------
    >>> birds = pd.DataFrame({
    ...     "bird": ["Ash", "Elm", "Bay"], "father": ["Oak", "Oak", "Ash"], "mother": ["Fir", "Fir", "Elm"]
    ... })
    >>> inbreeding(birds).to_dict()
    {'Ash': 0.0, 'Elm': 0.0, 'Bay': 0.25, 'Oak': 0.0, 'Fir': 0.0}
    """
    pedigree = _numbered(parents)
    values = 2 * np.diag(_kinship(pedigree)) - 1
    series = pd.Series(values, index=pd.Index(pedigree.birds, name="bird"), name="inbreeding")
    series.attrs["not_used"] = pedigree.not_used
    return series


@dataclass(frozen=True)
class _Pedigree:
    """Birds by number; -1 is an unknown parent.

    Parameters
    ----------
    birds : names
    parents : (n, 2), father and mother
    order : numbers, parents before their young
    not_used : links (bird, parent) left out
    """

    birds: list[str]
    parents: npt.NDArray[np.intp]
    order: list[int]
    not_used: tuple[tuple[str, str], ...]


def _numbered(parents: pd.DataFrame) -> _Pedigree:
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
    return _Pedigree(birds, numbers, _parents_first(numbers.tolist()), tuple(sorted(looped)))


def _written(name: object) -> bool:
    return isinstance(name, str) and bool(name.strip())


def _parents_first(parents: Sequence[Sequence[int]]) -> list[int]:
    """An order in which every bird comes after its parents; there must be no loop."""
    order: list[int] = []
    placed = [False] * len(parents)
    for bird in range(len(parents)):
        waiting = [bird]
        while waiting:
            before = [one for one in parents[waiting[-1]] if one >= 0 and not placed[one]]
            if before:
                waiting += before
                continue
            last = waiting.pop()
            if not placed[last]:
                placed[last] = True
                order.append(last)
    return order


def _kinship(pedigree: _Pedigree) -> Array:
    """Kinship of all birds, (n, n). Row and column n are the unknown parent, related to nobody."""
    n = len(pedigree.birds)
    table = np.zeros((n + 1, n + 1))
    for bird in pedigree.order:  # birds still to come have zeros, and fill them in when it is their turn
        father, mother = pedigree.parents[bird]
        with_all = (table[father] + table[mother]) / 2
        table[bird], table[:, bird] = with_all, with_all
        table[bird, bird] = (1 + table[father, mother]) / 2
    return table[:n, :n]
