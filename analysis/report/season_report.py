"""A season folder → the season report in a folder of its own, and the lines that say where it is."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.errors import SeasonError
from analysis.finding import found
from analysis.logs import LOGS
from analysis.pairs.of_season import heaviest
from analysis.report.kernel import VARIABLE, running_kernel, work_ahead
from analysis.report.render import Report, notebooks_folder, render_report
from analysis.report.writing import claim, item_lines, passing_folder, reports_folder, said_of
from analysis.say import say
from analysis.season import Season, changed_since, left_alone, open_season

if TYPE_CHECKING:
    from analysis.report.run import Progress

_CHAPTER = "07_season_report.ipynb"
_FRAMES = ("eggs", "clutches", "chicks", "weights", "losses", "pairs", "cages", "problems", "not_used", "accounting")


@dataclass(frozen=True)
class SeasonReport:
    """A finished report: its files, what needs attention, and which logs no number should be made from."""

    files: Report
    attention: tuple[tuple[str, str], ...]
    warning: tuple[tuple[str, str], ...] = ()

    def lines(self) -> list[str]:
        """Return what the command prints: where the files are, and what needs attention."""
        pdf, notebook, tables = self.files.pdf, self.files.notebook, self.files.tables
        lines = [say("report.made-report", path=pdf), say("report.made-notebook", path=notebook)]
        if tables:
            lines.append(say("report.made-tables", files=len(tables), folder=tables[0].parent))
        lines += said_of((pdf, notebook, *tables))
        if self.warning:
            lines += ["", say("report.read-first"), *item_lines(self.warning)]
        return [*lines, "", say("report.needs-attention"), *item_lines(self.attention)]


class _LogsSaved(SeasonError):
    """Logs were saved while the report was made of them."""


def season_report(
    folder: Path,
    out: Path | None = None,
    *,
    earlier: Sequence[Path] = (),
    up_to: str | None = None,
    progress: "Progress | None" = None,
) -> SeasonReport:
    """Make the season report of a folder. The kernel loads while the season is opened and held against the rules.

    It is put into `out` (by default `reports/` and the folder's name); `earlier` are folders of seasons to join,
    `up_to` a day (2026-05-20) for the season as it stood then; `progress` as `render_report` takes it. This process and
    its kernel each read the logs: where a log is saved while they work, all is done again, once. SeasonError: the
    folder cannot be used or holds nothing to report on, the report could not be written, or its logs were saved twice.
    """
    try:
        return _made(folder, out, earlier, up_to, progress)
    except _LogsSaved:
        return _made(folder, out, earlier, up_to, progress)


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
            joined = [str(path.resolve()) for path in earlier]
            asked = {"folder": str(folder.resolve()), "earlier": joined, "up_to": up_to or ""}
            try:
                files = render_report(
                    home / _CHAPTER,
                    target,
                    asked,
                    progress=progress,
                    extra_tables={name: getattr(season, name) for name in _FRAMES},
                    kernel=kernel,
                    leave_out_empty=True,
                    last_look=lambda executed: hold_same_logs(season, executed),
                )
            except SeasonError:
                hold_same_logs(season)  # a log that was half saved may be why it stopped
                raise
    claim(target, folder)
    return SeasonReport(files, _items_of(files, "attention"), _items_of(files, "warning"))


def hold_same_logs(season: Season, executed: Any = None) -> None:
    """Hold what this process read against what its kernel read, and both against the logs as they are now.

    SeasonError: they are not the same, as a log was saved meanwhile.
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
        return say("report.nothing-to-report-no-rows", folder=season.folder, left=left_alone(season))
    logs = [found("report.log-rows", log=log.log, rows=log.read) for log in read.itertuples()]
    return say("report.nothing-to-report", folder=season.folder, logs=logs)


def _items_of(files: Report, kind: str) -> tuple[tuple[str, str], ...]:
    """Read the first list of a kind out of the finished notebook: what needs attention, or what is warned of."""
    import nbformat

    from analysis.report.blocks import season_displays

    displays = season_displays(nbformat.read(files.notebook, as_version=4))
    items: list[list[str]] = next((d["items"] for d in displays if d["kind"] == kind), [])
    return tuple((what, sentence) for what, sentence in items)
