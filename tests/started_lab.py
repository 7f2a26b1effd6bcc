"""`season lab` started in a folder of its own, so that whatever it starts and leaves can be told from all else."""

import json
import os
import socket
import subprocess
import sys
import time
import uuid
from contextlib import contextmanager, suppress
from http.client import HTTPConnection

import psutil

from analysis.disk import read_json
from support import LISTENING, ROOT

SLOW_S = 120  # for what only a busy machine delays
GONE_S = 60  # for what must be gone at last; how soon it goes is measured by tests/prove_lab.py
MARK = "SEASON_PROOF"
BEGUN = "Python and the package are there"
COMMAND = (
    f"{LISTENING} from analysis.cli import main; import sys; print('{BEGUN}', file=sys.stderr, flush=True); main()"
)
HATCHES = "chick,hatched_at\nK1,2026-04-01\n"


class Started:
    """`season lab` in a folder of its own; whatever it starts and leaves can be told from all else."""

    def __init__(self, folder, *, python=sys.executable, variables=None, stdout=subprocess.PIPE, **options):
        self.mark = uuid.uuid4().hex
        self.season, self.scratch = folder / "season", folder / "scratch"
        for made in (self.season, self.scratch):
            made.mkdir(parents=True)
        (self.season / "hatches.csv").write_text(HATCHES)
        self.note = self.season / "workbook" / ".settings" / "open.json"
        mine = {MARK: self.mark, "TMPDIR": str(self.scratch), "XDG_DATA_HOME": str(folder / "data")}
        command = [python, "-c", COMMAND, "lab", str(self.season), "--no-browser", f"--port={free_port()}"]
        self.process = subprocess.Popen(
            command,
            stdout=stdout,
            stderr=subprocess.PIPE,
            text=True,
            cwd=ROOT,
            env=os.environ | mine | (variables or {}),
            **options,
        )

    def until_begun(self):
        """Wait until the command itself begins: before that, Python answers Ctrl-C in its own way."""
        assert self.process.stderr.readline() == f"{BEGUN}\n"

    def until_open(self):
        """Wait until it is open, or over; tell whether it is open."""
        until(lambda: self.note.exists() or self.process.poll() is not None)
        return self.note.exists()

    def url(self):
        return read_json(self.note)["url"]

    def ask(self, path, method="GET", *, key=True, **headers):
        """The answer's number and text; 0 where there is none."""
        if key:
            headers["Authorization"] = f"token {read_json(self.note)['token']}"
        there = HTTPConnection("127.0.0.1", int(self.url().strip("/").rpartition(":")[2]), timeout=SLOW_S)
        try:
            body = "{}" if method == "POST" else None
            there.request(method, "/" + path, body, {name.replace("_", "-"): value for name, value in headers.items()})
            answer = there.getresponse()
            return answer.status, answer.read().decode()
        finally:
            there.close()

    def kernel(self, code=None):
        """Start a kernel, and have it run some code without end."""
        from jupyter_client.blocking import BlockingKernelClient

        status, said = self.ask("api/kernels", "POST")
        assert status == 201, said
        place = f"season_lab_*/runtime/kernel-{json.loads(said)['id']}.json"
        until(lambda: any(self.scratch.glob(place)))
        client = BlockingKernelClient(connection_file=str(next(self.scratch.glob(place))))
        client.load_connection_file()
        client.start_channels(hb=False)
        client.kernel_info(reply=True, timeout=SLOW_S)
        if code:
            client.execute(code)
            time.sleep(0.5)
        client.stop_channels()

    def processes(self):
        """All that it started and that is still there."""
        return [one for one in psutil.process_iter() if self._is_its(one)]

    def _is_its(self, one):
        with suppress(psutil.Error, OSError):
            return one.environ().get(MARK) == self.mark and one.status() != psutil.STATUS_ZOMBIE
        return False

    def left(self):
        """Scratch that is still there, by name."""
        return sorted(path.name for path in self.scratch.iterdir())

    def seconds_to_go(self, limit=GONE_S):
        """How long its processes and its scratch are still there; None where they stay."""
        began = time.monotonic()
        gone = until(lambda: not self.processes() and not self.left(), limit)
        return round(time.monotonic() - began, 1) if gone else None

    def clear(self):
        """End what is left of it."""
        for one in self.processes():
            with suppress(psutil.Error):
                one.kill()
        self.process.wait()
        for stream in (self.process.stdout, self.process.stderr):
            if stream:
                stream.close()


@contextmanager
def started(folder, **options):
    """As `Started`; nothing of it is left after the block."""
    lab = Started(folder, **options)
    try:
        yield lab
    finally:
        lab.clear()


def free_port():
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return free.getsockname()[1]


def until(true, limit=SLOW_S):
    """Wait for something; tell whether it came true."""
    latest = time.monotonic() + limit
    while not (seen := true()) and time.monotonic() < latest:
        time.sleep(0.05)
    return bool(seen)


def listening(lab, port):
    """The addresses at which its processes listen on its port."""
    found = set()
    for one in lab.processes():
        with suppress(psutil.Error):
            found |= {
                end.laddr.ip
                for end in one.net_connections("tcp")
                if end.status == psutil.CONN_LISTEN and end.laddr.port == port
            }
    return found
