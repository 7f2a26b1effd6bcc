"""Each chick beside its kind, and how it is fed: ranges of the trade that remind, and never prescribe.

of_season       `Chicks`: the weighings of a season beside those of the seasons joined to it, worked out once
status          how one chick stands: its weights, what the next should show, what was flagged and seen
warnings        what the weights ask for, and the trade's own rule on a day
loss_warnings   the warnings there had been before a chick was lost
in_the_nursery  who is fed by hand on a day
concerns        what each of them should weigh, and what must be read of it before anybody feeds it
feeding         how warm a mix is and for how long it is used; how much at most, how often, who first
brooders        how warm the chicks in each want it
weaning         how far each has come: feeds dropped, food taken, its weight
fed             what a chick was fed, as far as it is logged
"""

from analysis.chicks.of_season import Chicks

__all__ = ["Chicks"]
