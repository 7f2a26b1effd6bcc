"""What each chapter shows: season in, displays out. A notebook's cell calls one of these and shows it.

Each function returns a list of displays (charts, tables, sentences) and, where the logs hold nothing for it, one
sentence that says so. Nothing is computed here that `findings`, `rates` or `growth` could compute.
"""

__all__ = [
    "advice",
    "eggs",
    "first_page",
    "growth",
    "in_short",
    "logs",
    "look_up",
    "losses",
    "nursery",
    "one_chick",
    "pair_sheet",
    "pairs",
]
