"""Temperatures written in the other unit: a reading that is no temperature of any incubator, room or food."""

from analysis.logs import Ledger, Row, Settings
from analysis.logs.names import same
from analysis.season.dates import Rows
from analysis.season.vocabulary import is_formula, is_kept_warm

LEFT_OUT = ("temperature_written", "temperature_if_other")

# An incubator at 37.5 °C stands at 99.5 °F. The ends are (practice).
_LIKE_F = (90.0, 125.0)  # in a log kept in °C nothing that is read or fed is so hot; in °F an incubator or a mix is
_LIKE_C = (30.0, 45.0)  # in a log kept in °F no egg is so cold; in °C it is an incubator
_FOOD_LIKE_C = (30.0, 60.0)  # in a log kept in °F no formula is so cold; in °C it is warm, or burns


def question_temperatures(rows: Rows, settings: Settings, ledger: Ledger) -> None:
    """Leave out temperatures of readings and feeds that are in the other unit, and say so; the rest of the row stays.

    What was left out stands beside it, so that the round can ask about it: `temperature_written`, the number, and
    `temperature_if_other`, °C where it is read in the other unit.

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
            if _between(written, _LIKE_F) if in_c else _like_c(row, written, sat):
                facts = {"other": "F", "yours": "C"} if in_c else {"other": "C", "yours": "F"}
                ledger.bad_cell("other-temperature", row.place, "temperature", f"{written:g}", **facts)
                other_c = (written - 32) / 1.8 if in_c else written
                row.values.update(temperature=None, temperature_written=written, temperature_if_other=other_c)


def _like_c(row: Row, written: float, sat: set[str]) -> bool:
    """Whether a number in a log kept in °F is one in °C, by what it was taken of."""
    if row.place.log == "feeds":
        return is_formula(row["food"] or "") and _between(written, _FOOD_LIKE_C)
    place = same(row["place"])
    return (place in sat or is_kept_warm(place)) and _between(written, _LIKE_C)


def _between(value: float, ends: tuple[float, float]) -> bool:
    return ends[0] <= value <= ends[1]
