"""Who rears a chick: a pair, a hand, or a word that no log knows; decided here, once, when a season is opened."""

from collections.abc import Iterable
from dataclasses import dataclass

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs import Ledger, Place
from analysis.logs.headings import NameBook, same
from analysis.season.dates import Rows
from analysis.season.pairs import Aviary
from analysis.season.unknown import near_miss
from analysis.season.vocabulary import HAND, is_brooder, is_hand, is_parents, says_only_brooder

NOT_WRITTEN = "species not written"
BY_HAND, BY_PARENTS = "by hand", "by parents"
NOT_SAID = "by whom is asked"  # of chicks whose keeper wrote a word that no log knows


@dataclass(frozen=True)
class Rearer:
    """Who rears: the name that counts, whether that is by hand, and the word that is asked about."""

    name: str
    by_hand: bool = False
    asked: str = ""


class Rearers:
    """Says who is meant by what stands in `reared_by`, or where a chick was moved to.

    A pair's name is that pair, and the cage of a pair is that cage. Any word for rearing by hand, and a place without
    a pair that cages, readings or brooder name, is by hand. Words such as parents are the pair that laid. Any other
    word is asked about, once: it is no rearer of its own and no "no" either.
    """

    def __init__(self, rows: Rows, aviary: Aviary):
        kept = (cage for own in aviary.stays.values() for _, cage in own)
        laid_in = (row["cage"] for row in rows["hatches"] if row["pair"] and row["cage"] and not is_hand(row["cage"]))
        self._aviary, self._nests = aviary, NameBook([*kept, *laid_in])
        with_birds = {same(row["room"]) for row in rows["cages"] if row["room"] and row["cage"] in self._nests}
        rooms = (room for room in _written(rows, "cages.room") if same(room) not in with_birds)
        named = _written(rows, "cages.cage", "readings.place", "hatches.brooder", "hatches.cage")
        self._places = NameBook([*(name for name in named if same(name) not in with_birds), *rooms])
        self._asked: dict[str, tuple[str, Place, str, list[str]]] = {}

    def meant(self, written: str, laid_by: str) -> Rearer:
        """Return who is meant.

        Parameters
        ----------
        written : the cell; blank where nothing stands there
        laid_by : the pair that laid; blank where it is not known

        Notes
        -----
        Where nothing is written it is the pair that laid, and by hand where that is not known either, so that the
        chick is on the day's round.
        """
        if not written:
            return Rearer(laid_by, by_hand=not laid_by)
        if written in self._aviary.book:
            return Rearer(self._aviary.pair(written))
        if written in self._nests:
            return Rearer(written)
        if is_hand(written) or written in self._places:
            return Rearer(HAND, by_hand=True)
        return Rearer(laid_by) if is_parents(written) else Rearer("", asked=written)

    def brooder(self, own: str, moved: str, written: str) -> str:
        """Return which brooder, or other place of its own, a chick is in; blank where nobody says.

        The one it was moved to last, else the one in its own column, else the place that stands in `reared_by`. A move
        to birds ends it; one to "hand" or "brooder" names none, and what was written holds.
        """
        if not moved:
            return own or (written if self._is_place(written) and not says_only_brooder(written) else "")
        if self._is_place(moved):
            return own or moved if says_only_brooder(moved) else moved
        return own if is_hand(moved) else ""

    def _is_place(self, name: str) -> bool:
        """Whether a name is that of a place for chicks without birds."""
        birds = name in self._aviary.book or name in self._nests
        return not birds and (is_brooder(name) or name in self._places)

    def note(self, rearer: Rearer, chick: str, place: Place, column: str) -> None:
        """Keep a word that is asked about, with the chicks that it stands for, until `ask`."""
        if rearer.asked:
            key = same(rearer.asked)
            self._asked.setdefault(key, (rearer.asked, place, column, []))[3].append(chick)

    def ask(self, ledger: Ledger) -> None:
        """Note each word that no log knows, once, with the chicks that wait for an answer."""
        known = [*self._aviary.book, *self._nests, *self._places, HAND]
        for word, place, column, chicks in self._asked.values():
            near = near_miss(word, known)
            ledger.say("who-rears", place, column, word, chicks=chicks, near=near)


def reared_at(chicks: pd.DataFrame) -> pd.Series:
    """Return the brooder of each chick that is reared by hand in a named one, else who rears it.

    Parameters
    ----------
    chicks : as `season.chicks`

    Examples
    --------
    >>> chicks = {"reared_by": ["hand", "hand", "P1"], "by_hand": [True, True, False], "brooder": ["B2", "", ""]}
    >>> reared_at(pd.DataFrame(chicks)).tolist()
    ['B2', 'hand', 'P1']
    """
    return chicks["brooder"].where(chicks["by_hand"] & (chicks["brooder"] != ""), chicks["reared_by"])


def kind_of(chicks: pd.DataFrame) -> pd.Series:
    """Return the kind of each chick, a species and a way of rearing: chicks are held against others of their kind.

    Parameters
    ----------
    chicks : as `season.chicks`

    Examples
    --------
    >>> chicks = {"species": ["cockatiel", "cockatiel", ""], "by_hand": [True, False, False]}
    >>> kind_of(pd.DataFrame(chicks | {"rearer_asked": ["", "", "granny"]})).tolist()
    ['cockatiel, by hand', 'cockatiel, by parents', 'species not written, by whom is asked']
    """
    rearing = chicks["by_hand"].map({True: BY_HAND, False: BY_PARENTS}).where(chicks["rearer_asked"] == "", NOT_SAID)
    return chicks["species"].replace("", NOT_WRITTEN) + ", " + rearing


def kinds_said(chicks: pd.DataFrame) -> dict[str, Finding]:
    """Return what each kind is called, by its name in `kind_of`.

    Parameters
    ----------
    chicks : as `season.chicks`

    Examples
    --------
    >>> chicks = pd.DataFrame({"species": ["cockatiel"], "by_hand": [True], "rearer_asked": [""]})
    >>> kinds_said(chicks)["cockatiel, by hand"].code
    'season.kind-by-hand'
    """
    about = zip(kind_of(chicks), chicks["species"], chicks["by_hand"], chicks["rearer_asked"], strict=True)
    return {kind: _kind_said(species, by_hand=by_hand, asked=asked) for kind, species, by_hand, asked in about}


def _kind_said(species: str, *, by_hand: bool, asked: str) -> Finding:
    named = species or found("season.species-not-written")
    if asked:
        return found("season.kind-asked", species=named)
    return found("season.kind-by-hand" if by_hand else "season.kind-by-parents", species=named)


def _written(rows: Rows, *columns: str) -> Iterable[str]:
    for log, column in (one.split(".") for one in columns):
        yield from (row[column] for row in rows[log] if row[column])
