"""What `season check` prints: what was assumed, every problem, and the account of all rows."""

import json

import pandas as pd

from analysis.guard import UNSEEN_ON_SCREEN, on_screen
from analysis.logs.rules import LOOK, RULES
from analysis.season import Season
from analysis.words import count_words, listed

_LONGEST = 60


def exit_code(season: Season) -> int:
    """Return 0; 1 where a row or cell was not used; 2 where no log could be used."""
    if not _is_usable(season):
        return 2
    return int(bool((season.problems["severity"] != LOOK).any()))


def _is_usable(season: Season) -> bool:
    logs = season.accounting[season.accounting["log"] != "settings"]
    return bool(logs["used"].sum() > 0)


def check_text(season: Season) -> str:
    """Return the whole check as text for a terminal, each line of it as `on_screen` shows it."""
    parts = [on_screen(f"{season.aviary}, season {season.name}, in {season.folder}")]
    parts.append("How the files were read\n" + "\n".join(on_screen(f"  {line}") for line in season.assumed))
    if season.problems.empty:
        parts.append("No problems found.")
    for severity, title in (
        ("not used", "Not used"),
        ("cell not used", "Cells not used"),
        (LOOK, "Look at this"),
    ):
        found = season.problems[season.problems["severity"] == severity]
        if len(found):
            parts.append(f"{title} ({len(found)})\n" + "\n".join(_problem(p) for p in found.itertuples()))
    parts.append("Rows\n" + "\n".join(_account(season)))
    parts.append(_verdict(season))
    return "\n\n".join(parts)


def _problem(problem: object) -> str:
    file, sheet, row, column, code, value, advice = (
        getattr(problem, name) for name in ("file", "sheet", "row", "column", "code", "value", "advice")
    )
    where = f"{file}, {sheet}" if sheet else file
    where += "" if pd.isna(row) else f" row {row}"
    where += f", {column}" if column else ""
    value = value if len(value) <= _LONGEST else value[:_LONGEST] + "…"
    said = f' "{value}"' if value else ""
    return on_screen(f"  {where}:{said} {RULES[code].title}. {advice}")


def _account(season: Season) -> list[str]:
    wide = max([12, *map(len, season.accounting["log"])])
    lines = [f"  {'log':<{wide}} {'read':>6} {'used':>6} {'not used':>9}"]
    for log in season.accounting.itertuples():
        read, used, not_used = ("?" if pd.isna(n) else n for n in (log.read, log.used, log.not_used))
        lines.append(on_screen(f"  {log.log:<{wide}} {read:>6} {used:>6} {not_used:>9}"))
    if season.unread:
        lines.append("  Of a file that was not read, the lines that it seems to have are counted; ? is unknown.")
    return lines


def _verdict(season: Season) -> str:
    if not _is_usable(season):
        return "No row of any log could be used. Start with hatches: a chick or egg a row, and its dates."
    not_used = int(season.accounting["not_used"].sum())
    look = int((season.problems["severity"] == LOOK).sum())
    if season.is_blank:
        return "No egg or chick could be read, so there is nothing to report on yet. Fill in hatches."
    rows, things = count_words(not_used, "row"), count_words(look, "thing")
    unread = f" {listed(season.unread)} could not be read." if season.unread else ""
    return on_screen(f"{rows} not used, {things} to look at.{unread} Nothing you wrote was changed.")


def check_json(season: Season) -> str:
    """Return the whole check as one JSON object; what a terminal would obey is written as JSON's \\u escapes."""
    frames = {name: getattr(season, name) for name in ("problems", "not_used", "accounting")}
    tables = {name: json.loads(frame.to_json(orient="records")) for name, frame in frames.items()}
    told = json.dumps({"season": season.name, "assumed": season.assumed, **tables}, ensure_ascii=False, indent=1)
    lines = (UNSEEN_ON_SCREEN.sub(lambda sign: f"\\u{ord(sign[0]):04x}", line) for line in told.split("\n"))
    return "\n".join(lines)
