"""The logs as data: every log, its columns, what they mean and what is needed.

Blank logs, the checks and the documentation are all made from `LOGS`; nothing else lists columns.
"""

from analysis.logs.columns import Column, Log
from analysis.names import DIED_IN_EGG, GONE

OUTCOMES = ("hatched", "clear", *DIED_IN_EGG, *GONE, "still incubating")
STAGES = ("down", "pins", "feathered")  # how far a chick's feathers are, from the day it was seen; the latest counts
NOT_EMPTYING = "crop not emptying"
SIGNS = (
    NOT_EMPTYING,
    "air in the crop",
    "not begging",
    "cold",
    "droppings",
    "limp",
    "breathing hard",
    "swelling",
    "splayed leg",
    "bleeding",
    "vomiting",
    "burn",
    "red skin",
    "tight ring",
    "crooked beak",
    "panting",
    "eating alone",
    "well again",
    *STAGES,
    "egg binding",
    "prolapse",
    "aggression",
    "chick killing",
    "plucking",
    "not eating",
    "begging again",
)
GOOD_SIGNS = ("eating alone", "begging again", "well again", *STAGES)  # what is no alarm


def _small(name: str, kind: str, meaning: str, choices: tuple[str, ...] = ()) -> Column:
    return Column(name, kind, meaning, choices, small=True)


def _free(name: str, meaning: str, choices: tuple[str, ...]) -> Column:
    return Column(name, "choice", meaning, choices, free=True)


_NOTES = Column("notes", "text", "anything else, in your own words", small=True)

_LOGS = (
    Log(
        "hatches",
        "an egg, or a chick where eggs carry no number",
        (
            _small("pair", "name", "the pair that laid the egg"),
            _small("clutch", "name", "which clutch of that pair; blank: told from the dates"),
            _small("egg", "name", "the egg's number or name within its clutch"),
            _small("laid_on", "date", "the day it was laid"),
            Column("set_on", "date", "the day steady incubation began"),
            Column("candled", "choice", "what candling showed", ("fertile", "clear", "not sure")),
            Column("candled_on", "date", "the day of candling"),
            _small("outcome", "choice", "what became of the egg", OUTCOMES),
            _small("hatched_at", "moment", "the day of hatch, with the time where you know it"),
            Column("sure_to_days", "days", "how sure that day is, in days; found in the morning: 1"),
            _small("chick", "name", "the chick's name in the nest"),
            Column("ring", "name", "its ring; either name may be used in weights"),
            Column("sex", "text", "cock, hen or unknown, and how you know"),
            Column("species", "name", "what it is, where no pair says"),
            Column("cage", "name", "where the egg or chick was, when the pair's own cage does not say"),
            Column("incubated_by", "name", "a pair, an incubator or another place; blank: who laid it"),
            _small("reared_by", "name", "a pair, a place, or hand; blank: the pair that laid"),
            Column("brooder", "name", "which brooder the chick is in, where you have several"),
            Column("arrived_on", "date", "the day a chick hatched elsewhere came to you"),
            _small("weaned_on", "date", "the day it fed itself for good"),
            Column("left_on", "date", "the day it was sold, given or moved elsewhere"),
            Column("length_mm", "number", "the egg's length in millimetres"),
            Column("breadth_mm", "number", "the egg's breadth in millimetres"),
            _NOTES,
        ),
        (("egg", "chick"),),
    ),
    Log(
        "weights",
        "a weighing; or a grid: a row a morning, a column a chick (or turned round)",
        (
            _small("chick", "name", "the chick's name or ring; K3+K4 where two were weighed together"),
            _small("weighed_at", "moment", "the day, with the time where you know it"),
            _small("weight", "weight", "in the unit of the settings"),
            Column("crop", "choice", "the crop at the weighing", ("empty", "part", "full")),
            _NOTES,
        ),
        (("chick",), ("weighed_at",), ("weight",)),
    ),
    Log(
        "losses",
        "a loss",
        (
            _small("chick", "name", "the chick that was lost"),
            Column("egg", "name", "or the egg"),
            _small("found_on", "date", "the day it was found"),
            Column("last_seen_well_on", "date", "the last day it was seen well"),
            _small("cause", "text", "what you think happened, in your own words"),
            Column("examined", "text", "by whom, and with what result"),
            _NOTES,
        ),
        (("chick", "egg"), ("found_on",)),
    ),
    Log(
        "pairs",
        "a pair, trio or colony",
        (
            _small("pair", "name", "its name in your other logs"),
            _small("species", "name", "what they are"),
            Column("kind", "choice", "pair where blank", ("pair", "trio", "colony")),
            _small("cock", "name", "the cock"),
            _small("hen", "name", "the hen"),
            _small("cage", "name", "the cage it was put up in"),
            Column("put_up_on", "date", "the day it was put up", in_season=False),
            Column("parted_on", "date", "the day it was parted", in_season=False),
            _NOTES,
        ),
        (("pair",), ("species",)),
        key="pair",
    ),
    Log(
        "settings",
        "a setting",
        (
            _small("setting", "name", "which setting"),
            _small("value", "text", "yours; blank: the default"),
            _small("default", "text", "what holds where value is blank"),
            _small("reason", "text", "what it is for"),
        ),
        (("setting",),),
    ),
    Log(
        "clutches",
        "a clutch, where eggs are counted and not numbered",
        (
            Column("pair", "name", "the pair that laid"),
            Column("clutch", "name", "which clutch of that pair"),
            Column("eggs", "count", "eggs laid"),
            Column("first_egg_on", "date", "the day of the first egg"),
            Column("fertile", "count", "eggs that showed fertile; clear is worked out from it where blank"),
            Column("clear", "count", "eggs that showed nothing when candled"),
            Column("died_in_egg", "count", "eggs that showed life and did not hatch"),
            Column("broken_or_gone", "count", "eggs broken, missing or abandoned"),
            Column("hatched", "count", "eggs that hatched"),
            Column("weaned", "count", "young of this clutch that were weaned"),
            Column("incubated_by", "name", "a pair, an incubator or another place; blank: who laid"),
            _NOTES,
        ),
        (("pair",), ("clutch",), ("eggs",)),
    ),
    Log(
        "birds",
        "a breeding bird",
        (
            Column("bird", "name", "its name in your other logs"),
            Column("sex", "text", "cock, hen or unknown, and how you know"),
            Column("species", "name", "what it is"),
            Column("hatched_on", "date", "the day it hatched", in_season=False),
            Column("father", "name", "its father, where known"),
            Column("mother", "name", "its mother, where known"),
            Column("ring", "name", "its ring"),
            _NOTES,
        ),
        (("bird",),),
        key="bird",
    ),
    Log(
        "cages",
        "a cage or other place",
        (
            Column("cage", "name", "its name in your other logs"),
            Column("room", "name", "the room it stands in"),
            _NOTES,
        ),
        (("cage",),),
        key="cage",
    ),
    Log(
        "moves",
        "a move of a pair, egg or chick",
        (
            Column("what", "name", "the pair, egg or chick"),
            Column("on", "date", "the day of the move"),
            Column("to", "name", "a cage for a pair; a pair, a place or hand for an egg or chick"),
            _NOTES,
        ),
        (("what",), ("on",), ("to",)),
    ),
    Log(
        "egg_weights",
        "an egg weighing (or a grid)",
        (
            Column("egg", "name", "the egg"),
            Column("weighed_on", "date", "the day"),
            Column("weight", "weight", "in the unit of the settings"),
            _NOTES,
        ),
        (("egg",), ("weighed_on",), ("weight",)),
    ),
    Log(
        "readings",
        "a reading in an incubator, brooder or room",
        (
            Column("place", "name", "the incubator, brooder, room or cup"),
            Column("read_at", "moment", "the day, with the time where you know it"),
            Column("temperature", "temperature", "in the unit of the settings"),
            Column("humidity_pct", "percent", "relative humidity, in %"),
            _NOTES,
        ),
        (("place",), ("read_at",)),
    ),
    Log(
        "signs",
        "something worth noting that was seen",
        (
            Column("who", "name", "the chick, bird or pair"),
            Column("seen_at", "moment", "the day, with the time where you know it"),
            _free("sign", "what was seen; your own words are welcome", SIGNS),
            _NOTES,
        ),
        (("who",), ("seen_at",), ("sign",)),
    ),
    Log(
        "feeds",
        "a feed or a batch, as far as you write it",
        (
            Column("fed_at", "moment", "the day, with the time where you know it"),
            Column("who", "name", "the chick; blank: all of them"),
            Column("food", "text", "what it was"),
            Column("amount", "number", "how much, in millilitres"),
            Column("temperature", "temperature", "of the food, in the unit of the settings"),
            _NOTES,
        ),
        (("fed_at",),),
    ),
    Log(
        "species",
        "what holds for a species here",
        (
            Column("species", "name", "the name you use in pairs"),
            Column("incubation_d", "days", "days from steady incubation to hatch, at most"),
            Column("clutch_eggs", "count", "eggs in a clutch, at most"),
            Column("ring_from_d", "days", "ringing, from this age"),
            Column("ring_to_d", "days", "ringing, up to this age"),
            Column("wean_from_d", "days", "weaning, from this age"),
            Column("wean_to_d", "days", "weaning, up to this age"),
            Column("water_loss_from_pct", "percent", "weight an egg should lose by pipping, at least, in %"),
            Column("water_loss_to_pct", "percent", "weight an egg should lose by pipping, at most, in %"),
            Column("hen_oldest_y", "number", "the oldest a hen should breed, in years"),
            Column("hen_youngest_y", "number", "the youngest a hen should breed, in years"),
            Column("clutches_a_season", "count", "clutches a season, at most"),
            Column("heaviest", "weight", "no chick of this species weighs more"),
            _NOTES,
        ),
        (("species",),),
        key="species",
    ),
    Log(
        "reference",
        "a weight table brought from outside",
        (
            Column("species", "name", "the name you use in pairs"),
            Column("age_d", "days", "age in days"),
            Column("median", "weight", "the middle weight at that age"),
            Column("low", "weight", "the low end"),
            Column("high", "weight", "the high end"),
            Column("rearing", "text", "hand or parents, where the source says"),
            Column("source", "text", "where the table is from"),
            _NOTES,
        ),
        (("species",), ("age_d",), ("median",)),
    ),
)

LOGS: dict[str, Log] = {log.name: log for log in _LOGS}

SMALL_FORM = ("hatches", "weights", "losses", "pairs", "settings")
