"""Rates worked out by one process while another draws charts: the command hands them to the kernel it starts.

The heaviest numbers of a report need nothing but the logs, and the command waits while its kernel works. Where nobody
works ahead, or the hand-over fails, the rates are worked out where they are asked for; they are the same.
"""

import os
import pickle
import threading
import time
from pathlib import Path
from typing import Any

from analysis.season import Season

VARIABLE = "SEASON_WORKED_AHEAD"  # the file that the rates will be in, set for the kernel of a report
_LONGEST_S, _LOOK_S = 60.0, 0.01


def key_of(season: Season) -> tuple[Any, ...]:
    """What tells two seasons apart whose rates may differ: their logs, and the day they are looked at.

    Examples
    --------
    >>> from analysis import open_season
    >>> season = open_season("data_demo/season_2026")
    >>> key_of(season) == key_of(open_season("data_demo/season_2026", up_to="2026-05-20"))
    False
    """
    return tuple((one.fingerprint, str(one.last_day)) for one in (season, *season.earlier))


def work_ahead(season: Season, file: Path) -> None:
    """Work out the rates of a season beside whatever else goes on, and put them into a file."""
    threading.Thread(target=_work, args=(season, file), daemon=True).start()


def _work(season: Season, file: Path) -> None:
    from analysis.review.record import read_record, work_out

    waiting = file.with_suffix(".part")
    try:
        rates = work_out(read_record(season).rows)
    except Exception:  # whoever asks for them works them out, and meets what is wrong where it can be said
        rates = None
    try:
        waiting.write_bytes(pickle.dumps((key_of(season), rates)))
        os.replace(waiting, file)
    except OSError:  # the run is over, and its folder gone
        return


def worked_ahead(season: Season) -> Any:
    """The rates that were worked out ahead for this season, waited for; None where there are none."""
    file = os.environ.get(VARIABLE)
    if not file:
        return None
    until = time.monotonic() + _LONGEST_S
    while not Path(file).exists():
        if time.monotonic() > until or not Path(file).parent.is_dir():
            return None
        time.sleep(_LOOK_S)
    key, rates = pickle.loads(Path(file).read_bytes())
    return rates if key == key_of(season) else None
