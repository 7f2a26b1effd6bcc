"""What is planted in 2026 before the chicks are numbered: pairs, eggs, the incubator. One function an incident."""

from datetime import date, timedelta

from aviary import BREEDER, INCUBATOR
from pages import eggs_of, forget, hatch_of, no_chick, rename

from analysis.simulate.write import Logs

HOT_DAYS = (date(2026, 6, 10), date(2026, 6, 11), date(2026, 6, 12))


def p01_three_clutches(logs: Logs) -> None:
    """P01, the best pair, laid three times; the third clutch went to the incubator."""
    eggs_of(logs, "P01", "3")[0]["notes"] = "all five to the incubator, she would not stop"


def p02_all_clear(logs: Logs) -> None:
    """P02 laid nine eggs in two clutches, all clear; Sorrel's eggs were fertile with Moss last season."""
    for egg in eggs_of(logs, "P02"):
        no_chick(logs, egg, "clear")
        egg["candled"], egg["candled_on"] = "clear", egg["set_on"] + timedelta(days=8)
    eggs_of(logs, "P02", "2")[-1]["notes"] = "clear again, all of them. she sits so well"
    pair = next(p for p in logs["pairs"] if p["pair"] == "P02")
    pair |= {"parted_on": date(2026, 5, 24), "notes": "Sorrel with the new cock this year"}


def p03_thirteen_eggs(logs: Logs) -> None:
    """P03 laid thirteen eggs in nine days, on four days two of them, all clear: two hens."""
    first = date(2026, 3, 9)
    for egg, day in zip(eggs_of(logs, "P03"), (0, 1, 1, 2, 3, 3, 4, 5, 5, 6, 7, 7, 8), strict=True):
        no_chick(logs, egg, "clear")
        egg |= {"laid_on": first + timedelta(days=day), "set_on": first + timedelta(days=8)}
        egg |= {"candled": "clear", "candled_on": first + timedelta(days=17)}
    eggs_of(logs, "P03")[-1]["notes"] = "that's thirteen!! both in the box all day"


def p04_first_clutch_clear(logs: Logs) -> None:
    """P04 is new, and its first clutch of four was clear."""
    for egg in eggs_of(logs, "P04"):
        no_chick(logs, egg, "clear")
    next(p for p in logs["pairs"] if p["pair"] == "P04")["notes"] = "young birds, first time"


def p05_full_sibs(logs: Logs) -> None:
    """P05 are brother and sister by Thistle and Plantain; five of their eight eggs died in the shell."""
    for egg in eggs_of(logs, "P05"):
        if (egg["clutch"], egg["egg"]) not in {("1", "1"), ("2", "1"), ("2", "2")}:
            no_chick(logs, egg, "dead in shell")


def p07_one_of_four(logs: Logs) -> None:
    """P07 hatched one of four this season, and ten of twelve in the two before."""
    for egg, outcome in zip(eggs_of(logs, "P07")[1:], ("dead in shell", "late death", "clear"), strict=True):
        no_chick(logs, egg, outcome)
    eggs_of(logs, "P07")[1]["notes"] = "fully formed"


def incubator_too_warm(logs: Logs) -> None:
    """Incubator A stood at 38.4 °C on 10 to 12 June with eggs of P09, P10 and P12 in it; three of them hatched."""
    for pair in ("P09", "P10", "P12"):
        living = [r for r in eggs_of(logs, pair, "2") if r["outcome"] == "hatched"]
        for at, egg in enumerate(living[1:]):
            no_chick(logs, egg, ("late death", "dead in shell", "dead in shell", "pipped and died")[at])


def finch_colony(logs: Logs) -> None:
    """P14 is a colony of finches in the flight: five clutches, whose hens nobody knows."""
    next(p for p in logs["pairs"] if p["pair"] == "P14")["notes"] = "the flight, 4 cocks and 5 hens, no idea who lays"


def bought_in(logs: Logs) -> None:
    """Mango and Kiwi, two conures, came on 12 May at "about three weeks"."""
    arrived = date(2026, 5, 12)
    first, second, *others = [r["chick"] for r in eggs_of(logs, BREEDER) if r.get("chick")]
    for chick in others:
        forget(logs, chick)
    rename(logs, {first: "Mango", second: "Kiwi"})
    for name in ("Mango", "Kiwi"):
        row = hatch_of(logs, name)
        keep = {"chick": name, "weaned_on": row["weaned_on"]}
        logs["hatches"].remove(row)
        guess = {"hatched_at": date(2026, 4, 21), "sure_to_days": 4, "arrived_on": arrived}
        said = {"notes": "bought in, the breeder says about three weeks"}
        logs["hatches"].append(
            keep | guess | said | {"pair": "", "clutch": "", "egg": "", "species": "sun conure", "reared_by": "hand"}
        )
        logs["weights"] = [w for w in logs["weights"] if w["chick"] != name or w["weighed_at"] >= arrived]
        logs["moves"] = [m for m in logs["moves"] if m["what"] != name]
    logs["hatches"] = [r for r in logs["hatches"] if r["pair"] != BREEDER]
    logs["pairs"] = [p for p in logs["pairs"] if p["pair"] != BREEDER]


def incubator_eggs_by_number(logs: Logs) -> None:
    """Write a number on every egg that goes to the incubator: A1, A2 and on."""
    pulled = [r for r in logs["hatches"] if r.get("incubated_by") == INCUBATOR]
    for number, egg in enumerate(sorted(pulled, key=lambda r: (r["set_on"], r["pair"], int(r["egg"]))), start=1):
        egg["egg"] = f"A{number}"
