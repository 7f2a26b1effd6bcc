"""An egg's last days: its pip held against its other days, its second candling against the first."""

import pandas as pd

from analysis.logs import Ledger, Row
from analysis.season.days import PIP_PAST
from analysis.season.species import pip_hours

_NOON = pd.Timedelta(hours=12)  # practice: a pip without an hour is put at noon
_NEVER_PIPPED = ("clear", "early death", "late death")  # what becomes of an egg before it could pip
_CONTRARY = {("fertile", "clear"), ("clear", "fertile"), ("clear", "dead")}


def with_sound_pip(row: Row, ledger: Ledger) -> Row:
    """A row of hatches without a pip that stands before the egg was laid or set, or after its hatch; that is said."""
    pip = row["pipped_at"]
    if pip is None:
        return row
    for name in ("laid_on", "set_on"):
        if row[name] is not None and pip.normalize() < row[name]:
            return _without_pip(row, ledger, name, "pipped_at")
    hatch, timed = row["hatched_at"], row["pipped_at_timed"] and row["hatched_at_timed"]
    if hatch is not None and (pip > hatch if timed else pip.normalize() > hatch.normalize()):
        return _without_pip(row, ledger, "pipped_at", "hatched_at")
    return row


def _without_pip(row: Row, ledger: Ledger, earlier: str, later: str) -> Row:
    facts = {"earlier": earlier, "later": later}
    ledger.bad_cell("pip-out-of-order", row.place, "pipped_at", f"{row['pipped_at']:%Y-%m-%d %H:%M}", **facts)
    return row.but("pipped_at")


def hatch_by(row: Row, species: str, log: pd.DataFrame) -> pd.Timestamp | None:
    """The moment by which an egg that pipped should be out: `pip_hours` after it; None where none is written.

    `log`: the rows of the species log.
    """
    if row["pipped_at"] is None:
        return None
    since: pd.Timestamp = row["pipped_at"] if row["pipped_at_timed"] else row["pipped_at"] + _NOON
    return since + pd.Timedelta(hours=pip_hours(log, species).high)


def waits_for_hatch(row: Row, by: pd.Timestamp, today: pd.Timestamp | None, ledger: Ledger) -> bool:
    """Tell whether an egg that pipped may still hatch on a day; past its hours it is asked about."""
    over = today is not None and today > by
    if over:
        ledger.say("pipped-and-then", row.place, "outcome", by=by)
    return not (over and today > by + PIP_PAST)


def check_candling(row: Row, ledger: Ledger) -> None:
    """Say what cannot be of a second candling and of a pip."""
    first, second = row["candled"], row["candled_again"]
    if (first, second) in _CONTRARY:
        ledger.say("candled-two-ways", row.place, "candled_again", second)
    if row["pipped_at"] is not None:
        odd = row["outcome"] if row["outcome"] in _NEVER_PIPPED else second if second in ("clear", "dead") else None
        if odd:
            ledger.say("pipped-but-other", row.place, "outcome" if odd == row["outcome"] else "candled_again", odd)
