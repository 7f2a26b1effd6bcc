"""The weighings of a season beside their kind, worked out once; where each chick stands, and what is said of it."""

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from analysis import growth
from analysis.finding import Finding, found
from analysis.growth.as_arrays import SURE_D
from analysis.growth.flags.find import ODD
from analysis.growth.flags.judge import LIGHT as A_FIFTH
from analysis.growth.flags.kinds import beside
from analysis.say import in_words
from analysis.say.voice import say
from analysis.season import NOT_WRITTEN, Season, join_seasons, kind_words, seasons_by_name, unaccounted_chicks
from analysis.season.model import OfSeason
from analysis.words import grams

GUESSED, NO_CURVE, TOO_LITTLE = "guessed", "no-curve", "too-little"
LIGHT, SMALL, LIGHTER, EVEN, HEAVIER = "light", "small", "lighter", "even", "heavier"
# Lighter by this and more, and not off the curve: small, and said to be growing (ours); its shape is as the others'
# where a healthy chick departs as far more often than this (ours), by so many weighings.
SMALL_BY, LIKE_THEM, ENOUGH = 0.10, 0.05, 5
EVEN_BY = 0.02  # nobody sees two in a hundred on a kitchen scale (ours)
LOWER = 0.05  # the lower line of a kind: a twentieth of the chicks that did well stay below it
CURVE = "logistic"
_FLAGS = ("chick", "age_d", "flag", "size", "level", "r", "sentence", "told", "call", "kind", "day")
_DRAWN = 20  # ages at which a reference is drawn


@dataclass(frozen=True, repr=False)
class Chicks(OfSeason):
    """The weighings of a season beside those of the seasons joined to it, kind by kind; worked out when asked for.

    A kind is a species and a way of rearing, such as "cockatiel, by hand" (see `kind_of`). Chicks of earlier seasons
    bear the season's name: "K05 (2025)".
    """

    def _in_short(self) -> tuple[str, str]:
        counts = {"chicks": self.weights["chick"].nunique(), "kinds": self.weights["kind"].nunique()}
        said = say("season.chicks-hold", **counts, weighings=len(self.weights), here=len(self.here))
        return self.season.title, said

    @cached_property
    def weights(self) -> pd.DataFrame:
        """One row a weighing of this season that can be judged: see `weighings`."""
        return weighings(self.season)

    @cached_property
    def joined(self) -> pd.DataFrame:
        """The same with those of the earlier seasons."""
        birds = join_seasons(self.season)
        earlier = [
            birds.rename(rows, name).assign(season=name)
            for name, one in reversed(seasons_by_name(self.season).items())
            if one is not self.season and len(rows := weighings(one))
        ]
        return pd.concat([self.weights, *earlier], ignore_index=True)

    @cached_property
    def watch(self) -> growth.Watch:
        """All kinds looked at together."""
        return growth.watch({str(kind): rows for kind, rows in self.joined.groupby("kind", sort=True)})

    @cached_property
    def kinds(self) -> dict[str, Finding]:
        """What each kind of this season's chicks is called."""
        return kind_words(self.season.chicks)

    def with_kinds(self, frame: pd.DataFrame) -> pd.DataFrame:
        """A frame to be drawn, each kind in its column as it is called."""
        words = {kind: in_words(said) for kind, said in self.kinds.items()}
        return frame.assign(kind=frame["kind"].replace(words))

    @cached_property
    def flags(self) -> pd.DataFrame:
        """Flags of this season's chicks, looking back: kind, day, and the columns of `find_flags`."""
        return self._of_this_season(self.watch.back)

    @cached_property
    def raised(self) -> pd.DataFrame:
        """The same at the weighing that first raised each."""
        return self._of_this_season(self.watch.live)

    @cached_property
    def standing(self) -> pd.DataFrame:
        """How each of this season's chicks stands among its kind, where enough did well to say."""
        return self.watch.standing[self.watch.standing["chick"].isin(self.weights["chick"])]

    @cached_property
    def beside(self) -> pd.DataFrame:
        """How far each weighing of this season's chicks stands from the typical chick: chick, age_d, share."""
        parts = [beside(known) for known in self.watch.kinds.values()]
        table = pd.concat(parts) if parts else pd.DataFrame(columns=["chick", "age_d", "share"])
        return table[table["chick"].isin(self.weights["chick"])]

    @cached_property
    def here(self) -> set[str]:
        """Chicks that are still being reared, as far as anything was written of them lately."""
        season, chicks = self.season, self.season.chicks
        gone = unaccounted_chicks(season, season.as_of)["chick"] if season.as_of is not None else ()
        return set(chicks.loc[chicks["fate"] == "being reared", "chick"]) - set(gone)

    @cached_property
    def places(self) -> pd.DataFrame:
        """Where each of this season's weighed chicks stands beside its kind, by chick.

        code: guessed (its age), no-curve (too few of its kind did well), too-little (weighed); light (by a fifth and
        more) and small (and growing as they do) of chicks that are not flagged for it; else lighter, even (within 2 %)
        or heavier, by all its weights up to its peak; share: by how much; n: weighings; age_d and mass_g of its last
        weighing up to its peak, none of a morning on which the scale was off, and low_g, the lower line of its kind
        there (NaN where none is drawn); below: whether it lies below that; past_peak: whether it began to fall since.
        """
        weights, peaks = self.weights.sort_values("weighed_at", kind="stable"), self.watch.peaks
        named = {"kind": ("kind", "first"), "sure": ("sure_to_days", "first"), "n": ("mass_g", "size")}
        off = [pd.Timestamp(one.day, unit="D") for one in self.watch.mornings if one.sure]
        past = weights["age_d"] > weights["chick"].map(peaks.to_dict()).astype(float)
        good = weights[~weights["weighed_at"].dt.normalize().isin(off) & ~past]
        table = weights.groupby("chick").agg(**named).join(good.groupby("chick")[["age_d", "mass_g"]].last())
        table["past_peak"] = table.index.isin(peaks.index)
        table = table.join(self.standing.set_index("chick")[["share", "shape_p"]])
        table["low_g"] = np.nan
        for kind, own in table.dropna(subset="age_d").groupby("kind"):
            if self.watch.kinds[str(kind)].enough:
                drawn = self.references[str(kind)].centiles(sorted(own["age_d"].unique()))
                low = drawn[drawn["share"] == LOWER].set_index("age_d")["mass_g"]
                table.loc[own.index, "low_g"] = own["age_d"].map(low).astype(float)
        table["code"] = _codes(self, table)
        known = ~table["code"].isin((GUESSED, NO_CURVE, TOO_LITTLE))
        below = known & (table["mass_g"] < table["low_g"])
        return table.assign(below=below).reset_index().set_index("chick", drop=False)

    @cached_property
    def references(self) -> dict[str, growth.Reference]:
        """The reference curve of each kind."""
        curves = {}
        for kind, known in self.watch.kinds.items():
            back = self.watch.back[kind]
            odd = back["chick"][back["flag"].isin(ODD)].unique()
            curves[kind] = growth.reference_curve(self._clean(kind), left_out=odd, curve=known.curve)
        return curves

    @cached_property
    def reference(self) -> pd.DataFrame:
        """Centiles to draw: kind, age_d, share, mass_g, mass_low_g, mass_high_g."""
        parts = []
        for kind, reference in self.references.items():
            ages = self.weights.loc[self.weights["kind"] == kind, "age_d"]
            if reference.fit is not None and len(ages):
                drawn = reference.centiles(np.linspace(ages.min(), ages.max(), _DRAWN))
                parts.append(drawn.assign(kind=kind))
        columns = ["kind", "age_d", "share", "mass_g", "mass_low_g", "mass_high_g"]
        return pd.concat(parts)[columns] if parts else pd.DataFrame(columns=columns)

    @cached_property
    def pairs(self) -> dict[str, growth.PairGrowth]:
        """Growth of pairs, by species: by hand and by parents apart, whichever has more chicks."""
        by_species = {}
        for species, rows in self.joined.groupby("species", sort=True):
            kind = str(rows.groupby("kind")["chick"].nunique().idxmax())
            if self.watch.kinds[kind].enough:
                by_species[str(species)] = growth.pairs_of(self._clean(kind), *self.watch.own(kind))
        return by_species

    @cached_property
    def expected(self) -> pd.DataFrame:
        """What each chick of this season should weigh a day after its last weighing: see `expected_next`."""
        parts = [growth.expected_next(known) for known in self.watch.kinds.values()]
        table = pd.concat([part for part in parts if len(part)] or parts[:1] or [pd.DataFrame(columns=["chick"])])
        return table[table["chick"].isin(self.weights["chick"])].set_index("chick")

    def on_course(self, chick: str) -> bool:
        """Whether a chick's last weighing lay where it was expected."""
        return chick in self.expected.index and bool(self.expected.loc[chick, "on_course"])

    @cached_property
    def rule(self) -> pd.DataFrame:
        """The trade's rule on this season's chicks, up to the peak, by the first weight a day with an empty crop."""
        empty = self.weights[~self.weights["crop"].isin(("part", "full"))]
        return growth.trade_rule(first_of_day(empty), until=self.watch.peaks)

    @cached_property
    def chicks(self) -> pd.DataFrame:
        """One row a chick of this season, with its own fit up to the peak.

        chick, kind, n, last_age_d, last_g, peak_g (where it fell since), fall, A_g, ti_d, t10_90_d, max_gain_g_per_d,
        why (blank where the fit can be shown).
        """
        fits, peaks = self._fits
        last = self.weights.sort_values("age_d", kind="stable").groupby("chick").last()
        last = last[["kind", "age_d", "mass_g"]].set_axis(["kind", "last_age_d", "last_g"], axis=1)
        chicks = peaks.set_index("chick")[["peak_g", "peak_age_d", "fall"]].join(last)
        chicks = chicks.join(fits[["A_g", "ti_d", "t10_90_d", "max_gain_g_per_d", "n", "why"]])
        n = self.weights.groupby("chick").size().reindex(chicks.index)
        return chicks.assign(peak_g=chicks["peak_g"].where(chicks["fall"] > 0), n=n).reset_index()

    @cached_property
    def curves(self) -> pd.DataFrame:
        """The curves fitted to each chick alone, to draw: chick, age_d, mass_g."""
        fits, _ = self._fits
        shown = fits[fits["why"] == ""]
        ages = range(int(self.weights["age_d"].max()) + 1) if len(self.weights) else range(0)
        curves = growth.predict(shown, ages, curve=CURVE)
        ends = growth.up_to_peak(self.weights)[0].groupby("chick")["age_d"].agg(["min", "max"])
        inside = curves["age_d"].between(curves["chick"].map(ends["min"]), curves["chick"].map(ends["max"]))
        return curves[inside].reset_index(drop=True)

    @cached_property
    def _fits(self) -> tuple[pd.DataFrame, pd.DataFrame]:
        clean = [rows[rows["chick"].isin(self.weights["chick"])] for rows in self.watch.clean.values()]
        rising, peaks = growth.up_to_peak(pd.concat(clean, ignore_index=True) if clean else self.weights)
        return growth.presentable(growth.fit_each(rising, curve=CURVE)), peaks

    def _clean(self, kind: str) -> pd.DataFrame:
        """Weighings of a kind that were looked through: mistakes left out, crop taken off."""
        columns = ["did_well", "pair", "hatch_order", "season"]
        about, clean = self.joined.drop_duplicates("chick").set_index("chick"), self.watch.clean[kind]
        return clean.assign(**{name: clean["chick"].map(about[name]) for name in columns})

    def _of_this_season(self, flags: dict[str, pd.DataFrame]) -> pd.DataFrame:
        parts = [raised.assign(kind=kind) for kind, raised in flags.items() if len(raised)]
        if not parts:
            return pd.DataFrame({name: pd.Series(dtype=object) for name in _FLAGS}).astype({"day": "datetime64[ns]"})
        table = pd.concat(parts, ignore_index=True)
        table = table[table["chick"].isin(self.weights["chick"])].reset_index(drop=True)
        hatched = self.season.chicks.set_index("chick")["hatched_at"].dt.normalize()
        days = [hatched[f.chick] + pd.Timedelta(days=round(float(f.age_d))) for f in table.itertuples()]
        return table.assign(day=pd.Series(days, index=table.index, dtype="datetime64[ns]"))


def first_of_day(weights: pd.DataFrame) -> pd.DataFrame:
    """The first weighing of each chick on each `day`, by time."""
    weights = weights.sort_values("weighed_at", kind="stable")
    return weights.assign(day=weights["weighed_at"].dt.normalize()).drop_duplicates(["chick", "day"])


def weighings(season: Season) -> pd.DataFrame:
    """Weighings of chicks of known age, each on the scale alone, with what is known of the chick.

    chick, kind, age_d, mass_g, weighed_at, crop, pair, clutch, species, did_well, sure_to_days, hatch_order, season.
    """
    alone = season.weights[(season.weights["together"] == 1) & season.weights["age_d"].notna()]
    about = season.chicks.set_index("chick")
    order = season.chicks.groupby(["pair", "clutch"])["hatched_at"].rank(method="min").set_axis(season.chicks["chick"])
    order = order.where(about["pair"] != "")
    rows = alone.drop(columns=["together", "file", "row"])
    return rows.assign(
        pair=rows["pair"].replace("", None),
        species=rows["species"].replace("", NOT_WRITTEN),
        hatch_order=rows["chick"].map(order),
        season=season.name,
    ).reset_index(drop=True)


def _codes(of: Chicks, table: pd.DataFrame) -> np.ndarray:
    enough = table["kind"].map({kind: known.enough for kind, known in of.watch.kinds.items()}).astype(bool)
    flagged = table.index.isin(of.flags.loc[of.flags["flag"].isin(ODD), "chick"])
    share, as_they_do = table["share"], (table["n"] >= ENOUGH) & (table["shape_p"] > LIKE_THEM)
    cases = {
        GUESSED: table["sure"] > SURE_D,
        NO_CURVE: ~enough,
        TOO_LITTLE: share.isna(),
        LIGHT: (share <= A_FIFTH - 1) & ~flagged,
        SMALL: share.between(A_FIFTH - 1, -SMALL_BY, inclusive="right") & as_they_do & ~flagged,
        EVEN: share.abs() < EVEN_BY,
        LIGHTER: share < 0,
    }
    return np.select([holds.to_numpy(bool) for holds in cases.values()], list(cases), HEAVIER)


def place_beside_kind(one: Any) -> Finding:
    """Say where a chick stands; `one`: its row of `Chicks.places`. Below the lower line nothing else is said of it."""
    if one.code == GUESSED:
        return found("chicks.beside-guessed")
    if one.code == NO_CURVE:
        return found("chicks.beside-no-curve")
    if one.code == TOO_LITTLE:
        return found("chicks.beside-weighed-once" if one.n == 1 else "chicks.beside-little-used")
    if one.below and one.code in (LIGHT, SMALL, LIGHTER):
        return found("chicks.beside-lighter-below", share=-one.share, below=below_lower_line(one))
    if one.below:
        return found("chicks.beside-below", below=below_lower_line(one))
    if one.code != EVEN:
        return found("chicks.beside-heavier" if one.share > 0 else "chicks.beside-lighter", share=abs(one.share))
    return found("chicks.beside-even-to-peak", share=EVEN_BY) if one.past_peak else found("chicks.beside-even")


def below_lower_line(one: Any) -> Finding:
    """Say, inside a sentence, that its last weight or that at its peak lies below the lower line of its kind."""
    code = "chicks.mass-tenths" if grams(one.mass_g) == grams(one.low_g) else "chicks.mass"
    mass, low = (found(code, mass=float(mass_g)) for mass_g in (one.mass_g, one.low_g))
    return found("chicks.below-at-peak" if one.past_peak else "chicks.below-last", mass=mass, low=low, age_d=one.age_d)
