"""What the reference data promises to the engine."""

from __future__ import annotations

import pytest

from service.engine.knowledge import Knowledge
from service.reference import load_knowledge, load_species_aliases

LASTING = ("main", "interim", "correction")

SHRINKAGE = [
    # USDA FPL Wood Handbook, GTR-282 (2021), Table 4-3: green to ovendry, radial and tangential [%]
    ("douglas_fir_coast", 4.8, 7.6), ("douglas_fir_interior_north", 3.8, 6.9), ("western_redcedar", 2.4, 5.0),
    ("northern_white_cedar", 2.2, 4.9), ("white_oak", 5.6, 10.5), ("lodgepole_pine", 4.3, 6.7),
    ("engelmann_spruce", 3.8, 7.1), ("western_larch", 4.5, 9.1), ("eastern_hemlock", 3.0, 6.8),
]
DESIGN = [
    # ANSI/AWC NDS Supplement (2024) Table 4D: Douglas fir-larch, posts and timbers, No. 2 [psi]
    ("bending_psi", 750.0), ("tension_psi", 475.0), ("shear_psi", 170.0), ("compression_perp_psi", 625.0),
    ("compression_psi", 700.0), ("modulus_psi", 1_300_000.0), ("modulus_min_psi", 470_000.0),
]
WORDS = [
    ("lodgepole pine", "lodgepole_pine"), ("douglas fir", "douglas_fir_coast"), ("cedar", "cedar"), ("fir", "fir"),
    ("white oak", "white_oak"), ("unknown softwood", "softwood_unknown"), ("red cedar", "western_redcedar"),
]


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    """The reference data of the package."""
    return load_knowledge()


def test_every_damage_of_every_member_reaches_a_method(knowledge: Knowledge) -> None:
    """Nothing that can be reported is answered with silence: a method is offered or ruled out."""
    silent = [
        (element.code, damage.code)
        for element in knowledge.elements.values()
        for damage in knowledge.damages.values()
        if element.family in damage.families
        and not any(
            element.code in m.elements and damage.code in m.damages and m.role in LASTING
            for m in knowledge.methods.values()
        )
    ]
    assert silent == []


def test_all_rot_reaches_a_method_that_is_more_than_watching_or_filling(knowledge: Knowledge) -> None:
    """Where filler and patches are ruled out something heavier is left."""
    light = {"monitor", "clean_leave", "epoxy_fill", "polyester_fill", "dutchman", "face_veneer", "cap_slope"}
    stuck = [
        (element.code, damage.code)
        for element in knowledge.elements.values()
        for damage in knowledge.damages.values()
        if damage.kind == "rot" and element.family in damage.families
        and not any(
            element.code in m.elements and damage.code in m.damages and m.role == "main" and m.code not in light
            for m in knowledge.methods.values()
        )
    ]
    assert stuck == []


def test_a_drying_check_admits_only_watching_and_sealing(knowledge: Knowledge) -> None:
    """R8: no filler, patch or new log for a check without decay."""
    for damage in ("check", "check_up", "check_side", "check_down"):
        admitted = {m.code for m in knowledge.methods.values() if damage in m.damages}
        assert admitted == {"monitor", "check_seal"}


def test_members_that_carry_people_or_bend_take_no_filler(knowledge: Knowledge) -> None:
    """R9: facing and filling are not for bending, tension, columns, tails or anything people stand on."""
    for element in knowledge.elements.values():
        if element.role in ("bending", "tension", "column", "people", "deck", "tail"):
            assert not element.facing, element.code


def test_every_method_that_brings_new_seasoned_wood_is_a_main_method(knowledge: Knowledge) -> None:
    """Components, corrections and stop-gaps carry no seasoned wood."""
    assert {m.role for m in knowledge.methods.values() if m.needs_dry_wood} == {"main"}


def test_the_variants_stand_beside_the_numbered_methods(knowledge: Knowledge) -> None:
    """M00 to M42 are all there, and the variants that have codes of their own."""
    numbers = {m.number for m in knowledge.methods.values()}
    assert {f"M{n:02}" for n in range(43)} <= numbers
    assert {"sill_to_masonry", "chord_end_splice", "stair_replace", "deck_replace", "roof_deck_replace",
            "board_replace"} <= knowledge.methods.keys()


@pytest.mark.parametrize(("code", "radial", "tangential"), SHRINKAGE)
def test_shrinkage_is_that_of_the_handbook(knowledge: Knowledge, code: str, radial: float, tangential: float) -> None:
    """Shrinkage stands as published."""
    assert (knowledge.species[code].radial_pct, knowledge.species[code].tangential_pct) == (radial, tangential)


@pytest.mark.parametrize(("field", "value"), DESIGN)
def test_design_values_are_those_of_the_supplement(knowledge: Knowledge, field: str, value: float) -> None:
    """Design values stand as published."""
    row = knowledge.design_values["douglas_fir_larch", "posts_timbers", "no2"]
    assert getattr(row, field) == value


@pytest.mark.parametrize(("word", "code"), WORDS)
def test_words_that_people_use_find_their_species(word: str, code: str) -> None:
    """A species may be named in plain words."""
    assert load_species_aliases()[word] == code


def test_each_axis_of_the_worlds_has_one_point_in_every_128th(knowledge: Knowledge) -> None:
    """A Sobol net is stratified on every axis; a pseudo-random table is not."""
    for axis in zip(*knowledge.sobol, strict=True):
        assert sorted(int(x * 128) for x in axis) == list(range(128))


def test_a_narrow_first_guess_stands_before_a_wide_one(knowledge: Knowledge) -> None:
    """The first row that fits is taken, so a row after one that fits all members would never be read."""
    seen_all: set[str] = set()
    for row in knowledge.first_guesses:
        assert row.fact not in seen_all, row
        if not (row.families or row.elements or row.damages):
            seen_all.add(row.fact)


def test_first_guesses_lie_within_the_plausible_limits(knowledge: Knowledge) -> None:
    """What is assumed would not be refused if somebody stated it."""
    for row in knowledge.first_guesses:
        fact = knowledge.facts[row.fact]
        if not row.of and fact.dimension != "word":
            assert fact.low is None or fact.low <= row.low, row
            assert fact.high is None or row.high <= fact.high, row
