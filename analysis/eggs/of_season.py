"""The eggs of a season: what each has lost, what it will have lost when it pips, and when it is expected."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import pandas as pd

from analysis.eggs.egg_mass import OwnConstant, own_constant
from analysis.eggs.hatch_days import expected_eggs, how_far
from analysis.eggs.water_advice import advice, advice_for, group_losses, lines_of, water_lines
from analysis.eggs.water_loss import pair_shells, water_loss
from analysis.logs.headings import same
from analysis.say import in_words
from analysis.say.voice import say
from analysis.season import Season
from analysis.season.model import InShort

FRESH_D = 1  # an egg weighed by this day since it was laid, or on the day it was set, is fresh (practice)
HALF_WAY = 0.5  # of the way to pipping that an egg was weighed over, before it says what its place did (practice)
LINES = ["low_line", "high_line", "source"]
_DAY = pd.Timedelta(days=1)
_PIP_BEFORE_H = 48.0  # external pip is 24 to 72 h before hatch, where the kind is not known: a husbandry manual, read


@dataclass(frozen=True, repr=False)
class Eggs(InShort):
    """What the logs say of the eggs of a season, opened up to the end of a day, on that day (at midnight).

    Each part is worked out when it is asked for.
    """

    season: Season
    on: pd.Timestamp

    @classmethod
    def of(cls, season: Season, on: pd.Timestamp | None = None) -> "Eggs":
        """The eggs of a season, worked out once; left out, the day that its ages are counted to."""
        day = on if on is not None else season.day
        return season.once((cls, day), lambda: cls(season, day))

    def _in_short(self) -> tuple[str, str]:
        counts = {"eggs": len(self.season.eggs), "incubating": len(self.incubating)}
        return self.season.title, say("season.eggs-hold", **counts, weighings=len(self.season.egg_weights))

    @cached_property
    def expected(self) -> pd.DataFrame:
        """When each egg is expected to pip and hatch, by the index of `season.eggs`: see `expected_eggs`."""
        return expected_eggs(self.season)

    @cached_property
    def incubating(self) -> pd.DataFrame:
        """The eggs still incubating that did not show clear, the first expected first.

        The rows of `season.eggs` with name (as due has it), where, day (since it was set or laid), the columns of
        `expected_hatch`, state (see `how_far`), and lost, at_pip, low and high where it was weighed.
        """
        eggs = self._laid
        eggs = eggs[(eggs["outcome"] == "still incubating") & (eggs["fertile"] != "no")]
        table = eggs.join(self.expected).assign(
            name=self.names[eggs.index],
            day=((self.on - self._begun[eggs.index]) / _DAY).to_numpy(),
            state=how_far(self.expected.loc[eggs.index], self.on, eggs["hatch_by"]),
        )
        table = table.join(self.loss[["lost", "at_pip", "low", "high"]])
        return table.sort_values(["hatch_low_on", "name"], kind="stable", na_position="last")

    @cached_property
    def names(self) -> pd.Series:
        """How each egg is called: by its number where no other clutch has one of its clutch's, else pair/clutch/egg."""
        eggs = self.season.eggs
        twice = eggs["egg"].map(same).duplicated(keep=False)
        twice = twice.groupby([eggs["pair"], eggs["clutch"]]).transform("any") if len(eggs) else twice
        rows = zip(twice, eggs["egg"], eggs["pair"], eggs["clutch"], strict=True)
        called = [f"{pair}/{clutch}/{egg}" if more else egg for more, egg, pair, clutch in rows]
        return pd.Series(called, index=eggs.index, dtype=object)

    @cached_property
    def loss(self) -> pd.DataFrame:
        """What each weighed egg has lost and will have lost by pipping: the columns of `water_loss`.

        By the index of `season.eggs`, with name, egg, pair, clutch, species, incubated_by, outcome, fertile, group
        (place and species), part (share of the way to pipping on the day; of an egg that is out, 1), low_line,
        high_line and source (see `water_lines`), word and finding.
        """
        table = self.weighings[self.weighings["doubt"] == ""]
        loss = water_loss(table.rename(columns={"egg": "called", "egg_row": "egg"}), pip_d=self._pip_d)
        loss.index = loss.index.astype(int)
        columns = ["egg", "pair", "clutch", "species", "incubated_by", "outcome", "fertile"]
        about = self._laid.loc[loss.index, columns]
        still = about["outcome"] == "still incubating"
        gone = (self.on - self._begun[loss.index]) / _DAY / self._pip_d[loss.index]
        part = gone.clip(0, 1).where(still, 1.0)
        of_species = {species: water_lines(self.season, species) for species in about["species"].unique()}
        written = {species: (low, high, in_words(source)) for species, (low, high, source) in of_species.items()}
        own = [written[species] for species in about["species"]]
        lines = pd.DataFrame(own, index=about.index, columns=LINES)
        advised = [
            advice(row.low, row.at_pip, row.high, part=at, low_line=low, high_line=high, source=source)
            for row, at, (low, high, source) in zip(loss.itertuples(), part, own, strict=True)
        ]
        words = {"word": [one.word for one in advised], "finding": [one.finding for one in advised]}
        groups = table.drop_duplicates("egg_row").set_index("egg_row")["group"]
        about = about.join(loss).join(lines)
        return about.assign(name=self.names[loss.index], group=groups.reindex(loss.index), part=part, **words)

    @cached_property
    def weighings(self) -> pd.DataFrame:
        """Every weighing of an egg whose day of setting is known: as `season.egg_weights`, with group and pip_d."""
        weighed = self.season.egg_weights
        weighed = weighed[weighed["day"] >= 0]  # what it lost before it was set was lost in other air
        eggs = self._laid.loc[weighed["egg_row"].to_numpy(), ["incubated_by", "species"]]
        group = [", ".join(part for part in row if part) for row in eggs.itertuples(index=False)]
        return weighed.assign(group=group, pip_d=self._pip_d.reindex(weighed["egg_row"]).to_numpy())

    @cached_property
    def places(self) -> pd.DataFrame:
        """What the eggs of each place ask of its humidity, of those still incubating: see `advice_for`."""
        sitting = (self.loss["outcome"] == "still incubating") & (self.loss["fertile"] != "no")
        sitting &= self.season.eggs.loc[self.loss.index, "pipped_at"].isna()  # a pip ends what the air can do
        loss = self.loss[sitting & (self.loss["incubated_by"] != "")]
        loss = loss.set_index("name")
        lines = {name: loss.pop(name) for name in LINES}
        return advice_for(loss, loss["incubated_by"], part=loss["part"], **lines)

    @cached_property
    def past_places(self) -> pd.DataFrame:
        """What the eggs of each place that are out have lost by pipping: name, eggs, at_pip, low, high, lines.

        Of those that were weighed over half the way: what broke early had lost next to nothing.
        """
        loss = self.loss[(self.loss["outcome"] != "still incubating") & (self.loss["fertile"] != "no")]
        loss = loss[loss["last_d"] >= HALF_WAY * self._pip_d[loss.index]]
        loss = loss[loss["incubated_by"] != ""]
        table = group_losses(loss, loss["incubated_by"])
        lines = [lines_of(loss.loc[loss["incubated_by"] == name, LINES]) for name in table["name"]]
        return table.assign(lines=pd.Series(lines, index=table.index, dtype=object))

    @cached_property
    def shells(self) -> pd.DataFrame:
        """Pairs whose eggs lose more, or less, than those beside them, clutch after clutch: see `pair_shells`."""
        return pair_shells(self.loss)

    @cached_property
    def constants(self) -> dict[str, OwnConstant]:
        """The constant of fresh mass of each species that has enough fresh eggs, weighed and measured."""
        eggs, weighed = self.season.eggs, self.season.egg_weights
        since = (weighed["weighed_on"] - eggs.loc[weighed["egg_row"], "laid_on"].to_numpy()).dt.days
        fresh = weighed[((since <= FRESH_D) | (weighed["day"] == 0)) & (weighed["doubt"] == "")]
        fresh = fresh.drop_duplicates("egg_row")
        sizes = eggs.loc[fresh["egg_row"].to_numpy(), ["species", "length_mm", "breadth_mm"]]
        table = sizes.assign(fresh_g=fresh["mass_g"].to_numpy())
        constants = {str(species): own_constant(own) for species, own in table.groupby("species") if species}
        return {species: one for species, one in constants.items() if one is not None}

    @cached_property
    def _laid(self) -> pd.DataFrame:
        """The eggs, each place written one way: as it was first."""
        eggs = self.season.eggs
        first: dict[str, str] = {}
        return eggs.assign(incubated_by=[first.setdefault(same(place), place) for place in eggs["incubated_by"]])

    @cached_property
    def _begun(self) -> pd.Series:
        eggs = self.season.eggs
        return eggs["set_on"].fillna(eggs["laid_on"]).dt.normalize()

    @cached_property
    def _pip_d(self) -> pd.Series:
        """The day of external pip, days since each egg was set: as written; else the middle of those it is expected on.

        Of one that hatched, the usual hours before.
        """
        low, high = (self.expected[f"external_{end}_on"] for end in ("low", "high"))
        before_h = self.expected[["pip_from_h", "pip_to_h"]].mean(axis=1).fillna(_PIP_BEFORE_H)
        hatched = self.season.eggs["hatched_at"].dt.normalize() - pd.to_timedelta(before_h, unit="h")
        pipped = self.season.eggs["pipped_at"].dt.normalize()
        days = (pipped.fillna(hatched).fillna(low + (high - low) / 2) - self._begun) / _DAY
        return days.where(days > 0, np.nan)
