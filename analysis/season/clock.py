"""What day it is: the one place that asks this machine's clock, so that a test can set it."""

from datetime import date, datetime

read_clock = datetime.now


def now() -> datetime:
    """The day and the time, as this machine has them."""
    return read_clock()


def today() -> date:
    """The day, as this machine has it.

    Examples
    --------
    >>> today() == now().date()
    True
    """
    return now().date()
