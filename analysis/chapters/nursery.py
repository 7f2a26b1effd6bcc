"""The nursery: who is read of first, who is fed in which order, what is due, and losses looked back at."""

from typing import Any

from analysis import show
from analysis.chapters.logs import damaged
from analysis.chicks.feeding import THERMOMETER
from analysis.chicks.loss_warnings import RULES, first_warnings, losses_warned
from analysis.chicks.weaning import WEANING, WEANING_RULE
from analysis.day.evening import evening_rows
from analysis.day.preparation import before_feeding, kept_from_others, no_amounts, remarks_since, still_here
from analysis.day.round import Round
from analysis.day.round_rows import NOBODY, egg_rows, round_rows
from analysis.eggs.findings import water_findings
from analysis.finding import found
from analysis.say import heads, say
from analysis.season import days as clock


def read(today: Round) -> list[Any]:
    """Show what is read before anybody is fed, in sentences."""
    if not today.reads:
        calm = show.prose(found("chapters.calm"))
        return [calm if len(today.chicks) else show.nothing(NOBODY)]
    of_each = ((one, one.facts["of"]) for one in today.reads)
    return [show.attention(*((one.about, found("day.beside", of=of, said=one)) if of else one for one, of in of_each))]


def day(today: Round) -> list[Any]:
    """Show which morning it is of and what it was worked out from, so that a saved page is not taken for another's."""
    last, worked = today.season.last_day, {"of": today.on, "at": today.worked_at}
    stamp = found("chapters.stamp-no-logs" if last is None else "chapters.stamp", last=last, **worked)
    other = (found("chapters.not-of-today"), found("chapters.other-day", of=today.on))
    return [
        *damaged(today.season),
        *([] if today.on.date() == clock.today() else [show.attention(other)]),
        *show.if_any(*((found("chapters.later-than-today"), one) for one in today.season.ahead)),
        show.prose(stamp),
    ]


def chicks(today: Round) -> list[Any]:
    """Show the chicks fed by hand in the order of the round, and those that may not be here any more."""
    asks = show.if_any(*still_here(today))
    if today.chicks.empty:
        return asks if asks or not today.reads else [show.nothing(NOBODY)]
    caption, note = found("chapters.round-caption"), found("chapters.round-note")
    rows = round_rows(today)
    marks = [say("chapters.marks", marks=marks) for marks in rows["marks"]]
    table = rows[["chick", "about", "last", "expected", "between", "weight", "give"]].assign(mind=marks)
    table.columns = [
        *heads("chick", "age-and-kind", "last-two", "expected", "weigh-again-outside"),
        say("heads.this-morning", unit=today.season.settings["weight_unit"]),
        *heads("most-per-feed", "mind"),
    ]
    return [show.table(table, caption=caption, note=note, name="nursery"), *asks]


def before(today: Round) -> list[Any]:
    """Show what stands before the first feed, and why there is no amount for some."""
    if today.chicks.empty:
        return [show.nothing(NOBODY)]
    always = (found("chapters.thermometer"), THERMOMETER)
    return [show.attention(*before_feeding(today), always, *no_amounts(today))]


def remarks(today: Round) -> list[Any]:
    """Show what was written in the keeper's own words, yesterday and today."""
    return show.if_any(*remarks_since(today)) or [show.nothing(found("chapters.no-remarks"))]


def due(today: Round) -> list[Any]:
    """Show what else is due."""
    if today.due.empty:
        return [show.prose(found("chapters.nothing-due"))]
    table = today.due[["said", "names", "where", "reason", "source"]]
    table = table.set_axis(heads("what", "who", "where", "why", "source"), axis=1)
    return [show.table(table, caption=found("chapters.due-caption"), name="due")]


def eggs(today: Round) -> list[Any]:
    """Show the eggs still in the shell, and what they ask of the humidity."""
    rows = egg_rows(today)
    if rows.empty:
        return [show.nothing(found("chapters.none-incubating"))]
    table = rows.drop(columns="at_home").set_axis(heads("egg", "where", "day", "lost", "at-pip", "expected"), axis=1)
    return [show.table(table, caption=found("chapters.in-shell-caption")), *show.if_any(*water_findings(today.eggs))]


def weaning(today: Round) -> list[Any]:
    """Show how far who weans has come, and who came from elsewhere and is kept apart."""
    apart = show.if_any(*kept_from_others(today))
    if today.weaning.empty:
        return apart or [show.prose(found("chapters.none-wean"))]
    table = today.weaning[list(WEANING)]
    table = table.set_axis(heads("chick", "age-and-days", "feeds-a-day", "takes", "weight", "what-now"), axis=1)
    return [show.table(table, caption=found("chapters.weaning-caption"), note=WEANING_RULE, name="weaning"), *apart]


def evening(today: Round) -> list[Any]:
    """Show what is handed over for the night."""
    rows = evening_rows(today)
    if rows.empty:
        return [show.nothing(NOBODY)]
    table = rows.drop(columns="kind").set_axis(heads("what", "who-where", "today"), axis=1)
    return [show.table(table, caption=found("chapters.evening-caption"), name="evening")]


def looked_back(today: Round) -> list[Any]:
    """Show each loss with the warnings of the week before it."""
    table = first_warnings(today.growth)
    if table.empty:
        return [show.prose(found("chapters.none-lost"))]
    together = table["event"].ne("")
    chick, lost_d, weighings, came_together = heads("chick", "lost-at-d", "weighings", "together")
    rules = dict(zip(RULES, heads("by-weight", "seen", "food-left", "trades-rule"), strict=True))
    named = {"chick": chick, "lost_d": lost_d, "weighings": weighings} | rules
    shown = table[list(named)].rename(columns=named)
    if together.any():
        shown[came_together] = together.map({True: say("chapters.yes"), False: ""})
    caption, note = found("chapters.week-before-caption"), found("chapters.week-before-note")
    formats: dict[str, show.Format] = {lost_d: "{:.0f}"}
    return [
        show.attention(*losses_warned(table)),
        show.table(shown, caption=caption, note=note, formats=formats, name="looked_back"),
    ]
