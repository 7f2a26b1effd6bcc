"""A season folder → the season report in a folder of its own, and the lines that say where it is."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.errors import SeasonError
from analysis.finding import found
from analysis.logs import LOGS
from analysis.pairs.of_season import heaviest
from analysis.report.ahead import VARIABLE, work_ahead
from analysis.report.kernel import running_kernel
from analysis.report.render import Report, notebooks_folder, render_report
from analysis.report.writing import claim, passing_folder, reports_folder, said_of
from analysis.say import say
from analysis.season import Season, changed_since, open_season

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
        lines = [say("report.made-report", path=self.files.pdf)]
        lines.append(say("report.made-notebook", path=self.files.notebook))
        if tables:
            lines.append(say("report.made-tables", files=len(tables), folder=tables[0].parent))
        lines += said_of((self.files.pdf, self.files.notebook, *tables))
        if self.warning:
            lines += ["", say("report.read-first"), *_lines(self.warning)]
        return [*lines, "", say("report.needs-attention"), *_lines(self.attention)]


def _lines(items: Iterable[tuple[str, str]]) -> list[str]:
    return [say("report.line", what=what, said=said) for what, said in items]


def season_report(
    folder: Path,
    out: Path | None = None,
    *,
    earlier: Sequence[Path] = (),
    up_to: str | None = None,
    progress: "Progress | None" = None,
) -> SeasonReport:
    """Make the season report of a folder. The kernel loads while the season is opened and held against the rules.

    This process and its kernel each read the logs. Where a log is saved while they work, all is done again, once.

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
        The folder cannot be used, holds nothing to report on, or the report could not be written; its logs were saved
        while it was made, twice over.
    """
    try:
        return _made(folder, out, earlier, up_to, progress)
    except _LogsSaved:
        return _made(folder, out, earlier, up_to, progress)


class _LogsSaved(SeasonError):
    """Logs were saved while the report was made of them."""


def _made(
    folder: Path, out: Path | None, earlier: Sequence[Path], up_to: str | None, progress: "Progress | None"
) -> SeasonReport:
    home, target = notebooks_folder(), reports_folder(folder, out)
    with passing_folder() as scratch:
        ahead = scratch / "record"
        with running_kernel(scratch, home, **{VARIABLE: str(ahead)}) as kernel:
            if progress is not None:
                progress(0, 0, say("report.reading-the-logs"))
            season = open_season(folder, earlier, up_to)
            if season.is_blank:
                raise SeasonError(_nothing(season))
            work_ahead(season, ahead, heaviest)
            asked = {
                "folder": str(folder.resolve()),
                "earlier": [str(path.resolve()) for path in earlier],
                "up_to": up_to or "",
            }
            try:
                files = _rendered(season, target, asked, progress, kernel)
            except SeasonError:
                hold_same_logs(season)  # a log that was half saved may be why it stopped
                raise
    claim(target, folder)
    return SeasonReport(files, _said(files, "attention"), _said(files, "warning"))


def _rendered(season: Season, target: Path, asked: dict[str, Any], progress: "Progress | None", kernel: Any) -> Report:
    return render_report(
        notebooks_folder() / CHAPTER,
        target,
        asked,
        progress=progress,
        extra_tables={name: getattr(season, name) for name in _FRAMES},
        kernel=kernel,
        leave_out_empty=True,
        last_look=lambda executed: hold_same_logs(season, executed),
    )


def hold_same_logs(season: Season, executed: Any = None) -> None:
    """Hold what this process read against what its kernel read, and both against the logs as they are now.

    Raises
    ------
    SeasonError
        They are not the same: a log was saved meanwhile.
    """
    from analysis.report.blocks import season_displays

    covers = season_displays(executed) if executed is not None else ()
    read = {season.fingerprint, *(cover["fingerprint"] for cover in covers if cover.get("kind") == "cover")}
    if len(read) > 1 or changed_since(season):
        raise _LogsSaved(say("report.logs-saved", folder=season.folder))


def _nothing(season: Season) -> str:
    read = season.accounting[season.accounting["log"].isin(set(LOGS) - {"settings"})]
    if "later-than-asked" in set(season.problems["code"]):
        return say("report.nothing-as-early", folder=season.folder)
    if read.empty:
        return say("report.nothing-to-report-no-rows", folder=season.folder)
    logs = [found("report.log-rows", log=log.log, rows=log.read) for log in read.itertuples()]
    return say("report.nothing-to-report", folder=season.folder, logs=logs)


def _said(files: Report, kind: str) -> tuple[tuple[str, str], ...]:
    """Read the first list of a kind out of the finished notebook: what needs attention, or what is warned of."""
    import nbformat

    from analysis.report.blocks import season_displays

    displays = season_displays(nbformat.read(files.notebook, as_version=4))
    items: list[list[str]] = next((d["items"] for d in displays if d["kind"] == kind), [])
    return tuple((what, sentence) for what, sentence in items)
