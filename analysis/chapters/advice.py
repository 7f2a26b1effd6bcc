"""The advice for each pair with its reasons, what the cages did, what cannot be told apart, and next season."""

from typing import Any

from analysis import charts, show
from analysis.chapters.logs import withheld
from analysis.chapters.pairs import (
    NONE_ENDED,
    advice_table,
    ahead_table,
    both_ways_table,
    events_table,
    hens_table,
    likely_of_pairs,
    likely_of_places,
    partners_table,
    typical_rates,
)
from analysis.finding import Finding, found
from analysis.pairs.next_season import CAUTION, most_in_hand
from analysis.pairs.of_season import (
    Pairs,
    advice_with_reasons,
    outlook_findings,
    related_pairs,
    weight_of_prior,
    worse_places,
)
from analysis.say import heads, in_words, say
from analysis.season import RATES

_A_PICTURE = 24  # names in one picture, so that it stays legible on a page


@withheld(*RATES)
def advice(judged: Pairs) -> list[Any]:
    """Show the advice for each pair in one table."""
    if judged.season.pairs.empty:
        return [show.nothing(found("chapters.no-pairs-to-advise"))]
    table = advice_table(judged)
    caption, note = found("chapters.advice-caption"), found("chapters.you-decide")
    return [show.table(table, caption=caption, note=note, name="advice")]


@withheld(*RATES)
def reasons(judged: Pairs) -> list[Any]:
    """Show why, pair by pair, with the counts."""
    return [show.attention(*advice_with_reasons(judged))] if len(judged.season.pairs) else []


@withheld(*RATES)
def stages(judged: Pairs) -> list[Any]:
    """Show what is likely of every pair at every stage, as one picture."""
    if not judged.has_ended:
        return [show.nothing(NONE_ENDED)]
    return _pictures(likely_of_pairs(judged), judged, found("chapters.likely-in-cage"), who="pair")


@withheld(*RATES)
def places(judged: Pairs) -> list[Any]:
    """Show what is likely of every cage and incubator, and what stands out."""
    said = worse_places(judged)
    if not judged.has_ended and not said:
        return [show.nothing(NONE_ENDED)]
    pictures = _pictures(likely_of_places(judged), judged, found("chapters.likely-in-care"), who="place")
    return [*pictures, *([show.attention(*said)] if said else [])]


def _pictures(likely: Any, judged: Pairs, points: Finding, *, who: str) -> list[Any]:
    names = list(dict.fromkeys(likely["name"]))
    pages = [names[at : at + _A_PICTURE] for at in range(0, len(names), _A_PICTURE)]
    typical = typical_rates(judged)
    return [
        charts.stages_chart(likely[likely["name"].isin(page)], typical, points=points, label="typical", who=who)
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
    events = events_table(judged)
    if events.empty:
        return [show.prose(found("chapters.none-together"))]
    formats: dict[str, Any] = dict(zip(heads("chance", "expected"), (_chance, "{:.1f}"), strict=True))
    caption, note = found("chapters.together-caption"), found("chapters.together-note")
    shown = [show.table(events, caption=caption, note=note, formats=formats, name="events")]
    both = both_ways_table(judged)
    if len(both):
        shown.append(show.table(both, caption=found("chapters.both-ways-caption"), name="both_ways"))
    return shown


def _chance(chance: float) -> str:
    return say("chapters.chance-under") if chance < 0.001 else f"{chance:.3f}"


@withheld(*RATES)
def birds(judged: Pairs) -> list[Any]:
    """Show what birds did with more than one partner, and how related each pair is."""
    table = partners_table(judged)
    shown: list[Any] = []
    if len(table):
        shown.append(show.table(table, caption=found("chapters.partners-caption"), name="partners"))
    related = related_pairs(judged)
    return [*shown, *([show.attention(*related)] if related else [])]


@withheld(*RATES)
def hens(judged: Pairs) -> list[Any]:
    """Show how each hen's eggs hatched from season to season."""
    table = hens_table(judged)
    if table.empty:
        return [show.nothing(found("chapters.no-hens"))]
    caption, note = found("chapters.hens-caption"), found("chapters.hens-note")
    return [show.table(table, caption=caption, note=note, name="hens")]


@withheld()
def ahead(judged: Pairs) -> list[Any]:
    """Show next season with the pairs that may breed, and what one pair more or less changes."""
    ahead = judged.outlook
    if ahead is None:
        return [show.nothing(found("chapters.nothing-laid"))]
    shown: list[Any] = [show.prose("\n\n".join(map(in_words, outlook_findings(ahead))))]
    if most_in_hand(ahead):
        shown.append(charts.outlook_chart(ahead.weeks, judged.season.name))
    caption = found("chapters.one-pair-caption")
    return [*shown, show.table(ahead_table(ahead), caption=caption, note=CAUTION, name="outlook")]


@withheld(*RATES)
def beforehand(judged: Pairs) -> list[Any]:
    """Show how much what is thought of pairs beforehand weighs."""
    said = "\n\n".join(map(in_words, weight_of_prior(judged)))
    return [show.prose(said) if said else show.nothing(found("chapters.nothing-weighs"))]
