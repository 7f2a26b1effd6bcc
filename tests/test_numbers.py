"""Every way to write a number has one reading, or none; nothing is guessed."""

import pytest

from analysis.logs.cells import BadCell, decimal_sign, measure, read_number, read_weight
from analysis.logs.sheets import Exact


@pytest.mark.parametrize(
    ("text", "decimal", "value"),
    [
        ("23", "", 23),
        ("23.5", "", 23.5),
        ("23,5", "", 23.5),
        (",5", "", 0.5),
        ("0,125", "", 0.125),
        ("1.234,5", "", 1234.5),
        ("1,234.5", "", 1234.5),
        ("1'234.5", "", 1234.5),
        ("1 234,5", "", 1234.5),
        ("1\u202f234,5", "", 1234.5),
        ("1,234,567", "", 1234567),
        ("1.234", "", 1.234),
        ("1.234", ".", 1.234),
        ("1.234", ",", 1234),
        ("1,234", ".", 1234),
        ("1,234", ",", 1.234),
        (Exact("1.234"), ",", 1.234),
    ],
)
def test_decimals_and_thousands(text, decimal, value):
    assert read_number(text, decimal) == pytest.approx(value, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("1,234", "ambiguous-number"),
        ("<1", "less-than"),
        (">50", "less-than"),
        ("6?", "unreadable-number"),
        ("12-13", "unreadable-number"),
        ("1 2", "unreadable-number"),
        ("1,2,3", "unreadable-number"),
        ("1.2.3,4", "unreadable-number"),
        ("twelve", "unreadable-number"),
        ("#DIV/0!", "error-cell"),
        ("=A1*2", "formula-without-value"),
        ("12 mice", "unreadable-number"),
        ("1e5", "unreadable-number"),
    ],
)
def test_what_is_no_number_says_why(text, code):
    with pytest.raises(BadCell, match=f"^{code}$"):
        measure(text)


@pytest.mark.parametrize(
    ("text", "grams", "other", "about"),
    # 1 oz = 28.349523125 g, 1 lb = 453.59237 g: exact, international pound of 1959
    [
        ("23 g", 23, False, False),
        ("23gr", 23, False, False),
        ("23,5 g.", 23.5, False, False),
        ("~23", 23, False, True),
        ("ca. 23 g", 23, False, True),
        ("about 23", 23, False, True),
        ("1 oz", 28.349523125, True, False),
        ("0.5 lb", 226.796185, True, False),
        ("1,2 kg", 1200, True, False),
    ],
)
def test_units_and_estimates(text, grams, other, about):
    value, *said = read_weight(text, "g")
    assert value == pytest.approx(grams, rel=1e-15)
    assert said == [other, about]


@pytest.mark.parametrize("text", ["40 C", "3 d", "5 %", "2 ml"])
def test_a_weight_has_a_unit_of_weight(text):
    with pytest.raises(BadCell, match="unreadable-number"):
        read_weight(text, "g")


def test_the_decimal_sign_is_settled_by_numbers_that_leave_no_doubt():
    assert decimal_sign(["1,234", "23,5"]) == ","
    assert decimal_sign(["1.234", "23.5", "7"]) == "."
    assert decimal_sign(["23,5", "23.5"]) == ""
    assert decimal_sign(["1,234", "1.234", Exact("2.5")]) == ""
    assert decimal_sign(["1.234,50"]) == ","
