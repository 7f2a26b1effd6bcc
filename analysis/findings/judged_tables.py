"""What was found of pairs and places, laid out for reading."""

import pandas as pd

from analysis.findings.judging import Judging
from analysis.logs.names import same
from analysis.names import by_name
from analysis.outlook import Outlook
from analysis.rates import daily_survival, exposure, survival_to, without_events
from analysis.review.fitness import IN_SHORT
from analysis.review.verdict import ADVICE
from analysis.say import in_words
from analysis.season import Season, chick_spans
from analysis.words import interval_words, percent

_RATES = ["name", "stage", "worked", "tried", "rate", "low", "high"]


def advice_table(judged: Judging) -> pd.DataFrame:
    """One row a pair: pair, fit to breed, advice, weaned a clutch, hatched."""
    review = judged.review
    return pd.DataFrame(
        {
            "pair": review["pair"],
            "fit to breed": [in_words(IN_SHORT[fit]) for fit in review["fit_to_breed"]],
            "advice": [in_words(ADVICE[advice]) for advice in review["advice"]],
            "weaned a clutch": _ranges(review, "weaned_per_clutch"),
            "hatched": _ranges(review, "hatched_per_clutch"),
        }
    )


def _ranges(review: pd.DataFrame, name: str) -> list[str]:
    return [
        "" if pd.isna(mean) else f"{mean:.1f} ({low:.1f}–{high:.1f})"
        for mean, low, high in zip(review[name], review[f"{name}_low"], review[f"{name}_high"], strict=True)
    ]


def likely_of_pairs(judged: Judging) -> pd.DataFrame:
    """What is likely of every pair of this season, to draw: name, stage, worked, tried, rate, low, high."""
    return _likely(judged, "pair", by_name(judged.season.pairs["pair"]))


def likely_of_places(judged: Judging) -> pd.DataFrame:
    """The same of every cage and incubator of all joined seasons, in which anything was tried."""
    groups = [fit.groups for fit in judged.record.rates.values()]
    names = {name for table in groups for name in table.loc[table["group"] == "place", "name"]}
    return _likely(judged, "place", by_name(names - {"not written"}))


def _likely(judged: Judging, group: str, names: list[str]) -> pd.DataFrame:
    parts = []
    for stage, fit in judged.record.rates.items():
        mine = fit.groups[fit.groups["group"] == group].set_index("name").reindex(names)
        counts = mine[["worked", "tried"]].fillna(0).astype(int)
        rates = mine[["mean", "low", "high"]].set_axis(["rate", "low", "high"], axis=1)
        parts.append(counts.join(rates).reset_index().assign(stage=stage))
    return pd.concat(parts, ignore_index=True)[_RATES] if names else pd.DataFrame(columns=_RATES)


def typical_rates(judged: Judging) -> pd.DataFrame:
    """The typical rate of each stage: stage, rate."""
    rates = judged.record.rates
    return pd.DataFrame({"stage": list(rates), "rate": [fit.typical["mean"] for fit in rates.values()]})


def events_table(judged: Judging) -> pd.DataFrame:
    """One row a time that losses came together: season, event, chicks, expected, chance, set aside."""
    parts = [aside.events.assign(season=name) for name, aside in judged.record.aside.items() if len(aside.events)]
    columns = ["season", "event", "chicks", "expected", "chance", "set aside"]
    if not parts:
        return pd.DataFrame(columns=columns)
    table = pd.concat(parts, ignore_index=True)
    chicks = [", ".join(names) if not isinstance(names, str) else names for names in table["chicks"]]
    return table.assign(chicks=chicks, **{"set aside": table["set_aside"].astype(bool)})[columns]


def both_ways_table(judged: Judging) -> pd.DataFrame:
    """Chicks weaned by who reared them, with and without those set aside; only who lost any to an event."""
    events = judged.record.aside[judged.record.this_season].events
    both = without_events(judged.season.chicks, events, by="reared_by")
    both = both[both["tried"] > both["tried_without"]]
    told = {
        head: [_count(k, n) for k, n in zip(both[f"worked{end}"], both[f"tried{end}"], strict=True)]
        for head, end in (("with them", ""), ("without", "_without"))
    }
    return pd.DataFrame({"reared by": both["name"], **told}).reset_index(drop=True)


def _count(worked: int, tried: int) -> str:
    return f"{worked} of {tried}, {percent(worked / tried)}" if tried else "none left"


def survival_table(season: Season) -> pd.DataFrame:
    """Chicks alive at weaning age, by who reared them and by room: late comers and those still being reared are heeded.

    One row a group and name: by, name, chicks, lost, alive at weaning age, a day, beside.
    """
    spans = chick_spans(season)
    spans = spans[spans["wean_d"] > 0]
    if spans.empty:
        return pd.DataFrame()
    parts = [_survival(spans, by, words) for by, words in (("reared_by", "rearer"), ("room", "room"))]
    return pd.concat(parts, ignore_index=True)


def _survival(spans: pd.DataFrame, by: str, words: str) -> pd.DataFrame:
    table = survival_to(spans, "wean_d", by=by)
    days = exposure(spans, by=by).set_index("name").loc[table["name"]]
    daily = daily_survival(days["losses"], days["exposure_d"])
    alive = [
        f"{percent(row.survival)} ({interval_words(row.low, row.high)})" + ("" if row.sound else ", in part")
        for row in table.itertuples()
    ]
    return pd.DataFrame(
        {
            "by": words,
            "name": table["name"],
            "chicks": table["chicks"],
            "lost": table["lost"],
            "alive at weaning age": alive,
            "alive from day to day": [f"{100 * rate:.1f} %" for rate in daily["daily"]],
            "beside": table["beside"],
        }
    )


def partners_table(judged: Judging) -> pd.DataFrame:
    """Birds of this season that had more than one partner over the joined seasons, a row a partner and season."""
    table = judged.partners
    now = {same(str(bird)) for bird in [*judged.season.pairs["cock"], *judged.season.pairs["hen"]] if bird}
    several = table.groupby(table["bird"].map(same))["partner"].nunique()
    mine = table[table["bird"].map(same).isin(now & set(several.index[several > 1]))]
    return pd.DataFrame(
        {
            "bird": mine["bird"],
            "partner": mine["partner"],
            "season": mine["season"],
            "clutches": mine["clutches"],
            "showed fertile": _of(mine, "fertile", "fertile_known"),
            "hatched of these": _of(mine, "hatched", "fertile_ended"),
            "weaned": _of(mine, "weaned", "reared"),
        }
    ).reset_index(drop=True)


def _of(table: pd.DataFrame, worked: str, tried: str) -> list[str]:
    return [f"{k} of {n}" if n else "" for k, n in zip(table[worked], table[tried], strict=True)]


def hens_table(judged: Judging) -> pd.DataFrame:
    """One row a hen with two seasons or more: hen, pair, hatched of the eggs with a known outcome, change, falling."""
    table = judged.hens
    change = [
        f"{100 * row.change:+.0f} ({100 * row.low:+.0f} to {100 * row.high:+.0f})".replace("-", "−")
        for row in table.itertuples()
    ]
    words = ["falling" if falling else "" for falling in table["falling"]]
    columns = {
        "hen": table["hen"],
        "pair": table["pair"],
        "hatched": [in_words(seasons) for seasons in table["seasons"]],
        "change": change,
    }
    return pd.DataFrame(columns | {"trend": words})


def ahead_table(ahead: Outlook) -> pd.DataFrame:
    """One row a pair: pair, kept, of its own, all with it, all without it."""
    pairs = ahead.pairs
    return pd.DataFrame(
        {
            "pair": pairs["pair"],
            "advice": [in_words(ADVICE[advice]) for advice in pairs["advice"]],
            "kept here": pairs["kept"],
            "of its own": [f"{row.weaned:.1f} ({row.low:.0f}–{row.high:.0f})" for row in pairs.itertuples()],
            "all with it": [f"{value:.1f}" for value in pairs["total_with"]],
            "all without it": [f"{value:.1f}" for value in pairs["total_without"]],
        }
    )
