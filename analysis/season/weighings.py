"""Weighings → one row a chick and weighing, with its age; what cannot be right is not used, and said."""

from typing import Any

import pandas as pd

from analysis.logs import Ledger, Row, Settings
from analysis.logs.cells import near
from analysis.logs.names import NameBook, same
from analysis.season.dates import Rows, age_d
from analysis.season.frames import sorted_by_name, typed_frame
from analysis.season.jumps import find_leaps
from analysis.season.species import keepers_species

WEIGHTS = {
    "chick": "str",
    "weighed_at": "datetime64[us]",
    "age_d": "float64",
    "mass_g": "float64",
    "crop": "str",
    "together": "int64",
    "file": "str",
    "row": "Int64",
}


def weights_frame(rows: Rows, chicks: pd.DataFrame, book: NameBook, settings: Settings, ledger: Ledger) -> pd.DataFrame:
    """Return one row a chick and weighing, by chick and time; its columns are `WEIGHTS`."""
    known = {chick["chick"]: chick | _life(chick) for chick in chicks.to_dict("records")}
    found: list[dict[str, Any]] = []
    for row in rows["weights"]:
        names = _who(row["chick"], book)
        if not names:
            ledger.drop("unknown-chick", row.place, "chick", row["chick"], near=near(row["chick"], book))
        elif row["weight"] <= 0:
            ledger.drop("weight-not-positive", row.place, "weight", f"{row['weight']:g}")
        elif all(_in_its_life(row, known[name], ledger) for name in names):
            found += [_weighing(row, known[name], len(names)) for name in names]
    frame = typed_frame(found, {**WEIGHTS, "place": "object"})
    frame = _one_at_a_time(frame, ledger)
    frame = _without_leaps(frame, settings, ledger)
    _too_heavy(frame, known, rows, ledger)
    rows["weights"][:] = [row for row in rows["weights"] if ledger.is_used(row)]
    return sorted_by_name(frame.sort_values(["weighed_at", "row"]), ["chick"]).drop(columns="place")


def _who(written: str, book: NameBook) -> list[str]:
    """Return the chicks on the scale; K3+K4 are two, unless a chick bears that name."""
    chick = book.find(written)
    if chick:
        return [chick]
    parts = [book.find(part) for part in written.split("+")]
    return [part for part in parts if part] if len(parts) > 1 and None not in parts else []


def _life(chick: dict[str, Any]) -> dict[str, Any]:
    """Return from when to when a chick can have been weighed: `begins`, and the end of its last day, `ends`."""
    hatched, lost = chick["hatched_at"], chick["lost_on"]
    unsure = 0 if pd.isna(chick["sure_to_days"]) else int(chick["sure_to_days"])
    return {
        "begins": pd.Timestamp.min if pd.isna(hatched) else hatched.normalize() - pd.Timedelta(days=unsure),
        "ends": pd.Timestamp.max if pd.isna(lost) else lost + pd.Timedelta(days=1),
    }


def _in_its_life(row: Row, chick: dict[str, Any], ledger: Ledger) -> bool:
    moment = row["weighed_at"]
    if moment < chick["begins"]:
        ledger.drop("weight-before-hatch", row.place, "weighed_at", f"{moment:%Y-%m-%d}")
        return False
    if moment >= chick["ends"]:
        ledger.drop("weight-after-loss", row.place, "weighed_at", f"{moment:%Y-%m-%d}")
        return False
    return True


def _weighing(row: Row, chick: dict[str, Any], together: int) -> dict[str, Any]:
    hatched = None if pd.isna(chick["hatched_at"]) else chick["hatched_at"]
    return {
        "chick": chick["chick"],
        "weighed_at": row["weighed_at"],
        "age_d": age_d(row["weighed_at"], row["weighed_at_timed"], hatched, chick["hatched_at_timed"]),
        "mass_g": row["weight"] / together,
        "crop": row["crop"] or "",
        "together": together,
        "file": row.place.file,
        "row": row.place.row,
        "place": row.place,
    }


def _one_at_a_time(frame: pd.DataFrame, ledger: Ledger) -> pd.DataFrame:
    """Drop the same weighing written twice; two that differ are both used, and said."""
    first: dict[tuple[str, pd.Timestamp, int], Any] = {}
    twice = []
    for weighing in frame.itertuples():
        earlier = first.setdefault((weighing.chick, weighing.weighed_at, weighing.together), weighing)
        if earlier is weighing:
            continue
        if earlier.mass_g == weighing.mass_g:
            ledger.drop("repeated-row", weighing.place, "weight", f"{weighing.mass_g:g}", first=earlier.row)
            twice.append(weighing.Index)
        else:
            both = f"{earlier.mass_g:g} and {weighing.mass_g:g}"
            ledger.say("weighed-twice", weighing.place, "weight", both)
    return frame.drop(index=twice)


def _without_leaps(frame: pd.DataFrame, settings: Settings, ledger: Ledger) -> pd.DataFrame:
    leaps = find_leaps(frame)
    unit = "oz" if settings["weight_unit"] == "g" else "g"
    for at, code in sorted(leaps.items()):
        weighing = frame.loc[at]
        ledger.drop(code, weighing["place"], "weight", f"{weighing['mass_g']:g}", unit=unit)
    return frame.drop(index=list(leaps))


def _too_heavy(frame: pd.DataFrame, known: dict[str, Any], rows: Rows, ledger: Ledger) -> None:
    own = keepers_species(rows["species"])
    most = {name: row["heaviest"] for name, row in own.items() if row["heaviest"]}
    for weighing in frame.itertuples() if most else ():
        limit = most.get(same(known[weighing.chick]["species"]))
        if limit and weighing.mass_g > limit:
            ledger.say("too-heavy", weighing.place, "weight", f"{weighing.mass_g:g}", most=f"{limit:g}")
