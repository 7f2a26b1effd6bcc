"""How many hostile bytes, strings and files were tried on the logs, the screen and the tables, and what was lost.

python tests/prove_hostile.py --short    a few of each, as the suite does
python tests/prove_hostile.py 100 1      the table below
python tests/prove_hostile.py 2000 7     so many of each, from seed 7

Rows are counted by the csv module alone, never by our own reader; values are compared with what was written.

100 of each, seed 1 (bytes, moved rows, values, binary files, files that are none, cells on the screen, in tables);
lost is a row beyond the one that a byte stands in, a row not counted, a value nobody wrote, a file not in the account:

| proof | tried | lost |
|---|--:|--:|
| bytes_put_in | 100 | 0 |
| rows_as_counted | 100 | 0 |
| values_as_written | 20 | 0 |
| binary_files | 50 | 0 |
| no_plain_files | 6 | 0 |
| on_the_screen | 100 | 0 |
| in_tables | 752 | 0 |
"""

import csv
import gzip
import io
import os
import random
import re
import socket
import sys
import tempfile
from collections import Counter
from pathlib import Path

import pandas as pd
from fuzz_logs import make_folder
from terminal import COMMANDS_A_SCREEN

from analysis import open_season
from analysis.check.summary import check_text
from analysis.show.displays import csv_text

CONTROLS = [chr(n) for n in (*range(9), 11, 12, *range(14, 32), *range(127, 160))]
COMMANDS = [sign for n in range(0x3000) if COMMANDS_A_SCREEN.match(sign := chr(n))]
SIGNS, PARTS = "=+-@＝＋－＠", [";", "\t", "|", "\n", "\r\n"]
BLANKS = ["", " ", "\t", "\r", "\u00a0", "\u200b", "\x1b", '"']
Result = tuple[int, list[str]]


def records(path: Path) -> list[list[str]]:
    """Return the rows under the heading that hold anything, as the csv module alone reads them."""
    text = path.read_text(encoding="utf-8-sig")
    return [row for row in csv.reader(io.StringIO(text, newline="")) if any(cell.strip() for cell in row)][1:]


def account(folder: Path) -> dict[str, tuple[int, int, int]]:
    """Return the account of a folder: read, used and not used by log."""
    return {log.log: (log.read, log.used, log.not_used) for log in open_season(folder).accounting.itertuples()}


def bytes_put_in(folder: Path, dice: random.Random, number: int) -> Result:
    """One control character anywhere in one log: no row may be lost but the one it stands in."""
    before, wrong = account(folder), []
    for _ in range(number):
        path = dice.choice([p for p in sorted(folder.glob("*.csv")) if p.stem in before and p.stem != "settings"])
        whole, text = path.read_bytes(), path.read_text(encoding="utf-8-sig")
        at, sign = dice.randrange(text.index("\n") + 1, len(text)), dice.choice(CONTROLS)
        path.write_text(text[:at] + sign + text[at:], encoding="utf-8")
        read, used, not_used = account(folder)[path.stem]
        path.write_bytes(whole)
        rows = len(records(path))
        if read != rows or used + not_used != rows or before[path.stem][1] - used > 1:
            wrong.append(f"{path.name}, U+{ord(sign):04X} at {at}: {rows} written, {read} read, {used} used")
    return number, wrong


def rows_as_counted(folder: Path, dice: random.Random, number: int) -> Result:
    """Rows moved, doubled, dropped and last rows cut off: as many are read as the csv module counts."""
    wrong = []
    for _ in range(number):
        path = dice.choice([p for p in sorted(folder.glob("*.csv")) if p.stem != "settings"])
        whole = path.read_bytes()
        head, *lines = path.read_text(encoding="utf-8-sig").splitlines()
        lines = dice.choices(lines, k=dice.randrange(1, len(lines) + 1))
        path.write_text("\n".join([head, *lines]) + dice.choice(["", "\n"]), encoding="utf-8")
        rows, read = len(records(path)), account(folder).get(path.stem, (0,))[0]
        path.write_bytes(whole)
        if rows != read:
            wrong.append(f"{path.name}: {rows} written, {read} read")
    return number, wrong


def values_as_written(folder: Path, dice: random.Random, number: int) -> Result:
    """Weights with decimal points and with decimal commas: each that is used is one that was written."""
    wrong = []
    path = folder / "weights.csv"
    whole = path.read_bytes()
    for _ in range(number):
        head = path.read_text(encoding="utf-8-sig").splitlines()[0].split(",")
        at, rows = head.index("weight"), [row for row in records(path) if re.fullmatch(r"[\d.]+", row[2])]
        for row in rows:
            row[at] = f"{float(row[at]) + dice.random():.2f}"
        written = Counter(float(row[at]) for row in rows)
        for row in rows:
            row[at] = row[at].replace(".", ",")
        file = io.StringIO()
        csv.writer(file, delimiter=";").writerows([head, *rows])
        path.write_text(file.getvalue(), encoding="utf-8")
        weights = open_season(folder).weights
        used = Counter(weights.loc[weights["together"] == 1, "mass_g"].round(2))
        path.write_bytes(whole)
        if not used or used - written:
            wrong.append(f"weights that nobody wrote: {list((used - written).items())[:3]}")
    return number, wrong


def binary_files(folder: Path, dice: random.Random, number: int) -> Result:
    """Binary files in the place of a log: refused, and in the account."""
    wrong, path = [], folder / "weights.csv"
    whole = path.read_bytes()
    for at in range(number):
        size = dice.randrange(500, 20_000)
        packed = gzip.compress(dice.randbytes(9) + whole[:size], mtime=0)
        path.write_bytes((dice.randbytes(size), packed, bytes(size))[at % 3])
        if "weights.csv, not read" not in account(folder):
            wrong.append(f"{size} bytes of kind {at % 3} were read as text")
    path.write_bytes(whole)
    return number, wrong


def no_plain_files(folder: Path, dice: random.Random, number: int) -> Result:
    """Pipes, sockets, folders, links: said, in the account, never waited for."""
    path, here, wrong = folder / "losses.csv", os.getcwd(), []
    whole = path.read_bytes()
    os.chdir(folder)  # a socket's path may not be long
    made = {
        "pipe": lambda: os.mkfifo(path),
        "socket": lambda: socket.socket(socket.AF_UNIX).bind(path.name),
        "folder": path.mkdir,
        "link": lambda: path.symlink_to("nowhere"),
        "loop": lambda: path.symlink_to(path.name),
        "device": lambda: path.symlink_to("/dev/zero"),
    }
    for kind, make in made.items():
        path.unlink()
        make()
        if "losses.csv, not read" not in account(folder):
            wrong.append(kind)
        path.rmdir() if kind == "folder" else path.unlink()
        path.write_bytes(whole)
    os.chdir(here)
    return len(made), wrong


def on_the_screen(folder: Path, dice: random.Random, number: int) -> Result:
    """Cells that would command a terminal: none of them reaches the text of the check."""
    wrong, path = [], folder / "losses.csv"
    whole = path.read_bytes()
    for _ in range(number):
        cell = "".join(dice.choices([*COMMANDS, "K", "1", "[31m"], k=12)).replace("\n", "").replace("\r", "")
        path.write_text(f'chick,found_on,cause\n"{cell}",2026-04-01,"{cell}"\nK1,"{cell}",x\n', encoding="utf-8")
        said = check_text(open_season(folder))
        if any(sign in said.replace("\n", "") for sign in COMMANDS):
            wrong.append(repr(cell))
    path.write_bytes(whole)
    return number, wrong


def in_tables(folder: Path, dice: random.Random, number: int) -> Result:
    """Cells that would compute: no field of a table begins a formula, whatever parts the cells."""
    cells = [f"{b}{s}cmd|'/C calc'!A0" for b in BLANKS if b != '"' for s in SIGNS]
    cells += [f"K1{p}{b}{s}cmd|'/C calc'!A0{p}{b}" for p in PARTS for b in BLANKS for s in SIGNS]
    lines = csv_text(pd.DataFrame({"one": cells, "two": cells[::-1]})).split("\n")
    fields = [field for part in ",;\t|" for line in lines for field in line.split(part)]
    return 2 * len(cells), [f for f in fields if re.match(rf'[\s"\x00-\x1f\u200b]*[{re.escape(SIGNS)}]', f)]


PROOFS = {
    bytes_put_in: 1,
    rows_as_counted: 1,
    values_as_written: 0.2,
    binary_files: 0.5,
    no_plain_files: 1,
    on_the_screen: 1,
    in_tables: 1,
}


def prove(proof, number: int, seed: int) -> Result:
    """Try one kind of hostile input on a copy of the demo; return how many were tried, and what went wrong."""
    with tempfile.TemporaryDirectory() as space:
        folder = Path(space) / "season"
        make_folder(folder)
        return proof(folder, random.Random(seed), max(int(number * PROOFS[proof]), 2))


if __name__ == "__main__":
    given = [int(argument) for argument in sys.argv[1:] if argument.isdecimal()]
    number, seed = (*given, *(5 if "--short" in sys.argv else 200, 1)[len(given) :])
    print(f"{'':20} {'tried':>6} {'lost':>6}")
    failed = False
    for proof in PROOFS:
        tried, wrong = prove(proof, number, seed)
        failed |= bool(wrong)
        print(f"{proof.__name__:20} {tried:6} {len(wrong):6}", *wrong[:3], sep="\n  " if wrong else "")
    sys.exit(failed)
