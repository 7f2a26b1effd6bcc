"""What is looked over once, before the season: heat, power, thermometers, cleaning, air."""

from typing import Any

from analysis import show
from analysis.chicks.feeding import FUMES
from analysis.eggs.incubators import thermometers_apart
from analysis.finding import found
from analysis.season import Season, numbers_hold
from analysis.season.losses import HEAT_OR_POWER

# Two days at its setting: Penn State Extension, 4-H embryology (36 to 48 hours before eggs are set). Wet salt: 75 % at
# 25 °C (Greenspan 1977, J. Res. Natl. Bur. Stand. 81A:89, from memory; keepers' pages). The rest: practice.


def before_the_season(season: Season) -> list[Any]:
    """Show the list to tick off, with what this season's logs have to say about it."""
    lost = (season.losses["cause_group"].eq(HEAT_OR_POWER) & season.losses["chick"].ne("")).sum()
    apart = thermometers_apart(season.logs["readings"])
    facts: dict[str, dict[str, Any]] = {
        "heat": {"lost": found("equipment.lost-to-heat", chicks=int(lost)) if lost and numbers_hold(season) else ""},
        "power-cut": {},
        "thermometers": {
            "apart": [found("equipment.apart", place=one.place, apart_c=one.apart_c) for one in apart.itertuples()]
        },
        "empty": {},
        "cleaning": {},
        "electricity": {},
        "air": {"fumes": FUMES},
        "numbers": {},
    }
    items = [(found(f"equipment.{what}"), found(f"equipment.{what}-do", **told)) for what, told in facts.items()]
    return [show.attention(*items, tick=True)]
