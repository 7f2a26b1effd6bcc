"""What needs attention, in plain sentences. Nobody is blamed; what a few eggs cannot tell is not said."""

from collections.abc import Iterable

from analysis.finding import Finding
from analysis.findings.growing import Growth
from analysis.findings.growth_said import in_time
from analysis.findings.judged_said import asked_of_pairs, places_said
from analysis.findings.judging import Judging
from analysis.findings.overview import Item
from analysis.findings.tables import losses_by_age
from analysis.logs.rules import LOOK
from analysis.say import in_words
from analysis.season import RATES, Season, numbers_hold
from analysis.words import count_words, listed

NOT_KNOWN = "not known"
_LISTED = "Listed as written: the chapter Check the logs, the report's Every row accounted for."
_NAMED = 6  # losses that are named here; all of them stand in their chapter
_CALM = "Nothing in these logs asks for attention."
_CALM_AS_FAR = "Nothing in what could be read asks for attention; of the rest nobody can say."


def attention(
    growth: Growth, judged: Judging, read: Iterable[Item | Finding], more: Iterable[Item | Finding] = ()
) -> list[Item | Finding]:
    """Return (what, sentence) for all that needs attention, the most pressing first.

    `read` is what the round of the day reads first of, so that page and round name the same birds; then what the
    weights and the record of pairs and places ask for, and what else was found (`more`), such as what the eggs ask of
    an incubator's humidity. Where the logs that they rest on are damaged, nothing is said of pairs, places and losses.
    `analysis.nursery.attention` puts all of it together.
    """
    season = growth.season
    joined = numbers_hold(season, joined=True, logs=RATES)
    pairs = [*asked_of_pairs(judged), *places_said(judged)] if joined else []
    losses = _losses(season) if numbers_hold(season, logs=RATES) else []
    found = [*read, *in_time(growth), *_together(season), *pairs, *more, *losses, *_rows(season)]
    return found or [("Nothing", _CALM if numbers_hold(season) else _CALM_AS_FAR)]


def _together(season: Season) -> list[Item]:
    events = season.losses[season.losses["event"] != ""]
    found = []
    for together, losses in events.groupby("event", sort=False):
        causes = listed(cause for cause in losses["cause"].unique() if cause)
        why = f" As written: {causes}." if causes else ""
        event, chicks = in_words(together), listed(losses["chick"])
        found.append(
            (
                "Lost together",
                f"{event} ({chicks}).{why} Losses on one day may be one event, and say little of a pair.",
            )
        )
    return found


def _losses(season: Season) -> list[Item]:
    lost = season.chicks[season.chicks["fate"] == "lost"]
    if lost.empty:
        return []
    by_age, unknown = losses_by_age(season)
    band, young = by_age["band"].iloc[0], int(by_age["lost"].iloc[0])
    when = f", {young} of them on days {band}" if young else ""
    when += f", {unknown} at an age that is not known" if unknown else ""
    causes = season.losses.loc[season.losses["chick"].isin(lost["chick"]), "cause_group"].value_counts()
    last = causes.sort_index(key=lambda cause: cause == NOT_KNOWN, kind="stable")
    told = len(causes.drop(NOT_KNOWN, errors="ignore")) > 0
    why = f" Causes, grouped: {listed(f'{cause} {n}' for cause, n in last.items())}." if told else ""
    who = f": {listed(lost['chick'])}" if len(lost) <= _NAMED else ""
    return [("Losses", f"{count_words(len(lost), 'chick')} lost before weaning{when}{who}.{why}")]


def _rows(season: Season) -> list[Item]:
    later = season.problems.index[season.problems["code"] == "later-than-asked"]
    rows = int(season.accounting["not_used"].sum()) - sum(season.to_do[at].facts["count"] for at in later)
    cells = int((season.problems["severity"] == "cell not used").sum())
    look = int(((season.problems["severity"] == LOOK) & (season.problems["code"] != "no-rows")).sum())
    parts = [
        f"{listed(season.unread)} could not be read" if season.unread else "",
        count_words(rows, "row was not used", "rows were not used") if rows else "",
        count_words(cells, "single cell was not used", "single cells were not used") if cells else "",
        count_words(look, "thing is worth a look", "things are worth a look") if look else "",
    ]
    said = [part for part in parts if part]
    return [("Your logs", f"{listed(said)}. {_LISTED}")] if said else []
