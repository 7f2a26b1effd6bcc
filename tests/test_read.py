"""Files → raw tables: encodings, delimiters, headings, and every sort of file that is no log."""

import pytest

from analysis import SeasonError, open_season
from analysis.logs import Ledger, read_folder, understand
from analysis.say import in_words

HATCHES = "chick,hatched_at,notes\nK1,2026-04-01,Ärger & Żółw\n"


def tables_of(folder, ledger=None):
    ledger = ledger or Ledger()
    sheets = read_folder(folder, ledger)
    return understand(sheets, sheets, {}, ledger)


@pytest.mark.parametrize(
    ("data", "encoding", "delimiter"),
    [
        (HATCHES.encode(), "UTF-8", "comma"),
        (HATCHES.encode("utf-8-sig"), "UTF-8", "comma"),
        (HATCHES.encode("utf-16"), "UTF-16", "comma"),
        (HATCHES.replace(",", ";").encode(), "UTF-8", "semicolon"),
        (HATCHES.replace(",", "\t").encode(), "UTF-8", "tab"),
        (HATCHES.replace("Ż", "Z").replace("ółw", "ów").encode("cp1252"), "Windows-1252", "comma"),
    ],
)
def test_text_of_every_make(write_logs, data, encoding, delimiter):
    ledger = Ledger()
    (table,) = tables_of(write_logs(hatches=data), ledger)
    assert table.headings == ("chick", "hatched_at", "notes")
    assert table.rows[0][1][0] == "K1"
    assert table.rows[0][1][2].startswith("Ärger")
    assert f"{encoding}, columns parted by {delimiter}" in in_words(ledger.read_as()[0][1])


def test_decimal_commas_do_not_win_over_semicolons(write_logs):
    text = "chick;weighed_at;weight\nK1;2026-04-02;4,5\nK1;2026-04-03;5,5\n"
    (table,) = tables_of(write_logs(weights=text))
    assert table.rows[0][1] == ("K1", "2026-04-02", "4,5")


def test_rows_are_numbered_as_the_spreadsheet_counts_them(write_logs):
    text = 'My weights,,\n\nchick,weighed_at,weight,notes\n"K\n1",2026-04-02,4,\n\n,,,\nK2,2026-04-02,5,\n'
    (table,) = tables_of(write_logs(weights=text))
    assert [number for number, _ in table.rows] == [4, 7]


def test_headings_in_other_case_and_with_spaces(write_logs):
    (table,) = tables_of(write_logs(hatches="Chick, Hatched at ,WEANED-ON\nK1,2026-04-01,\n"))
    assert table.headings == ("chick", "hatched_at", "weaned_on")


@pytest.mark.parametrize(
    ("name", "data", "code"),
    [
        ("hatches.csv", b"", "empty-file"),
        ("hatches.csv", b"  \n\n", "empty-file"),
        ("hatches.csv", b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", "not-text"),
        ("hatches.csv", bytes(range(128, 256)), "not-text"),
        ("hatches.csv", b"chick,hatched_at\n", "no-rows"),
        ("wieghts.csv", b"chick,weight\nK1,4\n", "unknown-log"),
        ("season.xlsx", b"PK\x03\x04", "workbook-broken"),
    ],
)
def test_what_is_no_log_is_said_and_the_rest_is_read(write_logs, name, data, code):
    folder = write_logs(losses="chick,found_on\nK1,2026-04-02\n")
    (folder / name).write_bytes(data)
    ledger = Ledger()
    tables = tables_of(folder, ledger)
    assert "losses" in [t.log for t in tables]
    problems = ledger.problems()
    assert problems["code"].tolist() == [code]
    assert problems["file"].tolist() == [name]


def test_a_near_miss_is_offered(write_logs):
    folder = write_logs(hatches=HATCHES)
    (folder / "wieghts.csv").write_text("chick,weight\n")
    assert "Did you mean weights?" in open_season(folder).problems["advice"].iloc[0]


def test_lock_files_are_no_logs(write_logs):
    folder = write_logs(hatches=HATCHES)
    (folder / "~$hatches.csv").write_bytes(b"\x00lock")
    assert len(read_folder(folder, Ledger())) == 1


def test_no_folder_an_empty_one_and_a_file(tmp_path):
    for path, words in (
        (tmp_path / "nowhere", "no folder"),
        (tmp_path, "no logs"),
        (tmp_path / "a.csv", "is a file"),
    ):
        if path.suffix:
            path.write_text("chick\n")
            (tmp_path / "a.csv").touch()
        with pytest.raises(SeasonError, match=words):
            read_folder(path, Ledger())


def test_a_cell_of_100_000_characters_is_kept(open_logs):
    season = open_logs(hatches=f"chick,hatched_at,pair\nK1,2026-04-01,{'x' * 100_000}\n")
    assert season.chicks["pair"].str.len().tolist() == [100_000]
