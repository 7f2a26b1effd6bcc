"""What holds for a kind of bird: its eggs, its growth and its days."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Species:
    """A kind of bird. Where each number comes from stands in `ORIGINS`, by field.

    `shape` is that of a Richards curve: 1 is logistic, 0 Gompertz; `fall` is the share of its peak that a
    chick loses before it is weaned. Ranges are (least, most).
    """

    name: str
    adult_g: float
    hatch_g: float
    egg_g: float
    t10_90_d: float
    shape: float
    fall: float
    incubation_d: tuple[int, int]
    wean_d: tuple[int, int]
    ring_d: tuple[int, int]
    clutch_eggs: tuple[int, int]
    lay_every_d: int
    hen_oldest_y: int


ORIGINS = {
    "adult_g": "memory: ordinary weights of healthy adults, to a few grams",
    "hatch_g": "memory: about two thirds of the fresh egg; cockatiel 4 g (one keeper's cockatiels, read)",
    "egg_g": "memory: 0.548 g/cm³ · length · breadth² (Hoyt 1979) at ordinary egg sizes",
    "t10_90_d": "invented, so that early gains fit: about 20 % a day over two to three weeks (Wragg, read), "
    "doubled within 7 days (Crosta, read), a cockatiel 4 g on day 1 and 20 g on day 7 (one keeper, read)",
    "shape": "invented: between Gompertz and logistic, so that neither fits quite",
    "fall": "source: parrots lose about 10 % from the peak until weaned (HARI growth-chart page; Duerr & Gage 2020, "
    "p. 599); finches: invented",
    "incubation_d": "source: general tables, read; peach-faced lovebird: memory",
    "wean_d": "practice; nothing was read",
    "ring_d": "source: budgerigar 7-10 days, read; the others: practice",
    "clutch_eggs": "practice",
    "lay_every_d": "practice: parrots every other day, finches daily",
    "hen_oldest_y": "practice: the keeper's own limit; a budgerigar hen declines after her third season (read)",
}

SPECIES: dict[str, Species] = {
    s.name: s
    for s in (
        Species("cockatiel", 92.0, 4.0, 5.2, 20.0, 0.5, 0.09, (19, 21), (46, 56), (8, 11), (4, 6), 2, 8),
        Species("peach-faced lovebird", 52.0, 2.7, 3.7, 19.0, 0.45, 0.09, (22, 24), (41, 50), (9, 12), (4, 6), 2, 7),
        Species("sun conure", 112.0, 5.2, 7.3, 24.0, 0.5, 0.10, (23, 27), (56, 68), (12, 16), (3, 5), 2, 12),
        Species("budgerigar", 40.0, 1.6, 2.2, 16.0, 0.6, 0.08, (17, 20), (32, 38), (7, 10), (4, 6), 2, 4),
        Species("zebra finch", 13.5, 0.8, 1.0, 11.0, 0.7, 0.05, (14, 14), (28, 35), (7, 9), (4, 6), 1, 5),
    )
}
