"""What several tests share."""

from pathlib import Path

from analysis import Season

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "data_demo" / "season_2026"


def codes(season: Season) -> list[str]:
    """Return the codes of all problems, in order."""
    return season.problems["code"].tolist()
