"""Make the demo's three seasons: `python data_demo/make.py [FOLDER]`. The same bytes every time."""

import sys
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

import earlier
import incidents_chicks as chicks
import incidents_eggs as eggs
import mistakes
import numpy as np
import nursery
from aviary import BIRDS, CAGE_NOTES, EARLIER_BIRDS, PLAN_2024, PLAN_2025, PLAN_2026, ROOMS, WAYS, species_of
from pages import in_order, name_chicks

from analysis.simulate import SPECIES, PairPlan, simulate_season, write_logs
from analysis.simulate.write import Logs

Incident = Callable[[Logs], None]

EGGS: tuple[Incident, ...] = (
    eggs.p01_three_clutches, eggs.p02_all_clear, eggs.p03_thirteen_eggs, eggs.p04_first_clutch_clear,
    eggs.p05_full_sibs, eggs.p07_one_of_four, eggs.incubator_too_warm, eggs.finch_colony, eggs.bought_in,
)  # fmt: skip
CHICKS: tuple[Incident, ...] = (
    chicks.draughty_cage, chicks.k21_fostered_slow, chicks.k14_crop, chicks.k15_sudden, chicks.k18_last_and_small,
    chicks.k11_is_small, chicks.falls_before_weaning, chicks.power_cut, chicks.sold, chicks.the_day_of_the_round,
    chicks.nobody_weighed, chicks.k10_k11_swapped, chicks.k05_full_crop, chicks.digits_exchanged,
    chicks.morning_seven_up, chicks.six_ounce_mornings, chicks.end_of_the_logs, chicks.remarks,
)  # fmt: skip
MISTAKES: tuple[Incident, ...] = (
    mistakes.unreadable_weight, mistakes.ten_fold, mistakes.year_2062, mistakes.crop_in_other_words,
    mistakes.weighed_after_death, mistakes.hatched_and_clear, mistakes.weaned_in_the_wrong_month,
    mistakes.misspelt_bird, mistakes.unknown_chick, mistakes.weighed_twice,
)  # fmt: skip
EARLIER: dict[int, tuple[Incident, ...]] = {
    2025: (earlier.moss_and_sorrel, earlier.p03_other_birds),
    2024: (earlier.p07_before, earlier.p06_before, earlier.counts_that_do_not_add_up),
}


def season_2026() -> Logs:
    """Return the logs of 2026."""
    logs = _simulated(2026, PLAN_2026, BIRDS) | {"signs": [], "readings": [], "egg_weights": [], "feeds": []}
    logs["settings"].append({"setting": "earlier", "value": "../season_2024; ../season_2025"})
    _each(EGGS, logs)
    name_chicks(logs, "P14", 2026)
    _each(CHICKS, logs)
    eggs.incubator_eggs_by_number(logs)
    rng = np.random.Generator(np.random.PCG64(2026))
    in_order(logs)
    for fill in (nursery.brooders, nursery.egg_weights, nursery.readings, nursery.feeds, nursery.weans):
        fill(logs, rng)
    mistakes.formula_at_42(logs)
    logs["feeds"].sort(key=lambda r: r["fed_at"])
    logs["signs"].sort(key=lambda r: r["seen_at"])
    for mistake in MISTAKES:
        mistake(logs)
    logs["weights"].sort(key=lambda r: r["weighed_at"].replace(year=2026))
    _each((mistakes.repeated_row, mistakes.late_entries), logs)
    return logs


def season_2025() -> Logs:
    """Return the logs of 2025: weights as a grid."""
    logs = _simulated(2025, PLAN_2025, EARLIER_BIRDS)
    logs["settings"].append({"setting": "earlier", "value": "../season_2024"})
    _each(EARLIER[2025], logs)
    name_chicks(logs, "P14", 2025)
    in_order(logs)
    earlier.grid_mistakes(logs)
    return logs


def season_2024() -> Logs:
    """Return the logs of 2024: clutches as counts, no chicks."""
    logs = _simulated(2024, PLAN_2024, EARLIER_BIRDS, eggs_as="counts")
    _each(EARLIER[2024], logs)
    return logs


def _simulated(year: int, plan: Sequence[PairPlan], birds: dict[str, tuple[str, str]], **more: object) -> Logs:
    logs = simulate_season(None, year, year=year, plan=tuple(plan), **(WAYS | more)).logs
    logs["settings"][0]["value"] = "Alder Lane Aviary"
    logs["cages"] = [
        {"cage": cage, "room": room, "notes": CAGE_NOTES.get(cage, "")}
        for room, cages in ROOMS.items()
        for cage in cages
    ]
    logs["cages"].append({"cage": "nursery", "room": "nursery", "notes": "brooders and the incubator"})
    logs["species"] = [_species(name) for name in sorted({species_of(pair) for pair in birds})]
    logs["birds"] = _birds({p.pair: birds[p.pair] for p in plan if p.pair in birds})
    return logs


def _species(name: str) -> dict[str, object]:
    kind = SPECIES[name]
    days = {"incubation_d": kind.incubation_d[1], "ring_from_d": kind.ring_d[0], "ring_to_d": kind.ring_d[1]}
    weaning = {"wean_from_d": kind.wean_d[0], "wean_to_d": kind.wean_d[1]}
    limits = {"hen_oldest_y": kind.hen_oldest_y, "clutches_a_season": 2 if name != "zebra finch" else 3}
    return {"species": name, "clutch_eggs": kind.clutch_eggs[1] + 1} | days | weaning | limits


_HATCHED = {"Zoë": date(2021, 4, 12), "Nutmeg": date(2024, 6, 4), "Clove": date(2024, 6, 5), "Maëlle": date(2023, 5, 6)}


def _birds(birds: dict[str, tuple[str, str]]) -> list[dict[str, object]]:
    rows: list[dict[str, object]] = []
    for pair, names in birds.items():
        number = int(pair[1:])
        year = {"P04": 2025, "P07": 2019}.get(pair, 2021 + number % 2)
        for at, (sex, name) in enumerate(zip(("cock", "hen"), names, strict=True)):
            if name:
                born = _HATCHED.get(name, date(year, 3 + number % 5, 4 + number + 5 * at))
                sibs = {"father": "Thistle", "mother": "Plantain"} if pair == "P05" else {}
                rows.append({"bird": name, "sex": sex, "species": species_of(pair), "hatched_on": born} | sibs)
    return rows


def _each(incidents: Sequence[Incident], logs: Logs) -> None:
    for incident in incidents:
        incident(logs)


def make(into: Path) -> None:
    """Write the three season folders under `into`; what stands there of an earlier making is replaced."""
    made = {"season_2024": season_2024(), "season_2025": season_2025(), "season_2026": season_2026()}
    for name, logs in made.items():
        for old in (into / name).glob("*.csv"):
            old.unlink()
        write_logs(into / name, logs, weights_as="grid" if name == "season_2025" else "list")


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
