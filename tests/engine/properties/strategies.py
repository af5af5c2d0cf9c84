"""Whole surveys drawn at random: any member with any damage that it can have, any part of the facts, gates' edges too.

A plausible survey holds only sizes that can be (nothing in it rejects a defect); facts are stated, given as a range, or
missing. Sizes are multiples of 1/16 in, as a tape reads.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import NamedTuple

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from service.engine.survey import CauseSeen, Defect, House, Span, Survey, Wishes, WoodOnHand
from tests.engine.cases import knowledge

LEVELS = ("told", "photos", "visited", "opened", "cut_out")
STATES = ("open", "suspected", "corrected", "in_price", "by_others", "declined")
FIRST_DAY = date(2026, 1, 1)


class Usual(NamedTuple):
    """Where a fact usually lies, and the values at which a gate turns."""

    low: float
    high: float
    edges: tuple[float, ...] = ()


FREE: Mapping[str, Usual] = {
    "width": Usual(1.0, 12.0, (6.0,)),
    "check_width": Usual(0.0, 2.0, (0.25, 0.5, 0.75)),
    "to_joint": Usual(0.0, 96.0, (8.0, 10.0, 12.0)),
    "drip_line": Usual(0.0, 36.0, (6.0,)),
    "height": Usual(0.0, 40.0, (6.0, 10.0, 20.0, 25.0)),
    "ground_slope": Usual(0.0, 40.0, (5.0, 10.0, 15.0)),
    "overhang": Usual(0.0, 6.0, (1.0, 2.0)),
    "span": Usual(4.0, 30.0),
    "load": Usual(200.0, 20000.0),
    "line_load": Usual(20.0, 2000.0),
    "joist_spacing": Usual(12.0, 24.0, (16.0,)),
    "floor_drop": Usual(0.0, 4.0, (0.25, 0.5, 1.0)),
    "sag": Usual(0.0, 4.0, (0.5, 1.0)),
    "section_loss": Usual(0.0, 100.0, (10.0, 50.0)),
    "area": Usual(1.0, 2000.0),
    "opening_area": Usual(10.0, 600.0),
    "soil_above": Usual(-24.0, 24.0, (0.0,)),
    "moisture": Usual(6.0, 60.0, (16.0, 18.0, 19.0, 20.0, 28.0)),
    "position": Usual(0.0, 60.0),
    "loose_length": Usual(0.0, 600.0),
}
"""Facts that bind no other fact."""
COUNTS: Mapping[str, Usual] = {
    "clock": Usual(1, 12), "course": Usual(1, 14), "joists": Usual(0, 12), "openings": Usual(0, 3),
    "point_loads": Usual(0, 3), "treads": Usual(2, 16),
}
HOUSE_NUMBERS: Mapping[str, Usual] = {
    "year_built": Usual(1850, 2020, (1978, 1990)), "distance": Usual(1.0, 200.0, (30.0,)), "month": Usual(1, 12),
    "wood_temperature": Usual(0.0, 100.0, (32.0, 40.0, 50.0)), "forecast_low": Usual(-10.0, 80.0, (40.0, 50.0)),
    "ground_snow": Usual(0.0, 120.0),
}
WHOLE = ("year_built", "month")
FLAGS = (
    "past_bolt_line", "tread_notch", "only_exit", "free_standing", "holds_water", "over_opening", "frost_footing",
    "on_loaded_joint", "crosses_seal_line", "both_notches_gone", "past_notch", "bearing_failed", "moving", "wet_now",
    "treated_before", "engineer_says_keep", "masonry_tied", "joists_on_ledger", "ornamental_only", "refinish_planned",
)
HOUSE_FLAGS = ("children", "asthma", "occupied", "vacant", "snow_country", "look_matters", "owner_sleeps_by_day")
WORDS = (
    "side", "inner_face", "softness", "hammer", "activity", "profile", "wall_system", "corner", "base", "finish",
    "visibility", "insects", "earlier_repair", "aspect", "room", "roof_cover",
)
HOUSE_WORDS = ("heritage", "snow", "stage", "access", "finish")
RATIOS = (0.25, 1.0 / 3.0, 0.5, 2.0 / 3.0, 0.9, 1.0)
"""Depths over sizes at which a gate turns."""
LENGTHS = (12.0, 23.9375, 24.0, 29.9375, 30.0, 36.0, 96.0)
"""Lengths of decay at which a gate turns [in]."""


def tape(low: float, high: float) -> SearchStrategy[float]:
    """A number that a tape reads: a multiple of 1/16."""
    return st.integers(round(low * 16), round(high * 16)).map(lambda n: n / 16.0)


def value(usual: Usual, *, whole: bool = False) -> SearchStrategy[float]:
    """A usual value, or one at a gate's edge."""
    plain = st.integers(int(usual.low), int(usual.high)).map(float) if whole else tape(usual.low, usual.high)
    return st.one_of(plain, st.sampled_from(usual.edges)) if usual.edges else plain


def spans(inner: SearchStrategy[float]) -> SearchStrategy[Span]:
    """A number as it is stated: known, or somewhere between two."""
    exact = inner.map(lambda v: Span(v, v))
    ranged = st.tuples(inner, inner).map(lambda p: Span(min(p), max(p)))
    return st.one_of(exact, exact, ranged)


def _floor16(number: float) -> float:
    return int(number * 16.0) / 16.0


@st.composite
def _sizes(draw: DrawFn, element: str) -> dict[str, Span]:
    """Sizes that bind each other: depth in the member, length in the log, rot in the tail or the post."""
    usual = next(
        (g for g in knowledge().first_guesses if g.fact == "section" and not g.of and (
            element in g.elements or knowledge().elements[element].family in g.families)), None,
    )
    size = draw(tape(usual.low, usual.high) if usual else tape(4.0, 16.0))
    depth = max(draw(st.one_of(tape(0.0625, size), st.sampled_from(RATIOS).map(lambda r: _floor16(r * size)))), 0.0625)
    length = draw(st.one_of(tape(1.0, 200.0), st.sampled_from(LENGTHS)))
    clear = max(length, 6.0) + draw(tape(0.0, 200.0))
    end = draw(tape(0.25, 40.0))
    parts: dict[str, Span] = {"section": Span(size, size), "depth": Span(depth, depth), "length": Span(length, length)}
    if draw(st.booleans()):
        low = max(_floor16(depth * 0.6), 0.0625)
        parts["depth"] = Span(low, depth)
    parts["clear_length"] = Span(clear, clear)
    parts["section_other"] = Span(size, size)
    parts["from_end"] = Span(end, end)
    parts["tail"] = Span(end, end + draw(tape(0.0, 24.0)))
    parts["post_height"] = Span(max(end, 6.0) + 60.0, max(end, 6.0) + 60.0)
    left = _floor16(draw(tape(0.0, 1.0)) * (clear - length))
    parts["stop_left"], parts["stop_right"] = Span(left, left), Span(clear - length - left, clear - length - left)
    return {name: parts[name] for name in draw(st.sets(st.sampled_from(sorted(parts))))}


@st.composite
def causes(draw: DrawFn) -> tuple[CauseSeen, ...]:
    """Causes seen, each once, in any state."""
    codes = draw(st.lists(st.sampled_from(sorted(knowledge().causes)), max_size=3, unique=True))
    return tuple(CauseSeen(code, draw(st.sampled_from(STATES))) for code in codes)


def _damages_of(element: str, among: Sequence[str] | None) -> list[str]:
    """Damage that a member can have."""
    family = knowledge().elements[element].family
    return sorted(
        c for c, d in knowledge().damages.items() if family in d.families and (among is None or c in among)
    )


@st.composite
def defects(
    draw: DrawFn, elements: Sequence[str] | None = None, damages: Sequence[str] | None = None, most: int = 4,
) -> Defect:
    """One plausible defect: nothing in it is impossible or against itself.

    Args:
        draw: Hypothesis's own.
        elements, damages: members and damage to choose from; all where not given.
        most: pieces at most.
    """
    known = knowledge()
    can = {e: _damages_of(e, damages) for e in sorted(elements or known.elements)}
    element = draw(st.sampled_from([e for e, found in can.items() if found]))
    damage = draw(st.sampled_from(can[element]))
    numbers: dict[str, tuple[Span, ...]] = {n: (s,) for n, s in draw(_sizes(element)).items()}
    for name in draw(st.sets(st.sampled_from(sorted(FREE)), max_size=8)):
        numbers[name] = (draw(spans(value(FREE[name]))),)
    for name in draw(st.sets(st.sampled_from(sorted(COUNTS)), max_size=3)):
        numbers[name] = (draw(value(COUNTS[name], whole=True).map(lambda v: Span(v, v))),)
    count = draw(st.one_of(st.just(1), st.integers(1, most)))
    if count > 1 and "depth" in numbers and draw(st.booleans()):
        deepest = numbers["depth"][0].high
        rest = [draw(tape(0.0625, deepest)) for _ in range(count - 1)]
        numbers["depth"] = (*numbers["depth"], *(Span(v, v) for v in rest))
    if draw(st.booleans()):
        all_of_them = float(count + draw(st.integers(0, 10)))
        numbers["of"] = (Span(all_of_them, all_of_them),)
    words = {
        name: (draw(st.sampled_from(known.facts[name].choices)),)
        for name in draw(st.sets(st.sampled_from(WORDS), max_size=5))
    }
    if draw(st.booleans()):
        words["species"] = (draw(st.sampled_from(sorted(known.species))),)
    if draw(st.booleans()):
        words["wall"] = (draw(st.sampled_from(("A", "B"))),)
    elif draw(st.booleans()):
        words["roof_area"] = (draw(st.sampled_from(("R", "S"))),)
    flags = {name: draw(st.booleans()) for name in draw(st.sets(st.sampled_from(FLAGS), max_size=3))}
    many = {
        name: tuple(draw(st.lists(st.sampled_from(known.facts[name].choices), min_size=1, max_size=2, unique=True)))
        for name in draw(st.sets(st.sampled_from(("bears", "soft_neighbours"))))
    }
    return Defect(
        0, None, element, damage, numbers=numbers, words=words, flags=flags, many=many, count=count,
        causes=draw(causes()), wood=draw(wood()),
    )


@st.composite
def wood(draw: DrawFn) -> tuple[WoodOnHand, ...]:
    """Wood on hand, mostly none."""
    if draw(st.integers(0, 3)):
        return ()
    return (
        WoodOnHand(
            draw(st.sampled_from(("log", "slab", "timber", "lumber", "board"))), draw(tape(2.0, 16.0)),
            draw(tape(24.0, 300.0)), draw(st.one_of(st.none(), tape(8.0, 40.0))),
            draw(st.one_of(st.none(), st.sampled_from(sorted(knowledge().species)))),
            draw(st.integers(1, 3)), draw(st.booleans()),
        ),
    )


@st.composite
def houses(draw: DrawFn) -> House:
    """The building and the site."""
    numbers = {
        name: draw(value(HOUSE_NUMBERS[name], whole=name in WHOLE).map(lambda v: Span(v, v)))
        for name in draw(st.sets(st.sampled_from(sorted(HOUSE_NUMBERS)), max_size=4))
    }
    words = {
        name: draw(st.sampled_from(knowledge().facts[name].choices))
        for name in draw(st.sets(st.sampled_from(HOUSE_WORDS), max_size=3))
    }
    flags = {name: draw(st.booleans()) for name in draw(st.sets(st.sampled_from(HOUSE_FLAGS), max_size=3))}
    return House(numbers, words, flags)


@st.composite
def wishes(draw: DrawFn) -> Wishes:
    """What the owner weighs, mostly nothing in particular."""
    if draw(st.booleans()):
        return Wishes()
    first, lifetime, out, look, heritage = (draw(st.sampled_from((0.25, 0.5, 1.0, 2.0, 4.0))) for _ in range(5))
    return Wishes(first, lifetime, out, look, heritage)


@st.composite
def surveys(
    draw: DrawFn, most: int = 1, one: SearchStrategy[Defect] | None = None, levels: Sequence[str] = LEVELS,
) -> Survey:
    """A plausible survey of up to `most` defects."""
    found = draw(st.lists(one if one is not None else defects(), min_size=1, max_size=most))
    return Survey(
        numbered(found), draw(houses()), draw(wishes()), draw(st.sampled_from(levels)),
        draw(st.sampled_from(("imperial", "metric"))), FIRST_DAY + timedelta(days=draw(st.integers(0, 364))),
    )


def numbered(found: Sequence[Defect]) -> tuple[Defect, ...]:
    """The same defects, each with its place in the request."""
    return tuple(replace(defect, index=k, id=f"d{k}") for k, defect in enumerate(found))


@dataclass(frozen=True)
class Bad:
    """A value that cannot be, put into a sound defect: what was done to it, and whether it rejects the defect."""

    field: str
    defect: Defect
    fatal: bool


@st.composite
def bad_defects(draw: DrawFn) -> Bad:
    """A defect with one bad value in it."""
    good = draw(defects(most=1))
    kind = draw(st.sampled_from(("depth", "length", "moisture", "element", "damage", "section", "count")))
    match kind:
        case "depth":
            worse = {"section": (Span(8.0, 8.0),), "depth": (Span(11.0, 11.0),)}
            damage = good.damage if good.damage != "through" else "soft_wood"
            return Bad("depth", replace(good, damage=damage, numbers={**good.numbers, **worse}), fatal=True)
        case "length":
            return Bad("length", replace(good, numbers={**good.numbers, "length": (Span(-3.0, -3.0),)}), fatal=True)
        case "section":
            return Bad("section", replace(good, numbers={**good.numbers, "section": (Span(0.0, 0.0),)}), fatal=True)
        case "moisture":
            return Bad("moisture", replace(good, numbers={**good.numbers, "moisture": (Span(230.0, 230.0),)}), fatal=False)
        case "count":
            return Bad("count", replace(good, count=0, numbers={k: v for k, v in good.numbers.items() if k != "of"}), fatal=True)
        case _:
            return Bad(kind, replace(good, **{kind: draw(st.sampled_from(("", "beem", "???")))}), fatal=True)  # type: ignore[arg-type]
