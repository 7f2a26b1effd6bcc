"""What the logs leave open: every row accounted for, what was not used, what was assumed."""

from typing import Any

from analysis import findings, show
from analysis.finding import found
from analysis.say import heads, in_words
from analysis.season import Season


def rows(season: Season) -> list[Any]:
    """Show the account of all rows."""
    unread = [found("chapters.rows-unread")] if season.unread else []
    caption = in_words([found("chapters.rows-caption"), *unread])
    shown = heads("log", "rows-read", "used", "not-used")
    return [show.table(season.accounting, caption=caption, heads=shown, name="rows")]


def not_used(season: Season) -> list[Any]:
    """Show what cost a row or a cell, with what was written."""
    problems = findings.problems_table(season, look=False)
    if problems.empty:
        return [show.prose(found("chapters.all-used"))]
    caption = found("chapters.not-used-caption")
    return [show.table(problems, caption=caption, name="not_used_and_why")]


def look_at(season: Season) -> list[Any]:
    """Show what was used, but is questionable."""
    problems = findings.problems_table(season, look=True)
    if problems.empty:
        return [show.prose(found("chapters.nothing-questionable"))]
    return [show.table(problems, caption=found("chapters.look-caption"), name="worth_a_look")]


def as_written(season: Season) -> list[Any]:
    """Show the rows and cells that were not used, as they were written."""
    if season.not_used.empty:
        return []
    shown = heads("file", "sheet", "row", "column", "as-written")
    kept = season.not_used.assign(row=season.not_used["row"].astype("string").fillna(""))
    caption = found("chapters.as-written-caption")
    return [show.table(kept, caption=caption, heads=shown, name="not_used_as_written")]


def assumed(season: Season) -> list[Any]:
    """Show how the files were read."""
    return [show.prose("\n\n".join(map(in_words, findings.reading_lines(season))))]


def settings(season: Season) -> list[Any]:
    """Show the settings that hold, and the reason of each."""
    caption, shown = found("chapters.settings-caption"), heads("setting", "value", "from", "what-for")
    return [show.table(findings.settings_table(season), caption=caption, heads=shown, name="settings")]
