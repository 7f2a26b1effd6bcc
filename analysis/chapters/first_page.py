"""The season in one page."""

from typing import Any

import analysis
from analysis import charts, show
from analysis.chapters import overview as chapters_overview
from analysis.chapters.logs import NO_HATCHING, in_its_place, withheld
from analysis.chapters.overview import day_line, has_only_begun, headline, here_table, season_line, whereabouts
from analysis.chapters.tables import earlier_table
from analysis.day import round as day_round
from analysis.day.round import Round
from analysis.finding import Words, found
from analysis.pairs.of_season import Pairs
from analysis.rates import clutch_counts, egg_path
from analysis.say import say
from analysis.season import RATES, Season, hatching_known, numbers_hold
from analysis.words import day_words

TITLE = found("chapters.season-report")


def cover(season: Season, title: Words = TITLE) -> list[Any]:
    """Show the head of the first page; it also dates and signs the foot of every page."""
    as_of = season.as_of
    facts = {
        "title": say("chapters.title", title=title, season=season.name),
        "aviary": season.aviary,
        "line": say("overview.line", parts=[season_line(season), day_line(season)]),
        "season": say("chapters.season", season=season.name),
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
    return [show.numbers(*headline(season))]


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


def attention(today: Round, judged: Pairs) -> list[Any]:
    """Show what needs attention, in sentences."""
    return [show.attention(*day_round.attention(today, judged))]


def next_steps(season: Season) -> list[Any]:
    """Show, of a season that has only begun, who is here and what to write next; nothing of any other."""
    if not has_only_begun(season) or not numbers_hold(season):
        return []
    here = here_table(season)
    shown = [show.table(here, caption=found("chapters.being-reared", day=season.as_of))] if len(here) else []
    return [show.heading(found("chapters.comes-next")), *shown, show.attention(*chapters_overview.next_steps(season))]


@withheld()
def unanswered(season: Season) -> list[Any]:
    """Show what these logs cannot tell."""
    open_yet = chapters_overview.unanswered(season)
    return [show.attention(*open_yet) if open_yet else show.prose(found("chapters.all-found"))]


def earlier(season: Season) -> list[Any]:
    """Show the joined seasons side by side."""
    if not season.earlier:
        return [show.nothing(found("chapters.none-earlier"))]
    caption = found("chapters.seasons-caption")
    return [show.table(earlier_table(season), caption=caption, name="seasons")]
