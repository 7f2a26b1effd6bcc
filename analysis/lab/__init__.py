"""JupyterLab on the chapters, on this machine only, pointed at a season folder."""
