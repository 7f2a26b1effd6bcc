"""The parsers of cells and files, on whatever text there is (Hypothesis): a value or a reason, never a crash."""

import re
from datetime import date, datetime

from hypothesis import given, settings
from hypothesis import strategies as some

from analysis.guard import guarded
from analysis.logs.cells import BadCell, decimal_sign, measure, read_number
from analysis.logs.dates import read_moment
from analysis.logs.headings import column_named, folded, log_named
from analysis.logs.ledger import RULES
from analysis.logs.read import NotText, read_text
from analysis.logs.sheets import Exact
from analysis.logs.tables import LOGS

few = settings(max_examples=150, database=None, deadline=None, derandomize=True)
numberish = some.text("0123456789.,' -+~<>gkoz%°CF=#/eE\u202f", max_size=12)
dateish = some.text("0123456789.-/: TZapmJanMärzdeochtFri,", max_size=20)
days = some.dates(date(2000, 1, 1), date(2099, 12, 31))
moments = some.datetimes(datetime(2000, 1, 1), datetime(2099, 12, 31))


def read_or_code(read, *cell):
    """Return what a cell holds, or the code of the rule it breaks; any other exception fails the test."""
    try:
        return read(*cell)
    except BadCell as bad:
        return str(bad)


@few
@given(some.one_of(numberish, some.text(max_size=20)), some.sampled_from(["", ".", ","]))
def test_any_text_is_a_number_or_has_a_reason(text, decimal):
    found = read_or_code(measure, text, decimal)
    assert found in RULES if isinstance(found, str) else abs(found[0]) < float("inf")
    assert decimal_sign([text]) in ("", ".", ",")


@few
@given(some.one_of(dateish, some.text(max_size=20)), some.sampled_from(["", "day-month", "month-day", "year-month"]))
def test_any_text_is_a_day_or_has_a_reason(text, order):
    found = read_or_code(read_moment, text, order)
    assert found in RULES if isinstance(found, str) else found[1] or found[0] == found[0].normalize()


@few
@given(some.integers(-10_000_000, 10_000_000), some.integers(1, 6))
def test_a_number_comes_back_however_it_was_written(whole, places):
    value = whole / 10**places
    point = f"{value:.{places}f}"
    assert read_number(point, ".") == float(point)
    assert read_number(point.replace(".", ","), ",") == float(point)
    assert read_number(Exact(point), ",") == float(point)
    grouped = f"{value:,.{places}f}"
    assert read_number(grouped, ".") == float(point)
    assert read_number(grouped.translate(str.maketrans(",.", ".,")), ",") == float(point)
    assert read_number(grouped.replace(",", "'"), ".") == float(point)


@few
@given(days)
def test_a_day_comes_back_however_it_was_written(day):
    serial = str((day - date(1899, 12, 30)).days)
    month = ["jan", "feb", "märz", "april", "mai", "juin", "juil", "aout", "sept", "okt", "nov", "dic"][day.month - 1]
    for text in (
        f"{day:%Y-%m-%d}",
        f"{day:%Y%m%d}",
        f"{day:%d.%m.%Y}",
        f"{day:%d.%m.%y}",
        serial,
        f"{day.day}. {month} {day.year}",
    ):
        assert read_moment(text)[0].date() == day, text
    assert read_moment(f"{day:%d/%m/%y}", "day-month")[0].date() == day or day.day > 12
    assert read_moment(f"{day:%m/%d/%Y}", "month-day")[0].date() == day


@few
@given(moments)
def test_a_moment_comes_back_to_the_second(moment):
    moment = moment.replace(microsecond=0)
    for text in (moment.isoformat(), f"{moment:%d.%m.%Y %H:%M:%S}", f"{moment:%d %b %Y, %I:%M:%S %p}"):
        assert read_moment(text) == (moment, True)


@few
@given(some.one_of(some.binary(max_size=200), some.text(max_size=200).map(str.encode)))
def test_any_bytes_are_rows_or_no_text(data):
    try:
        sheet, said = read_text(data, "x.csv")
    except NotText:
        return
    assert [number for number, cells in sheet.rows if not any(cells)] == []
    numbers = [number for number, _ in sheet.rows]
    assert numbers == sorted(set(numbers))
    assert set(said) <= set(RULES)


@few
@given(some.text(max_size=30))
def test_any_heading_is_known_or_not(text):
    assert log_named(text) in (None, *LOGS)
    assert folded(folded(text)) == folded(text)
    for log in LOGS.values():
        named = column_named(text, log)
        assert named is None or log.column(named[0]) is not None


@few
@given(some.text(max_size=30))
def test_no_guarded_cell_begins_a_formula(text):
    out = guarded(text)
    assert out.replace("'", "") == text.replace("'", "")
    assert not re.search(r"(^|[;|\t\r\n])\s*[=@]", out)
    assert not out.startswith(("\t", "\r"))
