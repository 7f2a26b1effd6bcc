"""One dress for every chart and page: ink, palette, type, widths."""

from typing import Any

FAMILY = "Fira Sans"
INK, MUTED, RULE, GRID = "#1a1a1a", "#5a5a5a", "#d0d0d0", "#e6e6e6"
# The three dark colours of "medium-contrast" in Paul Tol, Colour Schemes, SRON technical note (values from memory).
BLUE, YELLOW, RED = "#004488", "#997700", "#994455"

PAGE_PX = 642  # 170 mm of text at 96 px an inch
NAME_PX = 128  # the column of names, 34 mm, the same in charts, tables and lists


def altair_theme() -> dict[str, Any]:
    """Vega-Lite configuration shared by all charts."""
    words = {
        "labelFontSize": 11,
        "titleFontSize": 10.5,
        "titleFontWeight": "normal",
        "labelColor": INK,
        "titleColor": MUTED,
    }
    axis = {
        **words,
        "gridColor": GRID,
        "gridWidth": 0.6,
        "domain": False,
        "tickColor": RULE,
        "tickSize": 3,
        "labelPadding": 4,
        "titlePadding": 6,
        "titleAnchor": "start",
    }
    return {
        "config": {
            "font": f"{FAMILY}, sans-serif",
            "background": "white",
            "padding": 0,
            "view": {"stroke": None},
            "axis": axis,
            "axisX": {"domain": True, "domainColor": "#999999"},
            "axisY": {"ticks": False},
            "header": {
                "labelFontSize": 10,
                "labelFontWeight": 600,
                "labelColor": INK,
                "title": None,
                "labelAnchor": "start",
            },
            "text": {"fontSize": 11, "color": INK},
            "bar": {"color": BLUE},
            "line": {"color": BLUE, "strokeWidth": 1.5},
            "point": {"color": BLUE, "filled": True, "size": 45, "opacity": 1},
        }
    }
