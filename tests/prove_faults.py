"""Ends real commands at many moments, has the disk refuse at many operations, and counts what held.

    python tests/prove_faults.py          200 ends of each kind, every operation
    python tests/prove_faults.py 20       fewer
    python tests/prove_faults.py --short  under a minute or so

What must hold after each: the old result or the new one, never half a file; where a killed run left files of two runs,
the next command says so and the next report mends it; nothing that was typed is lost; after a signal or an error
nothing of ours is left in any folder, and no process; after `kill -9` the next run clears it; at most one sentence is
said, and no traceback. Only for POSIX.

Measured on a machine of two cores with much else to do (`--short`, `12`, and `10 --only "operations …"`, added up):

| tried | times | held | failed |
|---|--:|--:|--:|
| weights typed, then the round again, killed or not | 6 | 6 | 0 |
| SIGKILL, SIGTERM, SIGHUP, SIGINT to round, new | 8 | 8 | 0 |
| KILL at operations of new, new workbook, round, check --mark | 38 | 38 | 0 |
| ENOSPC, EIO, EACCES, EDQUOT at operations of new, new workbook, round | 75 | 75 | 0 |
| two at once: round | 1 | 1 | 0 |

The code before, by hand: typed weights lost (1 of 1); a full disk left half of the blank logs (1 of 1). Not in this
table yet: the rows of reports, of sheets and of logs saved meanwhile, and refusals at operations of check --mark.
"""

import argparse
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import zipfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path

from support import DEMO, LISTENING, ROOT

ON = "2026-05-20"
TYPED = "23.5,empty,begs well"
SEASON = f"{LISTENING}from analysis.__main__ import main; main()"
# the same with the disk refusing, or the process dying, at operation number N of those that change files
FAULTY = """
import errno, os, sys
at, fault = int(sys.argv.pop(1)), sys.argv.pop(1)
seen = 0
def met(real, name):
    def operation(*args, **options):
        global seen
        if name == "open" and not (args[1] & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)) or "__pycache__" in str(args[0]):
            return real(*args, **options)
        seen += 1
        if seen == at and fault == "KILL":
            os._exit(137)
        if seen == at and fault != "NONE":
            raise OSError(getattr(errno, fault), os.strerror(getattr(errno, fault)))
        return real(*args, **options)
    return operation
for name in ("open", "mkdir", "rename", "replace", "link", "unlink", "rmdir", "fsync"):
    setattr(os, name, met(getattr(os, name), name))
real_open = open
def opened(file, mode="r", *args, **options):
    global seen
    if set(mode) & set("wax+") and not isinstance(file, int):
        seen += 1
        if seen == at and fault == "KILL":
            os._exit(137)
        if seen == at and fault != "NONE":
            raise OSError(getattr(errno, fault), os.strerror(getattr(errno, fault)))
    return real_open(file, mode, *args, **options)
import builtins, io
builtins.open = io.open = opened
import atexit
atexit.register(lambda: real_open(os.environ["COUNTED"], "w").write(str(seen)) if "COUNTED" in os.environ else None)
from analysis.__main__ import main; main()
"""
COMMANDS = {
    "report": ["report", "{season}", "--out", "{out}"],
    "round": ["round", "{season}", "--on", ON, "--csv", "--out", "{out}"],
    "sheets": ["sheets", "{season}", "--chick", "K22", "--out", "{out}"],
    "new": ["new", "{out}/mine", "--all"],
    "new workbook": ["new", "{out}/mine", "--workbook"],
    "check --mark": ["check", "{season}", "--mark"],
    "outlook": ["outlook", "{season}"],
}
WRITING = ("round", "new", "new workbook", "check --mark", "sheets", "report")
MADE = (".season_scratch_", ".season_making_", "tmp", "openpyxl.", ".~", "season_trouble")


@dataclass
class Row:
    """One kind of trial: how often it was tried, what came, and what did not hold."""

    kind: str
    tried: int = 0
    came: Counter[str] = field(default_factory=Counter)
    failed: list[str] = field(default_factory=list)

    def line(self) -> str:
        """As a line of the table."""
        came = ", ".join(f"{what} {count}" for what, count in sorted(self.came.items()))
        faults = "; ".join(f"{what} {count}" for what, count in Counter(self.failed).items())
        held = self.tried - len(self.failed)
        return f"| {self.kind} | {self.tried} | {held} | {len(self.failed)} | {faults or came} |"


class Place:
    """A season, a folder of reports with an earlier result in it, and a folder for passing files, all of one trial."""

    def __init__(self, home: Path, before: Path | None = None) -> None:
        self.home, self.out, self.tmp = home, home / "out", home / "tmp"
        self.season = home / DEMO.name
        for season in DEMO.parent.glob("season_*"):
            shutil.copytree(season, home / season.name, ignore=shutil.ignore_patterns("workbook"))
        self.tmp.mkdir()
        if before is not None and before.exists():
            shutil.copytree(before, self.out)
        self.old = self.files()

    def start(self, command: str, program: str = SEASON, *first: str) -> "subprocess.Popen[str]":
        """Start a command here."""
        words = [one.format(season=self.season, out=self.out) for one in COMMANDS[command]]
        surroundings = {**os.environ, "TMPDIR": str(self.tmp), "PYTHONPATH": os.environ.get("PYTHONPATH", str(ROOT))}
        surroundings |= {"COUNTED": str(self.home / "counted"), "XDG_STATE_HOME": str(self.tmp)}
        return subprocess.Popen(
            [sys.executable, "-c", program, *first, *words],
            cwd=self.home,
            env=surroundings,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )

    def run(self, command: str, program: str = SEASON, *first: str) -> tuple[int, str]:
        """Run a command to its end; return its code and what it said of trouble."""
        process = self.start(command, program, *first)
        out, said = process.communicate(timeout=300)
        return process.returncode, said + "".join(line for line in out.splitlines(True) if "earlier run" in line)

    def files(self) -> dict[str, bytes]:
        """What a keeper sees: results, her logs, and copies beside them."""
        hidden = {"counted"}
        return {
            path.relative_to(self.home).as_posix(): _content(path)
            for path in self.home.rglob("*")
            if path.is_file() and path.name not in hidden and ".season_" not in path.as_posix()
        }

    def left(self) -> list[str]:
        """What no run may leave behind."""
        inside = [path.name for path in self.tmp.iterdir()] if self.tmp.exists() else []
        return inside + [path.name for path in self.home.rglob("*") if path.name.startswith(MADE[:2])]

    def half_moved(self) -> bool:
        """Whether the record knows of a run that was ended between two moves."""
        record = self.out / ".season_files.json"
        return record.is_file() and bool(json.loads(record.read_text()).get("moving"))


def _content(path: Path) -> bytes:
    """The content of a file; of a workbook without the time at which it was written."""
    if path.suffix != ".xlsx" or not zipfile.is_zipfile(path):
        return path.read_bytes()
    with zipfile.ZipFile(path) as book:
        return repr([(one.filename, one.CRC) for one in book.infolist() if "core.xml" not in one.filename]).encode()


@contextmanager
def place(before: Path | None = None) -> Iterator[Place]:
    """Make a place for one trial: always of the same name, as a report names the folder of its logs."""
    home = Path(tempfile.gettempdir()) / f"prove_{os.getpid()}"
    home.mkdir()
    try:
        yield Place(home, before)
    finally:
        shutil.rmtree(home)


def processes_of(home: Path) -> list[str]:
    """Processes that still have to do with a place; a kernel is given a moment to see that its parent is gone."""
    for _ in range(40):
        found = []
        for one in Path("/proc").glob("[0-9]*/environ"):
            try:
                if str(home).encode() in one.read_bytes():
                    found.append(one.parent.name)
            except OSError:
                continue
        if not found:
            return []
        time.sleep(0.1)
    return found


def judged(here: Place, new: dict[str, bytes], said: str, *, killed: bool = False) -> str:
    """What is wrong after a trial; blank where all held."""
    now, old = here.files(), here.old
    wrong = [name for name in old if name not in new and name not in now]
    if any(now.get(name) != content for name, content in old.items() if name.startswith("season_20")):
        return "a log changed"
    if any(name not in old and name not in new and "stopped" not in name for name in now):
        return "a file that is neither old nor new"
    if any(content not in (old.get(name), new.get(name)) for name, content in now.items() if "stopped" not in name):
        return "half a file"
    results = {name for name in {*old, *new} if old.get(name) != new.get(name)}
    are_old = all(now.get(name) == old.get(name) for name in results)
    are_new = all(now.get(name) == new.get(name) for name in results)
    if not (are_old or are_new) and not (killed and (here.half_moved() or "mine/" in "".join(results))):
        return "files of two runs, with no sign"
    if not killed and here.left():
        return f"left behind: {here.left()[0][:12]}"
    if "Traceback" in said:
        return "a traceback"
    if said.count("season: ") > 1:
        return "more than one sentence"
    if processes_of(here.home):
        return "a process lives on"
    return "".join(wrong)


class Trials:
    """All trials on one set of results."""

    def __init__(self, home: Path, seed: int) -> None:
        self.home, self.chance = home, random.Random(seed)
        self.new: dict[str, dict[str, bytes]] = {}
        self.takes_s: dict[str, float] = {}

    def before(self, command: str) -> Path:
        """An earlier result of a command; also find out what it would give now, and how long it takes."""
        kept = self.home / command.replace(" ", "_")
        if command in self.new:
            return kept
        if command in ("report", "round", "sheets"):
            with place() as here:  # of the demo as it was with fewer rows
                for name, rows in (("weights", 40), ("losses", 3), ("moves", 1)):
                    log = here.season / f"{name}.csv"
                    log.write_text("".join(log.read_text().splitlines(True)[:-rows]))
                code, said = here.run(command)
                assert code == 0, said
                shutil.copytree(here.out, kept)
        with place(kept) as here:
            began = time.monotonic()
            code, said = here.run(command)
            assert code in (0, 1), said
            self.takes_s[command], self.new[command] = time.monotonic() - began, here.files()
        return kept

    def signals(self, number: int, name: str, commands: tuple[str, ...]) -> Row:
        """A signal at a moment by chance; after `kill -9` another run must clear what is left."""
        row = Row(f"{name} to {', '.join(commands)}")
        for at in range(number):
            command = commands[at % len(commands)]
            with place(self.before(command)) as here:
                process = here.start(command)
                time.sleep(0.15 + self.chance.random() * self.takes_s[command])
                process.send_signal(getattr(signal, name))
                _, said = process.communicate(timeout=60)
                wrong = self._after(here, command, process.returncode, said, name)
                self._count(row, wrong, "ended" if process.returncode not in (0, 1) else "had finished")
        return row

    def _after(self, here: Place, command: str, code: int, said: str, name: str) -> str:
        number = getattr(signal, name)
        killed = name == "SIGKILL"
        if wrong := judged(here, self.new[command], said, killed=killed):
            return wrong
        if killed and code == -number:
            _, said = here.run(command)
            if here.left():
                return "not cleared by the next run"
            return "not mended by the next run" if here.half_moved() else ""
        # ended before Python had begun, a shell says 128 + number too
        return "" if code in (0, 1, 128 + number, -number) else f"exit code {code}"

    def operations(self, command: str, fault: str, step: int) -> Row:
        """A fault at operation 1, 1 + step, … of those that change files."""
        row = Row(f"{fault} at operations of {command}")
        with place(self.before(command)) as here:
            here.run(command, FAULTY, "0", "NONE")
            total = int((here.home / "counted").read_text())
        for at in range(1, total + 1, step):
            with place(self.before(command)) as here:
                code, said = here.run(command, FAULTY, str(at), fault)
                if wrong := judged(here, self.new[command], said, killed=fault == "KILL"):
                    wrong += f" (operation {at})" if os.environ.get("WHERE") else ""
                elif fault != "KILL" and code not in (0, 1, 2):
                    wrong = f"exit code {code}"
                elif code == 2 and said.count("season: ") != 1:
                    wrong = "no sentence"
                self._count(row, wrong, {0: "went on", 1: "went on", 137: "died"}.get(code, "said"))
        return row

    def two_at_once(self, number: int, command: str) -> Row:
        """Two of one command into one folder: the result is that of one of them, whole."""
        row = Row(f"two at once: {command}")
        for _ in range(number):
            with place(self.before(command)) as here:
                both = [here.start(command) for _ in range(2)]
                said = "".join("".join(one.communicate(timeout=300)) for one in both)
                self._count(row, judged(here, self.new[command], said.replace("season: ", "", 1)), "whole")
        return row

    def rewritten(self, number: int) -> Row:
        """A log that is saved again and again while a report is made: pages and tables are of the same logs."""
        row = Row("logs saved while a report is made")
        for at in range(number):
            with place(self.before("report")) as here:
                old = here.files()
                process = here.start("report")
                time.sleep(self.chance.random() * self.takes_s["report"])
                weights = here.season / "weights.csv"
                text = weights.read_text()
                weights.write_text("".join(text.splitlines(True)[: -10 - at]))
                code = process.wait(300)
                out, said = process.communicate()
                self._count(row, self._one_log(here, old, code, out + said), "of one log" if code == 0 else "said")
        return row

    def _one_log(self, here: Place, old: dict[str, bytes], code: int, said: str) -> str:
        if code != 0:
            kept = {name: content for name, content in here.files().items() if name.startswith("out/")}
            return "" if all(old.get(name) == content for name, content in kept.items()) else "half a report"
        read = (here.season / "weights.csv").read_text().count("\n") - 1
        table = (here.out / "tables" / "accounting.csv").read_text(encoding="utf-8-sig")
        counted = int(next(line for line in table.splitlines() if line.startswith("weights,")).split(",")[1])
        from analysis import open_season

        page = (here.out / "season_report.ipynb").read_text(encoding="utf-8")
        return "" if counted == read and open_season(here.season).fingerprint in page else "pages and tables differ"

    def typed(self, number: int) -> Row:
        """Weights typed into the form, and the round made again, killed or not: what was typed is there."""
        row = Row("weights typed, then the round again")
        for at in range(number):
            with place(self.before("round")) as here:
                form = here.out / f"weights_{ON}.csv"
                form.write_text(form.read_text().replace(f",{ON},,,", f",{ON},{TYPED}"))
                for _ in range(2):
                    process = here.start("round")
                    if at % 2:
                        time.sleep(0.15 + self.chance.random() * self.takes_s["round"])
                        process.kill()
                    process.communicate(timeout=60)
                self._count(row, "" if TYPED in form.read_text() else "typed weights lost", "there")
        return row

    @staticmethod
    def _count(row: Row, wrong: str, came: str) -> None:
        row.tried += 1
        row.came[came] += 1
        if wrong:
            row.failed.append(wrong)


def trials(all_: Trials, number: int, *, short: bool) -> Iterator[tuple[str, Callable[[], Row]]]:
    """The rows of the table, each with a word to choose it by."""
    yield "typed", lambda: all_.typed(2 if short else max(number // 10, 4))
    others = tuple(one for one in COMMANDS if one != "report")
    for name in ("SIGKILL", "SIGTERM", "SIGHUP", "SIGINT"):
        for commands in (("round", "new"),) if short else (("report",), others):
            ends = partial(all_.signals, 2 if short else number, name, commands)
            yield f"signals {'report' if commands == ('report',) else 'others'}", ends
    for command in ("new",) if short else WRITING:
        for fault in ("KILL", "ENOSPC") if short else ("KILL", "ENOSPC", "EIO", "EACCES", "EDQUOT"):
            step = 12 if short else max(1, 40 // number) * (4 if command == "report" else 1)
            yield f"operations {command}", partial(all_.operations, command, fault, step)
    for command in ("round",) if short else ("round", "sheets", "report"):
        yield f"two {command}", partial(all_.two_at_once, 1 if short else max(number // 20, 2), command)
    if not short:
        yield "saved", partial(all_.rewritten, max(number // 10, 4))


def main() -> int:
    """Print the table; the exit code is 1 where something did not hold."""
    told = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    told.add_argument("number", nargs="?", type=int, default=200, help="ends of each kind")
    told.add_argument("--short", action="store_true", help="a few of each, for CI")
    told.add_argument("--only", default="", help="rows that begin so: signals report, operations new, two, saved")
    told.add_argument("--seed", type=int, default=1)
    asked = told.parse_args()
    print("| tried | times | held | failed | what came, or what was lost |\n|---|--:|--:|--:|---|")
    failed = 0
    with tempfile.TemporaryDirectory(prefix="prove_results_") as home:
        for word, made in trials(Trials(Path(home), asked.seed), asked.number, short=asked.short):
            if not word.startswith(asked.only):
                continue
            row = made()
            failed += len(row.failed)
            print(row.line(), flush=True)
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
