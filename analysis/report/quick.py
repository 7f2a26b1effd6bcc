"""A quick start for the programs of a report: the command, and the kernel it starts.

jsonschema loads `rfc3987_syntax` to check international addresses when asked to check formats. It builds a grammar
at import, a second of altair's and papermill's start, and neither of them asks. jsonschema itself takes the module
for optional (it is imported under `suppress(ImportError)`), so the check is simply not registered here. Never done
as a side effect of `import analysis`: other people's programs keep the check.
"""

import logging
import os
import sys


def load_jsonschema() -> None:
    """Import jsonschema without its grammar of addresses; does nothing where either is loaded already.

    Any later `import rfc3987_syntax` works as ever.
    """
    if "jsonschema" in sys.modules or "rfc3987_syntax" in sys.modules:
        return
    sys.modules["rfc3987_syntax"] = None  # type: ignore[assignment]
    try:
        import jsonschema  # type: ignore[import-untyped]  # noqa: F401
    finally:
        del sys.modules["rfc3987_syntax"]


def run_kernel() -> None:
    """The kernel's own program: what the chapters need is loaded while the parent still loads papermill."""
    load_jsonschema()
    import altair  # noqa: F401
    from ipykernel.kernelapp import launch_new_instance

    from analysis.pairs import of_season
    from analysis.report.ahead import worked_ahead

    of_season.handed_over = worked_ahead
    logging.getLogger("IPKernelApp").addFilter(_end_unanswered)
    launch_new_instance()


def _end_unanswered(record: logging.LogRecord) -> bool:
    """End where the kernel itself failed on a request (for want of memory): it lives on, and never answers that one."""
    if record.exc_info and "message handler" in str(record.msg):
        os._exit(1)
    return True
