"""Reference data of the trade, each value with its source, read once at start into `Knowledge`."""

from __future__ import annotations

from service.reference.load import load_knowledge, load_species_aliases
from service.reference.tables import ReferenceDataError

__all__ = ["ReferenceDataError", "load_knowledge", "load_species_aliases"]
