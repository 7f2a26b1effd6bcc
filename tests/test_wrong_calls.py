"""What cannot be answered is answered in words: what is needed, and what was found in its place."""

import numpy as np
import pandas as pd
import pytest

from analysis import find_flags, fit_each, fit_mixed, interval, kaplan_meier, open_season, pooled, reference_curve
from support import DEMO

AGES = np.arange(1, 31)
WEIGHTS = pd.DataFrame(
    {
        "chick": np.repeat([f"K{n}" for n in range(8)], 30),
        "age_d": np.tile(AGES, 8),
        "mass_g": (np.linspace(80, 100, 8)[:, None] / (1 + np.exp(-0.3 * (AGES - 10)))).ravel(),
    }
)
CLUTCHES = pd.DataFrame({"eggs": [5, 4], "hatched": [4, 1], "pair": ["P1", "P2"], "cage": ["C1", "C2"]})
SPANS = pd.DataFrame({"entry_d": [0, 0], "exit_d": [5, 9], "lost": [True, False]})
OF_WEIGHTS = [fit_each, fit_mixed, find_flags, reference_curve]
NEEDED = {**dict.fromkeys(OF_WEIGHTS, WEIGHTS), pooled: CLUTCHES, kaplan_meier: SPANS}
ALL = [pytest.param(*one, id=one[0].__name__) for one in NEEDED.items()]
EACH = [pytest.param(call, f, column, id=f"{call.__name__}-{column}") for call, f in NEEDED.items() for column in f]


def said_by(call, *given, **options):
    with pytest.raises(ValueError) as refused:  # noqa: PT011 - what it says is looked at by each test
        call(*given, **options)
    assert refused.type is ValueError, "and no kind of it that a library raises"
    return str(refused.value)


@pytest.mark.parametrize(("call", "frame", "column"), EACH)
def test_a_missing_column_is_named_with_what_is_needed(call, frame, column):
    for rows in (frame, frame[:0]):
        said = said_by(call, rows.drop(columns=column))
        assert said.endswith(f"missing: {column}. There are: {', '.join(frame.columns.drop(column))}.")
        assert f"needs the columns {', '.join(frame)};" in said


@pytest.mark.parametrize(("call", "frame"), ALL)
def test_a_frame_without_columns_is_told_what_is_needed(call, frame):
    said = said_by(call, pd.DataFrame())
    assert [column for column in frame if column not in said.split("missing: ")[1]] == []
    assert said.endswith("There are: none.")


@pytest.mark.parametrize(("call", "frame"), ALL)
@pytest.mark.parametrize("wrong", [None, 3, "weights.csv", [1, 2], {"chick": ["K1"]}, WEIGHTS["mass_g"]])
def test_what_is_no_frame_is_told_so(call, frame, wrong):
    said = said_by(call, wrong)
    assert said.endswith(f"takes a frame with the columns {', '.join(frame)}, not {type(wrong).__name__}.")


@pytest.mark.parametrize("call", NEEDED)
def test_a_season_is_no_frame_and_holds_them(call):
    assert said_by(call, open_season(DEMO)).endswith(", not Season.")


@pytest.mark.parametrize(
    ("call", "frame", "column"),
    [one for one in EACH if one.values[2] not in ("chick", "pair", "cage")],
)
@pytest.mark.parametrize("wrong", ["heavy", pd.Timestamp("2026-05-01"), pd.Timedelta(days=3)])
def test_what_is_no_number_is_named_with_its_column(call, frame, column, wrong):
    said = said_by(call, frame.assign(**{column: wrong}))
    assert f"the column {column}" in said
    assert str(wrong) in said


@pytest.mark.parametrize(("call", "frame"), ALL)
def test_a_column_that_is_there_twice_is_named(call, frame):
    column = list(frame)[-1]
    assert f"{column} is there twice" in said_by(call, pd.concat([frame, frame[[column]]], axis=1))


@pytest.mark.parametrize(("call", "frame"), ALL)
def test_an_empty_frame_has_an_empty_answer_or_a_reason(call, frame):
    if call is fit_mixed:
        assert said_by(call, frame[:0]).startswith("Too few weighings")
        return
    answer = call(frame[:0])
    if call is reference_curve:
        assert answer.sentence.startswith("No curve yet")
    else:
        assert (answer.groups if call is pooled else answer).empty


@pytest.mark.parametrize(
    ("call", "frame", "options", "said"),
    [
        (fit_each, WEIGHTS, {"curve": ["logistic"]}, "There is no curve ['logistic']. Curves: logistic"),
        (fit_each, WEIGHTS, {"error": ["additive"]}, "There is no error ['additive']"),
        (fit_each, WEIGHTS, {"start": 3}, "start needs A_g, K_per_d, ti_d"),
        (
            fit_each,
            WEIGHTS,
            {"start": {"A_g": "big", "K_per_d": 0.3, "ti_d": 9}},
            "start needs numbers in the column A_g",
        ),
        (fit_mixed, WEIGHTS, {"curve": None}, "There is no curve None"),
        (fit_mixed, WEIGHTS, {"random": ["A"]}, "random needs the effects of each level"),
        (fit_mixed, WEIGHTS, {"random": {"chick": 3}}, "random needs the effects of each level"),
        (fit_mixed, WEIGHTS, {"scale": ["log"]}, "There is no scale ['log']"),
        (reference_curve, WEIGHTS, {"left_out": 3}, "left_out"),
        (reference_curve, WEIGHTS, {"curve": ["logistic"]}, "There is no curve ['logistic']"),
        (reference_curve, WEIGHTS.assign(did_well="yes"), {}, "true or false in the column did_well, and finds yes"),
        (find_flags, WEIGHTS.assign(did_well="no"), {}, "true or false in the column did_well, and finds no"),
        (find_flags, WEIGHTS.assign(together="both"), {}, "numbers in the column together, and finds both"),
        (find_flags, WEIGHTS.assign(sure_to_days="two"), {}, "numbers in the column sure_to_days, and finds two"),
        (find_flags, WEIGHTS.assign(weighed_at="soon"), {}, "days in the column weighed_at, and finds soon"),
        (pooled, CLUTCHES, {"groups": 3}, "groups must be one to three different columns, got 3"),
        (pooled, CLUTCHES, {"tried": ["eggs"]}, "tried must be the name of a column, got ['eggs']"),
        (kaplan_meier, SPANS.assign(lost="no"), {}, "true or false in the column lost, and finds no"),
        (kaplan_meier, SPANS.assign(lost=2), {}, "true or false in the column lost, and finds 2"),
    ],
)
def test_an_option_of_the_wrong_kind_is_named(call, frame, options, said):
    assert said in said_by(call, frame, **options)


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ((None, 4), "k must be whole numbers"),
        ((CLUTCHES, 4), "k must be whole numbers"),
        ((3, {"n": 4}), "n must be whole numbers"),
        (([1, 2], [4, 4, 4]), "k and n must be of one shape, got 2 and 3"),
        ((3, 4, ["wilson"]), "method is ['wilson']; it must be one of wilson"),
        ((pd.Timestamp("2026-05-01"), 4), "k must be whole numbers"),
        ((pd.Timedelta(days=3), 4), "k must be whole numbers"),
    ],
)
def test_an_interval_of_no_counts_is_refused(given, said):
    assert said in said_by(interval, *given)


def test_an_interval_of_nothing_is_empty():
    low, high = interval([], [])
    assert low.size == high.size == 0


def test_one_name_left_out_is_one_chick_and_not_its_letters():
    assert reference_curve(WEIGHTS, left_out="K3").left_out == ("K3",)
