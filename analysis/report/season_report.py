"""A season folder → the season report in a folder of its own, and the lines that say where it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from analysis.errors import SeasonError
from analysis.findings.ahead import VARIABLE, work_ahead
from analysis.findings.judging import heaviest
from analysis.report.kernel import running_kernel
from analysis.report.render import Report, notebooks_folder, render_report
from analysis.report.writing import held_open, reports_folder
from analysis.season import Season, open_season
from analysis.show import WARNING

if TYPE_CHECKING:
    from analysis.report.run import Progress

CHAPTER = "07_season_report.ipynb"
_FRAMES = ("eggs", "clutches", "chicks", "weights", "losses", "pairs", "cages", "problems", "not_used", "accounting")


@dataclass(frozen=True)
class SeasonReport:
    """A finished report: its files, what needs attention, and which logs no number should be made from."""

    files: Report
    attention: tuple[tuple[str, str], ...]
    warning: tuple[tuple[str, str], ...] = ()

    def lines(self) -> list[str]:
        """Return what the command prints: where the files are, and what needs attention."""
        tables = self.files.tables
        lines = [f"Report    {self.files.pdf}", f"Notebook  {self.files.notebook}"]
        if tables:
            lines.append(f"Tables    {len(tables)} CSV files in {tables[0].parent}")
        lines += held_open((self.files.pdf, self.files.notebook, *tables))
        if self.warning:
            lines += ["", WARNING, *(f"  {what}: {sentence}" for what, sentence in self.warning)]
        lines += ["", "What needs attention"]
        return lines + [f"  {what}: {sentence}" for what, sentence in self.attention]


def season_report(
    folder: Path,
    out: Path | None = None,
    *,
    earlier: Sequence[Path] = (),
    up_to: str | None = None,
    progress: "Progress | None" = None,
) -> SeasonReport:
    """Make the season report of a folder. The kernel loads while the season is opened and held against the rules.

    Parameters
    ----------
    folder
        The season folder.
    out
        Where to; `reports/` and the folder's name by default.
    earlier
        Folders of earlier seasons to join.
    up_to
        A day, as 2026-05-20: the season as it stood then.
    progress
        Called with (cells done, cells in all, chapter).

    Returns
    -------
    SeasonReport
        The files, and what needs attention.

    Raises
    ------
    SeasonError
        The folder cannot be used, holds nothing to report on, or the report could not be written.
    """
    chapter = notebooks_folder() / CHAPTER
    with TemporaryDirectory(ignore_cleanup_errors=True) as scratch:
        ahead = Path(scratch) / "record"
        with running_kernel(Path(scratch), chapter.parent, **{VARIABLE: str(ahead)}) as kernel:
            if progress is not None:
                progress(0, 0, "reading the logs")
            season = open_season(folder, earlier, up_to)
            if season.is_blank:
                raise SeasonError(_nothing(season))
            work_ahead(season, ahead, heaviest)
            parameters = {
                "folder": str(folder.resolve()),
                "earlier": [str(path.resolve()) for path in earlier],
                "up_to": up_to or "",
            }
            files = render_report(
                chapter,
                reports_folder(folder, out),
                parameters,
                progress=progress,
                extra_tables={name: getattr(season, name) for name in _FRAMES},
                kernel=kernel,
                leave_out_empty=True,
            )
    return SeasonReport(files, _said(files, "attention"), _said(files, "warning"))


def _nothing(season: Season) -> str:
    read = season.accounting[season.accounting["log"] != "settings"]
    found = ", ".join(f"{log.log} ({log.read} rows)" for log in read.itertuples())
    if "later-than-asked" in set(season.problems["code"]):
        return f"Nothing in {season.folder} is as early as the day that was asked for. Ask for a later one."
    so_far = f"found {found}, but no egg or chick" if found else "its logs have no rows, so there is no egg or chick"
    return (
        f"Nothing in {season.folder} can be reported on: {so_far} that hatches or clutches know. "
        f"Fill in hatches, a chick or egg a row; season check {season.folder} lists every problem."
    )


def _said(files: Report, kind: str) -> tuple[tuple[str, str], ...]:
    """Read the first list of a kind out of the finished notebook: what needs attention, or what is warned of."""
    import nbformat

    from analysis.report.blocks import season_displays

    displays = season_displays(nbformat.read(files.notebook, as_version=4))
    items: list[list[str]] = next((d["items"] for d in displays if d["kind"] == kind), [])
    return tuple((what, sentence) for what, sentence in items)
