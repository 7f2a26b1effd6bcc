"""Names as keepers write them: without case and outer blanks, and `01` that a spreadsheet turned into `1`."""

from collections.abc import Iterable


def same(name: str) -> str:
    """Return what two spellings of one name have in common.

    Examples
    --------
    >>> same(" k07 ") == same("K07")
    True
    """
    return " ".join(str(name).split()).casefold()


class NameBook:
    """Known names: finds the one that is meant, as it was first written.

    Parameters
    ----------
    names
        Names to start with.

    Examples
    --------
    >>> NameBook(["K07", "01"]).find("k07"), NameBook(["K07", "01"]).find("1")
    ('K07', '01')
    """

    def __init__(self, names: Iterable[str] = ()):
        self._first: dict[str, str] = {}
        self._without_zeros: dict[str, set[str]] = {}
        for name in names:
            self.add(name)

    def __contains__(self, name: str) -> bool:
        return self.find(name) is not None

    def __iter__(self):  # type: ignore[no-untyped-def]
        return iter(dict.fromkeys(self._first.values()))

    def add(self, name: str, leads_to: str | None = None) -> str:
        """Learn a name, or another name that leads to a known one; return the one that holds."""
        holds = self._first.setdefault(same(name), leads_to or name)
        self._without_zeros.setdefault(_bare(name), set()).add(holds)
        return holds

    def find(self, name: str | None) -> str | None:
        """Return the known name that is meant, or None; leading zeros count where both spellings exist."""
        if name is None:
            return None
        if same(name) in self._first:
            return self._first[same(name)]
        alike = self._without_zeros.get(_bare(name), set()) if same(name).isdecimal() else set()
        return next(iter(alike)) if len(alike) == 1 else None


def _bare(name: str) -> str:
    return same(name).lstrip("0") if same(name).isdecimal() else same(name)
