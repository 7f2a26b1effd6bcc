"""Dates as keepers write them: ISO, day or month first, month names in five languages, a spreadsheet's day numbers."""

import re
import unicodedata
from collections.abc import Iterable, Sequence
from datetime import date

import pandas as pd

from analysis.logs.cells import BadCell, refuse_broken

_NAMES = (
    "jan|january|januar|janner|jaenner|janvier|janv|ene|enero|januari",
    "feb|february|februar|fevrier|fevr|fev|febrero|februari",
    "mar|march|marz|maerz|mrz|mars|marzo|maart|mrt",
    "apr|april|avril|avr|abr|abril",
    "may|mai|mayo|mei",
    "jun|june|juni|juin|junio",
    "jul|july|juli|juillet|juil|julio",
    "aug|august|aout|ago|agosto|augustus",
    "sep|sept|september|septembre|septiembre|setiembre",
    "oct|october|oktober|okt|octobre|octubre",
    "nov|november|novembre|noviembre",
    "dec|december|dezember|dez|decembre|dic|diciembre",
)
MONTHS = {name: month for month, names in enumerate(_NAMES, start=1) for name in names.split("|")}

_DAYS = (
    "mon|tue|wed|thu|fri|sat|sun|mo|di|mi|do|fr|sa|so|lun|mar|mer|jeu|ven|sam|dim|mie|jue|vie|sab|dom|ma|wo|vr|za|zo"
    "|tues|thur|thurs|(?:mon|tues|wednes|thurs|fri|satur|sun)day"
    "|(?:mon|diens|donners|frei|sams|sonn)tag|mittwoch|sonnabend"
    "|lundi|mardi|mercredi|jeudi|vendredi|samedi|dimanche|lunes|martes|miercoles|jueves|viernes|sabado|domingo"
    "|maandag|dinsdag|woensdag|donderdag|vrijdag|zaterdag|zondag"
)
_ISO = re.compile(r"(\d{4})-(\d{2})-(\d{2})(?:[T ](\d{2}):(\d{2})(?::(\d{2}))?)?")
_IS_NUMBER = re.compile(r"\d+([.,]\d+)?")
_WEEKDAY = re.compile(rf"(?:{_DAYS})\b[.,]?\s+(?=\d|[a-z])")
_TIME = re.compile(
    r"(?:^|[t ,]\s*|\s+(?:at|um|a|om)\s+)(\d{1,2})(?:[:h.](\d{2})(?:[:.](\d{2})(?:[.,]\d+)?)?|h|(?=\s*[ap]\.?m))"
    r"\s*([ap])?(?:\.?m\.?)?\s*(?:uhr|hrs?|h|uur)?(?:z|[+-]\d{2}:?\d{2})?$"
)
# "3 h" may be a length of time as well, and is no hour.
_HOUR = re.compile(
    r"(?:(?:at|um|a|om)\s+)?(\d{1,2})(?:[:h.](\d{2})(?::\d{2})?)?\s*([ap])?(?:\.?m\.?)?\s*(uhr|uur|hrs?|h)?"
)
_YEAR_FIRST = re.compile(r"(\d{4})([-/. ])(\d{1,2})\2(\d{1,2})")
_BASIC = re.compile(r"((?:19|20)\d{2})(\d{2})(\d{2})")
_THREE = re.compile(r"(\d{1,2})\s*([-/.])\s*(\d{1,2})\s*\2\s*(\d{4}|\d{2})\.?")
_TWO = re.compile(r"(\d{1,2})\s*([-/.])\s*(\d{1,2})(\.?)")
_DAY_NAME = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th|er|\.|º)?[\s\-/.]*(?:de\s+|of\s+)?([a-z]+)\.?(?:[\s\-/.,]*(?:de\s+|del\s+)?(\d{4}|\d{2}))?"
)
_NAME_DAY = re.compile(r"([a-z]+)\.?[\s\-/.]*(\d{1,2})(?:st|nd|rd|th)?(?:[\s\-/.,]+(\d{4}|\d{2}))?")
_SERIAL = re.compile(r"(\d{5})(?:\.(\d+))?")
_FIRST_SERIAL, _LAST_SERIAL = 32874, 73051  # 1990-01-01 to 2100-01-01, counted from 1899-12-30 (ECMA-376, 18.17.4)
_SERIAL_ZERO = pd.Timestamp(1899, 12, 30)

DAY_FIRST, MONTH_FIRST, YEAR_FIRST = "day-month", "month-day", "year-month"
_PARTS = {"d": "d", "t": "d", "j": "d", "m": "m", "y": "y", "a": "y"} | {
    word: part
    for part, words in {
        "d": "day|days|tag|tage|jour|dia|dag|european|uk|british",
        "m": "month|months|monat|mois|mes|maand|us|usa|american",
        "y": "year|years|jahr|annee|an|ano|jaar|iso",
    }.items()
    for word in words.split("|")
}
_ORDERS = {"d": DAY_FIRST, "dm": DAY_FIRST, "m": MONTH_FIRST, "md": MONTH_FIRST, "y": YEAR_FIRST, "ym": YEAR_FIRST}
_ORDER_WORD = re.compile(r"[a-z]+")


def read_moment(text: str, order: str = "", year: int | None = None) -> tuple[pd.Timestamp, bool]:
    """Read a date, or a date and time; also return whether the time of day was written.

    ISO dates, month names, and dates with dots (day first) read one way only. `order` is how 3/4/26 reads in this file,
    blank where nothing tells; `year` that of a date written without one. Raises `BadCell`.
    """
    iso = _ISO.fullmatch(text)
    if iso:
        return _stamp([int(part or 0) for part in iso.groups()]), iso[4] is not None
    refuse_broken(text)
    plain = _plain(text)
    serial = _SERIAL.fullmatch(plain)
    if serial and _FIRST_SERIAL <= int(serial[1]) < _LAST_SERIAL:
        moment = (_SERIAL_ZERO + pd.Timedelta(days=float(plain))).round("s")
        return moment, serial[2] is not None and moment != moment.normalize()
    without = _WEEKDAY.sub("", plain, count=1) if plain[:1].isalpha() else plain
    try:
        return _of_text(plain, order, year)
    except BadCell as bad:  # "mar" is a month in some languages and a day of the week in others
        if str(bad) != "unreadable-date" or without == plain:
            raise
    return _of_text(without, order, year)


def _of_text(plain: str, order: str, year: int | None) -> tuple[pd.Timestamp, bool]:
    try:
        return _stamp(_day_parts(plain, order, year)), False
    except BadCell as bad:
        time = _TIME.search(plain)
        if str(bad) != "unreadable-date" or time is None:
            raise
    day = _day_parts(plain[: time.start()].strip(" ,"), order, year)
    hour, minute, second = (int(part or 0) for part in time.groups()[:3])
    if time[4]:
        if not 1 <= hour <= 12:
            raise BadCell("unreadable-date")
        hour = hour % 12 + (12 if time[4] == "p" else 0)
    return _stamp([*day, hour, minute, second]), True


def read_hour(text: str) -> pd.Timedelta | None:
    """Read an hour of the day that stands alone, or return None: "10:30", "9.05 pm", "9 Uhr"."""
    match = _HOUR.fullmatch(_plain(text))
    if match is None or not (match[2] or match[3] or match[4] in ("uhr", "uur")):
        return None
    hour, minute = int(match[1]), int(match[2] or 0)
    if match[3]:
        hour = hour % 12 + (12 if match[3] == "p" else 0) if 1 <= hour <= 12 else 24
    return pd.Timedelta(hours=hour, minutes=minute) if hour < 24 and minute < 60 else None


def _stamp(parts: Sequence[int]) -> pd.Timestamp:
    try:
        return pd.Timestamp(*parts)
    except (ValueError, OverflowError):
        raise BadCell("unreadable-date") from None


def read_day(text: str) -> date:
    """Read a date."""
    day: date = read_moment(text)[0].date()
    return day


def is_date(text: str, order: str = "") -> bool:
    """Tell whether a cell is a date, even one that reads two ways."""
    if _IS_NUMBER.fullmatch(text):  # a ring, or a weight
        return False
    try:
        read_moment(text, order)
    except BadCell as bad:
        return str(bad) in ("ambiguous-date", "date-without-year")
    return True


def date_order(texts: Iterable[str]) -> tuple[str, str]:
    """Settle the order of day and month by the dates that can read one way only; also return the first that did.

    Blank where no date settles it, or two contradict.
    """
    settled_by: dict[str, str] = {}
    for text in texts:
        three = _THREE.match(_plain(text))
        if three and three[2] != "." and (three[1] != three[3]):
            first, second = int(three[1]), int(three[3])
            if first > 12 >= second:
                settled_by.setdefault(DAY_FIRST, text)
            elif second > 12 >= first:
                settled_by.setdefault(MONTH_FIRST, text)
    return next(iter(settled_by.items())) if len(settled_by) == 1 else ("", "")


def order_meant(text: str) -> str:
    """Return the order of dates that a keeper's words for it mean ("dmy", "Tag zuerst", TT.MM.JJJJ); else the words.

    Examples
    --------
    >>> order_meant("DD/MM/YYYY"), order_meant("month first"), order_meant("jj-mm-aaaa"), order_meant("by tea time")
    ('day-month', 'month-day', 'day-month', 'by tea time')
    """
    words = _ORDER_WORD.findall(re.sub("d.abord", "", _plain(text)))
    if len(words) == 1 and re.fullmatch(r"[dtmyja]{2,8}", words[0]) and words[0] not in _PARTS:
        words = [run[0] for run in re.finditer(r"(.)\1*", words[0])]  # dmy, ddmmyyyy
    if "j" in {word[0] for word in words} and any(word[0] in "dt" for word in words):  # Jahr, jaar; else it is jour
        words = ["y" if set(word) == {"j"} else word for word in words]
    parts = [part for word in words if (part := _PARTS.get(word) or _PARTS.get(word[0] if len(set(word)) == 1 else ""))]
    return _ORDERS.get("".join(parts[:2]), text) if len(set(parts)) == len(parts) else text


def _plain(text: str) -> str:
    """Fold case and accents away."""
    if text.isascii():
        return text.strip().lower()
    parts = unicodedata.normalize("NFKD", text.strip().casefold())
    return "".join(c for c in parts if not unicodedata.combining(c))


def _day_parts(text: str, order: str, year: int | None) -> tuple[int, int, int]:
    if match := _YEAR_FIRST.fullmatch(text) or _BASIC.fullmatch(text):
        groups = match.groups()
        return int(groups[0]), int(groups[-2]), int(groups[-1])
    if match := _THREE.fullmatch(text):
        if order == YEAR_FIRST and len(match[4]) == 2 and match[2] != ".":
            return 2000 + int(match[1]), int(match[3]), int(match[4])
        day, month = _day_month(int(match[1]), match[2], int(match[3]), order)
        return _year(match[4], None), month, day
    if match := _TWO.fullmatch(text):
        day, month = _day_month(int(match[1]), match[2], int(match[3]), order)
        return _year(None, year), month, day
    for pattern, day_at, month_at in ((_DAY_NAME, 1, 2), (_NAME_DAY, 2, 1)):
        match = pattern.fullmatch(text)
        if match and match[month_at] in MONTHS:
            return _year(match[3], year), MONTHS[match[month_at]], int(match[day_at])
    raise BadCell("unreadable-date")


def _year(written: str | None, year: int | None) -> int:
    if written:
        return int(written) + (2000 if len(written) == 2 else 0)
    if year is None:
        raise BadCell("date-without-year")
    return year


def _day_month(first: int, sign: str, second: int, order: str) -> tuple[int, int]:
    """Tell day from month; a dot means day first, and a number over 12 is a day."""
    if sign == "." or first == second or first > 12 >= second:
        return first, second
    if second > 12 >= first:
        return second, first
    if order == DAY_FIRST:
        return first, second
    if order in (MONTH_FIRST, YEAR_FIRST):
        return second, first
    raise BadCell("ambiguous-date")
