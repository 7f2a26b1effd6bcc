"""What is thought of each stage before an egg is counted, and of all together, from published counts of captive birds.

Centres are shares; the spread is how far from them, on the logit, an aviary's own may lie. Each has its source, or says
practice where there is none.
"""

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.season.species import species_asked, species_facts

Array = NDArray[np.float64]

# Neither broken nor gone: 90 %, practice. The one count is of colonies that build over their nests, so it is the least:
# zebra finches, 852 of 1,172 eggs (Ihle, Kempenaers & Forstmeier 2015, PLoS Biol 13:e1002248; counts in their code).
_INTACT = (0.90, 1.5)
# Showed fertile: 82 %; five studies between 30 and 92 %, 79 % together, which are those below. So wide.
_FERTILE = (0.82, 1.5)
# Of small ones 90 %: budgerigars, 126 or more of 138 eggs (Banaszewska et al. 2014, Acta Sci Pol Zootechnica 13(3):29);
# cockatiels, 88.4 % (Neumann, Kaleta & Lierz 2013, Tieraerztl Prax K 41(2)); zebra finches, 788 of 852 (Ihle et al.).
_SMALL, _FERTILE_SMALL = {"budgerigar", "cockatiel", "zebra finch"}, (0.90, 1.0)
# Of large parrots 65 %: Puerto Rican amazons, 59, 65 and 77 % in 2006, 2011 and 2012, 16 to 45 % in the years before
# (Iguaca Aviary, report of the recovery programme, 2013).
_FERTILE_LARGE = (0.65, 1.0)
# Hatched of fertile: 80 %; zebra finches, 540 of 707 (Ihle et al.); budgerigars, at least 126 of 138 (Banaszewska).
_HATCH = (0.80, 1.0)
# Weaned of hatched: 75 %; zebra finches, 349 of 594 (Ihle et al.); budgerigars, 130 of 159 (Hussain et al., Pure Appl
# Biol, year not seen); Puerto Rican amazons, 40 of 57 in 2012 (as above); hyacinth macaws, 73 % to 35 days (AZA
# studbook 1995, cited by Csaky, The hyacinth macaw); yellow-shouldered amazons, 14 of 14 (Sanz & Grajal 1998).
# Between 59 and 100 %, so wide.
_WEAN = (0.75, 1.5)
# Clutches that fail whole, of eggs or chicks: Beta(1, 19). Zebra finches hatched nothing of 41 in 222 clutches, for all
# causes (Ihle et al.); with Beta(1, 9) small aviaries whose clutches never failed are told too few chicks. Where one
# in ten failed (60 simulated seasons, 12 pairs with 3 clutches), 1.4 % of good pairs were asked about with either, and
# of pairs that hatch a third as well 72 % with this and 67 % with that.
# A fright makes no egg clear: even with Beta(1, 999) the one clutch of a pair, 13 clear eggs, might be 70 % fertile;
# without it 11 % at most. What the eggs of a clutch have in common the scatter holds, also where a nest was robbed.
_FAILING = 19.0
# Weaned of laid, all stages together: budgerigars 24 % (130 of 537, Hussain et al.) and 91 % or more (126 of 138,
# Banaszewska et al.), zebra finches 30 % (349 of 1,172, Ihle et al.), ring-necked parakeets 66 % (19 of 29, Ostrowski
# et al. 2019, Rocz Nauk PTZ 15(3):41): 60 % in the middle, two thirds of what shows fertile; the spread on ln(-ln p).
_OF_FERTILE, _APART = 0.67, 0.8
_TURNS = 8  # each draw of a stage stands beside so many of the others


def beforehand(species: Iterable[str]) -> tuple[dict[str, Any], ...]:
    """What `pooled` is told of each stage in turn: neither broken nor gone, showed fertile, hatched, weaned.

    `species` are those of all pairs. Published counts hold the clutches that failed whole; the rates of `pooled` do
    not, so they are centred a little higher.
    """
    whole = {"failures": True, "failing": _FAILING}
    return (
        _centred(*_INTACT),
        _centred(*_of_fertile(species)) | {"never": True},
        _centred(*_HATCH, failing=_FAILING) | whole,
        _centred(*_WEAN, failing=_FAILING) | whole,
    )


def _centred(share: float, spread: float, failing: float = np.inf) -> dict[str, Any]:
    share *= 1 + 1 / failing  # the mean of Beta(1, b) is 1 / (1 + b)
    return {"centre": float(np.log(share / (1 - share))), "spread": spread, "scatter": True}


def _of_fertile(species: Iterable[str]) -> tuple[float, float]:
    """Of small ones or large parrots their own, where there are no others; a species that is not known is another."""
    kept = [species_facts(one) for name in species for one in species_asked(name) or (name,)]
    if not kept:
        return _FERTILE
    if all(facts and facts.name in _SMALL for facts in kept):
        return _FERTILE_SMALL
    return _FERTILE_LARGE if all(facts and facts.large for facts in kept) else _FERTILE


def drawn_together(shares: Sequence[Array], species: Iterable[str]) -> list[NDArray[np.intp]]:
    """Which draws of each stage to take together, so that of all stages together no more is thought than is published.

    Who does well at one stage does well at others, so that aviaries lie further apart in chicks weaned of eggs laid
    than stages thought of one by one would have them. The draws are weighed by the one over the other, the weights cut
    where a few would count alone (truncated importance sampling, Ionides 2008, J. Comput. Graph. Stat. 17:295; from
    memory).

    `shares` are even draws of the aviary's share that comes through each stage, (draws,) each; so is the answer.
    """
    rng, draws = np.random.default_rng(0), len(shares[0])
    at = [np.concatenate([rng.permutation(draws) for _ in range(_TURNS)]) for _ in shares]
    apart = _apart(np.prod([share[index] for share, index in zip(shares, at, strict=True)], axis=0))
    thought = [_drawn(rng, len(apart), **told) for told in beforehand(species)]
    singly = _apart(np.prod(thought, axis=0))
    middle = float(_apart(np.array(_OF_FERTILE * _of_fertile(species)[0])))
    weights = np.exp(0.5 * ((apart - singly.mean()) / singly.std()) ** 2 - 0.5 * ((apart - middle) / _APART) ** 2)
    weights = np.minimum(weights, weights.mean() * np.sqrt(len(weights)))
    even = np.cumsum(weights) / weights.sum()
    chosen = np.searchsorted(even, (np.arange(draws) + 0.5) / draws)
    return [index[chosen] for index in at]


def _apart(share: Array) -> Array:
    """On this scale a product of shares is near enough normal."""
    return np.asarray(np.log(-np.log(np.clip(share, 1e-9, 1 - 1e-9))))


def _drawn(rng: np.random.Generator, size: int, **told: Any) -> Array:
    """Draws of the share that comes through a stage, as it is thought of beforehand."""
    rate = 1 / (1 + np.exp(-rng.normal(told["centre"], told["spread"], size)))
    return np.asarray(rate * (1 - rng.beta(1, told["failing"], size)) if told.get("failures") else rate)
