"""One chick: how it stands now, and the paper that goes with it when it leaves."""

from typing import Any

import pandas as pd

from analysis import charts, findings, show
from analysis.chapters.trust import damaged
from analysis.feeding import FUMES, TO_WHO_FEEDS
from analysis.finding import Finding, Words, found
from analysis.findings import Growth
from analysis.nursery import Round
from analysis.say import heads, in_words, say
from analysis.season import Season

_CHART_PX = 110
NOT_TO_LEAVE = found("chapters.not-to-leave")
_ROOM = "\u00a0"  # lines to write on are as wide as their heads


def stands(today: Round, chick: str) -> list[Any]:
    """Show how a chick stands: what is read of it first, its weights, what is expected, flagged and seen."""
    name = findings.chick_named(today.season, chick)
    return [show.attention(*findings.stands(today.growth, name, today.of(name)))]


def about(season: Season, chick: str) -> list[Any]:
    """Show who it is, as written."""
    name = findings.chick_named(season, chick)
    line = show.prose(found("chapters.named", who=name, line=findings.chick_line(season, name)))
    return [*damaged(season), line, show.attention(*findings.about_chick(season, name))]


def weights(growth: Growth, chick: str) -> list[Any]:
    """Show its weights over what is usual for its kind, and the last ones as numbers."""
    name = findings.chick_named(growth.season, chick)
    own = growth.weights[growth.weights["chick"] == name]
    said = show.prose(in_words(findings.weights_said(growth.season, name)))
    return [said, *(_chart(growth, own) if len(own) else [])]


def _chart(growth: Growth, own: pd.DataFrame) -> list[Any]:
    own, usual = growth.with_kinds(own), growth.with_kinds(findings.usual(growth.reference))
    return charts.brood_charts(own, usual, growth.curves, columns=1, height_px=_CHART_PX)


def fed(season: Season, chick: str) -> list[Any]:
    """Show what it was fed, how often and how, as logged, and what was seen of it."""
    items = _fed(season, chick)
    return [show.attention(*items)] if items else []


def _fed(season: Season, chick: str) -> list[tuple[Words, str]]:
    fed, seen = findings.fed_said(season, chick), findings.signs_said(season, chick)
    items = ((found("chapters.fed"), fed), (found("chapters.seen"), seen))
    return [(what, in_words(said)) for what, said in items if said]


def unknown(season: Season, chick: str) -> list[Any]:
    """Show what is not known of it."""
    return [show.attention(_unknown(season, chick))]


def _unknown(season: Season, chick: str) -> tuple[Words, str]:
    return found("chapters.not-known"), in_words(findings.not_known_of_chick(season, chick))


def cautions() -> list[Any]:
    """Show what its new keeper should mind."""
    return [show.attention((found("chapters.fumes"), FUMES), *findings.CAUTIONS)]


def feed_it(season: Season, chick: str) -> list[Any]:
    """Show what whoever feeds a chick next must know, where it is not weaned; nothing of one that is."""
    items = findings.not_weaned_said(season, chick)
    return [show.attention(*items, *TO_WHO_FEEDS)] if items else []


def signed() -> list[Any]:
    """Show that nothing is promised, and the lines to sign on."""
    who = [say("chapters.handed-over"), say("chapters.taken-home")]
    shown = zip(heads("name", "signature", "day"), (44, 40, 18), strict=True)
    blank = pd.DataFrame({"who": who, "name": "", "signature": "", "day": ""})
    return [
        show.prose(findings.PROMISE),
        show.table(blank, caption="", heads=["", *(head + _ROOM * room for head, room in shown)]),
    ]


def not_to_leave(today: Round, chick: str) -> Finding | None:
    """What the round of the day reads of a chick that no other home should get before it was seen; None of others."""
    name = findings.chick_named(today.season, chick)
    rings = today.season.chicks.loc[today.season.chicks["chick"] == name, "ring"]
    said = today.pressing(name, *rings)
    return found("chapters.before-a-veterinarian", about=NOT_TO_LEAVE, said=said) if said else None


def paper(today: Round, chick: str) -> list[Any]:
    """Show the whole paper that goes with a chick."""
    season, growth, stays = today.season, today.growth, not_to_leave(today, chick)
    items: list[Any] = [
        *findings.about_chick(season, chick),
        *_fed(season, chick),
        *((found("chapters.flagged"), said) for said in findings.flagged_said(growth, chick)),
        (found("chapters.weights"), in_words(findings.weights_said(season, chick))),
        _unknown(season, chick),
    ]
    top: list[Any] = [*([stays] if stays else []), *findings.burnt_said(season, chick)]
    first = [
        *damaged(season),
        *([show.attention(*top)] if top else []),
        *feed_it(season, chick),
        show.prose(findings.chick_line(season, chick)),
        show.attention(*items),
    ]
    return [*first, *weights(growth, chick)[1:], *cautions(), *signed()]
