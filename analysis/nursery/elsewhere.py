"""What else is read of before the round: chicks with their parents, birds and pairs, losses, hot food, places."""

from collections.abc import Iterator

import pandas as pd

from analysis.feeding import VET, brooder_range_c
from analysis.findings import Growth, warnings
from analysis.logs.names import same
from analysis.nursery.incubators import OPEN_OVER_C, incubator_said
from analysis.nursery.who import GOOD_SIGNS, OPEN_D, chick_called
from analysis.season import Season
from analysis.words import count_words, day_words, listed

Item = tuple[str, str, str]
RECENT_D = 2  # readings, food and losses older than this are not of this morning (practice)
TABLES_DIFFER_C = 3.0  # published brooder tables differ by so much: Duerr & Gage, table 40.1; Digney 1998; Wragg
FEEL = f"Feel every other chick before it is fed. A cold chick is not fed: {VET[0].lower()}{VET[1:]}"
_DAY = pd.Timedelta(days=1)


def elsewhere(growth: Growth, nursery: pd.DataFrame, on: pd.Timestamp) -> list[Item]:
    """Return (who, where or what, sentence) for what concerns others than the chicks fed by hand, the pressing first.

    Parameters
    ----------
    growth : of a season opened up to the end of the day
    nursery : the chicks fed by hand, as `in_the_nursery`
    on : the day
    """
    season, names = growth.season, {same(chick) for chick in nursery["chick"]}
    found = [*_flagged(growth, names, on), *_seen(season, names, on), *_burnt(season, on), *_lost(season, on)]
    return [*found, *_incubators(season, on), *_brooders(season, nursery, on)]


def _flagged(growth: Growth, names: set[str], on: pd.Timestamp) -> Iterator[Item]:
    """Chicks with their parents whose weights call a veterinarian."""
    flags = warnings(growth, on)
    urgent = flags[(flags["level"] == "act") & ~flags["back"] & ~flags["chick"].map(same).isin(names)]
    reared_by = growth.season.chicks.set_index("chick")["reared_by"]
    for chick, own in urgent.groupby("chick", sort=True):
        yield str(chick), f"with {reared_by[chick]}", " ".join(own["said"])


def _seen(season: Season, names: set[str], on: pd.Timestamp) -> Iterator[Item]:
    """Signs of the last days, of birds, pairs and chicks that are not fed by hand and still here."""
    signs = season.logs["signs"]
    day = pd.to_datetime(signs["seen_at"]).dt.normalize()
    gone = season.chicks.loc[season.chicks["fate"].isin(["lost", "left"]), "chick"].map(same)
    called = chick_called(season)
    whose = signs["who"].map(lambda who: same(called.get(same(who)) or str(who)))
    open_yet = (day >= on - OPEN_D * _DAY) & ~signs["sign"].isin(GOOD_SIGNS) & ~whose.isin(names | set(gone))
    for who, own in signs[open_yet].groupby("who", sort=True):
        notes = "; ".join(str(note) for note in own["notes"] if isinstance(note, str) and note)
        written = f" As written: {notes}." if notes else ""
        seen = day_words(pd.to_datetime(own["seen_at"]).max())
        yield str(who), "", f"{listed(own['sign'].unique())}, seen {seen}. {VET}{written}"


def _burnt(season: Season, on: pd.Timestamp) -> Iterator[Item]:
    """Food hot enough to burn a crop, as it was written in the last days."""
    feeds = season.logs["feeds"]
    day = pd.to_datetime(feeds["fed_at"]).dt.normalize()
    hot = feeds[(day > on - RECENT_D * _DAY) & (feeds["temperature"] >= season.settings.number("formula_burn_c"))]
    for row in hot.itertuples():
        who = row.who if isinstance(row.who, str) and row.who else "Whoever was fed"
        when = f"{row.fed_at:%H:%M}" if row.fed_at != row.fed_at.normalize() else day_words(row.fed_at)
        yield who, "", f"Food of {row.temperature:.1f} °C is written at {when}: it burns a crop. If it was fed: {VET}"


def _lost(season: Season, on: pd.Timestamp) -> Iterator[Item]:
    """Losses found since yesterday: whoever shared their night is felt first."""
    losses = season.losses[
        (season.losses["chick"] != "") & (season.losses["found_on"].dt.normalize() > on - RECENT_D * _DAY)
    ]
    if len(losses):
        causes = listed(dict.fromkeys(cause for cause in losses["cause"] if cause))
        written = f" As written: {causes}." if causes else ""
        lost = f"{count_words(len(losses), 'chick')} found lost since yesterday: {listed(losses['chick'])}."
        yield "Lost", "", f"{lost}{written} {FEEL}"


def _last_read(season: Season, on: pd.Timestamp) -> pd.DataFrame:
    """The last temperature of each place, of yesterday or today."""
    readings = season.logs["readings"]
    day = pd.to_datetime(readings["read_at"]).dt.normalize()
    recent = readings[readings["temperature"].notna() & (day > on - RECENT_D * _DAY) & (day <= on)]
    recent = recent.sort_values("read_at", kind="stable")
    return recent.assign(name=recent["place"].map(same)).groupby("name", sort=True).tail(1)


def hot_incubators(season: Season, on: pd.Timestamp) -> list[Item]:
    """Incubators with eggs in them that were last read over 39 °C, the hottest first: they do not wait."""
    hot = [one for one in _out_of_range(season, on) if one[0] > OPEN_OVER_C]
    return [item for _, item in sorted(hot, key=lambda one: -one[0])]


def _incubators(season: Season, on: pd.Timestamp) -> Iterator[Item]:
    """Other incubators with eggs in them whose last reading is out of range."""
    yield from (item for celsius, item in _out_of_range(season, on) if celsius <= OPEN_OVER_C)


def _out_of_range(season: Season, on: pd.Timestamp) -> Iterator[tuple[float, Item]]:
    low_c, high_c = (season.settings.number(name) for name in ("incubator_from_c", "incubator_to_c"))
    eggs = season.eggs[season.eggs["outcome"] == "still incubating"]
    inside = eggs.groupby(eggs["incubated_by"].map(same))["egg"].agg(list)
    for row in _last_read(season, on).itertuples():
        said = incubator_said(float(row.temperature), row.read_at, on, low_c, high_c)
        if said and row.name in inside.index:
            held = f"{count_words(len(inside[row.name]), 'egg')} in it"
            yield float(row.temperature), (str(row.place), held, said)


def _brooders(season: Season, nursery: pd.DataFrame, on: pd.Timestamp) -> Iterator[Item]:
    """Brooders whose last reading suits none of the chicks' ages in any published table."""
    ranges = [brooder_range_c(age_d) for age_d in nursery["age_d"].dropna()]
    if not ranges:
        return
    coolest, warmest = (
        min(low for low, _ in ranges) - TABLES_DIFFER_C,
        max(high for _, high in ranges) + TABLES_DIFFER_C,
    )
    for row in _last_read(season, on).itertuples():
        if "brooder" in row.name and not coolest <= row.temperature <= warmest:
            yield (
                str(row.place),
                "",
                f"{row.temperature:.1f} °C when last read, {day_words(row.read_at)}: out of what any table gives for "
                f"these ages. {FEEL}",
            )
