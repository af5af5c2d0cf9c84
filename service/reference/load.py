"""Loads all reference data and checks it: unknown codes, missing sources, numbers out of order."""

from __future__ import annotations

import csv
from collections.abc import Mapping
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import TypeVar

from service.engine.knowledge import (
    Cause,
    Caution,
    Damage,
    DesignValues,
    Element,
    FactRecord,
    FirstGuess,
    Knowledge,
    MethodRecord,
    Species,
)
from service.reference.checks import check_knowledge
from service.reference.tables import ReferenceDataError, build, coded_rows, listed_rows

Record = TypeVar("Record")

WORLDS = 128
"""Points of the Sobol table."""
AXES = 40
"""Axes of the Sobol table."""


def load_knowledge(folder: Traversable | None = None) -> Knowledge:
    """All reference data.

    Args:
        folder: where the files lie; the ones of this package where None.

    Raises:
        ReferenceDataError: a file, row or field that cannot be used, named.
    """
    where = folder or files("service.reference")
    values = (build(DesignValues, "design_values.toml", n, row, key=None) for n, row in
              listed_rows(where, "design_values.toml", "values"))
    knowledge = Knowledge(
        elements=_table(where, "elements.toml", Element),
        damages=_table(where, "damages.toml", Damage),
        causes=_table(where, "causes.toml", Cause),
        methods=_table(where, "methods.toml", MethodRecord),
        cautions=_table(where, "cautions.toml", Caution),
        facts=_table(where, "facts.toml", FactRecord, key="name"),
        first_guesses=tuple(
            build(FirstGuess, "first_guesses.toml", n, row, key=None)
            for n, row in listed_rows(where, "first_guesses.toml", "guess")
        ),
        species=_table(where, "species.toml", Species, also=("aliases",)),
        design_values={(v.group, v.use, v.grade): v for v in values},
        sobol=_sobol(where),
    )
    check_knowledge(knowledge)
    return knowledge


def load_species_aliases(folder: Traversable | None = None) -> Mapping[str, str]:
    """Words that people use for a species, in small letters, with the code that they mean; codes and titles among them.

    Raises:
        ReferenceDataError: two species claim one word.
    """
    words: dict[str, str] = {}
    for code, row in coded_rows(folder or files("service.reference"), "species.toml"):
        aliases = row.get("aliases")
        if not isinstance(aliases, list):
            raise ReferenceDataError("species.toml", code, "aliases", "must be a list of texts")
        for word in {code, str(row.get("title")).lower(), *(str(a).lower() for a in aliases)}:
            if words.setdefault(word, code) != code:
                raise ReferenceDataError("species.toml", code, "aliases", f"{word!r} already means {words[word]!r}")
    return words


def _table(
    where: Traversable, file: str, record: type[Record], *, key: str = "code", also: tuple[str, ...] = ()
) -> dict[str, Record]:
    return {code: build(record, file, code, row, key=key, also=also) for code, row in coded_rows(where, file)}


def _sobol(where: Traversable) -> tuple[tuple[float, ...], ...]:
    """The scrambled Sobol points (Owen scrambling, seed 20260101), as they were drawn once."""
    file = "sobol_128x40.csv"
    points = []
    for n, row in enumerate(csv.reader(where.joinpath(file).read_text(encoding="ascii").splitlines()), start=1):
        try:
            point = tuple(float(text) for text in row)
        except ValueError:
            raise ReferenceDataError(file, str(n), "", "must be numbers") from None
        if len(point) != AXES or not all(0.0 < x < 1.0 for x in point):
            raise ReferenceDataError(file, str(n), "", f"must be {AXES} numbers between 0 and 1, ends excluded")
        points.append(point)
    if len(points) != WORLDS:
        raise ReferenceDataError(file, str(len(points)), "", f"must have {WORLDS} rows")
    return tuple(points)
