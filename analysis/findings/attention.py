"""What needs attention, in plain sentences. Nobody is blamed; what a few eggs cannot tell is not said."""

from collections.abc import Iterable

import pandas as pd

from analysis.findings.growing import Growth
from analysis.findings.growth_said import in_time
from analysis.findings.judged_said import asked_of_pairs, places_said
from analysis.findings.judging import Judging
from analysis.findings.overview import Item
from analysis.logs.names import same
from analysis.logs.rules import LOOK
from analysis.season import RATES, Season, asked_by, numbers_hold, signs_of, signs_seen
from analysis.words import begun, count_words, day_words, listed

NOT_KNOWN = "not known"
_NAMED = 6  # losses that are named here; all of them stand in their chapter
_RECENT_D = 14
_CALM = "Nothing in these logs asks for attention today."
_CALM_AS_FAR = "Nothing in what could be read asks for attention; of the rest nobody can say."


def attention(
    season: Season, growth: Growth | None = None, judged: Judging | None = None, more: Iterable[Item] = ()
) -> list[Item]:
    """Return (what, sentence) for all that needs attention, the most pressing first.

    With what the weights and the record of pairs and places ask for, where these were looked at, and what else was
    found (`more`), such as what the eggs ask of an incubator's humidity. Where the logs that they rest on are damaged,
    nothing is said of pairs, places and losses.
    """
    weights = in_time(growth) if growth is not None else []
    told = numbers_hold(season, logs=RATES)
    joined = judged is not None and numbers_hold(season, joined=True, logs=RATES)
    pairs = [*asked_of_pairs(judged), *places_said(judged)] if judged is not None and joined else []
    losses = _losses(season) if told else []
    found = [*_signs(season), *weights, *_together(season), *pairs, *more, *losses, *_rows(season)]
    return found or [("Nothing", _CALM if numbers_hold(season) else _CALM_AS_FAR)]


def _signs(season: Season) -> list[Item]:
    """Signs of the last fortnight, of those that are still here, the most pressing first."""
    seen = signs_seen(season)
    if seen.empty or season.last_day is None:
        return []
    recent = seen[(seen["seen_at"] >= season.last_day - pd.Timedelta(days=_RECENT_D)) & ~seen["good"]]
    chicks = season.chicks.assign(key=season.chicks["chick"].map(same))
    gone = set(chicks.loc[chicks["fate"].isin(["lost", "left"]), "key"])
    found = []
    for who, own in recent[~recent["who"].map(same).isin(gone)].groupby("who"):
        signs = signs_of(own["sign"], "chick" if same(who) in set(chicks["key"]) else "bird")
        told = f"{begun(listed(sign.name for sign in signs))}, seen {day_words(own['seen_at'].max())}."
        found.append((signs[0].rank, str(who), f"{told} {asked_by(signs)}"))
    return [(who, said) for _, who, said in sorted(found, key=lambda item: item[0])]


def _together(season: Season) -> list[Item]:
    events = season.losses[season.losses["event"] != ""]
    found = []
    for event, losses in events.groupby("event"):
        causes = listed(cause for cause in losses["cause"].unique() if cause)
        why = f" As written: {causes}." if causes else ""
        chicks = listed(losses["chick"])
        found.append(
            ("Lost together", f"{event} ({chicks}).{why} Losses on one day may be one event, and say little of a pair.")
        )
    return found


def _losses(season: Season) -> list[Item]:
    lost = season.chicks[season.chicks["fate"] == "lost"]
    if lost.empty:
        return []
    ages = (lost["lost_on"] - lost["hatched_at"].dt.normalize()).dt.days
    young = int((ages <= 3).sum())
    when = f", {young} of them by day 3" if young else ""
    causes = season.losses.loc[season.losses["chick"].isin(lost["chick"]), "cause_group"].value_counts()
    last = causes.sort_index(key=lambda cause: cause == NOT_KNOWN, kind="stable")
    told = len(causes.drop(NOT_KNOWN, errors="ignore")) > 0
    why = f" Causes, grouped: {listed(f'{cause} {n}' for cause, n in last.items())}." if told else ""
    who = f": {listed(lost['chick'])}" if len(lost) <= _NAMED else ""
    return [("Losses", f"{count_words(len(lost), 'chick')} lost before weaning{when}{who}.{why}")]


def _rows(season: Season) -> list[Item]:
    later = season.problems.loc[season.problems["code"] == "later-than-asked", "value"].astype(int).sum()
    rows = int(season.accounting["not_used"].sum() - later)
    cells = int((season.problems["severity"] == "cell not used").sum())
    look = int(((season.problems["severity"] == LOOK) & (season.problems["code"] != "no-rows")).sum())
    parts = [
        count_words(rows, "row was not used", "rows were not used") if rows else "",
        count_words(cells, "single cell was not used", "single cells were not used") if cells else "",
        count_words(look, "thing is worth a look", "things are worth a look") if look else "",
    ]
    said = [part for part in parts if part]
    return [("Your logs", f"{listed(said)}. The last pages list them, as written.")] if said else []
