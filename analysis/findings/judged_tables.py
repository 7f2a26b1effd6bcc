"""What was found of pairs and places, laid out for reading."""

import pandas as pd

from analysis.findings.judging import Judging
from analysis.logs.names import same
from analysis.names import by_name
from analysis.outlook import Outlook
from analysis.words import percent

_RATES = ["name", "stage", "worked", "tried", "rate", "low", "high"]


def advice_table(judged: Judging) -> pd.DataFrame:
    """One row a pair: pair, fit to breed, advice, weaned a clutch, hatched."""
    review = judged.review
    return pd.DataFrame(
        {
            "pair": review["pair"],
            "fit to breed": review["fit_to_breed"],
            "advice": review["advice"],
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
    rows = judged.record.of_this_season(judged.record.rows["weaned"])
    sums = rows.groupby("pair")[["worked", "tried", "aside"]].sum()
    sums = sums[sums["aside"] > 0].loc[lambda table: by_name(table.index)]
    every = sums["tried"] + sums["aside"]
    return pd.DataFrame(
        {
            "reared by": sums.index,
            "with them": [f"{k} of {n}, {percent(k / n)}" for k, n in zip(sums["worked"], every, strict=True)],
            "without": [
                f"{k} of {n}, {percent(k / n)}" if n else "none left"
                for k, n in zip(sums["worked"], sums["tried"], strict=True)
            ],
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
    columns = {"hen": table["hen"], "pair": table["pair"], "hatched": table["seasons"], "change": change}
    return pd.DataFrame(columns | {"": words})


def ahead_table(ahead: Outlook) -> pd.DataFrame:
    """One row a pair: pair, kept, of its own, all with it, all without it."""
    pairs = ahead.pairs
    return pd.DataFrame(
        {
            "pair": pairs["pair"],
            "kept here": pairs["kept"],
            "of its own": [f"{row.weaned:.1f} ({row.low:.0f}–{row.high:.0f})" for row in pairs.itertuples()],
            "all with it": [f"{value:.1f}" for value in pairs["total_with"]],
            "all without it": [f"{value:.1f}" for value in pairs["total_without"]],
        }
    )
