"""`season lab` among settings of others, and ended in every way at many moments; one row a case.

python tests/prove_lab.py [--short] [PART OF A CASE'S NAME]

Moments count from where the command begins: in the tenth of a second before, Python itself answers Ctrl-C with its
own traceback. All of it on two busy cores (load 8 to 10), 149 cases; the settings as they were before in brackets:

| cases | tried | wrong | the last process and scratch gone after, s, at most |
|---|--:|--:|--:|
| settings elsewhere: a door found open | 22 | 0 (of the 10 in the environment, 8) | |
| open, no kernel: SIGINT, SIGTERM, SIGHUP, SIGKILL | 4 | 0 | 3.3 |
| open, a kernel at rest | 4 | 0 | 5.9 |
| open, a busy kernel | 4 | 0 | 5.8 |
| open, a kernel that lets no thread of its own run | 4 | 0 | 5.7 |
| open, its terminal is closed | 1 | 0 | 3.1 |
| open, the server is killed | 1 | 0 | 0.9 |
| starting, 21 moments and when its scratch is made: SIGINT | 22 | 1 (at 0 s: a traceback) | 1.3 |
| the same: SIGTERM | 22 | 0 | 1.5 |
| the same: SIGHUP | 22 | 0 | 1.1 |
| the same: SIGKILL | 22 | 0 | 0.7 |
| starting, 21 moments: three SIGINT | 21 | 1 (at 0 s: exit 1) | 0.9 |
"""

import json
import os
import shutil
import signal
import subprocess
import sys
import sysconfig
import tempfile
import time
from contextlib import suppress
from functools import partial
from http.client import HTTPConnection
from pathlib import Path

from started_lab import GONE_S, SLOW_S, listening, started, until

from analysis.disk import read_json

_ANYONE = {
    "allow_origin": "*",
    "allow_origin_pat": ".*",
    "allow_credentials": True,
    "allow_remote_access": True,
    "allow_unauthenticated_access": True,
    "disable_check_xsrf": True,
    "ip": "0.0.0.0",
    "token": "",
    "password": "",
}
_HIDDEN = {name: {"allow_hidden": True} for name in ("ContentsManager", "AsyncLargeFileManager")}
_NO_KEY = """
from jupyter_server.auth import IdentityProvider, User
class Anyone(IdentityProvider):
    auth_enabled = False
    def get_user(self, handler):
        return User("anyone")
c.ServerApp.identity_provider_class = Anyone
"""
_EVIL = {**{app: _ANYONE for app in ("ServerApp", "LabApp", "JupyterApp")}, **_HIDDEN}
# What is written elsewhere: name → file → its text.
SETTINGS = {
    "a key of nothing": {"jupyter_server_config.json": {"IdentityProvider": {"token": ""}}},
    "the same on the class in use": {"jupyter_server_config.json": {"PasswordIdentityProvider": {"token": ""}}},
    "all doors, on every class": {
        "jupyter_server_config.json": _EVIL
        | {name: {"token": "", "hashed_password": ""} for name in ("IdentityProvider", "PasswordIdentityProvider")}
    },
    "the same for any program": {"jupyter_config.json": _EVIL | {"PasswordIdentityProvider": {"token": ""}}},
    "the same for the lab": {"jupyter_lab_config.json": _EVIL | {"PasswordIdentityProvider": {"token": ""}}},
    "a folder of pieces": {"jupyter_server_config.d/a.json": _EVIL | {"PasswordIdentityProvider": {"token": ""}}},
    "lines of Python": {"jupyter_server_config.py": 'c.PasswordIdentityProvider.token = ""\nc.ServerApp.token = ""\n'},
    "a door of its own": {"jupyter_server_config.py": _NO_KEY},
    "a door of its own, for the lab": {"jupyter_lab_config.py": _NO_KEY},
    "a door of the old kind": {
        "jupyter_server_config.py": "from jupyter_server.auth.login import LegacyLoginHandler\n"
        "class Anyone(LegacyLoginHandler):\n    @classmethod\n    def get_user(cls, handler):\n"
        "        return 'anyone'\n"
        "    @classmethod\n    def get_login_available(cls, settings):\n        return False\n"
        "c.ServerApp.login_handler_class = Anyone\n"
    },
}
PLACES = ("environment", "home", "path", "user base")
VARIABLES = {
    "JUPYTER_TOKEN": "known",
    "JUPYTER_SERVER_ALLOW_UNAUTHENTICATED_ACCESS": "true",
    "JUPYTERLAB_SETTINGS_DIR": "elsewhere",
    "JUPYTER_PREFER_ENV_PATH": "1",
}


def write_settings(folder, files):
    """Write files of settings; a text as it is, anything else as JSON."""
    for name, content in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(content if isinstance(content, str) else json.dumps(content), encoding="utf-8")


def own_environment(folder):
    """A Python with everything that this one has, and settings of its own to spoil; the path of its program."""
    subprocess.run([sys.executable, "-m", "venv", "--without-pip", folder], check=True)
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    site = subprocess.run(
        [python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))"],
        capture_output=True,
        text=True,
        check=True,
    ).stdout.strip()
    (Path(site) / "all.pth").write_text(f"import site; site.addsitedir({sysconfig.get_path('purelib')!r})\n")
    (folder / "share").symlink_to(Path(sys.prefix) / "share", target_is_directory=True)
    shutil.copytree(Path(sys.prefix) / "etc" / "jupyter", folder / "etc" / "jupyter")
    return python


def doors(lab):
    """What others could do with an open lab: a list of doors that stand open."""
    port = lab.url().strip("/").rpartition(":")[2]
    found = {f"listens at {address}" for address in listening(lab, int(port)) if address != "127.0.0.1"}
    for name in ("", "?token=", "?token=known"):
        if lab.ask(f"api/contents{name}", key=False)[0] == 200:
            found.add(f"no key needed{name}")
    if lab.ask("api/kernels", "POST", key=False)[0] < 400:
        found.add("runs programs without a key")
    if lab.ask("api/status", Host="birds.example")[0] == 200:
        found.add("answers under another name")
    if lab.ask("api/contents/.settings")[0] == 200:
        found.add("shows hidden files")
    return sorted(found | other_pages(lab))


def other_pages(lab):
    """What a page elsewhere could do in a keeper's browser: that sends her cookies, and says where the page is from."""
    there = HTTPConnection("127.0.0.1", int(lab.url().strip("/").rpartition(":")[2]), timeout=SLOW_S)
    there.request("GET", f"/lab?token={read_json(lab.note)['token']}")
    answer = there.getresponse()
    answer.read()
    cookies = "; ".join(value.split(";")[0] for name, value in answer.getheaders() if name.lower() == "set-cookie")
    there.close()
    assert lab.ask("api/contents", key=False, Cookie=cookies)[0] == 200, "her own cookies are good"
    found = set()
    if lab.ask("api/contents", key=False, Cookie=cookies, Origin="http://birds.example")[0] == 200:
        found.add("answers other pages")
    if lab.ask("api/kernels", "POST", key=False, Cookie=cookies)[0] < 400:
        found.add("takes orders from other pages")
    return found


def among_settings(folder, place, files, *, open_only=False):
    """Start it among settings elsewhere; what stands open, or that it did not open."""
    python, variables = sys.executable, dict(VARIABLES)
    elsewhere = folder / "elsewhere"
    if place == "environment":
        python = own_environment(folder / "python")
        elsewhere = folder / "python" / "etc" / "jupyter"
    elif place == "home":
        elsewhere = folder / "home" / ".jupyter"
        variables["HOME"] = str(folder / "home")
    elif place == "path":
        variables["JUPYTER_CONFIG_PATH"] = str(elsewhere)
    else:
        elsewhere = folder / "base" / "etc" / "jupyter"
        variables["PYTHONUSERBASE"] = str(folder / "base")
    write_settings(elsewhere, files)
    with started(folder / "run", python=python, variables=variables) as lab:
        if not lab.until_open():
            return ["not opened: " + lab.process.stderr.read().strip()]
        return doors(lab)


# What a kernel does when its lab is ended: Python without end, or what lets no other thread of it run.
KERNELS = {
    "no kernel": None,
    "a kernel at rest": "",
    "a busy kernel": "while True: pass",
    "a deaf kernel": "import re; re.match('(a+)+$', 'a' * 60 + 'b')",
}
SIGNALS = ("SIGINT", "SIGTERM", "SIGHUP", "SIGKILL")
MOMENTS = (0, 0.02, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.2, 1.4, 1.6, 1.8, 2, 2.5, 3, 4)
TRACES = ("Traceback", "Exception ignored", "Fatal Python error")
STOPPED = 130


def ended_open(folder, name, kernel="no kernel"):
    """End it by a signal once it is open; what is wrong then, and the seconds until all of it is gone."""
    with started(folder) as lab:
        assert lab.until_open(), lab.process.stderr.read()
        if KERNELS[kernel] is not None:
            lab.kernel(KERNELS[kernel])
        wrong, seconds, code, said = _ended(lab, name)
        if name != "SIGKILL" and (code, said.endswith("Closed.\n"), lab.note.exists()) != (0, True, False):
            wrong.append(f"ended with {code}: {said[-40:]!r}")
        return wrong, seconds


def ended_early(folder, name, moment, times=1):
    """The same, some seconds after the command began, or (None) when its scratch is made; perhaps more signals."""
    with started(folder) as lab:
        lab.until_begun()
        time.sleep(moment or 0)
        if moment is None:
            assert until(lab.left)
        wrong, seconds, code, said = _ended(lab, name, times)
        was_open = "Ctrl-C ends it" in said
        number = getattr(signal, name)
        if code not in ((0, -number) if was_open else (STOPPED, -number)):
            wrong.append(f"ended with {code}")
        return wrong, seconds


def _ended(lab, name, times=1):
    for _ in range(times):
        with suppress(ProcessLookupError):
            lab.process.send_signal(getattr(signal, name))
        time.sleep(0.1 * (times > 1))
    seconds = lab.seconds_to_go()
    wrong = [] if seconds is not None else [f"left: {len(lab.processes())} processes, {lab.left()}"]
    if not until(lambda: lab.process.poll() is not None, GONE_S):
        return [*wrong, "it goes on"], seconds, None, ""
    said, trouble = lab.process.communicate()
    return (
        wrong + [line for line in trouble.splitlines() if line.startswith(TRACES)],
        seconds,
        lab.process.returncode,
        said,
    )


def terminal_closed(folder):
    """Its terminal is closed while it is open; nobody can be told of it any more."""
    import pty

    mine, its = pty.openpty()
    with started(folder, stdout=its, stdin=its, start_new_session=True, preexec_fn=_own_terminal) as lab:
        os.close(its)
        lab.until_open()
        os.close(mine)
        wrong, seconds, _, _ = _ended(lab, "SIGCONT")
        return wrong, seconds


def _own_terminal():
    import fcntl
    import termios

    fcntl.ioctl(0, termios.TIOCSCTTY, 0)


def server_killed(folder):
    """JupyterLab itself is killed, with a busy kernel: the command ends too."""
    with started(folder) as lab:
        lab.until_open()
        lab.kernel(KERNELS["a busy kernel"])
        server = next(one for one in lab.processes() if "analysis.lab.serving" in " ".join(one.cmdline()))
        server.kill()
        wrong, seconds, _, _ = _ended(lab, "SIGCONT")
        return wrong, seconds


def cases(short):
    """Yield the name of each case, and what tries it in a folder: a function that gives what is wrong, and seconds."""
    for name in SETTINGS:
        for place in PLACES if name == "all doors, on every class" else PLACES[: 1 if short else 2]:
            yield f"settings: {name} ({place})", partial(_settings, place=place, files=SETTINGS[name])
    for kernel in KERNELS:
        for name in SIGNALS:
            yield f"open: {name}, {kernel}", partial(ended_open, name=name, kernel=kernel)
    for name in SIGNALS:
        yield f"starting: {name} when its scratch is made", partial(ended_early, name=name, moment=None)
    yield "open: its terminal is closed", terminal_closed
    yield "open: the server is killed", server_killed
    for name in SIGNALS:
        for moment in () if short else MOMENTS:
            yield f"starting: {name} after {moment} s", partial(ended_early, name=name, moment=moment)
    for moment in () if short else MOMENTS:
        yield f"starting: three SIGINT from {moment} s", partial(ended_early, name="SIGINT", moment=moment, times=3)


def _settings(folder, place, files):
    return among_settings(folder, place, files), None


def main():
    wanted = [word for word in sys.argv[1:] if word != "--short"]
    failed = 0
    print("| case | gone after, s | wrong |\n|---|--:|---|")
    for name, tried in cases("--short" in sys.argv):
        if all(word in name for word in wanted):
            with tempfile.TemporaryDirectory() as folder:
                wrong, seconds = tried(Path(folder))
            failed += bool(wrong)
            print(f"| {name} | {'' if seconds is None else seconds} | {'; '.join(wrong)} |", flush=True)
    sys.exit(failed > 0)


if __name__ == "__main__":
    main()
