"""How the birds of a pair did with others, by the rates of all clutches; it never proves anything of a bird."""

from collections.abc import Collection

import numpy as np

from analysis.finding import Finding, Rates, found
from analysis.logs.headings import same
from analysis.pairs.limits import Limits
from analysis.pairs.record import FERTILE, HATCH, Array, Record

_ELSEWHERE = {FERTILE: "pairs.fertile-elsewhere", HATCH: "pairs.hatch-elsewhere"}


def how_with_others(record: Record, pair: str, limits: Limits) -> str:
    """How the birds of a pair did with others: "well", "badly" (both did) or "" (not known).

    Well: one of them is more than `sure_to_check` sure to have done with its other partners at least `share` of what is
    usual, on as many eggs as a verdict takes. Badly: both of them had other partners, on as many eggs, and are as sure
    to have been below that with them. What is set aside is in neither.
    """
    did = _with_others(record, pair, limits)
    return "well" if "well" in did.values() else "badly" if set(did.values()) == {"badly"} else ""


def in_question(record: Record, pair: str, limits: Limits) -> Finding | None:
    """Which bird is put in question by what its partner did with others; it never proves anything."""
    well = {sex for sex, did in _with_others(record, pair, limits).items() if did == "well"}
    birds = record.season.pairs.set_index("pair").loc[pair]
    if well == {"hen"}:
        return found("pairs.cock-in-question", about=pair, cock=str(birds["cock"]))
    return found("pairs.hen-in-question", about=pair, hen=str(birds["hen"])) if well == {"cock"} else None


def birds_elsewhere(record: Record, pair: str) -> list[Finding]:
    """What is likely of the eggs of a pair's cock, and of its hen, with all their other partners together.

    From the rates of all clutches, as the verdict takes them: the fewer eggs, the nearer to what is typical. A bird
    whose eggs with others are not known is left out; of a trio or colony nothing is told.
    """
    birds, told = record.season.pairs.set_index("pair").loc[pair], []
    cock, hen = (str(birds[sex]) if birds["kind"] == "pair" else "" for sex in ("cock", "hen"))
    for bird, mate in ((cock, hen), (hen, cock)):
        stages = [_likely_elsewhere(record, stage, _elsewhere(record, bird, mate)) for stage in (FERTILE, HATCH)]
        if likely := [one for one in stages if one]:
            told.append(found("pairs.bird-elsewhere", about=pair, bird=bird, mate=mate, stages=likely))
    return told


def _likely_elsewhere(record: Record, stage: str, pairs: set[str]) -> Finding | None:
    tried, own, usual = _beside_usual(record, stage, pairs)
    if not tried:
        return None
    likely, rates = Rates(*np.quantile(own, [0.025, 0.975])), {"mean": own.mean(), "typical": usual.mean()}
    return found(_ELSEWHERE[stage], tried=tried, likely=likely, **rates)


def _elsewhere(record: Record, bird: str, but_not: str) -> set[str]:
    """The pairs, by their names among the joined seasons, in which a bird had another partner."""
    table = record.partners
    others = table[(table["bird"].map(same) == same(bird)) & (table["partner"].map(same) != same(but_not))]
    return set(others["pair"]) if bird else set()


def _with_others(record: Record, pair: str, limits: Limits) -> dict[str, str]:
    birds = record.season.pairs.set_index("pair").loc[pair]
    cock, hen = str(birds["cock"]), str(birds["hen"])
    return {"cock": _did(record, cock, hen, limits), "hen": _did(record, hen, cock, limits)}


def _did(record: Record, bird: str, but_not: str, limits: Limits) -> str:
    """How the eggs of a bird's other pairings did at every stage that has enough of them."""
    answers, others = [], _elsewhere(record, bird, but_not)
    for stage in (FERTILE, HATCH):
        tried, own, usual = _beside_usual(record, stage, others)
        if tried >= limits.eggs:
            sure = float((own >= limits.share * usual).mean())
            well, badly = sure >= limits.sure_to_check, 1 - sure >= limits.sure_to_check
            answers.append("well" if well else "badly" if badly else "")
    return "badly" if "badly" in answers else "well" if answers and set(answers) == {"well"} else ""


def _beside_usual(record: Record, stage: str, pairs: Collection[str]) -> tuple[int, Array, Array]:
    """How some pairs together did at a stage beside what is usual, without what is set aside.

    Returns what they tried; draws of their rate, each pair and kind as often as it tried; and the same draws of what is
    typical of these kinds. Without draws where they tried nothing.
    """
    rows = record.rows[stage]
    tried = rows[rows["pair"].isin(list(pairs)) & (rows["tried"] > 0)].groupby(["pair", "kind"])["tried"].sum()
    if tried.empty:
        return 0, np.array([]), np.array([])
    shares = [(share, str(pair), str(kind)) for (pair, kind), share in (tried / tried.sum()).items()]
    own = np.sum([share * record.draws(stage, pair=pair, kind=kind) for share, pair, kind in shares], axis=0)
    usual = np.sum([share * record.draws(stage, kind=kind) for share, _, kind in shares], axis=0)
    return int(tried.sum()), own, usual
