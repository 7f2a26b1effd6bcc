"""An aviary of another make than `analysis.simulate`: a second truth to hold the pages against.

Every stage of a clutch is beta-binomial; pairs, seasons and each pair's own season move a stage on the logit; some
pairs lay nothing in a season, some are never fertile, eggs are broken or missing, pairs change cages between clutches,
later hatched chicks are lost first and most losses are early. A `World` goes on from season to season with the same
birds. Every number is invented.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from analysis.simulate import write_logs

STAGES = ("fertile", "hatch", "wean")
COUNTED = ("pair", "clutch", "cage", "by", "eggs", "whole", "fertile", "hatched", "weaned", "fails")
LOGS = ("settings", "pairs", "hatches", "losses", "moves", "readings")
INCUBATOR = "incubator A"
CENTRES, SPREADS = np.array([2.0, 1.4, 2.0]), np.array([0.7, 0.6, 0.6])
NEVER = (1.0, 24.0)
EGGS, EGGS_SD, EGGS_RANGE = 4.5, 0.9, (2, 7)
AS_EGGS = 0.6  # of the clutches that fail whole, those that do so in the egg
LAY_D, INCUBATION_D, WEAN_D = 2, (19, 21), (43, 47)
LOST_D, LATEST_LOST_D = 6.0, 40
IN_RANGE_C, SPELLS_C = 37.4, (38.3, 36.2)  # the settings ask for 36.9 to 37.8
MEAN_EGGS = float(np.clip(np.round(np.random.default_rng(0).normal(EGGS, EGGS_SD, 200_000)), *EGGS_RANGE).mean())


@dataclass(frozen=True)
class Ways:
    """What an aviary is made from; spreads and effects are on the logit, the rest are shares.

    `lays_nothing`: pairs, in a season; `rho`: correlation of the eggs or chicks of a clutch at each stage; `fails`:
    clutches that fail whole; `incubator`: clutches that it hatches. True things to be found, none unless they are
    given: `bad_cage` (hatching and weaning in cage C1), `falling` (fertility and hatching of the first hen, from season
    to season), `heat` (hatching of eggs that were in the incubator out of range).
    """

    pairs: int = 12
    spread: float = 1.0  # times SPREADS
    season_sd: float = 0.3
    pair_season_sd: float = 0.3
    rho: float = 0.15
    broken: float = 0.10
    never: float = 0.08
    lays_nothing: float = 0.10
    moves: float = 0.3
    fails: float = 0.0
    incubator: float = 0.0
    bad_cage: float = 0.0
    falling: float = 0.0
    heat: float = 0.0


@dataclass(frozen=True)
class Told:
    """A season as it truly was.

    `clutches`: pair, clutch, cage, by (that incubated), eggs, whole (neither broken nor missing), fertile, hatched,
    weaned, fails ("", "eggs", "chicks"), and the rates fertile_p, hatch_p, wean_p that held, without whole failures.
    `pairs`: by pair its lasting rates in this season (fertile, hatch, wean), never, and weaned, the chicks it gave.
    """

    clutches: pd.DataFrame
    pairs: pd.DataFrame
    logs: dict[str, list[dict[str, Any]]]


def inv_logit(x: Any) -> Any:
    return 1 / (1 + np.exp(-np.asarray(x, float)))


def some_of(n: int, p: float, rho: float, rng: np.random.Generator) -> int:
    """A beta-binomial count: `rho` is how much alike the eggs of one clutch are."""
    if rho and 0 < p < 1:
        p = rng.beta(p * (1 / rho - 1), (1 - p) * (1 / rho - 1))
    return int(rng.binomial(n, p))


class World:
    """Birds that go on from season to season; the same ways and seed give the same seasons."""

    def __init__(self, ways: Ways, seed: int) -> None:
        self.ways, self.rng, self.seasons = ways, np.random.default_rng(seed), 0
        n, rng = ways.pairs, self.rng
        self.cages = [f"C{at + 1}" for at in range(max(2, 3 * n // 4))]
        names = [f"P{at + 1:02d}" for at in range(n)]
        effects = CENTRES + ways.spread * SPREADS * rng.standard_normal((n, 3))
        never = rng.random(n) < ways.never
        self.pairs = pd.DataFrame(effects, index=pd.Index(names, name="pair"), columns=list(STAGES)).assign(
            never=never,
            never_p=rng.beta(*NEVER, n),
            again=rng.uniform(0.15, 0.6, n),
            cage=[self.cages[at % len(self.cages)] for at in range(n)],
        )

    def keep(self, names: list[str]) -> None:
        """Go on with these pairs alone."""
        self.pairs = self.pairs.loc[names]

    def season(self, folder: Path | None, year: int) -> Told:
        """Live through a season, and write its logs where a folder is given."""
        ways, rng = self.ways, self.rng
        logs: dict[str, list[dict[str, Any]]] = {log: [] for log in LOGS}
        names = ";".join(self.pairs.index)
        settings = {"aviary": "Another", "season": str(year), "checked": names}
        logs["settings"] = [{"setting": name, "value": value} for name, value in settings.items()]
        spells = self._readings(year, logs) if ways.incubator else []
        of_season = ways.season_sd * rng.standard_normal(3)
        clutches = [
            self._clutch(row, spells, logs)
            for pair in self.pairs.index
            for row in self._plan(pair, year, of_season, logs)
        ]
        table = pd.DataFrame(clutches, columns=[*COUNTED, *(f"{stage}_p" for stage in STAGES)])
        rates = pd.DataFrame(inv_logit(self.pairs[list(STAGES)] + of_season), self.pairs.index, list(STAGES))
        rates["fertile"] = rates["fertile"].mask(self.pairs["never"], self.pairs["never_p"])
        weaned = table.groupby("pair")["weaned"].sum().reindex(rates.index).fillna(0).astype(int)
        self.seasons += 1
        if folder is not None:
            write_logs(folder, logs)
        return Told(table, rates.assign(never=self.pairs["never"], weaned=weaned), logs)

    def _readings(self, year: int, logs: dict[str, list[dict[str, Any]]]) -> list[tuple[date, date]]:
        """Readings morning and evening, with two spells of one to three days out of range."""
        first = date(year, 2, 1)
        starts = [first + timedelta(days=int(day)) for day in self.rng.integers(25, 110, 2)]
        spells = [(day, day + timedelta(days=int(self.rng.integers(0, 3)))) for day in starts]
        for at in range(150):
            day = first + timedelta(days=at)
            out = [celsius for celsius, (a, b) in zip(SPELLS_C, spells, strict=True) if a <= day <= b]
            for hour in ("08:00", "20:00"):
                celsius = round(float((out or [IN_RANGE_C])[0] + self.rng.normal(0, 0.1)), 1)
                logs["readings"].append({"place": INCUBATOR, "read_at": f"{day} {hour}", "temperature": celsius})
        return spells

    def _plan(
        self, pair: str, year: int, of_season: np.ndarray, logs: dict[str, list[dict[str, Any]]]
    ) -> list[dict[str, Any]]:
        """The clutches of a pair's season, before it is known what becomes of them; where it is goes to the logs."""
        ways, rng, mine = self.ways, self.rng, self.pairs.loc[pair]
        put_up = date(year, 1, 2)
        birds = {"species": "cockatiel", "cock": f"{pair} cock", "hen": f"{pair} hen"}
        logs["pairs"].append({"pair": pair, **birds, "cage": mine["cage"], "put_up_on": put_up})
        effects = mine[list(STAGES)].to_numpy(float) + of_season + ways.pair_season_sd * rng.standard_normal(3)
        if pair == self.pairs.index[0]:
            effects[:2] += ways.falling * self.seasons
        many = 0 if rng.random() < ways.lays_nothing else 1 + rng.binomial(2, mine["again"])
        day, rows = date(year, 2, 1) + timedelta(days=int(rng.integers(0, 45))), []
        for number in range(many):
            if number and rng.random() < ways.moves:
                cage = str(rng.choice(self.cages))
                if cage != self.pairs.loc[pair, "cage"]:
                    logs["moves"].append({"what": pair, "on": day - timedelta(days=8), "to": cage})
                    self.pairs.loc[pair, "cage"] = cage
            eggs = int(np.clip(np.round(rng.normal(EGGS, EGGS_SD)), *EGGS_RANGE))
            cage, by = self.pairs.loc[pair, "cage"], INCUBATOR if rng.random() < ways.incubator else pair
            facts = {"pair": pair, "clutch": str(number + 1), "cage": cage, "by": by, "eggs": eggs, "day": day}
            rows.append(facts | {"effects": effects, "never": bool(mine["never"]), "never_p": float(mine["never_p"])})
            day += timedelta(days=INCUBATION_D[1] + LAY_D * eggs + 18 + int(rng.integers(0, 10)))
        return rows

    def _clutch(
        self, row: dict[str, Any], spells: list[tuple[date, date]], logs: dict[str, list[dict[str, Any]]]
    ) -> dict[str, Any]:
        """What becomes of one clutch, egg by egg."""
        ways, rng = self.ways, self.rng
        effects, day = row.pop("effects").copy(), row.pop("day")
        never, never_p = row.pop("never"), row.pop("never_p")
        sat_from, sat_to = day + timedelta(days=4), day + timedelta(days=INCUBATION_D[0])
        if row["by"] == INCUBATOR:
            effects[1] += ways.heat * any(a <= sat_to and b >= sat_from for a, b in spells)
        elif row["cage"] == self.cages[0]:
            effects[1] += ways.bad_cage
        effects[2] += ways.bad_cage * (row["cage"] == self.cages[0])
        p = inv_logit(effects)
        p[0] = never_p if never else p[0]
        fails = ("eggs" if rng.random() < AS_EGGS else "chicks") if rng.random() < ways.fails else ""
        counts = [some_of(row["eggs"], 1 - ways.broken, ways.rho, rng)]
        for rate in p:
            counts.append(some_of(counts[-1], rate, ways.rho, rng))
        whole, fertile, hatched, weaned = counts
        hatched, weaned = 0 if fails == "eggs" else hatched, 0 if fails else weaned
        died = "abandoned" if fails == "eggs" else "dead in shell"
        fates = [str(rng.choice(["broken", "missing"])) for _ in range(row["eggs"] - whole)]
        fates += ["clear"] * (whole - fertile) + [died] * (fertile - hatched) + ["hatched"] * hatched
        chicks = [self._egg(row, day, at, str(fate), logs) for at, fate in enumerate(rng.permutation(fates))]
        self._rear([chick for chick in chicks if chick], weaned, fails == "chicks", logs)
        done = {"whole": whole, "fertile": fertile, "hatched": hatched, "weaned": weaned, "fails": fails}
        return row | done | {f"{stage}_p": float(rate) for stage, rate in zip(STAGES, p, strict=True)}

    def _egg(
        self, row: dict[str, Any], day: date, at: int, fate: str, logs: dict[str, list[dict[str, Any]]]
    ) -> dict[str, Any] | None:
        """Write one egg; return its row where it hatched."""
        laid = day + timedelta(days=LAY_D * at)
        set_on = max(laid, day + timedelta(days=LAY_D * min(2, row["eggs"] - 1)))
        egg = {"pair": row["pair"], "clutch": row["clutch"], "egg": str(at + 1), "laid_on": laid, "set_on": set_on}
        if fate not in ("broken", "missing"):
            egg |= {"candled": "clear" if fate == "clear" else "fertile", "candled_on": set_on + timedelta(days=7)}
        egg |= {"outcome": fate, "incubated_by": "" if row["by"] == row["pair"] else row["by"]}
        logs["hatches"].append(egg)
        if fate != "hatched":
            return None
        hatched_at = set_on + timedelta(days=int(self.rng.integers(INCUBATION_D[0], INCUBATION_D[1] + 1)))
        egg |= {"hatched_at": hatched_at, "sure_to_days": 1, "chick": f"K{len(logs['hatches']):03d}"}
        egg["reared_by"] = row["pair"] if egg["incubated_by"] else ""
        return egg

    def _rear(
        self, chicks: list[dict[str, Any]], weaned: int, in_a_night: bool, logs: dict[str, list[dict[str, Any]]]
    ) -> None:
        """Wean or lose the chicks of a brood: the later hatched are lost first, as a rule."""
        rng = self.rng
        chicks = sorted(chicks, key=lambda chick: chick["hatched_at"])
        place = 1.0 + np.arange(len(chicks))
        lost = set(rng.choice(len(chicks), len(chicks) - weaned, False, place / place.sum()).tolist() if chicks else [])
        night = chicks[0]["hatched_at"] + timedelta(days=int(rng.integers(3, 16))) if chicks else None
        for at, chick in enumerate(chicks):
            ages = (int(rng.integers(WEAN_D[0], WEAN_D[1] + 1)), 1 + int(rng.exponential(LOST_D)))
            if at not in lost:
                chick["weaned_on"] = chick["hatched_at"] + timedelta(days=ages[0])
                continue
            found = chick["hatched_at"] + timedelta(days=min(ages[1], LATEST_LOST_D))
            found = max(night, chick["hatched_at"]) if in_a_night and night else found
            well = found - timedelta(days=1)
            row = {"chick": chick["chick"], "found_on": found, "cause": "not known"}
            logs["losses"].append(row | ({"last_seen_well_on": well} if well >= chick["hatched_at"] else {}))
