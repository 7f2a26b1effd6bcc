"""Text files of every make: what they hold, and what is said of how they were read."""

import pytest

from analysis import open_season
from analysis.logs import read
from analysis.logs.read import NotText, delimiter_of, read_text
from analysis.say import in_words
from support import codes

TEXT = "chick;weight\nZoë;12,5\nÄnne;13\n"
ROWS = [("chick", "weight"), ("Zoë", "12,5"), ("Änne", "13")]


def cells(data):
    return [row for _, row in read_text(data, "x.csv")[0].rows]


@pytest.mark.parametrize(
    ("data", "how"),
    [
        (TEXT.encode(), "UTF-8"),
        (TEXT.encode("utf-8-sig"), "UTF-8"),
        (TEXT.encode("utf-16"), "UTF-16"),
        (TEXT.encode("utf-16-le"), "UTF-16 without its mark"),
        (TEXT.encode("utf-16-be"), "UTF-16 without its mark"),
        (TEXT.encode("cp1252"), "Windows-1252"),
        (TEXT.replace("\n", "\r\n").encode("cp1252"), "Windows-1252"),
        (TEXT.replace("\n", "\r").encode("mac_roman"), "Mac Roman"),
    ],
)
def test_every_encoding_gives_the_same_cells(data, how):
    assert cells(data) == ROWS
    assert in_words(read_text(data, "x.csv")[0].how) == f"{how}, columns parted by semicolon"


def test_mac_roman_only_where_it_is_certain():
    # 0x8F is è in Mac Roman and nothing in Windows-1252 (both tables: unicode.org, VENDORS)
    assert cells("frère;1\n".encode("mac_roman")) == [("frère", "1")]
    assert cells("Müller;1\n".encode("cp1252")) == [("Müller", "1")]


def test_a_few_foreign_bytes_do_not_spoil_a_utf8_file():
    data = "Zoë;1\nÄnne;2\nÖre;3\n".encode() + "für;4\n".encode("cp1252")
    sheet, said = read_text(data, "x.csv")
    assert [row[0] for _, row in sheet.rows] == ["Zoë", "Änne", "Öre", "für"]
    assert said == ["mixed-encodings"]
    assert read_text("Zoë;1\n".encode(), "x.csv")[1] == []


@pytest.mark.parametrize(
    "data", [b"\x00\x01\x02", b"a\x03b\x03\n\x03", bytes(range(128, 256)), b"\x89PNG\r\n\x1a\n\x00\x00"]
)
def test_what_is_no_text_is_refused(data):
    with pytest.raises(NotText):
        read_text(data, "x.csv")


@pytest.mark.parametrize(
    ("text", "delimiter"),
    [
        ("a,b\n1,2\n", ","),
        ("a;b\n1,5;2,5\n", ";"),
        ("a\tb\n1,5\t2\n", "\t"),
        ("a|b\n1|2\n", "|"),
        ('a;b\n"x, y, z";2\n', ";"),
        ("# one, two, three\na;b\n1;2\n", ";"),
    ],
)
def test_delimiters(text, delimiter):
    assert delimiter_of(text) == delimiter


def test_a_line_that_names_the_delimiter_is_no_row():
    assert read_text(b"sep=|\na|b\n1|2\n", "x.csv")[0].rows == ((1, ("a", "b")), (2, ("1", "2")))


def test_line_breaks_in_quotes_and_trailing_delimiters(open_logs):
    season = open_logs(hatches='chick,hatched_at,notes,,\nK1,2026-04-01,"two\nlines",,\nK2,2026-04-02,,,\n')
    assert season.chicks["row"].tolist() == [2, 3]
    assert codes(season) == []


def test_a_file_that_cannot_be_opened_is_said(write_logs, monkeypatch):
    folder = write_logs(hatches="chick,hatched_at\nK1,2026-04-01\n", weights="chick,weighed_at,weight\n")
    assert "cannot-open" not in codes(open_season(folder))

    def refuse(data, file):
        if file == "weights.csv":
            raise OSError
        return read_text(data, file)

    monkeypatch.setattr(read, "read_text", refuse)
    assert "cannot-open" in codes(open_season(folder))


def test_two_stray_quotes_swallow_no_rows(open_logs):
    rows = "".join(f"K{n},2026-04-0{n},\n" for n in range(1, 9)).replace("02,", '02,"tiny').replace("06,", '06,"loud')
    season = open_logs(hatches="chick,hatched_at,notes\n" + rows)
    assert len(season.chicks) == 8
    assert codes(season) == ["open-quote"]


def test_a_remark_of_several_lines_is_no_stray_quote(open_logs):
    season = open_logs(hatches='chick,hatched_at,notes\nK1,2026-04-01,"tiny, bold\nbut eats, well"\nK2,2026-04-02,\n')
    assert (len(season.chicks), codes(season)) == (2, [])


def test_a_quote_that_closes_within_a_later_row_swallows_none(open_logs):
    rows = "".join(f"K{n},P{n % 2},2026-04-0{n},\n" for n in range(1, 9)).replace("02,", '02,"').replace("K6,", 'K6,"')
    season = open_logs(hatches="chick,pair,hatched_at,notes\n" + rows)
    assert len(season.chicks) == 8
    assert "open-quote" in codes(season)
