"""Finding and changing rows of a season's logs, as a keeper turns pages."""

from datetime import date, timedelta

from analysis.simulate.write import Logs, Row


def eggs_of(logs: Logs, pair: str, clutch: str = "") -> list[Row]:
    """Return the rows of a pair's eggs, of one clutch or of all."""
    return [r for r in logs["hatches"] if r["pair"] == pair and clutch in ("", r["clutch"])]


def hatch_of(logs: Logs, chick: str) -> Row:
    """Return the row a chick hatched in."""
    return next(r for r in logs["hatches"] if r.get("chick") == chick)


def weighings(logs: Logs, chick: str) -> list[Row]:
    """Return a chick's weighings, by morning."""
    return sorted((r for r in logs["weights"] if r["chick"] == chick), key=lambda r: r["weighed_at"])


def on_age(logs: Logs, chick: str, age_d: int) -> date:
    """Return the day a chick reached an age."""
    return hatch_of(logs, chick)["hatched_at"] + timedelta(days=age_d)


def weigh(logs: Logs, chick: str, day: date, grams: float, **more: object) -> None:
    """Write a weighing, over the one of that morning where there is one."""
    row = next((r for r in logs["weights"] if r["chick"] == chick and r["weighed_at"] == day), None)
    if row is None:
        row = {"chick": chick, "weighed_at": day}
        logs["weights"].append(row)
    row.update(weight=as_shown(grams), **more)


def as_shown(grams: float) -> float:
    """Round as the scales of this aviary do: 0.1 g up to 20 g, then whole grams."""
    return round(grams, 1) if grams < 20 else float(round(grams))


def on_day(rows: list[Row], chick: str, day: date) -> float:
    """Return a chick's weight on a day, drawn straight between the weighings around it."""
    known = [(r["weighed_at"], r["weight"]) for r in rows if r["chick"] == chick]
    before = max((k for k in known if k[0] <= day), default=min(known))
    after = min((k for k in known if k[0] >= day), default=max(known))
    if before[0] == after[0]:
        return float(before[1])
    share = (day - before[0]).days / (after[0] - before[0]).days
    return float(before[1] + share * (after[1] - before[1]))


def no_chick(logs: Logs, row: Row, outcome: str) -> None:
    """Let an egg end otherwise: what its chick left in the logs goes too."""
    chick = row.get("chick")
    for name in ("hatched_at", "sure_to_days", "chick", "ring", "reared_by", "weaned_on"):
        row.pop(name, None)
    row["outcome"] = outcome
    if row.get("candled"):
        row["candled"] = "clear" if outcome == "clear" else "fertile"
    if chick:
        forget(logs, chick)


def forget(logs: Logs, chick: str) -> None:
    """Take a chick out of weights, losses and moves."""
    for log, column in (("weights", "chick"), ("losses", "chick"), ("moves", "what")):
        logs[log] = [r for r in logs[log] if r[column] != chick]


def lose(logs: Logs, chick: str, day: date, cause: str, **more: object) -> None:
    """Write a chick's loss; it was never weaned, and was weighed no more from that day on."""
    hatch_of(logs, chick)["weaned_on"] = None
    logs["weights"] = [r for r in logs["weights"] if r["chick"] != chick or r["weighed_at"] < day]
    logs["losses"] = [r for r in logs["losses"] if r["chick"] != chick]
    seen = {"last_seen_well_on": day - timedelta(days=1)}
    logs["losses"].append({"chick": chick, "found_on": day, "cause": cause} | seen | more)


def rename(logs: Logs, names: dict[str, str]) -> None:
    """Call chicks by other names in every log."""
    for log, column in (("hatches", "chick"), ("weights", "chick"), ("losses", "chick"), ("moves", "what")):
        for row in logs[log]:
            if row.get(column) in names:
                row[column] = names[row[column]]


def name_chicks(logs: Logs, colony: str, year: int) -> None:
    """Number the chicks that hatched here, in that order: the colony's F01 and on, unringed; the others K01 and on."""
    here = (r for r in logs["hatches"] if r.get("chick") and not r.get("arrived_on"))
    hatched = sorted(here, key=lambda r: r["chick"])
    names, counts = {}, {"K": 0, "F": 0}
    for row in hatched:
        letter = "F" if row["pair"] == colony else "K"
        counts[letter] += 1
        names[row["chick"]] = f"{letter}{counts[letter]:02d}"
    rename(logs, names)
    for row in hatched:
        ringed = row["chick"][0] == "K"
        row["ring"] = f"AL{year % 100}-{row['chick'][1:].zfill(3)}" if ringed else None
        if not ringed:
            logs["weights"] = [w for w in logs["weights"] if w["chick"] != row["chick"]]


def in_order(logs: Logs) -> None:
    """Put every log in the order of its days."""
    days = {"hatches": "laid_on", "weights": "weighed_at", "losses": "found_on", "moves": "on"}
    for log, column in days.items():
        if log in logs:
            logs[log].sort(
                key=lambda r: (
                    r.get("arrived_on") or r[column],
                    r.get("pair") or "",
                    r.get("chick") or r.get("egg") or "",
                )
            )
