"""A round laid out for reading: the rows to write on, the eggs, and the CSV to type the weights into."""

from typing import Any, NamedTuple

import pandas as pd

from analysis.chicks.concerns import PAST_PEAK, mass_written
from analysis.chicks.feeding import FIRST_ASK_H
from analysis.chicks.in_the_nursery import age_of
from analysis.day.round import Round
from analysis.eggs.findings import expected_on
from analysis.finding import Words, found
from analysis.names import by_name
from analysis.season import crop_words
from analysis.season.days import MORNING_H

READ, AGAIN, OWN_TOOLS = found("day.mark-read-first"), found("day.mark-weigh-again"), found("day.mark-own-syringe")
NOBODY = found("day.nobody")
_BOUGHT, _PAST = found("day.bought-in"), found("day.past-its-peak")


class _Mass(NamedTuple):
    """How weights in gram are written for a keeper who weighs in this unit."""

    unit: str

    def __call__(self, masses_g: list[float]) -> str:
        """Some weights, one after the other, with their unit."""
        return f"{' · '.join(map(self.number, masses_g))} {self.unit}"

    def number(self, mass_g: float) -> str:
        """One weight without its unit."""
        return mass_written(mass_g, self.unit)


def round_rows(of: Round) -> pd.DataFrame:
    """Return a row a chick in the order of the round, as text and findings.

    place, chick, marks (read first, weigh again, own syringe), about (age, kind, pair), last, since, expected, between
    (weigh again outside), weight and crop (this morning's, blank to write on), give, times.
    """
    columns = ["place", "chick", "marks", "about", "last", "since", "expected", "between"]
    columns += ["weight", "crop", "give", "times"]
    mass = _Mass(of.season.settings["weight_unit"])
    first = {one.about for one in of.reads}
    rows = [_row(chick, of.on, mass, read=chick.chick in first) for chick in of.chicks.itertuples()]
    return pd.DataFrame(rows, columns=columns)


def weights_form(of: Round) -> pd.DataFrame:
    """The chicks without a weight this morning, as the log of weights takes them: weight, crop and notes are blank."""
    open_yet = of.chicks.loc[of.chicks["today_g"].isna(), ["chick"]]
    return open_yet.assign(weighed_at=f"{of.on:%Y-%m-%d}", weight="", crop="", notes="").reset_index(drop=True)


def egg_rows(of: Round) -> pd.DataFrame:
    """Return a row an egg still incubating, as text and findings: egg, where, day, lost, at pip, expected, at_home.

    at_home: whether the egg's name tells already where it is, as it names the pair that sits on it. Eggs of one
    clutch that were not weighed, of one age and expected on the same days, share a row.
    """
    columns = ["egg", "where", "day", "lost", "at pip", "expected", "at_home"]
    eggs = of.eggs.incubating
    if eggs.empty:
        return pd.DataFrame(columns=columns)
    rows = pd.DataFrame([_egg(egg) for egg in eggs.itertuples()], columns=["number", "of", *columns[1:]])
    alike = rows.groupby(["of", *columns[1:]], sort=False)["number"].agg(list).reset_index()
    names: list[Words] = []
    for clutch, numbers in zip(alike["of"], map(by_name, alike["number"]), strict=True):
        one = found("day.eggs", eggs=numbers) if len(numbers) > 1 else str(numbers[0])
        names.append(found("day.eggs-of", of=clutch, eggs=numbers) if clutch else one)
    return alike.assign(egg=pd.Series(names, index=alike.index, dtype=object))[columns]


def _row(chick: Any, on: pd.Timestamp, mass: _Mass, *, read: bool) -> tuple[Any, ...]:
    marks = {READ: read, AGAIN: chick.weigh_again and not read, OWN_TOOLS: chick.own_tools}
    weights = [mass_g for mass_g in (chick.before_g, chick.last_g) if not pd.isna(mass_g)]
    days = [day for day in (chick.before_on, chick.last_on) if not pd.isna(day)]
    about = [age_of(chick, brief=True), chick.species, chick.pair or (_BOUGHT if chick.bought_in else "")]
    return (
        str(chick.place_in_order),
        str(chick.chick),
        [mark for mark, holds in marks.items() if holds],
        found("day.chick", of=about),
        mass(weights) if weights else found("day.none-yet"),
        _days(days, on),
        mass([chick.expected_g]) if not pd.isna(chick.expected_g) else _PAST if chick.by == PAST_PEAK else "",
        _between(chick.low_g, chick.high_g, mass),
        "" if pd.isna(chick.today_g) else mass.number(chick.today_g),
        crop_words(chick.crop or chick.odd_crop) if chick.crop_on == on else "",
        _give(chick),
        _times(chick, on, mass),
    )


def _times(chick: Any, on: pd.Timestamp, mass: _Mass) -> Words:
    """How often, and for which weight the amount is where this morning's is not written."""
    if chick.age_d <= 1 and chick.times and (first := _first_feed(chick, on)):
        return first
    times: Words = chick.times
    yesterdays = not pd.isna(chick.high_ml) and not chick.by_today and times != ""
    return found("day.for-weight", weight=mass([chick.last_g]), times=times) if yesterdays else times


def _first_feed(chick: Any, on: pd.Timestamp) -> Words:
    """No food in the first hours, when they end, and who is past them; "" for one that hatched a day ago and more."""
    if not chick.hatched_at_timed:
        hours = found("day.none-ask-on", hours=FIRST_ASK_H)
        return hours if chick.age_d < 1 else found("day.hour-not-known")
    asked, morning = chick.hatched_at + pd.Timedelta(hours=FIRST_ASK_H), on + pd.Timedelta(hours=MORNING_H)
    if morning < asked:
        return found("day.none-ask-from", at=asked)
    late = morning < asked + pd.Timedelta(hours=FIRST_ASK_H)
    return found("day.ask-now") if late or not chick.age_d >= 1 else ""


def _days(days: list[pd.Timestamp], on: pd.Timestamp) -> Words:
    """The days of the last weighings, the month once: `18, 19 May`."""
    if not days:
        return ""
    same_month = len({(day.year, day.month) for day in days}) == 1
    one_by_one = [
        day.day if same_month and day is not days[-1] else found("day.day", day=day.day, on=day) for day in days
    ]
    gap = (on - days[-1]).days
    return found("day.weighed-on", days=one_by_one, ago=gap if gap > 1 else 0)


def _between(low_g: float, high_g: float, mass: _Mass) -> Words:
    if pd.isna(high_g):
        return ""
    high = mass.number(high_g)
    return found("day.up-to", high=high) if pd.isna(low_g) else f"{mass.number(low_g)}–{high}"


def _give(chick: Any) -> Words:
    if pd.isna(chick.high_ml):
        return found("day.no-amount") if chick.why else ""
    digits = 2 if chick.high_ml < 1 else 1 if chick.high_ml < 10 else 0
    return f"{chick.low_ml:.{digits}f}–{chick.high_ml:.{digits}f} ml"


def _egg(egg: Any) -> tuple[Any, ...]:
    lost = "" if pd.isna(egg.lost) else f"{100 * egg.lost:.1f} %"
    at_pip = "" if pd.isna(egg.at_pip) else f"{100 * egg.at_pip:.0f} % ({100 * egg.low:.0f}–{100 * egg.high:.0f})"
    of_clutch = egg.name != egg.egg
    of = f"{egg.pair}/{egg.clutch}" if of_clutch else ""
    day = "" if pd.isna(egg.day) else f"{egg.day:.0f}"
    where = str(egg.hatcher or egg.incubated_by or egg.cage)
    return str(egg.egg), of, where, day, lost, at_pip, expected_on(egg), of_clutch and where == egg.pair
