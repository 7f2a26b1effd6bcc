"""The season's pages in JupyterLab's export menu.

Only the entry point imports this module: nbconvert takes a second to load, and the report path does without it.
"""

from typing import Any

from nbconvert.exporters import Exporter

from analysis.say import say


class SeasonPDF(Exporter):
    """nbconvert exporter: the notebook as it stands, in the season's own page design."""

    file_extension = ".pdf"
    output_mimetype = "application/pdf"

    @property
    def export_from_notebook(self) -> str:  # type: ignore[override]
        """Its name in a menu."""
        return say("report.export")

    def from_notebook_node(self, nb: Any, resources: Any = None, **kw: Any) -> tuple[Any, Any]:
        """Return the PDF and the resources, as nbconvert asks for them."""
        from analysis.report.typeset import typeset

        nb, resources = super().from_notebook_node(nb, resources, **kw)
        return typeset(nb), resources
