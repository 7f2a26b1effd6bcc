"""The answer of a chapter in a sentence or two; its tables and charts stand below."""

from typing import Any

from analysis import findings, show
from analysis.chapters.trust import in_its_place
from analysis.finding import found
from analysis.findings import Growth, Judging
from analysis.nursery import Eggs, water_asks
from analysis.say import in_words
from analysis.season import Season


def logs(season: Season) -> list[Any]:
    """Say how many rows were used."""
    return [show.prose(findings.logs_in_short(season))]


@in_its_place
def pairs(judged: Judging) -> list[Any]:
    """Say which advice stands for which pairs."""
    return [show.prose(findings.pairs_in_short(judged))]


@in_its_place
def growth(growth: Growth) -> list[Any]:
    """Say how many chicks were weighed, and who was flagged in the last days."""
    return [show.prose(findings.growth_in_short(growth))]


@in_its_place
def eggs(eggs: Eggs) -> list[Any]:
    """Say how many eggs are in the shell, how many were weighed, and what they ask for."""
    weighed, sitting = len(eggs.loss), len(eggs.incubating)
    counts = [
        found("chapters.in-shell", n=sitting) if sitting else found("chapters.none-in-shell"),
        found("chapters.weighed-on-the-way", n=weighed) if weighed else found("chapters.none-weighed-on-the-way"),
    ]
    asks = water_asks(eggs)
    if weighed and not asks:
        counts.append(found("chapters.humidity-calm"))
    said = show.prose(in_words(counts))
    return [said, show.attention(*asks)] if asks else [said]
