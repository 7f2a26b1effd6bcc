"""What words mean that no one cell decides: who sat, what was fed, what stood where, and several signs in one cell."""

from analysis.finding import found
from analysis.logs import Ledger
from analysis.logs.headings import folded
from analysis.season.days import Rows
from analysis.season.pairs import Aviary
from analysis.season.signs import is_sign, signs_named
from analysis.season.vocabulary import OWN_PARENTS, is_parents, is_solid, kind_of_place


def understand_words(rows: Rows, aviary: Aviary, ledger: Ledger) -> None:
    """Note what such words were read as, where they are not ours; who rears is noted where it is settled."""
    for log in ("hatches", "clutches"):
        for row in rows[log]:
            who = row["incubated_by"]
            if who and who not in aviary.book and is_parents(who):
                ledger.understand("incubated_by", who, OWN_PARENTS)
    for place in dict.fromkeys(row["place"] for row in rows["readings"]):
        kind = kind_of_place(place)
        if kind and kind not in folded(place):
            ledger.understand("place", place, kind)
    for food in dict.fromkeys(row["food"] for row in rows["feeds"] if row["food"]):
        if is_solid(food):
            ledger.understand("food", food, found("logs.taken-by-itself"))
        elif "formula" not in folded(food):
            ledger.understand("food", food, "formula")
    for written in dict.fromkeys(row["sign"] for row in rows["signs"]):
        _understand_sign(written, ledger)


def _understand_sign(written: str, ledger: Ledger) -> None:
    signs = signs_named(written)
    if not any(map(is_sign, signs)):
        ledger.understand("sign", written, found("logs.in-your-words"))
    elif folded(" ".join(signs)) != folded(written):
        ledger.understand("sign", written, signs[0] if len(signs) == 1 else found("logs.several-signs", signs=signs))
