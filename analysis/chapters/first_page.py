"""The season in one page."""

from typing import Any

import analysis
from analysis import charts, findings, nursery, show
from analysis.chapters.trust import in_its_place, withheld
from analysis.findings import Judging
from analysis.nursery import Round
from analysis.rates import clutch_counts, egg_path
from analysis.say import say
from analysis.season import RATES, Season, hatching_known, numbers_hold
from analysis.words import day_words


def cover(season: Season, title: str = "Season report") -> list[Any]:
    """Show the head of the first page; it also dates and signs the foot of every page."""
    as_of = season.as_of
    facts = {
        "title": f"{title} {season.name}",
        "aviary": season.aviary,
        "line": say("overview.line", parts=[findings.season_line(season), findings.day_line(season)]),
        "season": f"Season {season.name}",
        "as_of": day_words(as_of) if as_of is not None else None,
        "last_day": f"{as_of:%Y-%m-%d}" if as_of is not None else None,
        "fingerprint": season.fingerprint,
        "version": analysis.__version__,
        "paper": season.settings["paper"],
        "language": season.settings["language"],
    }
    return [show.cover(**facts)]


@in_its_place
def numbers(season: Season) -> list[Any]:
    """Show the few numbers that matter, each with its count and interval."""
    return [show.numbers(*findings.headline(season))]


@withheld(*RATES)
def eggs_to_weaned(season: Season) -> list[Any]:
    """Show what became of all eggs laid."""
    if not hatching_known(season):
        return [show.nothing(findings.NO_HATCHING)]
    path = egg_path(clutch_counts(season.eggs, season.clutches), season.reared)
    if not path["count"].iloc[0]:
        return [show.nothing("No eggs are logged, so there is no way from egg to weaned chick to draw.")]
    where = findings.whereabouts(season)
    return [charts.egg_path_chart(path), *([show.prose(where)] if where else [])]


def attention(today: Round, judged: Judging) -> list[Any]:
    """Show what needs attention, in sentences."""
    return [show.attention(*nursery.attention(today, judged))]


def next_steps(season: Season) -> list[Any]:
    """Show, of a season that has only begun, who is here and what to write next; nothing of any other."""
    if not findings.has_only_begun(season) or not numbers_hold(season):
        return []
    here = findings.here_table(season)
    shown = [show.table(here, caption=f"Being reared on {day_words(season.as_of)}.")] if len(here) else []
    return [show.heading("What comes next"), *shown, show.attention(*findings.next_steps(season))]


@withheld()
def unanswered(season: Season) -> list[Any]:
    """Show what these logs cannot tell."""
    found = findings.unanswered(season)
    return [show.attention(*found) if found else show.prose("Every chapter found what it needs in these logs.")]


def earlier(season: Season) -> list[Any]:
    """Show the joined seasons side by side."""
    if not season.earlier:
        return [show.nothing("No earlier season is joined. The setting earlier, or --with, joins some.")]
    caption = "The aviary's rates, season by season: counts, rate and 95 % interval."
    return [show.table(findings.earlier_table(season), caption=caption, name="seasons")]
