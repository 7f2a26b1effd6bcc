"""One chick: how it stands now, and the paper that goes with it when it leaves."""

from dataclasses import replace
from typing import Any

import pandas as pd

from analysis import charts, show
from analysis.chapters import growth as chapters_growth
from analysis.chapters.logs import damaged
from analysis.chapters.register import remarks_table
from analysis.chicks.crop_time import CROP, crop_history
from analysis.chicks.fed import chick_named, chick_row, feeding_handover, feeding_history, hot_feeds, taken_on
from analysis.chicks.feeding import FUMES, TO_WHO_FEEDS
from analysis.chicks.of_season import Chicks
from analysis.chicks.status import all_of, flag_history, how_it_stands, signs_noted, weight_history
from analysis.day.round import Round
from analysis.finding import Finding, Words, found
from analysis.logs.headings import same
from analysis.pairs.inbreeding import young
from analysis.say import heads, in_words, say
from analysis.season import Season
from analysis.season.remarks import remarks_of
from analysis.season.vocabulary import for_paper, says_only_sex

_CAUTIONS = (
    found("overview.caution-veterinarian", about=found("overview.veterinarian")),  # practice
    found("overview.caution-apart", about=found("overview.apart")),  # practice
    found("overview.caution-food", about=found("overview.food")),  # practice
    # A drop: Duerr & Gage, Hand-Rearing Birds, 2020, p. 617; mornings, same scale: p. 450.
    found("overview.caution-weight", about=found("overview.weight")),
    found("overview.caution-at-home", about=found("overview.at-home")),  # practice
    found("overview.caution-hygiene", about=found("overview.hygiene")),  # practice; what can be caught: (memory)
    found("overview.caution-law", about=found("overview.law")),  # practice
)
NOT_TO_LEAVE = found("chapters.not-to-leave")
_REMARKS = {"notes", "remarks"}  # facts that are a keeper's own words
_CHART_PX = 96
_ROOM = "\u00a0"  # lines to write on are as wide as their heads
_OPEN = {"being reared": "chicks.open-here", "left": "chicks.open-left", "lost": "chicks.open-lost"}


def _line(season: Season, chick: str) -> Finding:
    """What a chick is and where it is from, in a line."""
    row = chick_row(season, chick)
    return found("chicks.line", species=row["species"], colour=row["colour"], ring=row["ring"], aviary=season.aviary)


def about_chick(season: Season, chick: str) -> list[Finding]:
    """Who a chick is, as written: hatch, parents, sex, rearing and weaning, leaving."""
    row = chick_row(season, chick)
    sex, day = sex_words(row["sex"], about=found("chicks.about-sex")), row["left_on"]
    gone = [found("chicks.left", about=found("chicks.about-left"), day=day)] if pd.notna(day) else []
    return [_hatched(row), _parents(season, row), sex, _reared(season, row), *gone]


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


def _parents(season: Season, row: dict[str, Any]) -> Finding:
    """Cock and hen of the pair that laid, as written, and whether they are known to be related."""
    about, name = found("chicks.about-parents"), row["pair"]
    if not _has_parents(season, row):
        return found("chicks.parents-not-written", about=about)
    pair = season.pairs[season.pairs["pair"] == name].iloc[0]
    if pair["kind"] != "pair":
        return found(f"chicks.parents-{pair['kind']}", about=about, pair=name)
    told = young(season).set_index("pair").loc[name]
    related = told["found"] if told["inbreeding"] > 0 else None
    return found("chicks.parents", about=about, cock=pair["cock"], hen=pair["hen"], pair=name, related=related)


def _has_parents(season: Season, row: dict[str, Any]) -> bool:
    """Whether the pair that laid it is written."""
    return bool(row["pair"]) and row["pair"] in set(season.pairs["pair"])


def sex_words(sex: str, *, about: Words = "") -> Finding:
    """A sex as it is known: one without how it was found is taken for not known."""
    written = " ".join(sex.split())
    if _sex_known(sex):
        return found("chicks.sex-written", about=about, sex=written)
    doubtful = says_only_sex(written)
    return found("chicks.sex-in-doubt" if doubtful else "chicks.sex-not-known", about=about, sex=written)


def _sex_known(sex: str) -> bool:
    """Whether a keeper wrote a sex and how it was found."""
    written = same(" ".join(sex.split()))
    return bool(written) and not says_only_sex(written) and not written.startswith(("unknown", "not known", "?"))


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


def not_known_of_chick(season: Season, chick: str) -> tuple[Words, str]:
    """What is not known of a chick, under its head; its health is always among it."""
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
    return found("chapters.not-known"), in_words([found(code) for holds, code in tests if holds])


def stands(today: Round, chick: str) -> list[Any]:
    """Show how a chick stands: what is read of it first, its weights, what is expected, flagged and seen."""
    name = chick_named(today.season, chick)
    weans = today.weaning[today.weaning["chick"] == name].to_dict("records")
    said = [all_of(found("chicks.about-weaning"), found("chicks.weaning-all", **one)) for one in weans]
    return [show.attention(*how_it_stands(today.growth, name, today.of(name)), *said)]


def about(season: Season, chick: str) -> list[Any]:
    """Show who it is, as written."""
    name = chick_named(season, chick)
    line = show.prose(found("chapters.named", who=name, line=_line(season, name)))
    return [*damaged(season), line, show.attention(*about_chick(season, name))]


def weights(growth: Chicks, chick: str) -> list[Any]:
    """Show its weights over what is usual for its kind, and the last ones as numbers."""
    name = chick_named(growth.season, chick)
    own = growth.with_kinds(growth.weights[growth.weights["chick"] == name])
    said, usual = show.prose(in_words(weight_history(growth.season, name))), chapters_growth.usual(growth)
    if own.empty:
        return [said]
    return [said, *charts.brood_charts(own, usual, growth.curves, columns=1, height_px=_CHART_PX)]


def fed(season: Season, chick: str) -> list[Any]:
    """Show what it was fed, how often and how, as logged, what was seen of it, and every remark."""
    return [*show.if_any(*_fed(season, chick)), *remarks_table(season, chick_named(season, chick))]


def _fed(season: Season, chick: str) -> list[tuple[Words, str]]:
    fed, seen = feeding_history(season, chick), signs_noted(season, chick)
    crop = crop_history(season, chick_named(season, chick))
    items = ((found("chapters.fed"), fed), (CROP, crop), (found("chapters.seen"), seen))
    return [(what, in_words(said)) for what, said in items if said]


def unknown(season: Season, chick: str) -> list[Any]:
    """Show what is not known of it."""
    return [show.attention(not_known_of_chick(season, chick))]


def not_to_leave(today: Round, chick: str) -> Finding | None:
    """What the round of the day reads of a chick that no other home should get before it was seen; None of others."""
    name = chick_named(today.season, chick)
    rings = today.season.chicks.loc[today.season.chicks["chick"] == name, "ring"]
    said = [_without_remarks(one) for one in today.pressing(name, *rings)]
    return found("chapters.before-a-veterinarian", about=NOT_TO_LEAVE, said=said) if said else None


def _without_remarks(one: Any) -> Any:
    """A finding without what its keeper wrote beside it, which may be private."""
    if isinstance(one, list | tuple):
        return [_without_remarks(part) for part in one]
    if not isinstance(one, Finding):
        return one
    facts = {name: "" if name in _REMARKS else _without_remarks(fact) for name, fact in one.facts.items()}
    return replace(one, facts=facts)


def paper(today: Round, chick: str) -> list[Any]:
    """Show the whole paper that goes with a chick."""
    season, growth, stays = today.season, today.growth, not_to_leave(today, chick)
    to_feed = feeding_handover(season, chick)
    items: list[Any] = [
        *about_chick(season, chick),
        *_fed(season, chick),
        *((found("chapters.flagged"), said) for said in flag_history(growth, chick)),
        (found("chapters.weights"), in_words(weight_history(season, chick))),
        *_from_its_keeper(season, chick),
        not_known_of_chick(season, chick),
    ]
    return [
        *damaged(season),
        *show.if_any(*([stays] if stays else []), *hot_feeds(season, chick)),
        *show.if_any(*to_feed, *(TO_WHO_FEEDS if to_feed else [])),
        show.prose(_line(season, chick)),
        show.attention(*items),
        *weights(growth, chick)[1:],
        show.attention((found("chapters.fumes"), FUMES), *_CAUTIONS),
        show.prose(found("overview.promise")),
        _to_sign(),
    ]


def _from_its_keeper(season: Season, chick: str) -> list[Finding]:
    """What a remark says to whoever takes the chick; all others may be private, and stay with its keeper."""
    said = [one for text in remarks_of(season, chick)["text"] if (one := for_paper(text))]
    return [found("chapters.from-its-keeper", about=found("chapters.keepers-word"), said=said)] if said else []


def _to_sign() -> Any:
    """The lines to sign on."""
    who = [say("chapters.handed-over"), say("chapters.taken-home")]
    shown = zip(heads("name", "signature", "day"), (44, 40, 18), strict=True)
    blank = pd.DataFrame({"who": who, "name": "", "signature": "", "day": ""})
    return show.table(blank, caption="", heads=["", *(head + _ROOM * room for head, room in shown)])
