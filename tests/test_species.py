"""What is known of species: found by any name, each number with its source, none invented."""

import itertools

import pytest

from analysis.season.species import all_species, species_facts

WHAT = {"incubation", "pins", "feathered", "wean", "pip_to_hatch", "water_loss"}
RANGES = [(facts, what, found) for facts in all_species() for what, found in facts.known.items()]


def test_no_number_lacks_its_source_or_mark():
    assert len(RANGES) > 120
    for facts, what, found in RANGES:
        assert what in WHAT, (facts.name, what)
        assert len(found.source.strip()) > 8, (facts.name, what)
        assert found.mark in ("read", "practice", "memory"), (facts.name, what)
        assert 0 < found.low <= found.high, (facts.name, what)


def test_what_is_remembered_is_marked_so():
    for facts, what, found in RANGES:
        starts = found.source.lower().startswith(("remembered", "large macaws remembered"))
        assert not starts or found.mark == "memory", (facts.name, what)


def test_a_name_leads_to_one_species_alone():
    facts = all_species()
    for one in facts:
        assert all(species_facts(name) is one for name in (one.name, *one.names)), one.name
    assert len({one.name for one in facts}) == len(facts)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("African grey", "grey parrot"),
        ("AFRICAN GRAY", "grey parrot"),
        ("budgie", "budgerigar"),
        (" Budgies ", "budgerigar"),
        ("blue and gold macaw", "blue-and-gold macaw"),
        ("Blue & gold macaws", "blue-and-gold macaw"),
        ("rosy-faced lovebird", "peach-faced lovebird"),
        ("blue-fronted amazon", "blue-fronted amazon"),
        ("black-headed caique", "caique"),
        ("eastern rosella", "rosella"),
        ("zebra finches", "zebra finch"),
        ("canaries", "canary"),
        ("Bourkes", "Bourke's parrot"),
        ("Bourke’s parrot", "Bourke's parrot"),
        ("ring necked parakeet", "ring-necked parakeet"),
        ("Wellensittich", "budgerigar"),
        ("Rosenkopfchen", "peach-faced lovebird"),
    ],
)
def test_case_plural_and_everyday_names_are_met(written, name):
    assert species_facts(written).name == name


@pytest.mark.parametrize("written", ["", "parakeet", "macaw", "unicorn", "s", "es"])
def test_a_name_of_several_birds_or_none_is_not_met(written):
    assert species_facts(written) is None


# ranges as they were read: see the sources in species.toml
@pytest.mark.parametrize(
    ("species", "days"),
    [("eclectus", (26, 28)), ("Gouldian", (12, 15)), ("little corella", (21, 27)), ("green-cheeked conure", (22, 25))],
)
def test_days_of_incubation(species, days):
    assert species_facts(species).days("incubation")[:2] == days


def test_what_nobody_gives_is_absent():
    assert species_facts("diamond dove").days("pip_to_hatch") is None
    assert species_facts("little corella").days("wean") is None
    assert species_facts("cockatiel").water_loss is None
    assert species_facts("amazon").water_loss[:2] == (0.13, 0.17)


def test_no_stage_comes_before_the_one_before_it():
    for facts in all_species():
        stages = [found for what in ("pins", "feathered", "wean") if (found := facts.days(what))]
        assert all(first.low <= later.high for first, later in itertools.pairwise(stages)), facts.name
