"""The settings: what each is for, its default, and the keeper's own values."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import Any

from analysis.logs.cells import BadCell, near
from analysis.logs.dates import read_day
from analysis.logs.headings import folded
from analysis.logs.ledger import Ledger, Row
from analysis.logs.numbers import read_number
from analysis.logs.tables import LOGS


@dataclass(frozen=True)
class Setting:
    """One setting: its default, what it is for, and the values it may take (any, where none are listed)."""

    name: str
    default: str
    reason: str
    choices: tuple[str, ...] = ()
    kind: str = "text"
    low: float = 0.0
    high: float = 0.0


SETTINGS: dict[str, Setting] = {
    s.name: s
    for s in (
        Setting("format", "1", "the form of these logs, so that a later version still reads them", ("1",)),
        Setting("aviary", "", "the name on the report"),
        Setting("season", "", "the year, or a name of your own; a year also bounds the dates"),
        Setting("starts_on", "", "the first day of the season, where it is not the year", kind="date"),
        Setting("ends_on", "", "the last day of the season, where it is not the year", kind="date"),
        Setting("earlier", "", "folders of earlier seasons to join, with ; between them"),
        Setting(
            "date_order",
            "",
            "how 3/4/26 reads; a year first is always read",
            ("day-month", "month-day", "year-month"),
        ),
        Setting("weight_unit", "g", "the unit of the weights", ("g", "oz")),
        Setting("egg_weight_unit", "", "the unit of egg weights, where it is another", ("g", "oz")),
        Setting("temperature_unit", "C", "the unit of temperatures", ("C", "F")),
        Setting("paper", "A4", "the paper of the report", ("A4", "Letter")),
        Setting("language", "en", "the language of the report; English is the one there is", ("en",)),
        Setting("hatch_day_is", "0", "the number the day of hatch has in day columns", ("0", "1")),
        Setting("large_logs", "no", "whether text files of over 50 MB are read; it takes long", ("yes", "no")),
        Setting(
            "formula_burn_c",
            "43.0",
            "food this hot or hotter, in °C, burns a crop; 43 at most (110 °F: LafeberVet, pediatric avian medicine)",
            kind="number",
            low=38,
            high=43,
        ),
        Setting(
            "minutes_a_chick",
            "3",
            "how long one chick takes to feed, to tell whether a cup stays warm for the round (practice)",
            kind="number",
            low=0.5,
            high=30,
        ),
        Setting(
            "clutch_gap_d",
            "30",
            "a longer gap between laying days begins the next clutch (practice)",
            kind="number",
            low=1,
            high=366,
        ),
        Setting(
            "incubator_from_c",
            "36.9",
            "below this, in °C, an incubator is out of range (0.3 under 37.2 to 37.5: Duerr & Gage p. 552)",
            kind="number",
            low=30,
            high=40,
        ),
        Setting(
            "incubator_to_c",
            "37.8",
            "above this, in °C, an incubator is out of range (0.3 over 37.2 to 37.5: Duerr & Gage p. 552)",
            kind="number",
            low=30,
            high=45,
        ),
        Setting(
            "enough_clutches",
            "2",
            "clutches of a pair that must have ended before anything is said of it; never one (practice)",
            kind="number",
            low=2,
            high=20,
        ),
        Setting(
            "enough_eggs",
            "8",
            "eggs of a pair whose outcome must be known before anything is said of it (practice: two clutches)",
            kind="number",
            low=4,
            high=100,
        ),
        Setting(
            "low_share",
            "0.6",
            "counts under this share of what is typical of a pair's kind are looked into (practice)",
            kind="number",
            low=0.2,
            high=1,
        ),
        Setting(
            "sure_to_check",
            "0.8",
            "how sure it must be that a pair is below its kind before it is asked about (practice; tried out)",
            kind="number",
            low=0.5,
            high=0.999,
        ),
        Setting(
            "sure_to_part",
            "0.95",
            "the same before the advice goes beyond checking, and only for pairs that were checked (practice)",
            kind="number",
            low=0.8,
            high=0.999,
        ),
        Setting("checked", "", "pairs that were checked (sexes, veterinarian, nest box, food), with ; between"),
        Setting(
            "clutches_then_rest",
            "3",
            "clutches laid in a season, pulled or not, after which a hen rests where species says nothing "
            "(two a season, three at most: several keepers' texts)",
            kind="number",
            low=1,
            high=12,
        ),
        Setting(
            "hen_youngest_y",
            "1",
            "a younger hen is asked about, in years, where species says nothing: a guard against egg binding "
            "(budgerigars from 12 months: keepers' texts; larger kinds are grown up later)",
            kind="number",
            low=0.2,
            high=15,
        ),
        Setting(
            "related_ask",
            "0.125",
            "inbreeding of the young from which on a pair's relatedness is said first (half sibs: 1/8, Wright 1922)",
            kind="number",
            low=0.01,
            high=1,
        ),
    )
}


@dataclass(frozen=True)
class Settings:
    """The keeper's settings. `values` holds what was written; a missing one has its default.

    `columns` holds the keeper's own headings, folded, and the columns they stand for.
    """

    values: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    columns: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def __getitem__(self, name: str) -> str:
        return self.values.get(name) or SETTINGS[name].default

    def number(self, name: str) -> float:
        """Return a setting that is a number."""
        return read_number(self[name])

    def day(self, name: str) -> date | None:
        """Return a setting that is a date, or None where it is blank."""
        return read_day(self[name]) if self[name] else None

    def table(self) -> list[dict[str, str]]:
        """List every setting with the value that holds, where it comes from, and its reason."""
        return [
            {
                "setting": s.name,
                "value": self[s.name],
                "from": "yours" if self.values.get(s.name) else "default",
                "reason": s.reason,
            }
            for s in SETTINGS.values()
        ]


def read_settings(rows: Iterable[Row], ledger: Ledger) -> Settings:
    """Read the rows of the settings log; what cannot be used is said and its default holds."""
    values: dict[str, str] = {}
    columns: dict[str, str] = {}
    for row in rows:
        name = str(row["setting"]).strip().casefold().replace(" ", "_")
        if name.startswith("column:"):
            _own_column(row, columns, ledger)
        elif name not in SETTINGS:
            ledger.drop(
                "unknown-setting",
                row.place,
                "setting",
                row["setting"],
                near=near(name, SETTINGS),
                names=", ".join(SETTINGS),
            )
        elif name in values:
            ledger.drop("repeated-row", row.place, "setting", row["setting"])
        elif row["value"]:
            try:
                values[name] = _value(SETTINGS[name], str(row["value"]).strip())
            except BadCell:
                setting = SETTINGS[name]
                choices = ", ".join(setting.choices) or f"a {setting.kind}"
                choices += f" from {setting.low:g} to {setting.high:g}" if setting.kind == "number" else ""
                ledger.bad_cell("bad-setting", row.place, "value", row["value"], choices=choices)
    return Settings(MappingProxyType(values), MappingProxyType(columns))


def _own_column(row: Row, columns: dict[str, str], ledger: Ledger) -> None:
    """Read a heading of the keeper's own: `column: Gewicht` with the value weight, or `column: Gewicht = weight`."""
    written = str(row["setting"]).partition(":")[2]
    heading, _, value = written.rpartition("=") if "=" in written else (written, "", str(row["value"] or ""))
    column = value.strip().casefold().replace(" ", "_")
    known = {c.name for log in LOGS.values() for c in log.columns}
    if column in known and folded(heading):
        columns[folded(heading)] = column
    else:
        choices = f"the name of a column, such as weight.{near(column, known)}"
        ledger.bad_cell("bad-setting", row.place, "value", value.strip(), choices=choices.rstrip("."))


def _value(setting: Setting, text: str) -> str:
    match: Any = {c.casefold(): c for c in setting.choices}.get(text.casefold(), text)
    if setting.choices and match not in setting.choices:
        raise BadCell("bad-setting")
    if setting.kind == "date" and not 1900 <= read_day(text).year <= 2200:
        raise BadCell("bad-setting")
    if setting.kind == "number" and not setting.low <= read_number(text) <= setting.high:
        raise BadCell("bad-setting")
    return str(match)
