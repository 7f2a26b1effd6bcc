"""What the record of one pair allows to be said: one word, and the stages it rests on. No rule names a bird guilty."""

from dataclasses import dataclass

import pandas as pd

from analysis.finding import found
from analysis.logs import Settings
from analysis.pairs.record import WEAN

KEEP, WATCH, REST, CHECK = "keep", "watch", "rest", "check first"
RE_PAIR, STOP, NOT_ENOUGH = "re-pair", "stop breeding", "not enough to judge"
ADVICE = {
    KEEP: found("pairs.keep"),
    WATCH: found("pairs.watch"),
    REST: found("pairs.rest"),
    CHECK: found("pairs.check-first"),
    RE_PAIR: found("pairs.re-pair"),
    STOP: found("pairs.stop-breeding"),
    NOT_ENOUGH: found("pairs.not-enough-to-judge"),
}
# The advice that stands, where rules and record give several.
ORDER = (STOP, RE_PAIR, CHECK, REST, NOT_ENOUGH, WATCH, KEEP)
LEAST_TRIED = 6  # eggs or chicks that a stage must have tried before it is judged (practice)


@dataclass(frozen=True)
class Limits:
    """The keeper's thresholds: see the settings of the same names."""

    clutches: int
    eggs: int
    share: float
    sure_to_check: float
    sure_to_part: float

    @classmethod
    def of(cls, settings: Settings) -> "Limits":
        """Read them from the settings."""
        return cls(
            clutches=int(settings.number("enough_clutches")),
            eggs=int(settings.number("enough_eggs")),
            share=settings.number("low_share"),
            sure_to_check=settings.number("sure_to_check"),
            sure_to_part=settings.number("sure_to_part"),
        )


@dataclass(frozen=True)
class Verdict:
    """The word, and the stages (rows of `evidence`) at which the pair is below its kind."""

    advice: str
    low: tuple[str, ...]


def verdict(rows: pd.DataFrame, clutches: int, eggs: int, limits: Limits, *, checked: bool, elsewhere: str) -> Verdict:
    """Say what one pair's record allows to be said.

    Nothing is said of a first clutch, of one clutch at any stage, of fewer eggs than `limits` asks. A pair is asked
    about where both hold at a stage: its counts are under `share` of what is typical of its kind, and it is more than
    `sure_to_check` sure that its rate is below that, everything known of the aviary used. Only a pair that was checked,
    and of whose eggs the same is more than `sure_to_part` sure apart from its place, may be advised to part. How a pair
    rears is no reason to part it: its eggs can be given to others.

    Parameters
    ----------
    rows : the pair's rows of `evidence`
    clutches, eggs : clutches that ended, and eggs whose outcome is known, over all joined seasons
    limits : Limits
    checked : whether the keeper wrote that the pair was checked
    elsewhere : how its birds did with other partners at the low stage: "well", "badly" (both birds) or "" (not known)

    Returns
    -------
    Verdict

    Examples
    --------
    >>> limits = Limits(clutches=2, eggs=8, share=0.6, sure_to_check=0.8, sure_to_part=0.95)
    >>> rows = pd.DataFrame([{"stage": "showed fertile", "worked": 3, "tried": 12, "clutches": 3, "typical": 0.9,
    ...                       "p_low": 0.99, "alone_in": ""}])
    >>> verdict(rows, 3, 12, limits, checked=False, elsewhere="").advice
    'check first'
    >>> verdict(rows, 3, 12, limits, checked=True, elsewhere="").advice
    're-pair'
    >>> verdict(rows, 1, 12, limits, checked=True, elsewhere="").advice
    'not enough to judge'
    """
    if clutches < limits.clutches or eggs < limits.eggs:
        return Verdict(NOT_ENOUGH, ())
    told = rows[(rows["clutches"] >= limits.clutches) & (rows["tried"] >= LEAST_TRIED)]
    lean = told[told["p_low"] >= limits.sure_to_check]
    low = lean[lean["worked"] < limits.share * lean["typical"] * lean["tried"]]
    if low.empty:
        return Verdict(WATCH if len(lean) else KEEP, tuple(lean["stage"]))
    stages = tuple(low["stage"])
    of_eggs = low[(low["stage"] != WEAN) & (low["p_low"] >= limits.sure_to_part) & (low["alone_in"] == "")]
    if not checked or of_eggs.empty:
        return Verdict(CHECK, stages)
    return Verdict(STOP if elsewhere == "badly" else RE_PAIR, stages)


def stands(*advice: str) -> str:
    """Return the advice that stands among several.

    Examples
    --------
    >>> stands(KEEP, REST), stands(CHECK, REST), stands(NOT_ENOUGH, STOP)
    ('rest', 'check first', 'stop breeding')
    """
    return min(advice, key=ORDER.index)
