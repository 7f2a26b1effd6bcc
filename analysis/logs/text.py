"""A text file → one sheet: its encoding, its delimiter, its rows."""

import codecs
import csv
import io
import re
from collections import Counter

from analysis.finding import Finding, found
from analysis.logs.sheets import STRAY, Sheet, TextRows, by_column, is_binary, with_stray, without_stray

DELIMITERS = {
    ",": found("logs.comma"),
    ";": found("logs.semicolon"),
    "\t": found("logs.tab"),
    "|": found("logs.bar"),
}
_SLIPS = found("logs.utf-8-and-1252")
_LONGEST_CELL = 50_000_000
_LOOK_AT = 50  # lines are enough to tell the delimiter
_NOT_IN_1252 = bytes((0x81, 0x8D, 0x8F, 0x90, 0x9D))
# letters with accents in Mac Roman that are signs or rare capitals in Windows-1252
_MAC_LETTERS = bytes(
    (
        0x80,
        0x83,
        0x85,
        0x86,
        0x87,
        0x88,
        0x89,
        0x8A,
        0x8B,
        0x8E,
        0x91,
        0x92,
        0x93,
        0x94,
        0x95,
        0x96,
        0x97,
        0x98,
        0x99,
        0x9A,
        0x9F,
    )
)
_MOST_BEYOND = 0.3  # of the bytes of a western text are beyond ASCII


class NotText(ValueError):
    """The bytes are no text."""


def read_text(data: bytes, file: str) -> tuple[Sheet, list[str]]:
    """Read a text file of any make.

    Parameters
    ----------
    data
        The bytes of the file.
    file
        Its name.

    Returns
    -------
    sheet, codes
        The sheet, and the codes of rules about the whole file: "open-quote", "mixed-encodings".

    Raises
    ------
    NotText
        The file is no text.

    Examples
    --------
    >>> sheet, _ = read_text("chick;weight\\nK1;12,5\\n".encode("utf-16"), "weights.csv")
    >>> from analysis.say import in_words
    >>> sheet.rows, in_words(sheet.how)
    (((1, ('chick', 'weight')), (2, ('K1', '12,5'))), 'UTF-16, columns parted by semicolon')
    """
    text, encoding = _decode(data)
    plain, text = text, with_stray(text)
    if STRAY in text and (is_binary(plain) or not text.replace(STRAY, "").strip()):
        raise NotText(file)
    codes = ["mixed-encodings"] if encoding == _SLIPS else []
    named = re.match(r"sep=(.)(?:\r\n|\r|\n)", text, re.IGNORECASE)  # a first line that spreadsheets do not show
    text = text[named.end() :] if named else text
    delimiter = named[1] if named else delimiter_of(text)
    # an odd number of quotes leaves one open, and it would swallow every row below it
    open_quote = text.count('"') % 2 == 1
    codes += ["open-quote"] if open_quote else []
    rows = _records(text, delimiter, csv.QUOTE_NONE if open_quote else csv.QUOTE_MINIMAL)
    if '"' in text and not open_quote and _swallowed_rows(rows, delimiter):
        codes.append("open-quote")
        rows = _records(text, delimiter, csv.QUOTE_NONE)
    how = found("logs.text", encoding=encoding, sign=DELIMITERS.get(delimiter, delimiter))
    rows, marred = without_stray(rows)
    return Sheet(file, "", rows, how, marred), codes


def _swallowed_rows(rows: TextRows, delimiter: str) -> bool:
    """Tell whether two stray quotes made one cell of the rows between them: a line in a cell is as long as a row."""
    widths = Counter(len(cells) for _, cells in rows[:_LOOK_AT])
    width = max(widths, key=lambda n: (widths[n], -n), default=0)
    cells = (text for column in rows.columns for text in column.texts)
    broken = (cell.splitlines() for cell in cells if "\n" in cell or "\r" in cell)
    return width > 1 and any(line.count(delimiter) >= width - 1 for lines in broken for line in lines[1:])


def _decode(data: bytes) -> tuple[str, Finding]:
    try:
        if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
            return data.decode("utf-16", errors="stray"), found("logs.utf-16")
        if b"\x00" in data and (order := _utf_16_order(data)):
            return data.decode(order, errors="stray"), found("logs.utf-16-unmarked")
        return data.decode("utf-8-sig"), found("logs.utf-8")
    except UnicodeDecodeError:
        pass
    return _utf_8_with_slips(data) or _eight_bit(data)


def _utf_16_order(data: bytes) -> str:
    """Every second byte of western text is zero; which one tells the order of the bytes. Blank where it is not so."""
    head = data[:2000]
    zeros = (head[0::2].count(0), head[1::2].count(0))
    if max(zeros) < 0.4 * len(head) / 2 or min(zeros) > 0.05 * len(head) / 2:
        return ""
    return "utf-16-le" if zeros[1] > zeros[0] else "utf-16-be"


def _utf_8_with_slips(data: bytes) -> tuple[str, Finding] | None:
    """Where most letters beyond ASCII are UTF-8, the few bytes that are not were pasted from elsewhere."""
    strict = data.decode("utf-8", errors="ignore")
    good = sum(not c.isascii() for c in strict)
    bad = len(data) - len(strict.encode("utf-8"))
    if bad >= good:
        return None
    return data.decode("utf-8-sig", errors="byte_by_byte"), _SLIPS


def _one_byte(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeDecodeError)
    byte = error.object[error.start : error.start + 1]
    return byte.decode("cp1252", errors="replace"), error.start + 1


def _as_stray(error: UnicodeError) -> tuple[str, int]:
    assert isinstance(error, UnicodeDecodeError)
    return STRAY, error.end


codecs.register_error("byte_by_byte", _one_byte)
codecs.register_error("stray", _as_stray)


def _eight_bit(data: bytes) -> tuple[str, Finding]:
    """Windows-1252, unless only Mac Roman can be meant: bytes that Windows lacks, or old Mac line ends and letters."""
    old_mac = b"\r" in data and b"\n" not in data
    letters = sum(data.count(bytes((byte,))) for byte in _MAC_LETTERS)
    beyond = sum(byte > 0x7F for byte in data)
    lacks = any(byte in data for byte in _NOT_IN_1252)
    if lacks and beyond > _MOST_BEYOND * len(data):
        raise NotText
    if lacks or (old_mac and letters > beyond / 2):
        return data.decode("mac_roman"), found("logs.mac-roman")
    return data.decode("cp1252"), found("logs.windows-1252")


def delimiter_of(text: str) -> str:
    """Choose by what parts the first rows most evenly; a decimal comma must not win over a semicolon.

    Examples
    --------
    >>> delimiter_of("chick;weight\\nK1;12,5\\nK2;13,5\\n")
    ';'
    """
    head = re.sub(r'"[^"]*"', "", text[:100_000])
    lines = [line for line in re.split(r"\r\n|\r|\n", head)[:_LOOK_AT] if line.strip() and not line.startswith("#")]
    counts = {d: Counter(line.count(d) for line in lines) for d in ("\t", ";", "|", ",")}
    steady = {d: max((n for n in c if n), key=lambda n: (c[n], n), default=0) for d, c in counts.items()}
    return max(counts, key=lambda d: (steady[d] > 0, counts[d][steady[d]] if steady[d] else 0))


def _records(text: str, delimiter: str, quoting: int) -> TextRows:
    csv.field_size_limit(_LONGEST_CELL)
    return by_column(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, quoting=quoting))  # type: ignore[arg-type]
