"""One chick on a page: what was written of it, in sentences, for whoever has it and for whoever takes it home.

What a buyer reads repeats what was written. Nothing in it says that a chick is well, or what sex it is.
"""

from typing import Any

import pandas as pd

from analysis.findings.chick_fed import chick_row, taken_on
from analysis.findings.overview import Item
from analysis.logs.names import same
from analysis.pedigree import young
from analysis.say import in_words
from analysis.season import Season
from analysis.words import count_words, day_words, listed

_NOT = "not written"
_SAID_ALONE = {"cock", "hen", "male", "female", "m", "f", "c", "h"}  # a sex, and not how it was found


def chick_line(season: Season, chick: str) -> str:
    """Return what a chick is and where it is from, in a line."""
    row = chick_row(season, chick)
    ring = f"ring {row['ring']}" if row["ring"] else "no ring written"
    return " · ".join([row["species"] or "species not written", ring, f"from {season.aviary}"])


def about_chick(season: Season, chick: str) -> list[Item]:
    """Return who a chick is, as written: hatch, parents, sex, rearing and weaning, leaving."""
    row = chick_row(season, chick)
    items = [
        ("Hatched", _hatched(row)),
        ("Parents", _parents(season, row)),
        ("Sex", sex_words(row["sex"])),
        ("Reared", _reared(season, row)),
        ("Left", day_words(row["left_on"])),
    ]
    return [(what, said) for what, said in items if said]


_NOT_WEANED = {
    "being reared": "No day of weaning is written: it may still have to be fed. Only somebody who can do that should "
    "take it, and local law may forbid it to leave before.",
    "left": "It left before any day of weaning was written.",
    "lost": "It was lost before it was weaned.",
}


def _hatched(row: dict[str, Any]) -> str:
    if pd.isna(row["hatched_at"]):
        return f"the day is {_NOT}"
    day = day_words(row["hatched_at"])
    at = f", {row['hatched_at']:%H:%M}" if row["hatched_at_timed"] else ""
    sure = row["sure_to_days"]
    if pd.isna(sure):
        how = "how sure that day is, is not written"
    else:
        how = "sure to the day" if sure < 1 else f"give or take {count_words(int(sure), 'day')}"
    came = f". It came from elsewhere on {day_words(row['arrived_on'])}" if pd.notna(row["arrived_on"]) else ""
    return f"{day}{at} ({how}){came}"


def _parents(season: Season, row: dict[str, Any]) -> str:
    """Cock and hen of the pair that laid, as written, and whether they are known to be related."""
    if not _has_parents(season, row):
        return _NOT
    pair = season.pairs[season.pairs["pair"] == row["pair"]].iloc[0]
    if pair["kind"] != "pair":
        return f"a {pair['kind']} ({row['pair']}); which of its birds is not known"
    cock, hen = (pair[sex] or _NOT for sex in ("cock", "hen"))
    told = young(season).set_index("pair").loc[row["pair"]]
    related = f". {in_words(told['found'])}" if told["inbreeding"] > 0 else ""
    return f"cock {cock}, hen {hen} (pair {row['pair']}){related}"


def _has_parents(season: Season, row: dict[str, Any]) -> bool:
    """Whether the pair that laid it is written."""
    return bool(row["pair"]) and row["pair"] in set(season.pairs["pair"])


def sex_words(sex: str) -> str:
    """Write a sex as it is known: one without how it was found is taken for not known.

    Examples
    --------
    >>> sex_words("hen"), sex_words("hen, feather test"), sex_words("")
    ('not known (hen is written, and not how that was found)', 'as written: hen, feather test', 'not known')
    """
    said = " ".join(sex.split())
    if _sex_known(sex):
        return f"as written: {said}"
    return f"not known ({said} is written, and not how that was found)" if same(said) in _SAID_ALONE else "not known"


def _sex_known(sex: str) -> bool:
    """Whether a keeper wrote a sex and how it was found."""
    written = same(" ".join(sex.split()))
    return bool(written) and written not in _SAID_ALONE and not written.startswith(("unknown", "not known", "?"))


def _reared(season: Season, row: dict[str, Any]) -> str:
    taken = taken_on(season, row)
    since = f", from {day_words(taken)}" if taken is not None else ""
    own = row["reared_by"] == row["pair"]
    by = f"by its parents ({row['pair']})" if own else f"by {row['reared_by']}{since}"
    by = by if row["reared_by"] else f"by whom is {_NOT}"
    if pd.notna(row["weaned_on"]):
        return f"{by}, weaned {day_words(row['weaned_on'])}."
    return f"{by}. {_NOT_WEANED[row['fate']]}"


def not_known_of_chick(season: Season, chick: str) -> list[str]:
    """Return what is not known of a chick, in sentences; its health is always among it."""
    row = chick_row(season, chick)
    said = []
    if not _sex_known(row["sex"]):
        said.append("Its sex.")
    if pd.isna(row["hatched_at"]):
        said.append("Its age.")
    elif pd.notna(row["sure_to_days"]) and row["sure_to_days"] > 1:
        said.append("Its age to the day.")
    if row["ring"]:
        said.append("The day it was ringed.")
    blank = [what for what, value in (("species", row["species"]), ("ring", row["ring"])) if not value]
    if blank:
        said.append(f"Its {listed(blank)}: not written.")
    if not _has_parents(season, row):
        said.append("Its parents: not written.")
    if pd.isna(row["weaned_on"]) and row["fate"] != "lost":
        said.append("Whether it feeds itself: no day of weaning is written.")
    said.append("Its health: no examination is in these logs.")
    return said
