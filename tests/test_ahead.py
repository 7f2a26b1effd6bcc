"""What one process works out ahead for another is what that one would have worked out."""

import pandas as pd

from analysis.pairs import of_season
from analysis.pairs.of_season import Pairs, heaviest
from analysis.report.kernel import VARIABLE, key_of, work_ahead, worked_ahead

PAIRS = "pair,species,cage,cock,hen\nP1,cockatiel,C1,A,B\nP2,cockatiel,C2,C,D\n"
EGGS = "egg,pair,clutch,laid_on,set_on,outcome,outcome_on,chick\n" + "".join(
    f"{pair}{clutch}{n},{pair},{clutch},2026-03-0{n},2026-03-08,{'clear' if n == 4 else 'hatched'},2026-03-28,\n"
    for pair in ("P1", "P2")
    for clutch in "12"
    for n in range(1, 7)
)


def test_what_is_worked_out_ahead_is_the_same_and_only_for_the_same_season(tmp_path, monkeypatch, open_logs):
    season = open_logs(pairs=PAIRS, hatches=EGGS)
    file = tmp_path / "ahead" / "record"
    file.parent.mkdir()
    assert worked_ahead(season) is None  # nobody said that it would be
    here = Pairs.of(season)
    assert Pairs.of(season) is here
    pd.testing.assert_frame_equal(here.review, heaviest(season)["review"])
    work_ahead(season, file, heaviest)
    monkeypatch.setenv(VARIABLE, str(file))
    monkeypatch.setattr(of_season, "handed_over", worked_ahead)
    monkeypatch.setattr(of_season, "read_record", None)  # nothing is worked out here
    found = Pairs(season)
    assert worked_ahead(season).keys() == {"record", "review", "outlook"}
    pd.testing.assert_frame_equal(found.review, here.review)
    for stage, fit in here.record.rates.items():
        pd.testing.assert_frame_equal(found.record.rates[stage].groups, fit.groups)
    pd.testing.assert_frame_equal(found.outlook.pairs, here.outlook.pairs)
    other = open_logs(pairs=PAIRS, hatches=EGGS.replace("clear", "infertile"))
    assert key_of(season) != key_of(other)
    assert worked_ahead(other) is None
    monkeypatch.setenv(VARIABLE, str(tmp_path / "gone" / "record"))
    assert worked_ahead(season) is None


def test_work_that_fails_ahead_is_done_where_it_is_asked_for(tmp_path, monkeypatch, open_logs):
    season = open_logs(pairs=PAIRS, hatches=EGGS)

    def fails(season):
        raise ValueError("no")

    work_ahead(season, tmp_path / "record", fails)
    monkeypatch.setenv(VARIABLE, str(tmp_path / "record"))
    assert worked_ahead(season) is None
    monkeypatch.setattr(of_season, "handed_over", worked_ahead)
    assert list(Pairs.of(season).review["pair"]) == ["P1", "P2"]
