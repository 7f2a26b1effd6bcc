"""The text of a value that a spreadsheet knows as a number, a date or a time."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal

from analysis.logs.sheets import Exact


def as_text(value: float | date | time | timedelta) -> str:
    """A value that a spreadsheet knows, as text; whole seconds, and 15 digits as a spreadsheet shows them.

    Examples
    --------
    >>> as_text(12.0), as_text(0.1 + 0.2), as_text(1e-05), as_text(datetime(2026, 4, 3, 6, 30))
    ('12', '0.3', '0.00001', '2026-04-03 06:30')
    >>> as_text(timedelta(hours=30, minutes=5)), as_text(time(6, 30, 15))
    ('30:05', '06:30:15')
    """
    if isinstance(value, (int, float)):
        return Exact(_number(value))
    if isinstance(value, datetime):
        value = (value + timedelta(milliseconds=500)).replace(microsecond=0)
        smallest = "seconds" if value.second else "minutes"
        day_time = "" if value.time() == time() else " " + value.time().isoformat(smallest)
        return Exact(value.date().isoformat() + day_time)
    if isinstance(value, date):
        return Exact(value.isoformat())
    if isinstance(value, time):
        seconds = round(3600 * value.hour + 60 * value.minute + value.second + value.microsecond / 1e6)
        return clock(seconds % 86400)
    return clock(round(value.total_seconds()))


def clock(seconds: int) -> str:
    """A time of day or a length of time, without seconds where they are 0.

    Examples
    --------
    >>> clock(23400), clock(108300), clock(-5400)
    ('06:30', '30:05', '-01:30')
    """
    minutes, second = divmod(abs(seconds), 60)
    text = f"{minutes // 60:02d}:{minutes % 60:02d}" + (f":{second:02d}" if second else "")
    return f"-{text}" if seconds < 0 else text


def _number(value: float) -> str:
    if value == int(value) and abs(value) < 1e16:
        return str(int(value))
    text = f"{value:.15g}"
    return f"{Decimal(text):f}" if "e" in text and 1e-15 < abs(value) < 1e21 else text
