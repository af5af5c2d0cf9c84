"""Use cases: gather what the engine needs, let it decide, hand on the answer."""
