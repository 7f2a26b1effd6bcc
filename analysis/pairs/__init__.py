"""Advice for each pair, with its reasons: may it breed, what does the record say, and what would next season give?

of_season    `Pairs`: the pairs of a season judged on all joined seasons, worked out once
record       every stage, a row a clutch and who did it, without what is no pair's doing, and the rates worked from it
evidence     what the record says of each pair, stage by stage, and what one more clutch would give
fitness      fit to breed: rules of the keeper's own, never statistics
verdict      the one word that the record allows, and the reasons, each a finding that a keeper can check
review       the advice: rules and record put together
beside_new   a pair beside one that was never seen, and what other thoughts beforehand would make of it
decision     what keeping or parting each pair is worth, and the one check worth most
by_place     cages and other places, and hens from season to season
parents, inbreeding, partners   who is related to whom, and what each bird did with whom
habits       how often each pair lays, when it begins, how long before that it is put up
next_season  what next season would give with the pairs that are kept
draws_ahead  draws of it: what its pairs share, what comes again, each clutch
dates_ahead  what comes when in it: rests, days to put up, ages
"""

from analysis.pairs.of_season import Pairs

__all__ = ["Pairs"]
