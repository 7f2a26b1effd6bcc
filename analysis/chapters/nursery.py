"""The nursery: who is read of first, who is fed in which order, what is due, and losses looked back at."""

from typing import Any

import pandas as pd

from analysis import nursery, show
from analysis.chapters.trust import damaged
from analysis.feeding import THERMOMETER
from analysis.finding import found
from analysis.nursery import NOBODY, Round
from analysis.say import in_words
from analysis.season import clock
from analysis.words import day_in_full, day_words


def read(today: Round) -> list[Any]:
    """Show what is read before anybody is fed, in sentences."""
    if not today.reads:
        calm = show.prose("Nothing asks for a veterinarian or a second look.")
        return [calm if len(today.chicks) else show.nothing(NOBODY)]
    of_each = ((one, one.facts["of"]) for one in today.reads)
    return [show.attention(*((one.about, found("day.beside", of=of, said=one)) if of else one for one, of in of_each))]


def day(today: Round) -> list[Any]:
    """Show which morning it is of and what it was worked out from, so that a saved page is not taken for another's."""
    of, last = day_in_full(today.on), today.season.last_day
    up_to = f"logs up to {day_words(last)}" if last is not None else "logs that hold nothing of that day or before"
    worked = f"Worked out on {day_in_full(today.worked_at)} at {today.worked_at:%H:%M}, from {up_to}."
    again = "On any other day it is an old page: choose the day anew."
    other = f"This page is of {of}, not of today. What stands in it may be over, or may not have come."
    stamp = show.prose(f"Round for {of}. {worked} {again}")
    return [
        *damaged(today.season),
        *([] if today.on.date() == clock.today() else [show.attention(("Not of today", other))]),
        stamp,
    ]


def chicks(today: Round) -> list[Any]:
    """Show the chicks fed by hand in the order of the round, and those that may not be here any more."""
    asked = nursery.still_here(today)
    asks = [show.attention(*asked)] if asked else []
    if today.chicks.empty:
        return asks if asks or not today.reads else [show.nothing(NOBODY)]
    rows = nursery.round_rows(today)
    table = pd.DataFrame(
        {
            "chick": rows["chick"],
            "age and kind": rows["about"],
            "last two": rows["last"],
            "expected": rows["expected"],
            "weigh again outside": rows["between"],
            f"this morning ({today.season.settings['weight_unit']})": rows["weight"],
            "most per feed": rows["give"],
            "mind": [", ".join(map(in_words, marks)) for marks in rows["marks"]],
        }
    )
    note = (
        "Youngest healthy first, bought-in and ailing last with their own syringe and bowl: hygiene, not urgency. "
        "The most per feed goes only into an empty or nearly empty crop. "
        "Amounts end at a tenth of this morning's empty weight (Duerr & Gage, Hand-Rearing Birds, 2020, tables 27.1, "
        "27.2) and are reminders, never prescriptions; a veterinarian's word goes before them."
    )
    return [show.table(table, caption="The round, in this order.", note=note, name="nursery"), *asks]


def before(today: Round) -> list[Any]:
    """Show what stands before the first feed, and why there is no amount for some."""
    if today.chicks.empty:
        return [show.nothing(NOBODY)]
    always = (("Thermometer", THERMOMETER),)
    return [show.attention(*nursery.before_feeding(today), *always, *nursery.no_amounts(today))]


def due(today: Round) -> list[Any]:
    """Show what else is due."""
    if today.due.empty:
        return [show.prose("Nothing is due in your logs.")]
    table = today.due[["said", "names", "where", "reason", "source"]]
    table = table.rename(columns={"said": "what", "names": "who", "reason": "why"})
    return [show.table(table, caption="Due.", name="due")]


def eggs(today: Round) -> list[Any]:
    """Show the eggs still in the shell, and what they ask of the humidity."""
    rows = nursery.egg_rows(today)
    if rows.empty:
        return [show.nothing("No egg is still incubating.")]
    said = nursery.water_said(today)
    return [
        show.table(rows.drop(columns="at_home"), caption="Eggs still in the shell."),
        *([show.attention(*said)] if said else []),
    ]


def looked_back(today: Round) -> list[Any]:
    """Show each loss with the warnings of the week before it."""
    table = nursery.looked_back(today.growth)
    if table.empty:
        return [show.prose("No chick was lost.")]
    table = table.assign(together=table["event"].ne("").map({True: "yes", False: ""}))
    shown = table[["chick", "lost_d", "weighings", *nursery.RULES, "together"]]
    shown = shown.rename(columns={"lost_d": "lost at (d)"})
    if not shown["together"].any():
        shown = shown.drop(columns="together")
    note = (
        "By weight: our own flags. Seen: a sign that was written down. Food left: crop not empty in the morning. The "
        "trade's rule (any drop, or no gain two mornings running) calls healthy chicks every few weeks too."
    )
    said = nursery.looked_back_said(table)
    formats = {"lost at (d)": "{:.0f}"}
    return [
        show.attention(*said),
        show.table(
            shown,
            caption="What was there in the week before each loss.",
            note=note,
            formats=formats,
            name="looked_back",
        ),
    ]
