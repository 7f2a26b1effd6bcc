"""How the birds of a pair did with other partners: what tells a bad match from a bird that fails with everyone."""

import pandas as pd

from analysis.finding import Finding, found
from analysis.logs.names import same
from analysis.review.record import FERTILE, HATCH, Record
from analysis.review.verdict import Limits

_BOTH = (("cock", "hen"), ("hen", "cock"))
_COUNTS = {FERTILE: ("fertile", "fertile_known"), HATCH: ("hatched", "fertile_ended")}


def elsewhere(record: Record, pair: str, limits: Limits) -> str:
    """Tell how the birds of a pair did with others: "well", "badly" (both did) or "" (not known).

    Well: one of them did with another partner what is usual, on as many eggs as a verdict takes. Badly: both of them
    had other partners, on as many eggs, and were below that with all of them.
    """
    birds = record.season.pairs.set_index("pair").loc[pair]
    table = record.partners
    answers = [_did(table, str(birds[one]), str(birds[other]), limits) for one, other in _BOTH]
    if "well" in answers:
        return "well"
    return "badly" if answers == ["badly", "badly"] else ""


def in_question(record: Record, pair: str, limits: Limits) -> Finding | None:
    """Tell which bird is put in question by what its partner did with others; it never proves anything."""
    birds = record.season.pairs.set_index("pair").loc[pair]
    table = record.partners
    well = {one: _did(table, str(birds[one]), str(birds[other]), limits) == "well" for one, other in _BOTH}
    if well["hen"] == well["cock"]:
        return None
    if well["hen"]:
        return found("pairs.cock-in-question", about=pair, cock=str(birds["cock"]))
    return found("pairs.hen-in-question", about=pair, hen=str(birds["hen"]))


def _did(table: pd.DataFrame, bird: str, but_not: str, limits: Limits) -> str:
    mine = table[(table["bird"].map(same) == same(bird)) & (table["partner"].map(same) != same(but_not))]
    if not bird or mine.empty:
        return ""
    answers = []
    for worked, tried in _COUNTS.values():
        usual = table[worked].sum() / max(table[tried].sum(), 1)
        if mine[tried].sum() >= limits.eggs:
            answers.append(bool(mine[worked].sum() / mine[tried].sum() >= limits.share * usual))
    if not answers:
        return ""
    return "well" if all(answers) else "badly"
