"""The rules that what was written is held against; the rules themselves are data, in `rules.toml`."""

import tomllib
from dataclasses import dataclass
from importlib.resources import files

NOT_USED = "not used"
CELL_NOT_USED = "cell not used"
LOOK = "look at this"


@dataclass(frozen=True)
class Rule:
    """One thing that can be wrong: a stable code, a title, a severity, and what to do about it."""

    code: str
    title: str
    severity: str
    advice: str


def _load() -> dict[str, Rule]:
    rules = tomllib.loads(files("analysis.logs").joinpath("rules.toml").read_text(encoding="utf-8"))
    return {code: Rule(code=code, **rule) for code, rule in rules.items()}


RULES: dict[str, Rule] = _load()
