"""Names in the order a keeper looks for them, and what stands where one is blank."""

import re
from collections.abc import Iterable, Sequence
from typing import Any

import pandas as pd

from analysis.finding import Words, found

# What an egg's outcome counts as, besides hatched, clear and still incubating: the one list of each.
DIED_IN_EGG = ("early death", "late death", "dead in shell", "pipped and died")
GONE = ("broken", "missing", "abandoned")
FATES = ("weaned", "lost", "being reared", "left")  # what became of a chick that hatched
FOLDER_VARIABLE = "SEASON_FOLDER"  # set by `season lab FOLDER`, read by the first cell of a chapter
NOT_WRITTEN = "not written"  # the group of the rows in which the keeper left the name blank


def by_name(names: Iterable[str]) -> list[str]:
    """Names in the order a keeper looks for them: P2 before P10, "not written" last.

    Examples
    --------
    >>> by_name(["P10", "p2", "not written", "Ara"])
    ['Ara', 'p2', 'P10', 'not written']
    """
    return sorted(names, key=name_key)


def name_key(name: str) -> tuple[Any, ...]:
    """Sort key behind `by_name`: words without case, whole numbers by size."""
    parts = [part for part in re.split(r"([0-9]+)", name.casefold()) if part]
    digits = [part.lstrip("0") if part[0] in "0123456789" else None for part in parts]
    words = [(1, 0, part) if d is None else (0, len(d), d) for part, d in zip(parts, digits, strict=True)]
    return name == NOT_WRITTEN, words, name


def sorted_by_name(frame: pd.DataFrame, columns: Sequence[str]) -> pd.DataFrame:
    """Sort rows by columns of names, as `by_name` has them; equals keep their order."""
    keys = list(zip(*(frame[column].map(name_key) for column in columns), strict=True))
    return frame.iloc[sorted(range(len(frame)), key=keys.__getitem__)].reset_index(drop=True)


def name_said(name: str) -> Words:
    """A name to be printed: "not written" said, any other as its keeper wrote it."""
    return found("words.not-written") if name == NOT_WRITTEN else name


def named(names: pd.Series) -> pd.Series:
    """Names with "not written" where the keeper left them blank: missing, or an empty text.

    Examples
    --------
    >>> named(pd.Series(["P01", "", None])).tolist()
    ['P01', 'not written', 'not written']
    """
    names = names.astype(object)
    return names.where(names.notna() & (names != ""), NOT_WRITTEN)
