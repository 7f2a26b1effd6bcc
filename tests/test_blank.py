"""Blank logs: every column of the definitions, nothing of the keeper's touched, and they read back."""

import csv
import dataclasses

import pytest

from analysis import SeasonError, open_season
from analysis.logs.blank import GUIDE, write_blank_logs
from analysis.logs.ledger import RULES, Place
from analysis.logs.settings import SETTINGS
from analysis.logs.tables import LOGS, SMALL_FORM
from analysis.say import in_words
from analysis.say.voice import sentences


@pytest.mark.parametrize("every", [False, True])
def test_headings_are_the_columns(tmp_path, every):
    written = write_blank_logs(tmp_path / "new", every=every)
    logs = {path.stem for path in written if path.suffix == ".csv"}
    assert logs == set(LOGS if every else SMALL_FORM)
    for path in written:
        if path.suffix == ".csv":
            with path.open(encoding="utf-8-sig", newline="") as file:
                headings = next(csv.reader(file))
            columns = [c.name for c in LOGS[path.stem].columns if every or c.small]
            assert headings == columns
            assert [group for group in LOGS[path.stem].needs if not set(group) & set(headings)] == []


def test_the_settings_file_lists_each_with_its_default_and_reason(tmp_path):
    write_blank_logs(tmp_path)
    with (tmp_path / "settings.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["setting"] for row in rows] == list(SETTINGS)
    assert [row for row in rows if not row["reason"] or row["value"]] == []
    season = open_season(tmp_path)
    assert season.settings.values == {}
    assert set(season.problems["code"]) == {"no-rows"}


def test_what_a_keeper_has_is_never_touched(tmp_path):
    (tmp_path / "hatches.csv").write_text("chick,hatched_at\nK1,2026-04-01\n")
    (tmp_path / "weights.xlsx").write_bytes(b"hers")
    written = {path.name for path in write_blank_logs(tmp_path)}
    assert written == {"losses.csv", "pairs.csv", "settings.csv", GUIDE}
    assert (tmp_path / "hatches.csv").read_text().endswith("K1,2026-04-01\n")
    assert write_blank_logs(tmp_path) == []


def test_a_place_that_cannot_be_written(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(SeasonError, match="cannot be written"):
        write_blank_logs(tmp_path / "file")


def test_the_guide_explains_every_column(tmp_path):
    write_blank_logs(tmp_path, every=True)
    guide = (tmp_path / GUIDE).read_text(encoding="utf-8")
    for log in LOGS.values():
        assert f"## {log.name}\n" in guide
        assert [c for c in log.columns if not (f"| {c.name}" in guide and in_words(log.meaning(c.name)) in guide)] == []


def test_definitions_hold_together():
    for log in LOGS.values():
        names = [c.name for c in log.columns]
        assert len(names) == len(set(names))
        assert {name for group in log.needs for name in group} <= set(names)
        assert bool(log.key) <= (log.key in names)
    severities = {rule.severity for rule in RULES.values()}
    assert severities == {"not used", "look at this"}
    said = sentences("problems")
    assert [code for code in RULES if not (said[code] and said[f"{code}-do"].endswith((".", "}", "?")))] == []
    assert {f.name for f in dataclasses.fields(Place)} >= {"file", "sheet", "row", "column"}
