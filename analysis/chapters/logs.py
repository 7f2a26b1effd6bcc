"""What the logs leave open: every row accounted for, what was not used, what was assumed."""

from typing import Any

from analysis import findings, show
from analysis.say import in_words
from analysis.season import Season


def rows(season: Season) -> list[Any]:
    """Show the account of all rows."""
    heads = ["log", "rows read", "used", "not used"]
    caption = "Every row that was written: read = used + not used."
    if season.unread:
        caption += " Of a file that was not read, the lines that it seems to have are counted; blank is unknown."
    return [show.table(season.accounting, caption=caption, heads=heads, name="rows")]


def not_used(season: Season) -> list[Any]:
    """Show what cost a row or a cell, with what was written."""
    problems = findings.problems_table(season, look=False)
    if problems.empty:
        return [show.prose("Every row and every cell was used.")]
    caption = "Not used, and why. Nothing you wrote was changed."
    return [show.table(problems, caption=caption, name="not_used_and_why")]


def look_at(season: Season) -> list[Any]:
    """Show what was used, but is questionable."""
    problems = findings.problems_table(season, look=True)
    if problems.empty:
        return [show.prose("Nothing else looks questionable.")]
    return [show.table(problems, caption="Used, but worth a look.", name="worth_a_look")]


def as_written(season: Season) -> list[Any]:
    """Show the rows and cells that were not used, as they were written."""
    if season.not_used.empty:
        return []
    heads = ["file", "sheet", "row", "column", "as written"]
    kept = season.not_used.assign(row=season.not_used["row"].astype("string").fillna(""))
    caption = "What was not used, as written."
    return [show.table(kept, caption=caption, heads=heads, name="not_used_as_written")]


def assumed(season: Season) -> list[Any]:
    """Show how the files were read."""
    return [show.prose("\n\n".join(map(in_words, findings.reading_lines(season))))]


def settings(season: Season) -> list[Any]:
    """Show the settings that hold, and the reason of each."""
    caption = "Settings: yours, or the default with its reason."
    heads = ["setting", "value", "from", "what it is for"]
    return [show.table(findings.settings_table(season), caption=caption, heads=heads, name="settings")]
