"""What `season check` prints: what was assumed, every problem, and the account of all rows."""

import json
from collections.abc import Iterator

import pandas as pd

from analysis.finding import Finding, found
from analysis.guard import UNSEEN_ON_SCREEN, on_screen
from analysis.logs.ledger import CELL_NOT_USED, LOOK, NOT_USED, RULES, alike_problems
from analysis.say import in_words, say
from analysis.season import Season

_LONGEST = 60
_EACH = 3  # so many lines of one rule in a file; the rest is counted, with its rows
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
    parts = [on_screen(of)]
    for code, said in (("check.read-as", season.assumed), ("check.understood", season.understood)):
        parts += ["\n".join([say(code), *(on_screen(f"  {in_words(line)}") for line in said)])] if said else []
    parts += [say("check.no-problems")] if season.problems.empty and not ahead else []
    for severity, code in _PARTS.items():
        alike = season.problems[season.problems["severity"] == severity]
        if len(alike):
            parts.append("\n".join([say(code, problems=len(alike)), *_problems(alike, season)]))
    if ahead:
        lines = [on_screen(f"  {in_words(one)}") for one in ahead]
        parts.append("\n".join([say("check.later-than-today", problems=len(ahead)), *lines]))
    verdict = say("check.nothing-to-report" if _is_usable(season) else "check.nothing-used")
    if _is_usable(season) and not season.is_blank:
        rows, look = season.accounting["not_used"].sum(), (season.problems["severity"] == LOOK).sum()
        verdict = on_screen(say("check.verdict", rows=int(rows), look=int(look) + len(ahead), unread=season.unread))
    return "\n\n".join([*parts, "\n".join([say("check.rows"), *_account(season)]), verdict])


def _problems(problems: pd.DataFrame, season: Season) -> list[str]:
    """Write a line for one problem, or for all with one advice, in the order of the rows.

    Of one rule in a file there are up to four lines; of more three, and one that tells how many more.
    """
    lines = []
    for _, of_rule in problems.groupby(["file", "sheet", "code"], sort=False):
        groups = alike_problems(of_rule, season.to_do)
        shown, rest = (groups[:_EACH], groups[_EACH:]) if len(groups) > _EACH + 1 else (groups, [])
        lines += [(group.index[0], _problem(group)) for group in shown]
        if rest:
            more = pd.concat(rest)
            where, title = _where(more), RULES[more["code"].iloc[0]].title
            lines.append((shown[-1].index[0], say("check.more-alike", where=where, count=len(more), title=title)))
    return [on_screen(f"  {line}") for _, line in sorted(lines, key=lambda line: line[0])]


def _problem(group: pd.DataFrame) -> str:
    """Write what is wrong in one place, or in several that are alike."""
    code, values = group["code"].iloc[0], [_short(value) for value in group["value"] if value]
    written = found("problems.one-by-one", names=list(dict.fromkeys(values))[:_EACH]) if values else ""
    facts = {"where": _where(group), "written": written, "title": RULES[code].title}
    one = len(group) == 1
    return say(f"check.{'problem' if one else 'alike'}", advice=group["advice"].iloc[0], count=len(group), **facts)


def _where(group: pd.DataFrame) -> Finding:
    """Say in which rows, as the spreadsheet counts, and columns; a whole file has neither."""
    rows = group["row"].dropna().tolist()
    numbers = found("check.at-row" if len(rows) == 1 else "check.at-rows", rows=rows) if rows else ""
    first = group.iloc[0]
    columns = [column for column in group["column"].unique() if column]
    return found("check.place", file=first["file"], sheet=first["sheet"], rows=numbers, columns=columns)


def _short(value: str) -> str:
    return f'"{value if len(value) <= _LONGEST else value[:_LONGEST] + "…"}"'


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
    said = {name: [in_words(one) for one in getattr(season, name)] for name in ("assumed", "understood")}
    said["later_than_today"] = [in_words(one) for one in season.ahead]
    whole = json.dumps({"season": season.name, **said, **tables}, ensure_ascii=False, indent=1)
    lines = (UNSEEN_ON_SCREEN.sub(lambda sign: f"\\u{ord(sign[0]):04x}", line) for line in whole.split("\n"))
    return "\n".join(lines)
