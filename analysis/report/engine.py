"""papermill's engine for the report, as `papermill --engine season` finds it.

papermill loads its engines while it is itself being imported, so this module takes nothing from it at the top.
"""

from typing import Any

_OURS = ("run", "kernel", "start_timeout", "progress_bar")


class SeasonEngine:
    """This very Python as the kernel, one save at the end, and news of each cell; see `analysis.report.run`."""

    @staticmethod
    def execute_notebook(nb: Any, kernel_name: str, output_path: str | None = None, **options: Any) -> Any:
        """Run a notebook; papermill's options that have no meaning here are left out."""
        from analysis.report.run import run_cells

        kept = {name: options[name] for name in _OURS if name in options}
        return run_cells(nb, kernel_name, output_path, **kept)

    @staticmethod
    def nb_kernel_name(nb: Any, name: str | None = None) -> str:
        """The kernel's name as papermill asks for it; a notebook without one is Python's."""
        return name or nb.metadata.get("kernelspec", {}).get("name", "python3")

    @staticmethod
    def nb_language(nb: Any, language: str | None = None) -> str:
        """The language as papermill asks for it."""
        return language or "python"
