"""Alder Lane Aviary, invented: who lives where, and which pair laid when. The three seasons are made from this."""

from datetime import date

from analysis.simulate import ClutchPlan, PairPlan

INCUBATOR = "incubator A"
HAND = "hand"
BREEDER = "a breeder"  # laid the eggs of the two chicks that were bought in

ROOMS = {
    "front room": ("C1", "C2", "C3", "C4"),
    "back room": ("C5", "C6", "C7", "C8", "C9"),
    "garden room": ("C10", "C11", "C12", "C13"),
}
CAGE_NOTES = {"C7": "next to the back door", "C9": "the old show cage", "C13": "the flight"}

BIRDS = {  # cock, hen
    "P01": ("Bramble", "Hazel"),
    "P02": ("Teasel", "Sorrel"),
    "P03": ("Jonquil", "Primrose"),
    "P04": ("Rowan", "Linnet"),
    "P05": ("Nutmeg", "Clove"),
    "P06": ("Juniper", "Zoë"),
    "P07": ("Amber", "Ember"),
    "P08": ("Flint", "Willow"),
    "P09": ("Old Man Fennel", "Caraway"),
    "P10": ("Señor Sol", "Sunniva"),
    "P11": ("Bartholomew", "Persephone-Rose"),
    "P12": ("Jürgen", "Maëlle"),
    "P13": ("Thistle", "Plantain"),
    "P14": ("", ""),
}
EARLIER_BIRDS = BIRDS | {"P02": ("Moss", "Sorrel"), "P03": ("Saffron", "Pepper")}
SPECIES = {
    "cockatiel": ("P01", "P02", "P04", "P08"),
    "peach-faced lovebird": ("P03", "P09", "P11"),
    "sun conure": ("P07", "P10"),
    "budgerigar": ("P06", "P12"),
    "zebra finch": ("P05", "P13", "P14"),
}


def species_of(pair: str) -> str:
    """Return what a pair is."""
    return next(species for species, pairs in SPECIES.items() if pair in pairs)


def _clutch(first_egg: str, eggs: int, cage: str, *, incubator: bool = False, hand: bool = False) -> ClutchPlan:
    by_hand = HAND if hand or incubator else ""
    return ClutchPlan(date.fromisoformat(first_egg), eggs, cage, INCUBATOR if incubator else "", by_hand)


def _pair(name: str, birds: dict[str, tuple[str, str]], put_up: str, *clutches: ClutchPlan, **rates: float) -> PairPlan:
    cock, hen = birds[name]
    kind = "pair" if cock else "colony"
    day = date.fromisoformat(put_up)
    return PairPlan(name, species_of(name), clutches, kind=kind, cock=cock, hen=hen, put_up_on=day, **rates)


_P, _C = _pair, _clutch

PLAN_2026 = (
    _P("P01", BIRDS, "2023-11-18", _C("2026-01-24", 5, "C1"), _C("2026-03-08", 5, "C1", hand=True),
       _C("2026-05-09", 5, "C1", incubator=True), fertile=0.96, hatch=0.95, wean=0.98),
    _P("P02", BIRDS, "2025-11-22", _C("2026-02-26", 5, "C2"), _C("2026-04-14", 4, "C2"), fertile=0.0),
    _P("P03", BIRDS, "2026-01-10", _C("2026-03-09", 13, "C5"), fertile=0.0),
    _P("P04", BIRDS, "2026-05-30", _C("2026-06-14", 4, "C2"), fertile=0.0),
    _P("P05", BIRDS, "2026-01-24", _C("2026-03-20", 4, "C11"), _C("2026-05-16", 4, "C11"), fertile=1.0),
    _P("P06", BIRDS, "2022-01-15", _C("2026-03-16", 5, "C10"), _C("2026-05-24", 5, "C10"), hatch=0.4),
    _P("P07", BIRDS, "2021-10-30", _C("2026-03-29", 4, "C6", hand=True), fertile=0.95, hatch=0.9),
    _P("P08", BIRDS, "2024-01-06", _C("2026-01-30", 5, "C7"), _C("2026-04-16", 5, "C3", hand=True), hatch=0.9),
    _P("P09", BIRDS, "2023-12-02", _C("2026-04-11", 5, "C9", incubator=True),
       _C("2026-05-22", 5, "C9", incubator=True), hatch=0.9),
    _P("P10", BIRDS, "2022-09-17", _C("2026-02-10", 4, "C8", hand=True),
       _C("2026-05-18", 4, "C8", incubator=True), fertile=0.97, hatch=0.95),
    _P("P11", BIRDS, "2023-12-02", _C("2026-01-28", 5, "C3", hand=True),
       _C("2026-04-20", 5, "C7"), fertile=0.9, hatch=0.93),
    _P("P12", BIRDS, "2024-01-20", _C("2026-04-26", 6, "C12", incubator=True),
       _C("2026-05-28", 5, "C12", incubator=True)),
    _P("P13", BIRDS, "2024-02-03", _C("2026-03-24", 5, "C4"), _C("2026-05-20", 5, "C4")),
    _P("P14", BIRDS, "2024-02-03", _C("2026-02-20", 4, "C13"), _C("2026-02-27", 5, "C13"), _C("2026-03-12", 4, "C13"),
       _C("2026-04-20", 5, "C13"), _C("2026-05-02", 4, "C13")),
    PairPlan(BREEDER, "sun conure", (_C("2026-03-27", 3, "elsewhere", hand=True),), fertile=1.0, hatch=1.0),
)  # fmt: skip

PLAN_2025 = (
    _P("P01", EARLIER_BIRDS, "2023-11-18", _C("2025-02-16", 5, "C1"), _C("2025-04-12", 5, "C1"), fertile=0.95),
    _P("P02", EARLIER_BIRDS, "2024-11-16", _C("2025-02-23", 5, "C2"), _C("2025-04-20", 4, "C2"), fertile=0.9),
    _P("P03", EARLIER_BIRDS, "2024-12-07", _C("2025-03-15", 5, "C5")),
    _P("P06", EARLIER_BIRDS, "2022-01-15", _C("2025-03-02", 6, "C10"), _C("2025-05-11", 5, "C10"), hatch=0.7),
    _P("P07", EARLIER_BIRDS, "2021-10-30", _C("2025-03-30", 4, "C6", hand=True), _C("2025-06-01", 4, "C6"),
       fertile=1.0, hatch=0.95),
    _P("P08", EARLIER_BIRDS, "2024-01-06", _C("2025-03-08", 5, "C3"), hatch=0.9),
    _P("P09", EARLIER_BIRDS, "2023-12-02", _C("2025-03-22", 5, "C9")),
    _P("P11", EARLIER_BIRDS, "2023-12-02", _C("2025-02-22", 5, "C4"), hatch=0.9),
    _P("P12", EARLIER_BIRDS, "2024-01-20", _C("2025-04-05", 5, "C12")),
    _P("P13", EARLIER_BIRDS, "2024-02-03", _C("2025-03-10", 5, "C11")),
    _P("P14", EARLIER_BIRDS, "2024-02-03", _C("2025-03-17", 4, "C13")),
)  # fmt: skip

PLAN_2024 = (
    _P("P01", EARLIER_BIRDS, "2023-11-18", _C("2024-03-02", 5, "C1"), _C("2024-05-04", 5, "C1"), fertile=0.95),
    _P("P06", EARLIER_BIRDS, "2022-01-15", _C("2024-03-10", 6, "C10"), _C("2024-05-12", 6, "C10"),
       fertile=0.95, hatch=0.95),
    _P("P07", EARLIER_BIRDS, "2021-10-30", _C("2024-04-14", 4, "C6"), fertile=1.0, hatch=0.9),
    _P("P08", EARLIER_BIRDS, "2024-01-06", _C("2024-04-06", 4, "C3"), hatch=0.9),
    _P("P09", EARLIER_BIRDS, "2023-12-02", _C("2024-03-16", 5, "C9"), _C("2024-05-25", 4, "C9")),
    _P("P11", EARLIER_BIRDS, "2023-12-02", _C("2024-04-13", 5, "C4"), hatch=0.9),
    _P("P12", EARLIER_BIRDS, "2024-01-20", _C("2024-04-20", 5, "C12")),
    _P("P13", EARLIER_BIRDS, "2024-02-03", _C("2024-03-09", 5, "C11"), _C("2024-05-18", 4, "C11")),
    _P("P14", EARLIER_BIRDS, "2024-02-03", _C("2024-04-01", 5, "C13"), _C("2024-04-22", 4, "C13")),
)  # fmt: skip

# How this keeper works: she weighs most mornings, also in the nest, and writes what goes wrong below by hand,
# so the simulator adds no slips, swaps or bad mornings of its own.
WAYS = {
    "never_fertile": 0.0,
    "clutch_fails": 0.0,
    "cage_effects": (("C7", -2.6),),
    "wean": 0.95,
    "weighed_nest": 0.8,
    "foster": 0.0,
    "slips": 0.0,
    "swaps": 0.0,
    "scale_off": 0.0,
}
