"""A command under a terminal of its own, and what reaches its screen, byte by byte."""

import os
import pty
import re
import select
import subprocess
import time

# controls, DEL, C1, and what turns the direction of writing or ends a line
COMMANDS_A_SCREEN = re.compile("[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
PROGRESS = "\r\x1b[K"  # the line that rewrites itself is our own


def on_terminal(arguments, cwd, *, until=None, seconds=120):
    """Run a command and return its exit code and what it printed; once `until` is seen, it is asked to end."""
    ours, theirs = pty.openpty()
    environment = {**os.environ, "COLUMNS": "4000", "PYTHONIOENCODING": "utf-8", "TERM": "xterm"}
    process = subprocess.Popen(
        arguments, stdin=theirs, stdout=theirs, stderr=theirs, cwd=cwd, env=environment, start_new_session=True
    )
    os.close(theirs)
    seen, latest = b"", time.monotonic() + seconds
    while time.monotonic() < latest:
        if select.select([ours], [], [], 0.2)[0]:
            try:
                piece = os.read(ours, 65536)
            except OSError:  # the other end is closed
                break
            if not piece:
                break
            seen += piece
        if until and until in seen:
            process.terminate()
            until = None
    process.kill()
    os.close(ours)
    return process.wait(), seen.decode("utf-8", errors="surrogateescape")


def commands_in(screen):
    """Return the characters on a screen that it would obey, our own line ends and progress apart."""
    return COMMANDS_A_SCREEN.findall(screen.replace(PROGRESS, "").replace("\r\n", ""))
