"""What `season check` prints: what was assumed, every problem, and the account of all rows."""

import json
from collections.abc import Iterator

import pandas as pd

from analysis.guard import UNSEEN_ON_SCREEN, on_screen
from analysis.logs.ledger import CELL_NOT_USED, LOOK, NOT_USED, RULES
from analysis.say import in_words, say
from analysis.season import Season

_LONGEST = 60
_PARTS = {NOT_USED: "check.rows-and-files-not-used", CELL_NOT_USED: "check.cells-not-used", LOOK: "check.worth-a-look"}


def exit_code(season: Season) -> int:
    """Return 0; 1 where a row or cell was not used; 2 where no log could be used."""
    return int(bool((season.problems["severity"] != LOOK).any())) if _is_usable(season) else 2


def _is_usable(season: Season) -> bool:
    return bool(season.accounting.loc[season.accounting["log"] != "settings", "used"].sum() > 0)


def check_text(season: Season) -> str:
    """Return the whole check as text for a terminal, each line of it as `on_screen` shows it."""
    ahead = season.ahead
    of = say("check.of", aviary=season.aviary, season=season.name, folder=str(season.folder))
    read = [on_screen(f"  {in_words(line)}") for line in season.assumed]
    parts = [on_screen(of), "\n".join([say("check.read-as"), *read])]
    parts += [say("check.no-problems")] if season.problems.empty and not ahead else []
    for severity, code in _PARTS.items():
        alike = season.problems[season.problems["severity"] == severity]
        if len(alike):
            parts.append("\n".join([say(code, problems=len(alike)), *_problems(alike)]))
    if ahead:
        lines = [on_screen(f"  {in_words(one)}") for one in ahead]
        parts.append("\n".join([say("check.later-than-today", problems=len(ahead)), *lines]))
    verdict = say("check.nothing-to-report" if _is_usable(season) else "check.nothing-used")
    if _is_usable(season) and not season.is_blank:
        rows, look = season.accounting["not_used"].sum(), (season.problems["severity"] == LOOK).sum()
        verdict = on_screen(say("check.verdict", rows=int(rows), look=int(look) + len(ahead), unread=season.unread))
    return "\n\n".join([*parts, "\n".join([say("check.rows"), *_account(season)]), verdict])


def _problems(alike: pd.DataFrame) -> Iterator[str]:
    titles = {code: in_words(RULES[code].title) for code in alike["code"].unique()}
    for one in alike.itertuples():
        row = None if pd.isna(one.row) else one.row
        where = say("check.place", file=one.file, sheet=one.sheet, row=row, column=one.column)
        short = one.value if len(one.value) <= _LONGEST else one.value[:_LONGEST] + "…"
        written = f' "{short}"' if one.value else ""
        yield on_screen(f"  {where}:{written} {titles[one.code]}. {one.advice}")


def _account(season: Season) -> Iterator[str]:
    wide = max([12, *map(len, season.accounting["log"])])
    log, read, used, not_used = (say(f"check.{head}") for head in ("log", "read", "used", "rows-not-used"))
    yield f"  {log:<{wide}} {read:>6} {used:>6} {not_used:>9}"
    for row in season.accounting.itertuples():
        read, used, not_used = ("?" if pd.isna(n) else n for n in (row.read, row.used, row.not_used))
        yield on_screen(f"  {row.log:<{wide}} {read:>6} {used:>6} {not_used:>9}")
    if season.unread:
        yield f"  {say('check.unread')}"


def check_json(season: Season) -> str:
    """Return the whole check as one JSON object; what a terminal would obey is written as JSON's \\u escapes."""
    frames = {name: getattr(season, name) for name in ("problems", "not_used", "accounting")}
    tables = {name: json.loads(frame.to_json(orient="records")) for name, frame in frames.items()}
    assumed = [in_words(one) for one in season.assumed]
    said = {"season": season.name, "assumed": assumed, "later_than_today": [in_words(one) for one in season.ahead]}
    whole = json.dumps({**said, **tables}, ensure_ascii=False, indent=1)
    lines = (UNSEEN_ON_SCREEN.sub(lambda sign: f"\\u{ord(sign[0]):04x}", line) for line in whole.split("\n"))
    return "\n".join(lines)
