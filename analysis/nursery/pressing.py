"""How soon what is read first asks for somebody, and whose it is."""

from dataclasses import replace

from analysis.finding import ACT, LOOK, NOTE, Finding, Level, Words, found
from analysis.season import SOON

AT_ONCE, NEXT_FEED, TODAY, LOOK_AGAIN, _ = SOON
_LEVELS: dict[str, Level] = {LOOK_AGAIN: LOOK, "note": NOTE}  # all others are to be acted upon


def read_first(soon: str, said: Finding, *, of: Words = "") -> Finding:
    """Write down how soon something asks for somebody.

    Parameters
    ----------
    soon : a word of `SOON`
    said : what was found, about whom
    of : age and kind, or where: what stands beside the name

    Returns
    -------
    Finding, with its level and the facts soon and of

    Examples
    --------
    >>> read_first("today", found("day.whoever"), of="cockatiel").facts
    {'soon': 'today', 'of': 'cockatiel'}
    """
    return replace(said, level=_LEVELS.get(soon, ACT), facts={**said.facts, "soon": soon, "of": of})


def rank(read: Finding) -> int:
    """Return how pressing what is read first is: its place in `SOON`, 0 is at once."""
    return SOON.index(read.facts["soon"])


def of_chicks(names: list[str]) -> Words:
    """Whom a finding on some chicks is about: the one, or all of them.

    Examples
    --------
    >>> of_chicks(["K1"]), of_chicks(["K1", "K2"]).code
    ('K1', 'day.chicks')
    """
    return names[0] if len(names) == 1 else found("day.chicks", names=names)
