"""JupyterLab on the chapters, on this machine only, pointed at a season folder."""

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from analysis.lab.opening import open_lab

__all__ = ["open_lab"]


def __getattr__(name: str) -> Any:
    """What needs pandas is loaded when it is asked for: the server itself can do without."""
    if name == "open_lab":
        from analysis.lab.opening import open_lab

        return open_lab
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
