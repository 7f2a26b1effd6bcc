"""A day in the aviary, from the logs as they stood: what is due, the morning's round, and what needs attention.

due              what is due of chicks, eggs and pairs
eggs_due         what is due of eggs
nests            the nests of parents to look into
things           one thing due, and the rows of several alike
round            the round of a day: whom to read of first, who is fed in which order, what is due and needs attention
round_rows       the round laid out: rows to read and to write on
preparation      what is made ready before the first feed; who is kept apart
evening          what is handed over for the night
outside_nursery  chicks with their parents, birds, losses, hot food, places out of range
"""

from analysis.day.round import Round, round_of

__all__ = ["Round", "round_of"]
