"""JupyterLab on the chapters, on this machine only, pointed at a season folder."""

from analysis.lab.opening import open_lab

__all__ = ["open_lab"]
