"""What the eggs ask for: humidity by incubator, shells by pair, days to pip and hatch."""

from collections.abc import Mapping
from typing import Any

import pandas as pd

from analysis.eggs.hatch_days import OVERDUE, PIPPED
from analysis.eggs.of_season import LINES, Eggs
from analysis.eggs.water_advice import LOWER, RAISE, in_percent, lines_of
from analysis.finding import LOOK, Finding, Words, found
from analysis.logs.headings import same
from analysis.season import Season
from analysis.season.egg_weighings import GAINED, LOST
from analysis.season.signs import AT_ONCE, read_first
from analysis.season.species import pip_hours, said_span

DOUBTED_D = 3  # a doubtful weighing is spoken of for so many days (practice)


def water_findings(eggs: Eggs) -> list[Finding]:
    """Return what the eggs that are incubating now ask for, by place, and what a pair's shells do."""
    if eggs.incubating.empty:
        return []
    weighed, codes = eggs.season.egg_weights, {GAINED: "eggs.gained", LOST: "eggs.lost-too-fast"}
    recent = weighed[(weighed["doubt"] != "") & (weighed["weighed_on"] >= eggs.on - pd.Timedelta(days=DOUBTED_D))]
    recent = recent[recent["egg_row"].isin(eggs.incubating.index)]
    rows = [(codes[row.doubt], row, str(eggs.names[row.egg_row])) for row in recent.itertuples()]
    doubted = [found(code, about=egg, level=LOOK, mass=row.mass_g, on=_day(row.weighed_on)) for code, row, egg in rows]
    states = set(eggs.incubating["state"])
    last = [PIPPED] * bool(states & {"pipped", "late pip"}) + [OVERDUE] * ("overdue" in states)
    return [*doubted, *humidity_findings(eggs), *shell_findings(eggs), *species_without_days(eggs), *last]


def pips_over(eggs: Eggs) -> list[Finding]:
    """The eggs whose hours from pip to hatch are over, to be read first."""
    found_over, sitting = [], {same(pair) for pair in eggs.season.pairs["pair"]}
    for egg in eggs.incubating[eggs.incubating["state"] == "late pip"].to_dict("records"):
        where = egg["hatcher"] or egg["incubated_by"]
        facts = pip_facts(eggs.season, egg) | {"nest": same(where) in sitting}
        found_over.append(read_first(AT_ONCE, found("day.pip-over", about=egg["name"], **facts), of=where))
    return found_over


def pip_facts(season: Season, egg: Mapping[str, Any]) -> dict[str, Any]:
    """When an egg pipped, by when it should be out, the hours that this rests on, and who says so; of a row of eggs."""
    hours = pip_hours(season.logs["species"], egg["species"])
    at, by = (_moment(egg[name], egg["pipped_at_timed"]) for name in ("pipped_at", "hatch_by"))
    return {"at": at, "by": by, "hours": said_span(hours.low, hours.high), "source": hours.source}


def humidity_findings(eggs: Eggs) -> list[Finding]:
    """What the eggs still incubating ask of the humidity of each place."""
    return list(eggs.places.loc[eggs.places["eggs"] > 0, "finding"])


def pressing_findings(eggs: Eggs) -> list[Finding]:
    """What belongs on a first page: a humidity to change, and pairs whose shells let more or less through."""
    return [*eggs.places.loc[eggs.places["word"].isin([RAISE, LOWER]), "finding"], *shell_findings(eggs)]


def guide_lines(eggs: Eggs) -> Words:
    """The guide lines of each species that was weighed, and who gives them, in one sentence; blank where none was."""
    kinds = []
    for _, eggs_alike in eggs.loss.groupby(LINES, sort=False):
        species = [name or found("eggs.no-species") for name in eggs_alike["species"].unique()]
        kinds.append(found("eggs.guide-line", species=species, lines=lines_of(eggs_alike).between))
    return found("eggs.guide-lines", kinds=kinds) if kinds else ""


def past_losses(eggs: Eggs) -> list[Finding]:
    """What the eggs of each place that are out had lost."""
    return [_lost(row) for row in eggs.past_places.itertuples(index=False) if row.eggs]


def shell_findings(eggs: Eggs) -> list[Finding]:
    """Pairs whose shells let more, or less, water through than others."""
    return [shells for shells in eggs.shells["finding"] if shells]


def species_without_days(eggs: Eggs) -> list[Finding]:
    """Species with eggs in the shell of which no days are known, each once."""
    sitting = eggs.incubating
    unknown = sitting[(sitting["state"] == "") & sitting["day"].notna() & (sitting["species"] != "")]
    first = unknown["species"].groupby(unknown["species"].map(same), sort=False).first()
    return [found("eggs.no-days", about=str(species), level=LOOK) for species in first]


def expected_on(egg: Any) -> Finding:
    """When an egg is expected; of a row of `Eggs.incubating`."""
    if egg.state in ("pipped", "late pip"):
        at, by = (_moment(moment, egg.pipped_at_timed) for moment in (egg.pipped_at, egg.hatch_by))
        return found(f"eggs.{egg.state.replace(' ', '-')}", level=LOOK, at=at, by=by)
    if egg.state == "" and pd.isna(egg.day):
        return found("eggs.write-day-set")
    if egg.state == "":
        return found("eggs.no-days-for", species=egg.species) if egg.species else found("eggs.write-species")
    if egg.state == "overdue":
        return found("eggs.was-expected", level=LOOK, by=_day(egg.hatch_high_on))
    low, high = egg.hatch_low_on, egg.hatch_high_on
    days = found("eggs.days-between", first=_day(low), last=_day(high))
    if (low.year, low.month) == (high.year, high.month):
        days = _day(high) if low == high else found("eggs.days-of-month", first=low.day, last=_day(high))
    if egg.state == "incubating":
        return found("eggs.expected", days=days, pip=_day(egg.internal_low_on))
    return found("eggs.may-pip" if egg.state == "may pip" else "eggs.may-hatch", days=days)


def _day(day: pd.Timestamp) -> Finding:
    return found("eggs.day", day=day.day, on=day)


def _moment(at: pd.Timestamp, timed: bool) -> Finding:
    return found("eggs.moment", day=at.day, on=at) if timed else _day(at)


def _lost(row: Any) -> Finding:
    lines: Words = row.lines.between
    if row.high < row.lines.low:
        code, lines = "eggs.lost-under", row.lines.under
    elif row.low > row.lines.high:
        code, lines = "eggs.lost-over", row.lines.over
    elif row.low >= row.lines.low and row.high <= row.lines.high:
        code = "eggs.lost-between"
    else:
        wide = row.low < row.lines.low and row.high > row.lines.high
        code = "eggs.lost-too-wide" if wide else "eggs.lost-about"
    where = found(code, line=lines)
    return found(
        "eggs.lost", about=str(row.name), eggs=int(row.eggs), **in_percent(row.low, row.at_pip, row.high), where=where
    )
