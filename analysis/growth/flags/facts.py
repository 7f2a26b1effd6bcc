"""What was seen, with its facts, of slips, stalls and odd courses; and apart from it what that calls for."""

from typing import Final

import numpy as np

from analysis.finding import Finding, Words, found
from analysis.growth.trade_rule import SAME

# What a flag calls for while its chick is here, which is nobody's to do once it is weaned, lost or gone.
VET: Final = found("growth.vet")
FEED_AGAIN: Final = found("growth.feed-again")
SEE_IT_EATS: Final = found("growth.see-it-eats")
ALL_AGAIN: Final = found("growth.all-again")


def slip(
    written: float, expected: float, at: Finding, other: float | None, *, lost: float | None, told: bool
) -> Finding:
    """A weight that looks mistaken, and what may have been meant; `told`: whether what was expected is said."""
    more = meant(written, expected)
    if other is not None:
        more = found("growth.contradicted", other=other)
    elif lost is not None:
        more = found("growth.would-be-gone", lost=lost)
    code = "growth.slip" if told else "growth.slip-beside"
    return found(code, written=written, expected=expected, at=at, more=more)


def stall(
    written: float, expected: float | None, at: Finding, before: float, since_d: float, *, gained: float
) -> Finding:
    """A chick that has stopped gaining, or loses; `gained`: its weight now as a share of that before, crops empty."""
    code = "growth.stall-lost" if gained < 1 else "growth.stall-little"
    if abs(gained - 1) < SAME:
        code = "growth.stall-none"
    about = None if expected is None else found("growth.gram", mass=expected)
    return found(code, written=written, expected=about, at=at, before=before, since_d=since_d)


def unusual(share: float, age_d: float) -> Finding:
    """A chick that grew on another course."""
    code = "growth.unusual-lighter" if share < 0 else "growth.unusual-heavier"
    return found(code, share=abs(share), age_d=age_d)


def called(told: Finding, call: Words) -> Finding:
    """What was seen and what it calls for, together."""
    return found("growth.called", told.about, told.level, told=told, call=call) if call else told


def meant(written: float, expected: float) -> Finding | None:
    """What may have been meant, where a common slip of the pen makes the weight right."""
    whole = round(written)
    exchanges = 10 <= whole < 1000 and abs(whole - written) < 1e-9
    slips = (
        ("growth.meant-exchanged", float(str(whole)[::-1]) if exchanges else -1.0),
        ("growth.meant-point-on", written * 10),
        ("growth.meant-point-back", written / 10),
        ("growth.meant-ten-less", written - 10),
        ("growth.meant-ten-more", written + 10),
        ("growth.meant-hundred-less", written - 100),
    )
    for code, mass in slips:
        if mass > 0 and abs(np.log(mass / expected)) < 0.06:
            return found(code, mass=mass)
    return None
