"""The incubator, the brooder and the kitchen in 2026: readings, egg weights, feeds. Invented, seeded."""

from datetime import date, datetime, time, timedelta

import numpy as np
from aviary import HAND, INCUBATOR
from incidents_eggs import HOT_DAYS
from pages import weighings

from analysis.simulate import SPECIES
from analysis.simulate.write import Logs

_ROUND = (date(2026, 5, 18), date(2026, 5, 19), date(2026, 5, 20))
_COOLING = 0.021  # of the blue cup, per minute (invented)


def brooders(logs: Logs, rng: np.random.Generator) -> None:
    """The small brooder for who hatched in the incubator, and a cooler one for who was taken or came in feathers."""
    taken = {move["what"] for move in logs["moves"] if move["to"] == HAND}
    for row in logs["hatches"]:
        if row.get("chick") in taken or row.get("arrived_on"):
            row["brooder"] = "brooder 2"
        elif row.get("chick") and row.get("reared_by") == HAND:
            row["brooder"] = "brooder"


def readings(logs: Logs, rng: np.random.Generator) -> None:
    """Incubator A once a day while eggs are in it; the brooder now and then; the blue cup twice on 20 May."""
    days = [r["set_on"] for r in logs["hatches"] if r.get("incubated_by") == INCUBATOR]
    day, last = min(days), max(days) + timedelta(days=28)
    while day <= last:
        warm = 38.4 if day in HOT_DAYS else 37.3 + 0.1 * int(rng.integers(0, 3))
        if rng.random() < 0.93 or day in HOT_DAYS:
            row = {"place": INCUBATOR, "read_at": datetime.combine(day, time(7, 30)), "temperature": round(warm, 1)}
            logs["readings"].append(row | {"humidity_pct": float(rng.integers(49, 58))})
        if day.toordinal() % 5 == 0:
            row = {"place": "brooder", "read_at": datetime.combine(day, time(7, 40))}
            logs["readings"].append(row | {"temperature": float(rng.integers(31, 34)), "humidity_pct": 58.0})
        day += timedelta(days=1)
    for minute in (0, 10):
        hot = 22.5 + (50.0 - 22.5) * np.exp(-_COOLING * minute)
        at = datetime(2026, 5, 20, 6, 40 + minute)
        logs["readings"].append({"place": "blue cup", "read_at": at, "temperature": round(float(hot), 1)})
    at = datetime(2026, 5, 20, 6, 40)
    logs["readings"].append({"place": "nursery", "read_at": at, "temperature": 22.5, "humidity_pct": 61.0})
    logs["readings"].sort(key=lambda r: r["read_at"])


def egg_weights(logs: Logs, rng: np.random.Generator) -> None:
    """Every third day each incubator egg on the letter scale: it loses 13 to 16 % by the time it pips."""
    species = {p["pair"]: SPECIES[p["species"]] for p in logs["pairs"]}
    for egg in logs["hatches"]:
        if egg.get("incubated_by") != INCUBATOR:
            continue
        kind = species[egg["pair"]]
        fresh = kind.egg_g * np.exp(0.05 * rng.standard_normal())
        breadth = 10 * (fresh / (0.548 * 1.28)) ** (1 / 3)
        egg |= {"length_mm": round(float(1.28 * breadth), 1), "breadth_mm": round(float(breadth), 1)}
        lost, end = rng.uniform(0.13, 0.16), kind.incubation_d[1] - 2
        for day in range(0, 8 if egg["outcome"] == "clear" else end, 3):
            grams = fresh * (1 - lost * day / end)
            row = {"egg": egg["egg"], "weighed_on": egg["set_on"] + timedelta(days=day)}
            logs["egg_weights"].append(row | {"weight": round(float(grams), 2)})
    logs["egg_weights"].sort(key=lambda r: (r["weighed_on"], int(r["egg"][1:])))


def feeds(logs: Logs, rng: np.random.Generator) -> None:
    """The morning batch through the nursery months, and every chick's feeds from 18 to 20 May."""
    day = date(2026, 3, 10)
    while day <= date(2026, 7, 5):
        if rng.random() < 0.4 and day not in _ROUND:
            row = {"fed_at": datetime.combine(day, time(7, int(rng.integers(0, 30)))), "food": "formula"}
            logs["feeds"].append(row | {"temperature": round(float(rng.uniform(38.4, 40.8)), 1)})
        day += timedelta(days=1)
    since = {r["chick"]: r["hatched_at"] for r in logs["hatches"] if r.get("reared_by") == "hand"}
    since |= {m["what"]: m["on"] for m in logs["moves"] if m["to"] == "hand"}
    for day in _ROUND:
        cooled = 40.2 if day == _ROUND[-1] else round(float(rng.uniform(38.8, 40.5)), 1)
        batch = {"fed_at": datetime.combine(day, time(7, 2)), "food": "formula", "temperature": cooled}
        logs["feeds"].append(batch)
        for chick in (name for name, first in since.items() if f"{first:%Y-%m-%d}" < f"{day}"):
            grams = next((w["weight"] for w in weighings(logs, chick) if w["weighed_at"] == day), None)
            if isinstance(grams, float):
                row = {"fed_at": datetime.combine(day, time(7, 10)), "who": chick, "food": "formula"}
                logs["feeds"].append(row | {"amount": round(0.1 * grams * float(rng.uniform(0.85, 1.0)), 1)})
    logs["feeds"].sort(key=lambda r: r["fed_at"])


def weans(logs: Logs, rng: np.random.Generator) -> None:
    """K26, taken to be tame with its nest mates, weans: four feeds a day by its name, then three, then two."""
    for move in logs["moves"]:
        if move["what"] in ("K25", "K26", "K27"):
            move["why"] = "taken to be tame"
    for day in range(13, 22):
        hours = (7, 11, 15, 19) if day < 17 else (7, 13, 19) if day < 19 else (8, 18)
        for hour in hours:
            row = {"fed_at": datetime(2026, 6, day, hour), "who": "K26", "food": "formula"}
            logs["feeds"].append(row | ({"amount": 0} if (day, hour) == (20, 8) else {}))
    for day, food in ((17, "millet"), (19, "corn and peas"), (20, "corn and peas"), (21, "millet")):
        logs["feeds"].append({"fed_at": datetime(2026, 6, day, 12), "who": "K26", "food": food})
    logs["feeds"].sort(key=lambda r: r["fed_at"])
