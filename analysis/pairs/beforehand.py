"""What is thought of each stage before an egg is counted, from published counts of captive birds.

Centres are logits of shares; the spread is how far from them an aviary's own may lie. Each has its source, or says
practice where there is none.
"""

from collections.abc import Iterable
from typing import Any

from analysis.season.species import species_facts

# Neither broken nor gone, 90 %: practice. The one count is of colonies that build over their nests, so it is the least:
# zebra finches, 852 of 1,172 eggs (Ihle, Kempenaers & Forstmeier 2015, PLoS Biol 13:e1002248; counts in their code).
_INTACT = {"centre": 2.2, "spread": 1.5}
# Showed fertile, 82 %: five studies between 30 and 92 %, 79 % together, which are those below. So wide.
_FERTILE = {"centre": 1.5, "spread": 1.5}
# Of small ones 90 %: budgerigars, 126 or more of 138 eggs (Banaszewska et al. 2014, Acta Sci Pol Zootechnica 13(3):29);
# cockatiels, 88.4 % (Neumann, Kaleta & Lierz 2013, Tieraerztl Prax K 41(2)); zebra finches, 788 of 852 (Ihle et al.).
_SMALL, _FERTILE_SMALL = {"budgerigar", "cockatiel", "zebra finch"}, {"centre": 2.2, "spread": 1.0}
# Of large parrots 65 %: Puerto Rican amazons, 59, 65 and 77 % in 2006, 2011 and 2012, 16 to 45 % in the years before
# (Iguaca Aviary, report of the recovery programme, 2013).
_FERTILE_LARGE = {"centre": 0.6, "spread": 1.0}
# Hatched of fertile, 80 %: zebra finches, 540 of 707 (Ihle et al.); budgerigars, at least 126 of 138 (Banaszewska).
_HATCH = {"centre": 1.4, "spread": 1.0}
# Weaned of hatched, 75 %: zebra finches, 349 of 594 (Ihle et al.); budgerigars, 130 of 159 (Hussain et al., Pure Appl
# Biol, year not seen); Puerto Rican amazons, 40 of 57 in 2012 (as above); hyacinth macaws, 73 % to 35 days (AZA
# studbook 1995, cited by Csaky, The hyacinth macaw); yellow-shouldered amazons, 14 of 14 (Sanz & Grajal 1998).
_WEAN = {"centre": 1.1, "spread": 1.0}
# Clutches that fail whole, of eggs or chicks: Beta(1, 19).
_FAILING = 19.0
# And that are clear as a whole for no reason of the pair's: a fright makes no egg clear. Beta(1, 999), practice.
_ALL_CLEAR = 999.0


def beforehand(species: Iterable[str]) -> tuple[dict[str, Any], ...]:
    """What `pooled` is told of each stage in turn: neither broken nor gone, showed fertile, hatched, weaned.

    `species` are those of all pairs.
    """
    whole = {"failures": True, "failing": _FAILING}
    fertile = {"never": True, "failures": True, "failing": _ALL_CLEAR}
    return _INTACT, _of_fertile(species) | fertile, _HATCH | whole, _WEAN | whole


def _of_fertile(species: Iterable[str]) -> dict[str, float]:
    """Of small ones or large parrots their own, where there are no others; a species that is not known is another."""
    kept = [species_facts(name) for name in species]
    if not kept:
        return _FERTILE
    if all(facts and facts.name in _SMALL for facts in kept):
        return _FERTILE_SMALL
    return _FERTILE_LARGE if all(facts and facts.large for facts in kept) else _FERTILE
