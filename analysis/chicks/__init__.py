"""Each chick beside its kind, and how it is fed: ranges of the trade that remind, and never prescribe.

of_season       `Chicks`: the weighings of a season beside those of the seasons joined to it, worked out once
stands          how one chick stands: its weights, what the next should show, what was flagged and seen
warnings        what the weights ask for, and the trade's own rule on a day
losses          chicks that were lost: whether a warning had been there before
in_the_nursery  who is fed by hand on a day
care            what each of them asks for before anybody feeds it
amounts         how much at most, how often, how much to mix
formula         how warm, for how long a mix is used, who is fed first
brooders        how warm the chicks in each want it
fed             what a chick was fed, as far as it is logged
"""

from analysis.chicks.of_season import Chicks

__all__ = ["Chicks"]
