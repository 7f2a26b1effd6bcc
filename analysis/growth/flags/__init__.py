"""Chicks off the curve, stalls, and weighings and mornings that look mistaken.

find         find_flags and watch: several kinds of bird looked at together
log          what is known of every weighing and chick, as arrays
kinds        what is learnt of a kind from its own chicks
population   the typical chick, how chicks differ, how weighings scatter, what a full crop adds
scatter      Student's t with room for mistakes
settle       a chick's curve from its weighings and its kind
follow       each chick as it was known after each weighing
residuals    what a weighing is off without itself
slips        mistaken and swapped weighings
mornings     mornings on which the scale was off
stalls       no gain, and loss, as early as they can be seen
off_curve    light for age, and of unusual shape
standing     how chicks stand among their kind
falls        the fall before weaning
judge        from numbers to flags
expected     the next weighing
facts        what each flag found
"""

from analysis.growth.flags.expected import expected_next
from analysis.growth.flags.find import Watch, find_flags, watch

__all__ = ["Watch", "expected_next", "find_flags", "watch"]
