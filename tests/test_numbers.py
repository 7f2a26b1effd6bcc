"""Every way to write a number has one reading, or none; nothing is guessed."""

import pytest

from analysis.logs.cells import BadCell, decimal_sign, measure, read_number, read_weight
from analysis.logs.sheets import Exact
from analysis.logs.weight_cells import usual_weights, weight_cell


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
        ("ungefähr 23", 23, False, True),
        ("23 g env.", 23, False, True),
        ("aprox. 23", 23, False, True),
        ("2 pounds", 907.18474, True, False),
        ("ca. 23 g", 23, False, True),
        ("about 23", 23, False, True),
        ("1 oz", 28.349523125, True, False),
        ("0.5 lb", 226.796185, True, False),
        ("1 lb 15.1 oz", 881.6701691875, True, False),  # 31.1 oz
        ("2lbs, 3 ounces", 992.233309375, True, False),
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


@pytest.mark.parametrize(
    ("text", "crop", "remark"),
    [
        *(("7 (full crop)", "full", ""), ("7 g, crop full", "full", ""), ("7 Kropf leer", "empty", "")),
        *(("7 (voller Kropf)", "full", ""), ("7 jabot plein", "full", ""), ("~7 (half full)", "part", "")),
        *(("7 (after its feed)", "", "after its feed"), ("7 - fed", "", "fed")),
    ],
)
def test_what_stands_beside_a_weight(text, crop, remark):
    cell = weight_cell(text, "g")
    assert (cell.grams, cell.crop, cell.remark) == (7, crop, remark)


@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("loss-in-weights", "dead | Dead? | † | tot | mort | muerto | dood | found dead"),
        ("word-in-weights", "sold | verkauft | weaned | futterfest | clear | limp"),
        ("unreadable-number", "7 mice | 12 (14) | 7x | seven | 7 8"),
    ],
)
def test_a_word_in_the_place_of_a_weight_says_what_it_is(code, words):
    for word in words.split(" | "):
        with pytest.raises(BadCell, match=f"^{code}$"):
            weight_cell(word, "g")


@pytest.mark.parametrize(
    ("others", "text", "grams"),
    [
        (["80", "950"], "1,200", 1200),  # nothing in this file is near 1.2
        (["80", "950"], "1.200", 1200),
        (["0,5", "1,1"], "1.200", 1.2),  # a decimal comma elsewhere, and 1200 is none of these
        (["0.9", "0.5"], "1,200", 1.2),
        (["5.5", "60.5"], "1,200", None),  # a chick of 1.2 g, or of 1200
        (["1.5", "900"], "1,200", None),  # either
        (["900 g", "60.5"], "1,200", None),  # what names its own unit tells nothing of the others
        ([], "1,200", None),
    ],
)
def test_a_number_with_a_mark_is_asked_about_where_its_file_does_not_tell(others, text, grams):
    decimal = decimal_sign([*others, text])
    usual = usual_weights([*others, text], decimal)
    if grams is None:
        with pytest.raises(BadCell, match="ambiguous-number"):
            weight_cell(text, "g", decimal, usual)
    else:
        assert weight_cell(text, "g", decimal, usual).grams == pytest.approx(grams)
