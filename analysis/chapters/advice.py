"""The advice for each pair with its reasons, what the cages did, what cannot be told apart, and next season."""

from typing import Any

from analysis import charts, findings, show
from analysis.chapters.pairs import NONE_ENDED
from analysis.chapters.trust import withheld
from analysis.findings import Judging
from analysis.outlook import CAUTION, most_in_hand
from analysis.season import RATES

_NO_PAIRS = "No pair is written in these logs, so there is nothing to advise on."
_A_PICTURE = 24  # names in one picture, so that it stays legible on a page
_POINTS = (
    "Point and bar: what is likely of it (95 %), in a typical {place}, evidence of the whole aviary used; beside it "
    "the counts of all joined seasons, without what is set aside."
)
_YOU_DECIDE = (
    "Weaned a clutch: chicks weaned that one more clutch gives on average (95 % interval; a single clutch varies far "
    "more); hatched: the part of it that is the pair's own. Check first means sexes, veterinarian, nest box, "
    "disturbance, food, incubator. No number here knows your birds: you decide."
)


@withheld(*RATES)
def advice(judged: Judging) -> list[Any]:
    """Show the advice for each pair in one table."""
    if judged.season.pairs.empty:
        return [show.nothing(_NO_PAIRS)]
    table = findings.advice_table(judged)
    return [show.table(table, caption="Advice for each pair, by name.", note=_YOU_DECIDE, name="advice")]


@withheld(*RATES)
def reasons(judged: Judging) -> list[Any]:
    """Show why, pair by pair, with the counts."""
    return [show.attention(*findings.advice_said(judged))] if len(judged.season.pairs) else []


@withheld(*RATES)
def stages(judged: Judging) -> list[Any]:
    """Show what is likely of every pair at every stage, as one picture."""
    if not judged.has_ended:
        return [show.nothing(NONE_ENDED)]
    return _pictures(findings.likely_of_pairs(judged), judged, _POINTS.format(place="cage"), who="pair")


@withheld(*RATES)
def places(judged: Judging) -> list[Any]:
    """Show what is likely of every cage and incubator, and what stands out."""
    found = findings.places_said(judged)
    if not judged.has_ended and not found:
        return [show.nothing(NONE_ENDED)]
    pictures = _pictures(findings.likely_of_places(judged), judged, _POINTS.format(place="pair's care"), who="place")
    return [*pictures, *([show.attention(*found)] if found else [])]


def _pictures(likely: Any, judged: Judging, points: str, *, who: str) -> list[Any]:
    names = list(dict.fromkeys(likely["name"]))
    pages = [names[at : at + _A_PICTURE] for at in range(0, len(names), _A_PICTURE)]
    typical = findings.typical_rates(judged)
    return [
        charts.stages_chart(likely[likely["name"].isin(page)], typical, points=points, label="typical", who=who)
        for page in pages
    ]


def cannot_tell(judged: Judging) -> list[Any]:
    """Show what these clutches cannot tell apart."""
    if not judged.has_ended:
        return [show.nothing(NONE_ENDED)]
    notes = findings.cannot_tell(judged)
    return [show.prose("\n\n".join(notes) if notes else "Pairs and cages changed enough to tell them apart.")]


@withheld(*RATES)
def together(judged: Judging) -> list[Any]:
    """Show losses that came together beside what chance would give, and weaning with and without them."""
    events = findings.events_table(judged)
    if events.empty:
        return [show.prose("No three chicks of two broods were lost together.")]
    formats: dict[str, Any] = {"chance": _chance, "expected": "{:.1f}"}
    note = (
        "Chance: how often losses one by one, at each age as often as here, would come together so anywhere in the "
        "season. Under 0.01 they are one event: set aside for the pairs, and shown both ways."
    )
    shown = [show.table(events, caption="Losses that came together.", note=note, formats=formats, name="events")]
    both = findings.both_ways_table(judged)
    if len(both):
        shown.append(show.table(both, caption="Chicks weaned, with and without what is set aside.", name="both_ways"))
    return shown


def _chance(chance: float) -> str:
    return "under 0.001" if chance < 0.001 else f"{chance:.3f}"


@withheld(*RATES)
def birds(judged: Judging) -> list[Any]:
    """Show what birds did with more than one partner, and how related each pair is."""
    table = findings.partners_table(judged)
    shown: list[Any] = []
    if len(table):
        shown.append(show.table(table, caption="Birds with more than one partner.", name="partners"))
    related = findings.related_said(judged)
    return [*shown, *([show.attention(*related)] if related else [])]


@withheld(*RATES)
def hens(judged: Judging) -> list[Any]:
    """Show how each hen's eggs hatched from season to season."""
    table = findings.hens_table(judged)
    if table.empty:
        return [show.nothing("No hen laid in two of the joined seasons.")]
    note = (
        "Change: the last season less the first, in points of percent with its 95 % interval, on a line through all "
        "that is drawn towards no change where eggs are few. Eggs that are set aside for a pair count here."
    )
    return [show.table(table, caption="Hatch of set, season by season, by hen.", note=note, name="hens")]


@withheld()
def ahead(judged: Judging) -> list[Any]:
    """Show next season with the pairs that may breed, and what one pair more or less changes."""
    ahead = judged.outlook
    if ahead is None:
        return [show.nothing("Nothing was laid in these seasons, so next season cannot be told from them.")]
    shown: list[Any] = [show.prose("\n\n".join(findings.ahead_said(ahead)))]
    if most_in_hand(ahead):
        shown.append(charts.outlook_chart(ahead.weeks, judged.season.name))
    caption = "One pair more or less: chicks weaned."
    return [*shown, show.table(findings.ahead_table(ahead), caption=caption, note=CAUTION, name="outlook")]


@withheld(*RATES)
def beforehand(judged: Judging) -> list[Any]:
    """Show how much what is thought of pairs beforehand weighs."""
    said = "\n\n".join(findings.prior_said(judged))
    return [show.prose(said) if said else show.nothing("No clutch has ended, so nothing weighs yet.")]
