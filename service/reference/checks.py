"""Checks of the reference data as a whole: every code that is named exists, every number is in order."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from service.engine.knowledge import FactRecord, FirstGuess, Knowledge, MethodRecord
from service.reference.tables import ReferenceDataError

FAMILIES = frozenset((
    "wall", "sill", "header", "notch", "tail", "beam", "truss", "post", "stair", "deck", "guard", "frame", "seal",
    "siding", "roof_deck",
))
ELEMENT_ROLES = frozenset((
    "bearing", "bending", "tension", "column", "people", "frame", "seal", "skin", "tail", "deck",
))
DAMAGE_KINDS = frozenset((
    "rot", "check", "split", "seal", "finish", "insect", "movement", "surface", "mechanical", "fire", "stain",
))
METHOD_ROLES = frozenset(("main", "interim", "component", "correction"))
OPENS = frozenset((
    "nothing", "outer_face", "both_faces", "corner", "roof", "floor", "porch", "stair", "deck", "room",
))
DIMENSIONS = frozenset((
    "length", "area", "temperature", "moisture", "percent", "angle", "load", "line_load", "pressure", "distance",
    "duration", "number", "year", "word", "flag", "words", "text",
))
SCOPES = frozenset(("defect", "house", "both"))
DURABILITIES = frozenset(("durable", "moderate", "slight"))
UNIT_FACTS = frozenset((
    "one", "opening", "piece", "ft_of_wall", "ft_of_check", "ft2_of_crawl", "ft2_of_roof", "area",
))
EVIDENCE_WORDS = frozenset(("overhang_short", "damp_inside", "dry"))
"""Evidence of a cause that is worked out from facts and is no code of its own."""


def check_knowledge(k: Knowledge) -> None:
    """Check all tables against each other.

    Raises:
        ReferenceDataError: the first fault, with its file, row and field.
    """
    _check_members(k)
    _check_causes(k)
    for code, method in k.methods.items():
        _check_method(k, code, method)
    for name, fact in k.facts.items():
        _check_fact(name, fact)
    for n, guess in enumerate(k.first_guesses, start=1):
        _check_guess(k, str(n), guess)
    _check_species(k)


def _known(file: str, row: str, field: str, codes: Iterable[str], allowed: Collection[str]) -> None:
    for code in codes:
        if code not in allowed:
            raise ReferenceDataError(file, row, field, f"{code!r} is not known")


def _between(file: str, row: str, field: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise ReferenceDataError(file, row, field, f"{value:g} must lie from {low:g} to {high:g}")


def _check_members(k: Knowledge) -> None:
    for code, e in k.elements.items():
        _known("elements.toml", code, "role", (e.role,), ELEMENT_ROLES)
        _known("elements.toml", code, "family", (e.family,), FAMILIES)
        _known("elements.toml", code, "questions", e.questions, k.facts)
        _between("elements.toml", code, "sign_off", e.sign_off, 0, 3)
    for code, d in k.damages.items():
        _known("damages.toml", code, "kind", (d.kind,), DAMAGE_KINDS)
        _known("damages.toml", code, "families", d.families, FAMILIES)
        _known("damages.toml", code, "questions", d.questions, k.facts)


def _check_causes(k: Knowledge) -> None:
    choices = {choice for fact in k.facts.values() for choice in fact.choices}
    evidence = choices | EVIDENCE_WORDS | k.elements.keys() | k.damages.keys() | k.facts.keys()
    for code, cause in k.causes.items():
        if cause.correction:
            _known("causes.toml", code, "correction", (cause.correction,), k.methods)
        _known("causes.toml", code, "unit_fact", (cause.unit_fact,), UNIT_FACTS)
        _known("causes.toml", code, "evidence", cause.evidence, evidence)
        for word, weight in cause.evidence.items():
            if weight <= 0.0:
                raise ReferenceDataError("causes.toml", code, "evidence", f"the weight of {word!r} must be above 0")


def _check_method(k: Knowledge, code: str, m: MethodRecord) -> None:
    file = "methods.toml"
    _known(file, code, "role", (m.role,), METHOD_ROLES)
    _known(file, code, "elements", m.elements, k.elements)
    _known(file, code, "damages", m.damages, k.damages)
    _known(file, code, "heritage", (m.heritage,), ("A", "B", "C", "X"))
    _known(file, code, "reversible", (m.reversible,), ("yes", "part", "no"))
    _known(file, code, "opens", (m.opens,), OPENS)
    _known(file, code, "cautions", m.cautions, k.cautions)
    _between(file, code, "sign_off", m.sign_off, 0, 3)
    _between(file, code, "match", m.match, 1, 5)


def _check_fact(name: str, fact: FactRecord) -> None:
    file = "facts.toml"
    _known(file, name, "dimension", (fact.dimension,), DIMENSIONS)
    _known(file, name, "scope", (fact.scope,), SCOPES)
    _known(file, name, "ask_for", fact.ask_for or (), FAMILIES)
    _known(file, name, "high_for", fact.high_for or (), FAMILIES)
    if fact.low is not None and fact.high is not None and fact.low > fact.high:
        raise ReferenceDataError(file, name, "high", f"{fact.high:g} is below low, {fact.low:g}")


def _check_guess(k: Knowledge, n: str, guess: FirstGuess) -> None:
    file = "first_guesses.toml"
    _known(file, n, "fact", (guess.fact,), k.facts)
    _known(file, n, "of", (guess.of,) if guess.of else (), k.facts)
    _known(file, n, "families", guess.families, FAMILIES)
    _known(file, n, "elements", guess.elements, k.elements)
    _known(file, n, "damages", guess.damages, k.damages)
    if not guess.low <= guess.likely <= guess.high:
        raise ReferenceDataError(
            file, n, "likely", f"low, likely, high must rise, not {guess.low:g}, {guess.likely:g}, {guess.high:g}"
        )


def _check_species(k: Knowledge) -> None:
    groups = {group for group, _, _ in k.design_values}
    for code, s in k.species.items():
        _known("species.toml", code, "durability", (s.durability,), DURABILITIES)
        _known("species.toml", code, "design_group", (s.design_group,), groups)
        _between("species.toml", code, "radial_pct", s.radial_pct, 0.1, s.tangential_pct)
        _between("species.toml", code, "specific_gravity", s.specific_gravity, 0.1, 1.5)
