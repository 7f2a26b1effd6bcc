"""Pairs, cages and incubators: each stage with its counts, credited to who did it."""

from typing import Any

import pandas as pd

from analysis import charts, show
from analysis.chapters.logs import NO_HATCHING, withheld
from analysis.chapters.tables import rates_table
from analysis.finding import Finding, Rates, found
from analysis.logs.headings import same
from analysis.names import NOT_WRITTEN, by_name
from analysis.pairs.fitness import IN_SHORT
from analysis.pairs.next_season import Outlook
from analysis.pairs.of_season import Pairs
from analysis.pairs.verdict import ADVICE
from analysis.rates import clutch_counts, daily_survival, exposure, stage_rates, survival_to, without_events
from analysis.rates.stages import WEANED
from analysis.say import heads, in_words, say
from analysis.season import RATES, Season, chick_spans, hatching_known

_RATES = ["name", "stage", "worked", "tried", "rate", "low", "high"]


def advice_table(judged: Pairs) -> pd.DataFrame:
    """One row a pair: pair, fit to breed, advice, weaned a clutch, hatched."""
    review = judged.review
    columns = (
        review["pair"],
        [in_words(IN_SHORT[fit]) for fit in review["fit_to_breed"]],
        [in_words(ADVICE[advice]) for advice in review["advice"]],
        _ranges(review, "weaned_per_clutch"),
        _ranges(review, "hatched_per_clutch"),
    )
    return _table(heads("pair", "fit-to-breed", "advice", "weaned-a-clutch", "hatched"), *columns)


def _table(names: list[str], *columns: Any) -> pd.DataFrame:
    return pd.DataFrame(dict(zip(names, columns, strict=True)))


def _ranges(review: pd.DataFrame, name: str) -> list[str]:
    return [
        "" if pd.isna(mean) else say("advice.per-clutch", mean=mean, low=low, high=high)
        for mean, low, high in zip(review[name], review[f"{name}_low"], review[f"{name}_high"], strict=True)
    ]


def likely_of_pairs(judged: Pairs) -> pd.DataFrame:
    """What is likely of every pair of this season, to draw: name, stage, worked, tried, rate, low, high."""
    return _likely(judged, "pair", by_name(judged.season.pairs["pair"]))


def likely_of_places(judged: Pairs) -> pd.DataFrame:
    """The same of every cage and incubator of all joined seasons, in which anything was tried."""
    groups = [fit.groups for fit in judged.record.rates.values()]
    names = {name for table in groups for name in table.loc[table["group"] == "place", "name"]}
    return _likely(judged, "place", by_name(names - {NOT_WRITTEN}))


def _likely(judged: Pairs, group: str, names: list[str]) -> pd.DataFrame:
    parts = []
    for stage, fit in judged.record.rates.items():
        mine = fit.groups[fit.groups["group"] == group].set_index("name").reindex(names)
        counts = mine[["worked", "tried"]].fillna(0).astype(int)
        rates = mine[["mean", "low", "high"]].set_axis(["rate", "low", "high"], axis=1)
        parts.append(counts.join(rates).reset_index().assign(stage=stage))
    return pd.concat(parts, ignore_index=True)[_RATES] if names else pd.DataFrame(columns=_RATES)


def typical_rates(judged: Pairs) -> pd.DataFrame:
    """The typical rate of each stage: stage, rate."""
    rates = judged.record.rates
    return pd.DataFrame({"stage": list(rates), "rate": [fit.typical["mean"] for fit in rates.values()]})


def events_table(judged: Pairs) -> pd.DataFrame:
    """One row a time that losses came together: season, event, chicks, expected, chance, set aside."""
    parts = [aside.events.assign(season=name) for name, aside in judged.record.excluded.items() if len(aside.events)]
    names = heads("season", "event", "chicks", "expected", "chance", "set-aside")
    if not parts:
        return pd.DataFrame(columns=names)
    table = pd.concat(parts, ignore_index=True)
    chicks = [say("overview.commas", parts=[one] if isinstance(one, str) else one) for one in table["chicks"]]
    told = table.assign(chicks=chicks, set_aside=table["set_aside"].astype(bool))
    return told[["season", "event", "chicks", "expected", "chance", "set_aside"]].set_axis(names, axis=1)


def both_ways_table(judged: Pairs) -> pd.DataFrame:
    """Chicks weaned by who reared them, with and without those set aside; only who lost any to an event."""
    events = judged.record.excluded[judged.record.this_season].events
    both = without_events(judged.season.chicks, events, by="reared_by")
    both = both[both["tried"] > both["tried_without"]]
    told = (
        [_count(k, n) for k, n in zip(both[f"worked{end}"], both[f"tried{end}"], strict=True)]
        for end in ("", "_without")
    )
    return _table(heads("reared-by", "with-them", "without"), list(both["name"]), *told)


def _count(worked: int, tried: int) -> str:
    if not tried:
        return say("advice.none-left")
    return say("advice.count-and-rate", worked=worked, tried=tried, rate=worked / tried)


def survival_table(season: Season) -> pd.DataFrame:
    """Chicks alive at weaning age, by who reared them and by room: late comers and those still being reared are heeded.

    One row a group and name: by, name, chicks, lost, alive at weaning age, a day, beside.
    """
    spans = chick_spans(season)
    spans = spans[spans["wean_d"] > 0]
    if spans.empty:
        return pd.DataFrame()
    by_both = (("reared_by", say("overview.by-rearer")), ("room", say("overview.by-room")))
    return pd.concat([_survival(spans, by, words) for by, words in by_both], ignore_index=True)


def _survival(spans: pd.DataFrame, by: str, words: str) -> pd.DataFrame:
    table = survival_to(spans, "wean_d", by=by)
    days = exposure(spans, by=by).set_index("name").loc[table["name"]]
    alive = [
        say("overview.alive", rate=row.survival, sure=Rates(row.low, row.high), in_part=not row.sound)
        for row in table.itertuples()
    ]
    daily = [
        say("overview.alive-a-day", percent=100 * rate)
        for rate in daily_survival(days["losses"], days["exposure_d"])["daily"]
    ]
    columns = ([words] * len(table), table["name"], table["chicks"], table["lost"], alive, daily, table["beside"])
    return _table(heads("by", "name", "chicks", "lost", "alive-at-weaning", "alive-a-day", "beside"), *columns)


def partners_table(judged: Pairs) -> pd.DataFrame:
    """Birds of this season that had more than one partner over the joined seasons, a row a partner and season."""
    table = judged.partners
    now = {same(str(bird)) for bird in [*judged.season.pairs["cock"], *judged.season.pairs["hen"]] if bird}
    several = table.groupby(table["bird"].map(same))["partner"].nunique()
    mine = table[table["bird"].map(same).isin(now & set(several.index[several > 1]))]
    counts = (
        _of(mine, "fertile", "fertile_known"),
        _of(mine, "hatched", "fertile_ended"),
        _of(mine, "weaned", "reared"),
    )
    names = heads("bird", "partner", "season", "clutches", "stage-showed-fertile", "hatched-of-these", "weaned")
    written = mine[["bird", "partner", "season", "clutches"]].reset_index(drop=True)
    return _table(names, *(written[name] for name in written), *counts)


def _of(table: pd.DataFrame, worked: str, tried: str) -> list[str]:
    return [
        say("advice.count", worked=k, tried=n) if n else "" for k, n in zip(table[worked], table[tried], strict=True)
    ]


def hens_table(judged: Pairs) -> pd.DataFrame:
    """One row a hen with two seasons or more: hen, pair, hatched of the eggs with a known outcome, change, falling."""
    table = judged.hens
    change = [
        say("advice.change", **{name: 100 * getattr(row, name) for name in ("change", "low", "high")}).replace("-", "−")
        for row in table.itertuples()
    ]
    falling = [say("advice.falling") if falling else "" for falling in table["falling"]]
    hatched = [in_words(seasons) for seasons in table["seasons"]]
    return _table(
        heads("hen", "pair", "hatched", "change", "trend"), table["hen"], table["pair"], hatched, change, falling
    )


def ahead_table(ahead: Outlook) -> pd.DataFrame:
    """One row a pair: pair, kept, of its own, all with it, all without it."""
    pairs = ahead.pairs
    columns = (
        pairs["pair"],
        [in_words(ADVICE[advice]) for advice in pairs["advice"]],
        pairs["kept"],
        [say("advice.weaned-of-it", mean=row.weaned, low=row.low, high=row.high) for row in pairs.itertuples()],
        [say("advice.weaned-in-all", number=value) for value in pairs["total_with"]],
        [say("advice.weaned-in-all", number=value) for value in pairs["total_without"]],
    )
    return _table(heads("pair", "advice", "kept-here", "of-its-own", "all-with-it", "all-without-it"), *columns)


NONE_ENDED = found("chapters.none-ended")
_NOTHING = {"cage": "chapters.nothing-of-cages", "incubated_by": "chapters.nothing-of-incubating"}
_NOTHING |= {"reared_by": "chapters.nothing-of-rearing"}
_A_PICTURE = 24  # pairs in one picture, so that it stays legible on a page


@withheld(*RATES)
def stages(season: Season) -> list[Any]:
    """Show every pair's stages as one picture."""
    counts = clutch_counts(season.eggs, season.clutches)
    if season.pairs.empty:
        return [show.nothing(found("chapters.no-pairs-to-compare"))]
    if not hatching_known(season):
        return [show.nothing(NO_HATCHING)]
    rates = _named(stage_rates(counts, season.reared, by="pair"))
    overall = stage_rates(counts, season.reared)
    names = list(dict.fromkeys(rates["name"]))
    pages = [names[at : at + _A_PICTURE] for at in range(0, len(names), _A_PICTURE)]
    return [charts.stages_chart(rates[rates["name"].isin(page)], overall, who="pair") for page in pages]


@withheld(*RATES)
def as_layers(season: Season) -> list[Any]:
    """Show each pair by the eggs it laid."""
    if season.pairs.empty:
        return []
    if not hatching_known(season):
        return [show.nothing(NO_HATCHING)]
    rates = _rates(season, "pair")
    if not rates["tried"].any():
        return [show.nothing(NONE_ENDED)]
    laid = _named(rates[rates["stage"] != "weaned"])
    caption = found("chapters.layers-caption")
    return [_pairs_table(laid, "pair", caption, "pairs_as_layers")]


@withheld(*RATES)
def as_parents(season: Season) -> list[Any]:
    """Show each pair, place or hand by the chicks it reared."""
    return _by(season, "reared_by", "reared-by", found("chapters.parents-caption"), "reared_by")


@withheld(*RATES)
def cages(season: Season) -> list[Any]:
    """Show the stages by cage."""
    return _by(season, "cage", "cage", found("chapters.cages-caption"), "cages")


@withheld(*RATES)
def incubated(season: Season) -> list[Any]:
    """Show hatching by who or what incubated."""
    return _by(season, "incubated_by", "incubated-by", found("chapters.incubated-caption"), "incubated_by")


def _by(season: Season, group: str, who: str, caption: Finding, name: str) -> list[Any]:
    rates = _rates(season, group)
    if not hatching_known(season) and not (rates["stage"] == WEANED).any():
        return [show.nothing(NO_HATCHING)]
    if rates.empty:
        return [show.nothing(found(_NOTHING[group]))]
    if not rates["tried"].any():
        return [show.nothing(NONE_ENDED)]
    return [_pairs_table(rates, who, caption, name)]


def _rates(season: Season, group: str) -> pd.DataFrame:
    parts = group in ("cage", "incubated_by")  # a clutch that was divided is credited in its parts
    rates = stage_rates(clutch_counts(season.eggs, season.clutches, parts=parts), season.reared, by=group)
    known = rates if hatching_known(season) else rates[rates["stage"] == WEANED]
    return _named(known)


def _named(rates: pd.DataFrame) -> pd.DataFrame:
    """Leave out what is not written where that group has nothing to show."""
    tried = rates.groupby("name")["tried"].transform("sum")
    return rates[(rates["name"] != NOT_WRITTEN) | (tried > 0)]


def _pairs_table(rates: pd.DataFrame, who: str, caption: Finding, name: str) -> Any:
    (head,) = heads(who)
    table = rates_table(rates, head)
    beside = [
        found("chapters.beside-one", name=row[head], beside=row["beside"])
        for row in table.to_dict("records")
        if row["beside"]
    ]
    note = [found("chapters.rates-note"), *([found("chapters.beside-rates", beside=beside)] if beside else [])]
    return show.table(table.drop(columns="beside"), caption=caption, note=in_words(note), name=name)
