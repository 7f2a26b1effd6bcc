"""What cells and names say where no heading does: a loss with its day, the incubator that eggs or readings are of."""

import re
from dataclasses import replace
from pathlib import PurePath

from analysis.finding import Words, found
from analysis.logs.dates import is_date
from analysis.logs.headings import choice_meant, column_named, key_of
from analysis.logs.sheets import RawTable, TextRows, as_column, texts_in
from analysis.logs.tables import LOGS, keepers_words

_CANDLED = ("fertile", "not sure")  # "clear" is an outcome as well
_FATE = re.compile(r"([^\W\d_][^\d]*?)(?:\s+(?:on|am|le|el|op))?[\s:,]+(\d.*)")
Cells = list[str | None]


def by_cells(table: RawTable) -> tuple[list[RawTable], list[Words]]:
    """Return a list with its columns as their cells show them to be, and what is said of it; a grid as it is.

    "died 4/24/25" in a column that hatches has not is a loss, in a table of its own; a cell that says anything more is
    left where it is.

    What only candling shows, under a heading for the outcome, goes to `candled`. Eggs "set in incubator" are of that
    incubator; so are readings of a file or sheet named after it ("Incubator 2", "incubator log") that name no place.

    Examples
    --------
    >>> from analysis.logs.sheets import by_column
    >>> rows = by_column([("1.5.26", "37.5")])
    >>> table = RawTable("readings", "Incubator 2.csv", "", ("read_at", "temperature"), rows)
    >>> by_cells(table)[0][0].rows[0][1]
    ('1.5.26', '37.5', 'Incubator 2')
    """
    if table.grid:
        return [table], []
    table, lost = _fates(table)
    table = _candled_in_outcome(_with_incubator(table))
    placed, said = _with_place(table), list[Words]()
    if placed is not table:
        said.append(found("logs.place-by-name", place=placed.rows.columns[-1].texts[0]))
    if lost:
        said.append(found("logs.fates-read", heading=lost.written[1]))
    return [placed, *([lost] if lost else [])], said


def _fates(table: RawTable) -> tuple[RawTable, RawTable | None]:
    """Part what became of chicks, with its day, from a column that the log has not."""
    who = next((name for name in ("chick", "ring") if name in table.headings), "")
    if table.log != "hatches" or not who:
        return table, None
    known = {column.name for column in LOGS["hatches"].columns}
    for at, heading in enumerate(table.headings):
        if heading and heading not in known and any(_fate(text)[0] == "lost" for text in texts_in(table.rows, at)):
            fates = [_fate(cell or "") for cell in _cells(table, at)]
            left = ["" if what == "lost" else cell for (what, _), cell in zip(fates, _cells(table, at), strict=True)]
            rows = [row for row, (what, _) in enumerate(fates) if what == "lost"]
            names = _cells(table, table.headings.index(who))
            columns = [as_column([names[row] for row in rows]), as_column([fates[row][1] for row in rows])]
            lost = TextRows(table.rows.numbers[rows], columns)
            top = ("chick", "found_on")
            losses = RawTable("losses", table.file, table.sheet, top, lost, ("chick", heading))
            headings = table.headings if any(left) else (*table.headings[:at], "", *table.headings[at + 1 :])
            return replace(table, headings=headings, rows=_with(table.rows, {at: left})), losses
    return table, None


def _fate(text: str) -> tuple[str, str]:
    """What a cell says became of a chick ("lost"), and the day; blanks where it says anything else."""
    match = _FATE.fullmatch(text)
    if match is None or not is_date(match[2]):
        return "", ""
    word, lost = key_of(match[1]), keepers_words()["in_weights"]["lost"]
    return ("lost", match[2]) if word in map(key_of, lost) else ("", "")


def _candled_in_outcome(table: RawTable) -> RawTable:
    if "outcome" not in table.headings or "candled" in table.headings or table.log != "hatches":
        return table
    at = table.headings.index("outcome")
    shown = [text for text in texts_in(table.rows, at) if choice_meant(text, _CANDLED)]
    if not shown:
        return table
    cells = _cells(table, at)
    rows = _with(table.rows, {at: ["" if cell in shown else cell for cell in cells]})
    parted = _beside(replace(table, rows=rows), "candled", [cell if cell in shown else "" for cell in cells])
    return parted if "candled" in parted.headings else table


def _with_incubator(table: RawTable) -> RawTable:
    """Eggs under "set in incubator" are of that incubator."""
    if "set_on" not in table.headings or "incubated_by" in table.headings:
        return table
    at = table.headings.index("set_on")
    of, cells = _places_in(table.written[at]), _cells(table, at)
    return _beside(table, "incubated_by", [of[0] if cell else "" for cell in cells]) if len(of) == 1 else table


def _places_in(text: str) -> list[str]:
    """The words of a heading or of a file's name that name an incubator, or what else is read."""
    words = text.replace("_", " ").split()
    return [word for word in words if (named := column_named(word, LOGS["readings"])) and named[0] == "place"]


def _beside(table: RawTable, heading: str, cells: Cells) -> RawTable:
    """Set a column to the right; rows with cells beyond the headings are a matter of their own."""
    width, rows = len(table.headings), table.rows
    if len(rows.columns) > width:
        return table
    blank = [as_column([""] * len(rows))] * (width - len(rows.columns))
    wider = TextRows(rows.numbers, [*(one.filled() for one in rows.columns), *blank, as_column(cells)])
    return replace(table, headings=(*table.headings, heading), written=(*table.written, heading), rows=wider)


def _with_place(table: RawTable) -> RawTable:
    if table.log != "readings" or "place" in table.headings:
        return table
    words = (table.sheet or PurePath(table.file).stem).replace("_", " ").split()
    of = [at for at, word in enumerate(words) if column_named(word, LOGS["readings"]) == ("place", "")]
    if len(of) != 1:
        return table
    number = [word for word in words[of[0] + 1 : of[0] + 2] if len(word) == 1 or word.isdecimal()]
    return _beside(table, "place", [" ".join([words[of[0]], *number])] * len(table.rows))


def _cells(table: RawTable, at: int) -> Cells:
    columns = table.rows.columns
    return columns[at].cells() if at < len(columns) else [None] * len(table.rows)


def _with(rows: TextRows, cells: dict[int, Cells]) -> TextRows:
    """Return the rows with other cells in some columns."""
    columns = [as_column(cells[at]) if at in cells else one for at, one in enumerate(rows.columns)]
    return TextRows(rows.numbers, columns)
