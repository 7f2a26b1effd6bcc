"""What needs attention, in plain sentences. Nobody is blamed; what a few eggs cannot tell is not said."""

from collections.abc import Iterable

from analysis.chicks.of_season import Chicks
from analysis.chicks.warnings import in_time
from analysis.day.round import Round
from analysis.eggs.findings import pressing_findings
from analysis.finding import LOOK, Finding, found
from analysis.logs import ledger as rules
from analysis.pairs.of_season import Pairs, asked_of_pairs, places_said
from analysis.season import RATES, Season, cause_said, numbers_hold
from analysis.season.losses import NOT_KNOWN
from analysis.season.spans import lost_by_age

_NAMED = 6  # losses that are named here; all of them stand in their chapter


def needs_attention(
    growth: Chicks, judged: Pairs, read: Iterable[Finding], more: Iterable[Finding] = ()
) -> list[Finding]:
    """Return all that needs attention, the most pressing first.

    `read` is what the round of the day reads first of, so that page and round name the same birds; then what the
    weights and the record of pairs and places ask for, and what else was found (`more`), such as what the eggs ask of
    an incubator's humidity. Where the logs that they rest on are damaged, nothing is said of pairs, places and losses.
    `analysis.day.attention` puts all of it together.
    """
    season = growth.season
    joined = numbers_hold(season, joined=True, logs=RATES)
    pairs = [*asked_of_pairs(judged), *places_said(judged)] if joined else []
    losses = _losses(season) if numbers_hold(season, logs=RATES) else []
    all_of_it = [*read, *in_time(growth), *_together(season), *pairs, *more, *losses, *_rows(season)]
    calm = "overview.calm" if numbers_hold(season) else "overview.calm-as-far-as-read"
    return all_of_it or [found(calm, about=found("overview.nothing"))]


def _together(season: Season) -> list[Finding]:
    events = season.losses[season.losses["event_found"] != ""]
    return [
        found(
            "overview.lost-in-event",
            about=found("overview.lost-together"),
            level=LOOK,
            event=event,
            chicks=list(losses["chick"]),
            causes=[cause for cause in losses["cause"].unique() if cause],
        )
        for event, losses in events.groupby("event_found", sort=False)
    ]


def _losses(season: Season) -> list[Finding]:
    lost = season.chicks[season.chicks["fate"] == "lost"]
    if lost.empty:
        return []
    by_age, unknown = lost_by_age(season)
    band, young = by_age["band"].iloc[0], int(by_age["lost"].iloc[0])
    causes = season.losses.loc[season.losses["chick"].isin(lost["chick"]), "cause_group"].value_counts()
    last = causes.sort_index(key=lambda cause: cause == NOT_KNOWN, kind="stable")
    told = len(causes.drop(NOT_KNOWN, errors="ignore")) > 0
    grouped = [found("overview.cause", cause=cause_said(str(cause)), n=n) for cause, n in last.items()] if told else []
    return [
        found(
            "overview.lost-before-weaning",
            about=found("overview.losses"),
            n=len(lost),
            young=found("overview.lost-young", n=young, band=band) if young else None,
            unknown=unknown,
            who=list(lost["chick"]) if len(lost) <= _NAMED else [],
            causes=grouped,
        )
    ]


def _rows(season: Season) -> list[Finding]:
    later = season.problems.index[season.problems["code"] == "later-than-asked"]
    rows = int(season.accounting["not_used"].sum()) - sum(season.to_do[at].facts["count"] for at in later)
    cells = int((season.problems["severity"] == rules.CELL_NOT_USED).sum())
    look = int(((season.problems["severity"] == rules.LOOK) & (season.problems["code"] != "no-rows")).sum())
    parts = [
        found("overview.could-not-be-read", files=list(season.unread)) if season.unread else None,
        found("overview.rows-not-used", n=rows) if rows else None,
        found("overview.cells-not-used", n=cells) if cells else None,
        found("overview.things-worth-a-look", n=look) if look else None,
    ]
    told = [part for part in parts if part]
    return [found("overview.not-used", about=found("overview.your-logs"), level=LOOK, parts=told)] if told else []


def attention(today: Round, judged: Pairs) -> list[Finding]:
    """Return all that needs attention, the most pressing first.

    Parameters
    ----------
    today : the round of the day: whoever is read of first there stands first here
    judged : the pairs of its season

    Examples
    --------
    >>> from analysis import open_season
    >>> from analysis.findings import judging
    >>> from analysis.nursery import round_of
    >>> season = open_season("data_demo/season_2026", up_to="2026-05-20")
    >>> [read.about for read in attention(round_of(season), Pairs.of(season))[:2]]
    ['K23', 'K22']
    """
    return needs_attention(today.growth, judged, today.reads, pressing_findings(today.eggs))
