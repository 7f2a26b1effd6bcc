"""Through which ancestors two birds are related, and what of their ancestry is not written."""

from collections.abc import Mapping

from analysis.season.ancestry import Parents, ancestors


def through(cock: str, hen: str, parents: Parents) -> set[str]:
    """The ancestors through which two birds are related; one of the two, where the other descends from it.

    Those of Wright's paths: from the ancestor down to the cock and down to the hen with no bird in common. An ancestor
    of both whose every way down goes through one nearer bird adds nothing of its own to the young's inbreeding, only to
    that of the nearer one.

    Parameters
    ----------
    cock, hen : names
    parents : the parents of each bird by its name, without loops

    Examples
    --------
    Half sibs by Oak, whose own father is behind him:

    >>> sorted(through("Ash", "Elm", {"Ash": ["Oak", "Fir"], "Elm": ["Oak", "Yew"], "Oak": ["Bay"]}))
    ['Oak']
    """
    both = [cock, hen]
    common = {cock, *ancestors([cock], parents)} & {hen, *ancestors([hen], parents)}
    found = set(common)
    for nearer in common:  # with it out of the way, what can no longer be reached is related through it alone
        past = {one for one in both if one != nearer} | ancestors(both, parents, without=nearer)
        found &= past | {nearer}
    return found


def holes(birds: Mapping[str, tuple[str, str]], cock: str, hen: str) -> bool:
    """Whether a parent is missing where more of the ancestry could be written than is.

    That of the cock or hen, or of an ancestor that has the other parent written. An ancestor with neither is where the
    logs begin, and is taken as unrelated to the others.

    Parameters
    ----------
    birds : father and mother of each bird by its name, blank where not known
    cock, hen : names
    """
    written = {bird: [one for one in both if one] for bird, both in birds.items()}
    older = ancestors([cock, hen], written)
    return any(len(written.get(bird, ())) < 2 for bird in (cock, hen)) or any(
        len(written.get(bird, ())) == 1 for bird in older
    )
