"""What is planted in 2024 and 2025: the histories that the pairs of 2026 are held against."""

from pages import weighings

from analysis.simulate.write import Logs


def p07_before(logs: Logs) -> None:
    """P07 hatched three of four in 2024 (and, as it came out, seven of eight in 2025)."""
    row = next(r for r in logs["clutches"] if r["pair"] == "P07")
    row |= {"clear": 0, "died_in_egg": 1, "broken_or_gone": 0, "hatched": 3}


def p06_before(logs: Logs) -> None:
    """Zoë of P06 hatched eleven of twelve in 2024 and eight of eleven in 2025."""
    for row in (r for r in logs["clutches"] if r["pair"] == "P06" and r["clutch"] == "1"):
        row["notes"] = "Zoë again the best of them"


def counts_that_do_not_add_up(logs: Logs) -> None:
    """One clutch of P12 in 2024 accounts for one egg too few."""
    row = next(r for r in logs["clutches"] if r["pair"] == "P12")
    row["clear"] = max(row["clear"] - 1, 0)
    row["notes"] = "one i did not write down"


def grid_mistakes(logs: Logs) -> None:
    """2025: an unreadable weight, and a column for a chick that no log knows."""
    weighings(logs, "K12")[9]["weight"] = "l4"
    row = weighings(logs, "K13")[4]
    logs["weights"].append(row | {"chick": "K112"})


def p03_other_birds(logs: Logs) -> None:
    """P03 of 2025 was Saffron and Pepper, who are gone; the name went to other birds in 2026."""
    next(p for p in logs["pairs"] if p["pair"] == "P03")["notes"] = "both sold in October"


def moss_and_sorrel(logs: Logs) -> None:
    """Sorrel laid nine eggs with Moss in 2025; all showed fertile, and all hatched."""
    next(p for p in logs["pairs"] if p["pair"] == "P02")["notes"] = "Moss died in September, old age i think"
