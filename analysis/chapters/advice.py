"""The advice for each pair with its reasons, what the cages did, what cannot be told apart, and next season."""

from typing import Any

import pandas as pd

from analysis import charts, show
from analysis.chapters.logs import NO_HATCHING, withheld
from analysis.chapters.pairs import NONE_ENDED
from analysis.finding import Finding, found
from analysis.logs.headings import same
from analysis.names import NOT_WRITTEN, by_name, named
from analysis.pairs.dates_ahead import DATES_CAUTION
from analysis.pairs.decision import LEAST
from analysis.pairs.fitness import IN_SHORT
from analysis.pairs.next_season import CAUTION
from analysis.pairs.of_season import (
    Pairs,
    advice_with_reasons,
    outlook_findings,
    related_pairs,
    weight_of_prior,
    worse_places,
)
from analysis.pairs.predictive_checks import how_it_fits
from analysis.pairs.verdict import ADVICE
from analysis.pairs.with_others import birds_elsewhere
from analysis.rates import without_events
from analysis.say import heads, in_words, say
from analysis.season import RATES, hatching_known

_HARDLY = 0.01
_A_PICTURE = 24  # names in one picture, so that it stays legible on a page
_LIKELY = ["name", "stage", "worked", "tried", "rate", "low", "high"]


@withheld(*RATES)
def advice(judged: Pairs) -> list[Any]:
    """Show the advice for each pair in one table."""
    if judged.season.pairs.empty:
        return [show.nothing(found("chapters.no-pairs-to-advise"))]
    review, caption, note = judged.review, found("chapters.advice-caption"), found("chapters.you-decide")
    columns = {
        "pair": review["pair"],
        "fit-to-breed": [in_words(IN_SHORT[fit]) for fit in review["fit_to_breed"]],
        "advice": [in_words(ADVICE[advice]) for advice in review["advice"]],
        "weaned-a-clutch": _ranges(review, "weaned_per_clutch"),
        "hatched": _ranges(review, "hatched_per_clutch"),
    }
    return [show.table(_headed(columns), caption=caption, note=note, name="advice")]


def _headed(columns: dict[str, Any]) -> pd.DataFrame:
    """Columns under the heads that their codes have."""
    return pd.DataFrame(dict(zip(heads(*columns), columns.values(), strict=True)))


def _ranges(review: pd.DataFrame, name: str) -> list[str]:
    return [
        "" if pd.isna(mean) else say("advice.per-clutch", mean=mean, low=low, high=high)
        for mean, low, high in zip(review[name], review[f"{name}_low"], review[f"{name}_high"], strict=True)
    ]


@withheld(*RATES)
def decision(judged: Pairs) -> list[Any]:
    """Show what keeping or parting each pair is worth, in one table; nothing where no egg is logged."""
    table = judged.decision
    if table.empty:
        return []
    columns = {
        "pair": table["pair"],
        "advice": [in_words(ADVICE[advice]) for advice in table["advice"]],
        "worse-than-new": [_sure(p) for p in table["p_worse_than_new"]],
        "at-stake": [_stake(chicks) for chicks in table["at_stake"]],
        "check-worth-most": [_worth(row.check, row.gain) for row in table.itertuples()],
    }
    others = [in_words(one) if one else "" for one in table["changes"]]
    columns |= {"word-would-be": others} if any(others) else {}
    otherwise = found("chapters.word-would-be" if any(others) else "chapters.word-stays")
    caption, note = found("chapters.decision-caption"), found("chapters.decision-note", otherwise=otherwise)
    return [show.table(_headed(columns), caption=caption, note=note, name="decision")]


def _sure(p: float) -> str:
    """How likely, never as sure as 0 or 100 %."""
    near = "pairs.worse-nearly-sure" if p > 1 - _HARDLY else "pairs.worse-than-new"
    code = "pairs.worse-hardly" if p < _HARDLY else near
    return "" if pd.isna(p) else say(code, p=min(max(p, _HARDLY), 1 - _HARDLY))


def _stake(chicks: float) -> str:
    """Chicks that are more if the pair is kept, or if it is not."""
    if abs(chicks) < LEAST:
        return say("pairs.stake-even")
    code = "pairs.stake-kept" if chicks > 0 else "pairs.stake-new"
    return "" if pd.isna(chicks) else say(code, chicks=abs(chicks))


def _worth(check: Finding | None, gain: float) -> str:
    """A check with what it would gain, where that can be told."""
    if check is None:
        return ""
    return in_words(check) if pd.isna(gain) else say("pairs.worth-up-to", check=check, gain=gain)


@withheld(*RATES)
def reasons(judged: Pairs) -> list[Any]:
    """Show why, pair by pair, with the counts."""
    return show.if_any(*advice_with_reasons(judged))


@withheld(*RATES)
def stages(judged: Pairs) -> list[Any]:
    """Show what is likely of every pair at every stage, as one picture."""
    if not judged.has_ended:
        return [show.nothing(NONE_ENDED)]
    return _pictures(judged, "pair", by_name(judged.season.pairs["pair"]), found("chapters.likely-in-cage"))


@withheld(*RATES)
def places(judged: Pairs) -> list[Any]:
    """Show what is likely of every cage and incubator of all joined seasons, and what stands out."""
    said = worse_places(judged)
    if not judged.has_ended and not said:
        return [show.nothing(NONE_ENDED)]
    groups = [judged.record.rates[stage].groups for stage in judged.record.told]
    names = {name for table in groups for name in table.loc[table["group"] == "place", "name"]}
    pictures = _pictures(judged, "place", by_name(names - {NOT_WRITTEN}), found("chapters.likely-in-care"))
    return [*pictures, *show.if_any(*said)]


def _pictures(judged: Pairs, group: str, names: list[str], points: Finding) -> list[Any]:
    """What is likely at each stage, over what is typical of it."""
    rates, parts = {stage: judged.record.rates[stage] for stage in judged.record.told}, []
    for stage, fit in rates.items() if names else ():
        mine = fit.groups[fit.groups["group"] == group].set_index("name").reindex(names)
        likely = mine.rename(columns={"mean": "rate"}).assign(stage=stage).reset_index()
        parts.append(likely.fillna({"worked": 0, "tried": 0}).astype({"worked": int, "tried": int})[_LIKELY])
    if any(judged.record.rows[stage]["in_part"].any() for stage in rates):
        points = found("overview.sentences", parts=[points, found("chapters.rates-in-part")])
    typical = pd.DataFrame({"stage": list(rates), "rate": [fit.typical["mean"] for fit in rates.values()]})
    pages = [names[at : at + _A_PICTURE] for at in range(0, len(names), _A_PICTURE)]
    table = pd.concat(parts, ignore_index=True) if parts else pd.DataFrame(columns=_LIKELY)
    return [
        charts.stages_chart(table[table["name"].isin(page)], typical, points=points, label="typical", who=group)
        for page in pages
    ]


def cannot_tell(judged: Pairs) -> list[Any]:
    """Show what these clutches cannot tell apart."""
    if not judged.has_ended:
        return [show.nothing(NONE_ENDED)]
    notes = judged.record.inseparable()
    return [show.prose("\n\n".join(map(in_words, notes)) if notes else found("chapters.told-apart"))]


@withheld(*RATES)
def together(judged: Pairs) -> list[Any]:
    """Show losses that came together beside what chance would give, and weaning with and without them."""
    excluded = judged.record.excluded
    parts = [aside.events.assign(season=name) for name, aside in excluded.items() if len(aside.events)]
    if not parts:
        return [show.prose(found("chapters.none-together"))]
    table = pd.concat(parts, ignore_index=True)
    chicks = [say("overview.commas", parts=[one] if isinstance(one, str) else one) for one in table["chicks"]]
    table = table.assign(chicks=chicks, **{"set-aside": table["set_aside"].astype(bool)})
    columns = ("season", "event", "chicks", "expected", "chance", "set-aside")
    events = _headed({name: table[name] for name in columns})
    chance, expected = heads("chance", "expected")
    under = say("chapters.chance-under")
    formats: dict[str, show.Format] = {chance: lambda one: under if one < 0.001 else f"{one:.3f}", expected: "{:.1f}"}
    caption, note = found("chapters.together-caption"), found("chapters.together-note")
    shown = [show.table(events, caption=caption, note=note, formats=formats, name="events")]
    both = _both_ways(judged)
    if len(both):
        shown.append(show.table(both, caption=found("chapters.both-ways-caption"), name="both_ways"))
    return shown


def _both_ways(judged: Pairs) -> pd.DataFrame:
    """Chicks weaned by who reared them, with and without those set aside; only who lost any to an event."""
    events = judged.record.excluded[judged.record.this_season].events
    both = without_events(judged.season.chicks, events, by="reared_by")
    both = both[both["tried"] > both["tried_without"]]
    reared = judged.season.chicks.groupby(named(judged.season.chicks["reared_by"]))["come_through"]
    come, in_part = (
        [of[name] for name in both["name"]] for of in (reared.sum(), reared.agg(lambda one: (one > 0).sum()))
    )
    with_them, without = (
        [
            say("advice.count-and-rate", worked=k, tried=n, in_part=m, rate=(k + g) / (n + g))
            if n
            else say("advice.none-left")
            for k, n, g, m in zip(both[f"worked{end}"], both[f"tried{end}"], come, in_part, strict=True)
        ]
        for end in ("", "_without")
    )
    return _headed({"reared-by": list(both["name"]), "with-them": with_them, "without": without})


@withheld(*RATES)
def birds(judged: Pairs) -> list[Any]:
    """Show what birds of this season did with more than one partner, by season, and how related each pair is."""
    table = judged.record.partners
    now = {same(str(bird)) for bird in [*judged.season.pairs["cock"], *judged.season.pairs["hen"]] if bird}
    several = table.groupby(table["bird"].map(same))["partner"].nunique()
    mine = table[table["bird"].map(same).isin(now & set(several.index[several > 1]))].reset_index(drop=True)
    counts = {
        "stage-showed-fertile": ("fertile", "fertile_known"),
        "hatched-of-these": ("hatched", "fertile_ended"),
        "weaned": ("weaned", "reared"),
    }
    told = {
        head: [
            say("advice.count", worked=k, tried=n) if n else "" for k, n in zip(mine[worked], mine[tried], strict=True)
        ]
        for head, (worked, tried) in counts.items()
    }
    shown = _headed({name: mine[name] for name in ("bird", "partner", "season", "clutches")} | told)
    texts = found("chapters.partners-caption"), found("chapters.partners-note")
    partners = [show.table(shown, caption=texts[0], note=texts[1], name="partners")] if len(mine) else []
    elsewhere = [one for pair in judged.season.pairs["pair"] for one in birds_elsewhere(judged.record, str(pair))]
    return [*partners, *show.if_any(*elsewhere, *related_pairs(judged))]


@withheld(*RATES)
def hens(judged: Pairs) -> list[Any]:
    """Show how each hen's eggs hatched from season to season."""
    table = judged.hens
    if table.empty:
        return [show.nothing(found("chapters.no-hens"))]
    caption, note = found("chapters.hens-caption"), found("chapters.hens-note")
    columns = {
        "hen": table["hen"],
        "pair": table["pair"],
        "hatched": [in_words(seasons) for seasons in table["seasons"]],
        "trend": [say("advice.falling") if falling else "" for falling in table["falling"]],
    }
    return [show.table(_headed(columns), caption=caption, note=note, name="hens")]


@withheld()
def ahead(judged: Pairs) -> list[Any]:
    """Show next season with the pairs that may breed, what one pair more or less changes, and what comes when."""
    ahead = judged.outlook
    if ahead is None:
        return [show.nothing(found("chapters.nothing-laid"))]
    pairs, caption = ahead.pairs, found("chapters.one-pair-caption")
    columns = {
        "pair": pairs["pair"],
        "advice": [in_words(ADVICE[advice]) for advice in pairs["advice"]],
        "kept-here": pairs["kept"],
        "of-its-own": [
            say("advice.weaned-of-it", mean=row.weaned, low=row.low, high=row.high) for row in pairs.itertuples()
        ],
        "all-with-it": [say("advice.weaned-in-all", number=value) for value in pairs["total_with"]],
        "all-without-it": [say("advice.weaned-in-all", number=value) for value in pairs["total_without"]],
    }
    said = show.prose("\n\n".join(map(in_words, outlook_findings(ahead))))
    shown = [said, show.table(_headed(columns), caption=caption, note=CAUTION, name="outlook")]
    return [*shown, *_dates(ahead.dates)]


def _dates(dates: pd.DataFrame) -> list[Any]:
    """What comes when in the season ahead; nothing where no day of it is known."""
    if dates.empty:
        return []
    columns = {"day": [say("pairs.dates-on", on=on) for on in dates["on"]], "what": list(map(in_words, dates["found"]))}
    caption = found("chapters.dates-caption")
    return [show.table(_headed(columns), caption=caption, note=DATES_CAUTION, name="dates_ahead")]


@withheld(*RATES)
def beforehand(judged: Pairs) -> list[Any]:
    """Show how much what is thought of pairs beforehand weighs."""
    said = "\n\n".join(map(in_words, weight_of_prior(judged)))
    return [show.prose(said) if said else show.nothing(found("chapters.nothing-weighs"))]


@withheld(*RATES)
def fits(judged: Pairs) -> list[Any]:
    """Show whether the model behind the likely rates fits: a few counts beside those of made-up seasons."""
    if not hatching_known(judged.season):
        return [show.nothing(NO_HATCHING)]
    said = "\n\n".join(map(in_words, how_it_fits(judged.record)))
    return [show.prose(said) if said else show.nothing(found("chapters.nothing-to-fit"))]
