"""What needs attention, in plain sentences. Nobody is blamed; what a few eggs cannot tell is not said."""

import pandas as pd

from analysis.findings.growing import Growth
from analysis.findings.growth_said import in_time
from analysis.findings.overview import Item
from analysis.logs.names import same
from analysis.logs.rules import LOOK
from analysis.rates import chance_of_as_few, clutch_counts, stage_rates
from analysis.season import Season
from analysis.words import count_words, day_words, interval_words, listed, percent

ENOUGH = 8  # known eggs or chicks before a pair is held against the rest (practice: about two clutches)
LEVEL = 0.025  # as often as this a pair like the others looks this low (practice)
_RECENT_D = 14
_GOOD_SIGNS = ("eating alone",)
_STAGE_WORDS = {
    "showed fertile": "eggs showed fertile",
    "hatch of fertile": "fertile eggs hatched",
    "weaned": "chicks were weaned",
}
_ALL_CLEAR = (
    "All {n} eggs whose answer is known were clear. Clear is not the same as infertile. First ask whether these "
    "are a cock and a hen, then look at the nest box, disturbance, food and age; an avian veterinarian can check both."
)


def attention(season: Season, growth: Growth | None = None) -> list[Item]:
    """Return (what, sentence) for all that needs attention, the most pressing first."""
    weights = in_time(growth) if growth is not None else []
    found = [*_signs(season), *weights, *_together(season), *_pairs(season), *_losses(season), *_rows(season)]
    return found or [("Nothing", "Nothing in these logs asks for attention today.")]


def _signs(season: Season) -> list[Item]:
    """Signs of the last fortnight, of those that are still here."""
    signs = season.logs["signs"]
    if signs.empty or season.last_day is None:
        return []
    recent = signs[signs["seen_at"] >= season.last_day - pd.Timedelta(days=_RECENT_D)]
    recent = recent[~recent["sign"].isin(_GOOD_SIGNS)]
    gone = {same(chick) for chick in season.chicks.loc[season.chicks["fate"].isin(["lost", "left"]), "chick"]}
    return [
        (
            who,
            f"{listed(seen['sign'].unique())}, seen {day_words(seen['seen_at'].max())}. A sick, cold or losing "
            "bird belongs in an avian veterinarian's hands.",
        )
        for who, seen in recent[~recent["who"].map(same).isin(gone)].groupby("who")
    ]


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


def _pairs(season: Season) -> list[Item]:
    """Pairs below the rest of the aviary at one stage, by more than such counts differ by chance."""
    counts = clutch_counts(season.eggs, season.clutches)
    rates = stage_rates(counts, season.chicks, by="pair")
    rates = rates[rates["stage"].isin(_STAGE_WORDS) & rates["name"].isin(season.pairs["pair"])]
    judged = rates[rates["tried"] >= ENOUGH]
    found, low = [], 0
    for rate in judged.itertuples():
        others = rates[(rates["stage"] == rate.stage) & (rates["name"] != rate.name)]
        worked, tried = int(others["worked"].sum()), int(others["tried"].sum())
        if rate.stage == "showed fertile" and rate.worked == 0:
            found.append((str(rate.name), _ALL_CLEAR.format(n=rate.tried)))
        elif tried >= ENOUGH and chance_of_as_few(rate.worked, rate.tried, worked, tried) < LEVEL:
            rest = percent(worked / tried)
            low += 1
            found.append(
                (
                    str(rate.name),
                    f"{rate.worked} of {rate.tried} {_STAGE_WORDS[rate.stage]} (95 %: "
                    f"{interval_words(rate.low, rate.high)} %), against {rest} of the other pairs' {tried}. These "
                    "counts cannot say why: the pair, its cage, the incubator or the food.",
                )
            )
    if low:
        chance = LEVEL * len(judged)
        said = "fewer than one" if chance < 1 else f"about {chance:.0f}"
        found.append(
            ("By chance", f"{len(judged)} such comparisons had enough eggs or chicks; {said} would look low by chance.")
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
    known = causes.drop("not known", errors="ignore")
    why = f" Causes, grouped: {listed(f'{cause} {n}' for cause, n in known.items())}." if len(known) else ""
    return [("Losses", f"{count_words(len(lost), 'chick')} lost before weaning{when}: {listed(lost['chick'])}.{why}")]


def _rows(season: Season) -> list[Item]:
    later = season.problems.loc[season.problems["code"] == "later-than-asked", "value"].astype(int).sum()
    rows = int(season.accounting["not_used"].sum() - later)
    cells = int((season.problems["severity"] == "cell not used").sum())
    look = int((season.problems["severity"] == LOOK).sum())
    parts = [
        count_words(rows, "row was not used", "rows were not used") if rows else "",
        count_words(cells, "single cell was not used", "single cells were not used") if cells else "",
        count_words(look, "thing is worth a look", "things are worth a look") if look else "",
    ]
    said = [part for part in parts if part]
    return [("Your logs", f"{listed(said)}. The last pages list them, as written.")] if said else []
