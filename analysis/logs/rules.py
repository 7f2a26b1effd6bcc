"""The rules that what was written is held against; they are data, in `rules.toml`, and their words in `say`."""

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import Any

from analysis.finding import Finding

NOT_USED = "not used"
CELL_NOT_USED = "cell not used"
LOOK = "look at this"


@dataclass(frozen=True)
class Rule:
    """One thing that can be wrong: a stable code, and its severity."""

    code: str
    severity: str

    @property
    def title(self) -> Finding:
        """What is wrong, in a few words."""
        return Finding(f"problems.{self.code}")

    def advice(self, facts: dict[str, Any]) -> Finding:
        """Return what to do about it."""
        return Finding(f"problems.{self.code}-do", facts=facts)


def _load() -> dict[str, Rule]:
    rules = tomllib.loads(files("analysis.logs").joinpath("rules.toml").read_text(encoding="utf-8"))
    return {code: Rule(code, severity) for code, severity in rules.items()}


RULES: dict[str, Rule] = _load()
