"""Every rule fires where it must and is silent on a clean folder."""

import pytest
from rule_cases import CASES, CLEAN, OTHERS, SAID_AT

from analysis.logs.ledger import RULES
from support import ROOT, codes

TOGETHER = {
    "age-without-hatch",
    "date-without-year",
    "another-unit",
    "own-ancestor",
    "eggs-too-fast",
    "only-hatched-written",
}  # all changes at once


def changed(changes):
    logs = dict(CLEAN)
    for log, *change in changes:
        if len(change) == 1:
            logs[log] = change[0]
        else:
            assert logs[log].count(change[0]) >= 1, change
            logs[log] = logs[log].replace(change[0], change[1], 1)
    return logs


CHANGES = [
    pytest.param(code, changes, id=f"{code}-{number}")
    for code, cases in CASES.items()
    for number, changes in enumerate([cases] if code in TOGETHER else [[case] for case in cases])
]


def test_a_clean_folder_has_no_problem(open_logs):
    season = open_logs(**CLEAN)
    assert codes(season) == []
    assert season.accounting["not_used"].sum() == 0


@pytest.mark.parametrize(("code", "changes"), CHANGES)
def test_a_rule_fires_on_what_it_is_about(open_logs, code, changes):
    season = open_logs(**changed(changes))
    found = season.problems[season.problems["code"] == code]
    assert len(found), codes(season)
    assert f"{SAID_AT.get(code, changes[-1][0])}.csv" in set(found["file"])
    assert found["advice"].str.len().min() > 10
    assert not found["advice"].str.contains("{", regex=False).any()
    assert (season.accounting["read"] == season.accounting["used"] + season.accounting["not_used"]).all()


def test_every_rule_has_a_case():
    assert set(CASES) | set(OTHERS) == set(RULES)
    for code, test in OTHERS.items():
        assert code in (ROOT / "tests" / f"{test}.py").read_text(encoding="utf-8"), code


def test_what_is_later_than_the_day_that_was_asked_for_waits(open_logs):
    found = open_logs(up_to="2026-03-24", **CLEAN).problems.query("code == 'later-than-asked'")
    assert {"weights.csv", "losses.csv"} <= set(found["file"])
    assert "later-than-asked" not in codes(open_logs(up_to="2026-12-31", **CLEAN))
