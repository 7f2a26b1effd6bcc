"""One chick on a page: what was written of it, for whoever has it and for whoever takes it home.

What a buyer reads repeats what was written. Nothing in it says that a chick is well, or what sex it is.
"""

from typing import Any

import pandas as pd

from analysis.finding import Finding, Words, found
from analysis.findings.chick_fed import chick_row, taken_on
from analysis.logs.names import same
from analysis.pedigree import young
from analysis.season import Season

_SAID_ALONE = {"cock", "hen", "male", "female", "m", "f", "c", "h"}  # a sex, and not how it was found


def chick_line(season: Season, chick: str) -> Finding:
    """Return what a chick is and where it is from, in a line."""
    row = chick_row(season, chick)
    return found("chicks.line", species=row["species"], ring=row["ring"], aviary=season.aviary)


def about_chick(season: Season, chick: str) -> list[Finding]:
    """Return who a chick is, as written: hatch, parents, sex, rearing and weaning, leaving."""
    row = chick_row(season, chick)
    said = [_hatched(row), _parents(season, row), sex_words(row["sex"], about=found("chicks.about-sex"))]
    said.append(_reared(season, row))
    gone = pd.notna(row["left_on"])
    return [*said, found("chicks.left", about=found("chicks.about-left"), day=row["left_on"])] if gone else said


def _hatched(row: dict[str, Any]) -> Finding:
    about, day, days = found("chicks.about-hatched"), row["hatched_at"], row["sure_to_days"]
    if pd.isna(day):
        return found("chicks.hatched-not-written", about=about)
    if pd.isna(days):
        sure = found("chicks.sure-not-written")
    else:
        sure = found("chicks.sure-to-the-day") if days < 1 else found("chicks.sure-to-days", days=int(days))
    came = row["arrived_on"] if pd.notna(row["arrived_on"]) else None
    code = "chicks.hatched-at-hour" if row["hatched_at_timed"] else "chicks.hatched"
    return found(code, about=about, day=day, sure=sure, arrived=came)


_GROUPS = {"trio": "chicks.parents-trio", "colony": "chicks.parents-colony"}


def _parents(season: Season, row: dict[str, Any]) -> Finding:
    """Cock and hen of the pair that laid, as written, and whether they are known to be related."""
    about, name = found("chicks.about-parents"), row["pair"]
    if not _has_parents(season, row):
        return found("chicks.parents-not-written", about=about)
    pair = season.pairs[season.pairs["pair"] == name].iloc[0]
    if pair["kind"] != "pair":
        return found(_GROUPS[pair["kind"]], about=about, pair=name)
    told = young(season).set_index("pair").loc[name]
    related = told["found"] if told["inbreeding"] > 0 else None
    return found("chicks.parents", about=about, cock=pair["cock"], hen=pair["hen"], pair=name, related=related)


def _has_parents(season: Season, row: dict[str, Any]) -> bool:
    """Whether the pair that laid it is written."""
    return bool(row["pair"]) and row["pair"] in set(season.pairs["pair"])


def sex_words(sex: str, *, about: Words = "") -> Finding:
    """Say a sex as it is known: one without how it was found is taken for not known.

    Examples
    --------
    >>> [sex_words(sex).code for sex in ("hen", "hen, feather test", "")]
    ['chicks.sex-in-doubt', 'chicks.sex-written', 'chicks.sex-not-known']
    """
    written = " ".join(sex.split())
    if _sex_known(sex):
        return found("chicks.sex-written", about=about, sex=written)
    doubtful = same(written) in _SAID_ALONE
    return found("chicks.sex-in-doubt" if doubtful else "chicks.sex-not-known", about=about, sex=written)


def _sex_known(sex: str) -> bool:
    """Whether a keeper wrote a sex and how it was found."""
    written = same(" ".join(sex.split()))
    return bool(written) and written not in _SAID_ALONE and not written.startswith(("unknown", "not known", "?"))


_OPEN = {"being reared": "chicks.open-here", "left": "chicks.open-left", "lost": "chicks.open-lost"}


def _reared(season: Season, row: dict[str, Any]) -> Finding:
    about, who = found("chicks.about-reared"), row["reared_by"]
    if not who:
        by = found("chicks.by-not-written")
    elif who == row["pair"]:
        by = found("chicks.by-parents", pair=who)
    else:
        by = found("chicks.by-others", who=who, since=taken_on(season, row))
    if pd.notna(row["weaned_on"]):
        return found("chicks.reared-weaned", about=about, by=by, day=row["weaned_on"])
    return found("chicks.reared-not-weaned", about=about, by=by, open=found(_OPEN[row["fate"]]))


def not_known_of_chick(season: Season, chick: str) -> list[Finding]:
    """Return what is not known of a chick; its health is always among it."""
    row = chick_row(season, chick)
    day, sure = row["hatched_at"], row["sure_to_days"]
    tests = (
        (not _sex_known(row["sex"]), "chicks.unknown-sex"),
        (pd.isna(day), "chicks.unknown-age"),
        (pd.notna(day) and pd.notna(sure) and sure > 1, "chicks.unknown-age-to-day"),
        (row["ring"], "chicks.unknown-ringing"),
        (not row["species"] and row["ring"], "chicks.unknown-species"),
        (row["species"] and not row["ring"], "chicks.unknown-ring"),
        (not row["species"] and not row["ring"], "chicks.unknown-species-and-ring"),
        (not _has_parents(season, row), "chicks.unknown-parents"),
        (pd.isna(row["weaned_on"]) and row["fate"] != "lost", "chicks.unknown-weaned"),
        (True, "chicks.unknown-health"),
    )
    return [found(code) for holds, code in tests if holds]
