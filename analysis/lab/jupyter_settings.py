"""What JupyterLab finds when it starts: settings of the workbook's own; other work on this machine stays untouched.

What should last (the look she chose, open chapters) lies in the workbook; what is only for this run, and what
could be misused by others (keys of the kernels), in a folder of this run; what says that she trusts her own
chapters, in her account.
"""

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from analysis.disk import plain_words, write_json, write_whole
from analysis.lab.chapters import SETTINGS
from analysis.lab.serving import locks
from analysis.names import FOLDER_VARIABLE
from analysis.report.kernel import KERNEL_OPTIONS, KERNEL_PROGRAM, NAME, this_python

FIRST, RECIPES = "00_start_here.ipynb", "recipes.ipynb"
# Written where she has none of her own yet: no news, no look for updates; controls are saved with their chapter; a
# closed chapter ends its kernel, and a chapter with many charts shows them all; room for the chapters' names.
_LOOK: Mapping[str, Mapping[str, Any]] = {
    "@jupyterlab/apputils-extension/notification": {"fetchNews": "false", "checkForUpdates": False},
    "@jupyter-widgets/jupyterlab-manager/plugin": {"saveState": True},
    "@jupyterlab/notebook-extension/tracker": {"kernelShutdown": True, "maxNumberOutputs": 1000},
    "@jupyterlab/filebrowser-extension/browser": {"showLastModifiedColumn": False},
}
# Tools for those who write programs: extensions from outside, and the debugger.
_LEFT_OUT = ("@jupyterlab/extensionmanager-extension", "@jupyterlab/debugger-extension")
# Lines of a length that is read with ease on a wide screen. Folded programs show three dots to unfold them, not their
# first line. A chart's menu saves its picture; tools for programmers, and a page outside this machine, are left out.
# Charts are ink on white: on a dark page they and the lists below them lie on a white card.
_SHEET = """.jp-Notebook .jp-Cell, .jp-Notebook-footer { max-width: 76em; }
.jp-InputPlaceholder .jp-PlaceholderText { display: none; }
.jp-Notebook .jp-InputPlaceholder .jp-Placeholder-content { background: none !important; border: none !important; }
.jp-InputPlaceholder .jp-Placeholder-contentContainer { padding: 0; opacity: .5; height: 16px; }
.jp-Notebook .jp-InputPlaceholder, .jp-InputPlaceholder > div { height: 16px !important; min-height: 0; }
.vega-embed .vega-actions a:not([download]) { display: none; }
[data-jp-theme-light="false"] .vega-embed.has-actions { background: #fff; color: #1a1a1a; padding: 8px 38px 8px 8px; }
"""
# Forms to export to: the season's own pages and HTML; others need programs that few have, and would end in an error.
_FORMS = {
    "TemplateExporter": False,
    "HTMLExporter": True,
    **dict.fromkeys(("SlidesExporter", "WebPDFExporter", "QtPDFExporter", "QtPNGExporter"), False),
}
# Also where she took out a chapter's first cells, an error is a sentence.
_PLAIN = "--IPKernelApp.exec_lines=from analysis.show import plain_errors; plain_errors()"


def write_look(folder: Path, workbook: Path) -> None:
    """Write the settings that she has not got yet; what she chose herself in JupyterLab stays."""
    with plain_words("chapters", folder):
        for name, content in _LOOK.items():
            path = workbook / SETTINGS / f"{name}.jupyterlab-settings"
            if not path.exists():
                write_json(path, content)


def write_run(run: Path, workbook: Path, *, port: int, token: str) -> None:
    """Write what JupyterLab reads for this run alone: where to listen, what to leave out, which Python to use.

    `run` is a folder that only this account can read, `port` the first to try, `token` the key that is asked for.
    """
    settings = workbook / SETTINGS
    server = {
        "port": port,
        "root_dir": str(workbook),
        "open_browser": False,
        "allow_root": hasattr(os, "geteuid") and os.geteuid() == 0,
        "answer_yes": True,
        "jpserver_extensions": {"jupyter_lsp": True},  # none that others have installed
    }
    lab = {
        "default_url": f"/lab/tree/{FIRST}",
        "user_settings_dir": str(settings),
        "workspaces_dir": str(settings / "workspaces"),
        "news_url": None,
        "check_for_updates_class": "jupyterlab.NeverCheckForUpdate",
        "extension_manager": "readonly",
        "custom_css": True,
    }
    kernels = {"allowed_kernelspecs": [NAME]}
    forms = {name: {"enabled": offered} for name, offered in _FORMS.items()}
    kept = locks(token)
    kept["ServerApp"] |= server
    config = {**kept, "LabApp": lab, "KernelSpecManager": kernels, **forms}
    write_json(run / "config" / "jupyter_server_config.json", config)
    left_out = {"disabledExtensions": dict.fromkeys(_LEFT_OUT, True)}
    write_json(run / "config" / "labconfig" / "page_config.json", left_out)
    write_whole(run / "config" / "custom" / "custom.css", _SHEET.encode())
    argv = [*this_python(KERNEL_PROGRAM), *KERNEL_OPTIONS, _PLAIN]
    kernel = {"argv": argv, "display_name": "Python 3", "language": "python"}
    write_json(run / "share" / "kernels" / NAME / "kernel.json", kernel)


def environment(run: Path, folder: Path) -> dict[str, str]:
    """The variables that JupyterLab and its kernels start with: nothing of hers is read or written at home."""
    quiet = {"PYTHONWARNINGS": "ignore", "PYTHONUTF8": "1", "OPENBLAS_NUM_THREADS": "1"}
    places = {
        "JUPYTER_CONFIG_DIR": run / "config",
        "JUPYTER_RUNTIME_DIR": run / "runtime",
        "JUPYTER_DATA_DIR": _trust() or run / "data",
        "JUPYTER_PATH": run / "share",
        "IPYTHONDIR": run / "ipython",
    }
    ours = {name: str(place) for name, place in places.items()} | quiet
    ours |= {"JUPYTER_PREFER_ENV_PATH": "0", FOLDER_VARIABLE: str(folder)}
    return {name: value for name, value in os.environ.items() if not name.startswith("JUPYTER")} | ours


def _trust() -> Path | None:
    """Where her account keeps what she has run herself, and may be shown alive; None where it can keep nothing."""
    from jupyter_core.paths import jupyter_data_dir

    try:
        place = Path(jupyter_data_dir()) / "season"
        place.mkdir(parents=True, exist_ok=True)
    except (OSError, RuntimeError):
        return None
    return place if os.access(place, os.W_OK) else None
