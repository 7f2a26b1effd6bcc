"""The season in one page: the few numbers that matter, what needs attention, and what cannot be told."""

from typing import Any

import pandas as pd

import analysis
from analysis import charts, show
from analysis.chapters.logs import NO_HATCHING, in_its_place, withheld
from analysis.chapters.pairs import rates_table
from analysis.day import round as day_round
from analysis.day.round import Round
from analysis.finding import Finding, Rates, Words, found
from analysis.pairs.of_season import Pairs
from analysis.rates import clutch_counts, egg_path, stage_rates, weaned_a_clutch
from analysis.rates.stages import EGG_STAGES, WEANED
from analysis.say import heads, say
from analysis.season import RATES, Season, hatching_known, numbers_hold
from analysis.words import day_words

Number = tuple[Finding, Finding, Words]  # value, what it is of, count and interval
# Fewer weighings, eggs and ended chicks than these: a season that has only begun (ours).
_WEIGHINGS, _EGGS, _ENDED = 20, 20, 5
_MOST_HERE = 20
# What to write where something cannot be told, the most useful first.
_WRITE = {
    "overview.no-weights": ("overview.write-weights", "overview.growth"),
    "overview.no-fates": ("overview.write-fates", "overview.weaning"),
    "overview.no-species": ("overview.write-species", "overview.species"),
    "overview.no-eggs": ("overview.write-eggs", "overview.hatching"),
}


def cover(season: Season) -> list[Any]:
    """Show the head of the first page; it also dates and signs the foot of every page."""
    as_of = season.as_of
    facts = {
        "title": say("chapters.title", title=found("chapters.season-report"), season=season.name),
        "aviary": season.aviary,
        "line": say("overview.line", parts=[season_line(season), _day_line(season)]),
        "season": say("chapters.season", season=season.name),
        "as_of": day_words(as_of) if as_of is not None else None,
        "last_day": f"{as_of:%Y-%m-%d}" if as_of is not None else None,
        "fingerprint": season.fingerprint,
        "version": analysis.__version__,
        "paper": season.settings["paper"],
        "language": season.settings["language"],
    }
    return [show.cover(**facts)]


def season_line(season: Season) -> Words:
    """The season's extent in a line, such as `8 pairs · 13 clutches · 35 chicks`; blank in doubt of the logs."""
    if not numbers_hold(season):
        return ""
    counts = {
        "overview.pairs": len(season.pairs),
        "overview.clutches": len(clutch_counts(season.eggs, season.clutches)),
        "overview.chicks": len(season.chicks),
    }
    return found("overview.line", parts=[found(code, n=n) if n else "" for code, n in counts.items()])


def _day_line(season: Season) -> Words:
    """Which day it is of, and what day that is: the one asked for, or the last that anything was logged."""
    if season.as_of is None:
        return ""
    if season.last_day is None:
        return found("overview.as-of", day=season.as_of)
    code = "overview.as-of-last-day" if season.last_day == season.as_of else "overview.as-of-another-day"
    return found(code, day=season.as_of, last=season.last_day)


@in_its_place
def numbers(season: Season) -> list[Any]:
    """Show the few numbers that matter, each with its count and interval.

    None of eggs stands there where only those that hatched are written (`unreliable_logs`).
    """
    counts = clutch_counts(season.eggs, season.clutches)
    rates = stage_rates(counts, season.reared).set_index("stage")
    eggs_known = len(counts) > 0 and hatching_known(season)
    items = _of_eggs(counts, rates) if eggs_known else _without_eggs(season, counts)
    words = found("overview.weaned-so-far" if rates.loc[WEANED, "in_part"] else "overview.weaned-rate")
    items.append(_rate(rates.loc[WEANED], words, found("overview.none-ended")))
    weaned, reared = (int((season.chicks["fate"] == fate).sum()) for fate in ("weaned", "being reared"))
    each = _each_clutch(season, counts, float(rates.loc[WEANED, "rate"])) if eggs_known and len(season.chicks) else ""
    beside = found("overview.line", parts=[each, found("overview.still-reared", n=reared) if reared else ""])
    return [show.numbers(*items, (_number(weaned), found("overview.chicks-weaned"), beside))]


def _each_clutch(season: Season, counts: pd.DataFrame, rate: float) -> Words:
    """Chicks weaned for each clutch: counted where all is over, else as many as it will about be."""
    under_way = (season.chicks["fate"] == "being reared").any() or (counts["incubating"] > 0).any()
    number = weaned_a_clutch(counts, season.chicks, rate)
    code = "overview.each-clutch-so-far" if under_way else "overview.each-clutch"
    return found(code, number=number) if number == number else ""


def _of_eggs(counts: pd.DataFrame, rates: pd.DataFrame) -> list[Number]:
    laid, (_, _, hatch_of_set) = int(counts["eggs"].sum()), EGG_STAGES
    where = found("overview.clutches-of-pairs", clutches=len(counts), pairs=counts["pair"].nunique())
    return [
        (_number(laid), found("overview.eggs-laid", n=laid), where),
        _rate(rates.loc[hatch_of_set], found("overview.hatched-rate"), found("overview.no-outcome")),
    ]


def _without_eggs(season: Season, counts: pd.DataFrame) -> list[Number]:
    weighed = season.weights["chick"].nunique()
    why = found("overview.only-hatched" if len(counts) else "overview.no-eggs-logged")
    return [
        (_number(len(season.chicks)), found("overview.chicks-hatched"), why),
        (_number(len(season.weights)), found("overview.weighings"), found("overview.of-chicks", n=weighed)),
    ]


def _number(number: int) -> Finding:
    return found("overview.number", n=number)


def _rate(rate: pd.Series, words: Finding, none_yet: Finding) -> Number:
    if not rate["tried"]:
        return found("overview.none"), words, none_yet
    sure = Rates(float(rate["low"]), float(rate["high"]))
    counts: dict[str, Any] = {name: int(rate[name]) for name in ("worked", "tried", "in_part")}
    count = found("overview.count-and-interval", **counts, sure=sure)
    return found("overview.rate", rate=float(rate["rate"])), words, count


@withheld(*RATES)
def eggs_to_weaned(season: Season) -> list[Any]:
    """Show what became of all eggs laid."""
    if not hatching_known(season):
        return [show.nothing(NO_HATCHING)]
    path = egg_path(clutch_counts(season.eggs, season.clutches), season.reared)
    if not path["count"].iloc[0]:
        return [show.nothing(found("chapters.no-eggs"))]
    where = whereabouts(season)
    return [charts.egg_path_chart(path), *([show.prose(where)] if where else [])]


def whereabouts(season: Season) -> Words:
    """Which chicks are neither weaned nor lost: still being reared, or left; blank where there are none."""
    names = {str(fate): list(chicks) for fate, chicks in season.chicks.groupby("fate")["chick"]}
    parts = []
    if "being reared" in names and season.as_of is not None:
        parts.append(found("overview.reared-on", day=season.as_of, chicks=names["being reared"]))
    if "left" in names:
        parts.append(found("overview.gone-before", chicks=names["left"]))
    return found("overview.sentences", parts=parts) if parts else ""


def attention(today: Round, judged: Pairs) -> list[Any]:
    """Show what needs attention, in sentences."""
    return [show.attention(*day_round.attention(today, judged))]


def next_steps(season: Season) -> list[Any]:
    """Show, of a season that has only begun, who is here, the youngest first, and what to write next; else nothing."""
    ended = int(season.chicks["fate"].isin(["weaned", "lost"]).sum())
    begun = len(season.weights) < _WEIGHINGS and len(season.eggs) < _EGGS and ended < _ENDED
    if not begun or not numbers_hold(season):
        return []
    here = season.chicks[season.chicks["fate"] == "being reared"]
    here = here.sort_values("hatched_at", ascending=False, kind="stable").head(_MOST_HERE)
    hatched = here["hatched_at"].dt.normalize()
    told = [say("overview.hatched-on", day=day) for day in hatched]
    table = here[["chick", "pair"]].assign(hatched=told).set_axis(heads("chick", "pair", "hatched"), axis=1)
    if season.as_of is not None:
        table[say("heads.age-on", day=season.as_of)] = (season.as_of - hatched).dt.days.astype("Int64")
    shown = [show.table(table, caption=found("chapters.being-reared", day=season.as_of))] if len(table) else []
    missing = {one.code for one in open_questions(season)}
    write = [found(code, about=found(about)) for asked, (code, about) in _WRITE.items() if asked in missing]
    steps = [*write, found("overview.next", about=found("overview.about-next"), name=season.folder.name)]
    return [show.heading(found("chapters.comes-next")), *shown, show.attention(*steps)]


@withheld()
def unanswered(season: Season) -> list[Any]:
    """Show what these logs cannot tell."""
    return [*show.if_any(*open_questions(season))] or [show.prose(found("chapters.all-found"))]


def open_questions(season: Season) -> list[Finding]:
    """What these logs cannot tell, and what one more column would."""
    chicks, eggs = season.chicks, season.eggs
    no_eggs = eggs.empty and season.clutches.empty
    candled = (eggs["fertile"] != "unknown").any() or season.clutches[["clear", "died_in_egg"]].notna().any(axis=None)
    ended, aged = chicks["fate"].isin(["weaned", "lost"]), chicks["hatched_at"].notna()
    tests = (
        (no_eggs, "overview.no-eggs", "overview.hatching"),
        (not no_eggs and not candled, "overview.no-fertility", "overview.fertility"),
        (len(chicks) and not ended.any(), "overview.no-fates", "overview.weaning"),
        (season.pairs.empty, "overview.no-pairs", "overview.pairs-head"),
        (len(chicks) and not aged.any(), "overview.no-ages", "overview.ages"),
        (season.weights.empty, "overview.no-weights", "overview.growth"),
        (len(chicks) and (chicks["species"] == "").all(), "overview.no-species", "overview.species"),
    )
    cannot = [found(what, about=found(about)) for missing, what, about in tests if missing]
    if cages := [found("overview.pair-in-cage", pair=pair, cage=cage) for pair, cage in _cages_of_one_pair(season)]:
        cannot.append(found("overview.one-cage", about=found("overview.pair-or-cage"), cages=cages))
    return cannot


def _cages_of_one_pair(season: Season) -> list[tuple[str, str]]:
    """The pairs whose every clutch was in one cage that held no other pair's: pair, cage."""
    counts = clutch_counts(season.eggs, season.clutches)
    placed = counts[(counts["cage"] != "") & (counts["pair"] != "")].dropna(subset=["cage", "pair"])
    cages = placed.groupby("pair")["cage"].agg(set)
    pairs = placed.groupby("cage")["pair"].nunique()
    return [(str(pair), cage) for pair, here in cages.items() if len(here) == 1 for cage in here if pairs[cage] == 1]


def earlier(season: Season) -> list[Any]:
    """Show the joined seasons side by side."""
    if not season.earlier:
        return [show.nothing(found("chapters.none-earlier"))]
    caption = found("chapters.seasons-caption")
    return [show.table(earlier_table(season), caption=caption, name="seasons")]


def earlier_table(season: Season) -> pd.DataFrame:
    """A row a season, the joined ones first, with the aviary's rates, as far as its logs can be trusted."""
    rows = []
    for one in sorted([*season.earlier, season], key=lambda s: s.name):
        rates = stage_rates(clutch_counts(one.eggs, one.clutches), one.reared)
        table = rates_table(rates.assign(name=one.name), say("heads.season")).drop(columns="beside")
        if not numbers_hold(one, logs=RATES):
            table.iloc[:, 1:] = say("overview.not-known-see-logs")
        elif not hatching_known(one):
            table.iloc[:, 1:-1] = say("overview.not-known")  # the stages of eggs stand before the chicks'
        rows.append(table)
    return pd.concat(rows, ignore_index=True)
