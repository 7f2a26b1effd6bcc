"""Temperatures written in the other unit: a reading that is no temperature of any incubator, room or food."""

from analysis.logs import Ledger, Settings
from analysis.logs.names import same
from analysis.season.dates import Rows
from analysis.season.vocabulary import is_kept_warm

# An incubator at 37.5 °C stands at 99.5 °F. The ends are (practice).
_LIKE_F = (90.0, 125.0)  # in a log kept in °C nothing that is read or fed is so hot; in °F an incubator or a mix is
_LIKE_C = (30.0, 45.0)  # in a log kept in °F no egg is so cold; in °C it is an incubator


def question_temperatures(rows: Rows, settings: Settings, ledger: Ledger) -> None:
    """Leave out temperatures of readings and feeds that are in the other unit, and say so; the rest of the row stays.

    Parameters
    ----------
    rows : the typed rows of every log; temperatures in °C, whatever they were written in
    settings : which unit the keeper writes
    ledger : told of each, with the code "other-temperature"
    """
    in_c = settings["temperature_unit"] == "C"
    sat = {same(row["incubated_by"]) for row in rows["hatches"] if row["incubated_by"]}
    for log in ("readings", "feeds"):
        for row in rows[log]:
            celsius = row["temperature"]
            if celsius is None:
                continue
            written = celsius if in_c else celsius * 1.8 + 32
            place = same(row["place"]) if log == "readings" else ""
            warm = place in sat or is_kept_warm(place)
            if _between(written, _LIKE_F) if in_c else (warm and _between(written, _LIKE_C)):
                facts = {"other": "F", "yours": "C"} if in_c else {"other": "C", "yours": "F"}
                ledger.bad_cell("other-temperature", row.place, "temperature", f"{written:g}", **facts)
                row.values["temperature"] = None


def _between(value: float, ends: tuple[float, float]) -> bool:
    return ends[0] <= value <= ends[1]
