"""The season: linked tables of eggs, chicks, weights, losses, pairs and cages on its last day."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Self, TypeVar

import pandas as pd

from analysis.finding import Finding, found
from analysis.guard import on_screen
from analysis.logs import Settings
from analysis.rates import clutch_counts
from analysis.say import say
from analysis.season.days import today
from analysis.season.pairs import counted_chicks
from analysis.season.years import dates_after

T = TypeVar("T")


class InShort:
    """Shown in two lines, on a terminal and in a cell: what it is of, and how much is in it."""

    def __repr__(self) -> str:
        return "\n".join(on_screen(line) for line in self._in_short())

    def _repr_html_(self) -> str:
        from analysis.show.markup import PLAIN, element, escaped

        return element("p", "<br>".join(escaped(line) for line in self._in_short()), class_=PLAIN)

    def _in_short(self) -> tuple[str, str]:
        raise NotImplementedError


@dataclass(frozen=True, repr=False)
class Season(InShort):
    """One breeding season, read from a folder of logs. Frames are tidy: one row a thing, one column a fact.

    Attributes
    ----------
    eggs
        One row an egg: egg, pair, clutch, cage, species, laid_on, set_on, candled_on, fertile ("yes", "no", "unknown"),
        outcome, incubated_by, hatched_at, chick; candled_again ("fertile", "clear", "dead", "not sure" or blank),
        candled_again_on, seen_dead (then, and nobody wrote its outcome), pipped_at, hatch_by (the moment by which one
        that pipped and is still in its shell should be out), hatcher (where it was moved to since it pipped).
    clutches
        One row a clutch that was counted: pair, clutch, cage, species, incubated_by, first_egg_on, eggs, clear,
        died_in_egg, broken_or_gone, hatched, weaned (counts may be missing).
    chicks
        One row a chick: chick, ring, sex and colour as written, egg, pair, clutch, cage, species, hatched_at,
        sure_to_days, reared_by ("hand" where it is reared by hand, in whatever words; else the pair, or the cage of
        one; blank: not known), by_hand (this alone is asked everywhere), rearer_asked (the word in reared_by, or the
        place it was moved to, that no log knows; blank: none), brooder (the last one; blank: not written),
        first_reared_by (who had it on the day of hatch, or first after an incubator), taken_on and taken_why (when and,
        as written, why a pair that had it first had it no longer; missing and blank of all others), arrived_on,
        weaned_on, left_on, lost_on, fate ("weaned", "lost", "left", "being reared"), come_through (of one still being
        reared, or that left: how much of the danger before weaning is behind it, 0 to 1, see `rates.come_through`; of
        any other 0).
    weights
        One row a chick and weighing: chick, weighed_at, age_d (days; the day of hatch is 0), mass_g, crop, together
        (chicks on the scale), notes; then what is known of the chick: pair, clutch, species (blank: not written), kind
        (species and rearing, as "cockatiel, by hand", see `kind_of`), did_well (weaned by the last day), sure_to_days
        (how sure its day of hatch is); then file, row. Chicks weighed together have a row each: mass_g is then their
        mean, `together` how many they were, the rest each chick's own. Such a row is shown, and never fitted.
    crops
        One row a weighing of one chick that is not used, for whatever is wrong with its weight or its day, and whose
        crop is written: chick, weighed_at, crop, odd_crop (another word in its place).
    egg_weights
        One row an egg weighing: egg, pair, clutch, egg_row (its row in `eggs`), weighed_on, day (since it was set),
        mass_g, doubt ("", "gained" or "lost too fast").
    losses
        One row a loss: chick, egg, found_on, last_seen_well_on, age_d, cause, cause_group, event (in words, or blank).
    remarks
        One row a remark and whom it stands beside: who, pair, on, log, text, asked, file, row; see `remarks_frame`.
    pairs, cages
        pair, kind, species, cock, hen, cage, put_up_on, parted_on; and cage, room, notes.
    logs
        The other logs as written and typed, by name; a temperature that was left out for its unit stands beside it,
        see `drop_other_unit_temperatures`; beside a sign, whether any log knows who was seen (known).
    problems, to_do
        file, sheet, row, column, code, severity, value, advice; about: the pair that is meant, blank where none is. And
        what to do about each, in their order: the finding that `advice` says.
    not_used
        file, sheet, row, column (blank: the whole row), cells as written.
    accounting
        log, read, used, not_used; below the logs each file that could not be read, with the lines it seems to have.
    read_as
        What was assumed while reading: where (the file, and the sheet of several; blank: of all), and what.
    understood
        What headings and words that are not ours were read as.
    unread
        The files of which nothing could be read; the account has what they seem to hold.
    last_day, asked_on
        The last day that anything was logged; the day it was opened up to, None where no day was asked for.
    days_written
        One row a day that a column of dates holds: file, sheet, column, day, row (its first). Those later than the day
        that was asked for are among them.
    earlier
        The seasons joined to this one.

    Examples
    --------
    >>> from analysis import open_season
    >>> season = open_season("data_demo/season_2026")
    >>> season
    Alder Lane Aviary, season 2026, to 9 August 2026.
    14 pairs, 29 clutches, 64 chicks, 1665 weighings; 81 problems in the logs.
    >>> season.weights.loc[season.weights["chick"] == "K01", ["age_d", "mass_g"]].head(2).values.tolist()
    [[2.0, 4.9], [4.0, 9.0]]
    """

    folder: Path
    name: str
    last_day: pd.Timestamp | None
    settings: Settings
    eggs: pd.DataFrame
    clutches: pd.DataFrame
    chicks: pd.DataFrame
    weights: pd.DataFrame
    crops: pd.DataFrame
    egg_weights: pd.DataFrame
    losses: pd.DataFrame
    remarks: pd.DataFrame
    pairs: pd.DataFrame
    cages: pd.DataFrame
    logs: Mapping[str, pd.DataFrame]
    problems: pd.DataFrame
    not_used: pd.DataFrame
    accounting: pd.DataFrame
    fingerprint: str
    earlier: tuple["Season", ...] = ()
    read_as: tuple[tuple[str, Finding], ...] = ()
    understood: tuple[Finding, ...] = ()
    unread: tuple[str, ...] = ()
    to_do: tuple[Finding, ...] = ()
    asked_on: pd.Timestamp | None = None
    days_written: pd.DataFrame = field(default_factory=pd.DataFrame)
    _kept: dict[Any, Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    def once(self, what: object, work: Callable[[], T]) -> T:
        """Work something out of this season once, however often it is asked for; kept beside its frames."""
        if what not in self._kept:
            self._kept[what] = work()
        kept: T = self._kept[what]
        return kept

    def _in_short(self) -> tuple[str, str]:
        counts = {"clutches": len(clutch_counts(self.eggs, self.clutches)), "problems": len(self.problems)}
        counts |= {"pairs": len(self.pairs), "chicks": len(self.chicks), "weighings": len(self.weights)}
        return self.title, say("season.holds", **counts)

    @property
    def title(self) -> str:
        """Of which aviary and season it is, and up to which day."""
        aviary = self.aviary if self.aviary != self.name else ""
        return say("season.is-of", aviary=aviary, name=self.name, day=self.as_of)

    @property
    def as_of(self) -> pd.Timestamp | None:
        """The day to which ages are counted: the one that was asked for, else the last day of the logs."""
        return self.asked_on if self.asked_on is not None else self.last_day

    @property
    def day(self) -> pd.Timestamp:
        """The same at midnight; today, where nothing was logged yet."""
        return pd.Timestamp(today() if self.as_of is None else self.as_of).normalize()

    @property
    def ahead(self) -> tuple[Finding, ...]:
        """What is asked about days later than today: for a screen alone, as paper is the same on any day."""
        return dates_after(self.days_written, pd.Timestamp(today())) if len(self.days_written) else ()

    @property
    def assumed(self) -> tuple[Finding, ...]:
        """What was assumed while reading, each with the files of which it holds."""
        alike: dict[Finding, list[str]] = {}
        for where, how in self.read_as:
            alike.setdefault(how, []).append(where)
        return tuple(found("logs.files", files=files, how=how) if files[0] else how for how, files in alike.items())

    @property
    def aviary(self) -> str:
        """The name on the report; the folder's, where the settings give none."""
        return self.settings["aviary"] or self.folder.resolve().name

    @cached_property
    def reared(self) -> pd.DataFrame:
        """What the rate of weaning is worked from: the chicks, and a row for each that was counted and not named."""
        counted = counted_chicks(self.clutches, self.chicks)
        return pd.concat([self.chicks, counted], ignore_index=True) if len(counted) else self.chicks

    @property
    def is_blank(self) -> bool:
        """Whether nothing could be used that a report could be made from."""
        return bool(self.eggs.empty and self.clutches.empty and self.chicks.empty)


@dataclass(frozen=True, repr=False)
class OfSeason(InShort):
    """What is worked out of a season, each part once, when it is asked for."""

    season: Season

    @classmethod
    def of(cls, season: Season) -> Self:
        """Return it for a season; kept with that season, so that it is worked out once."""
        return season.once(cls, lambda: cls(season))
