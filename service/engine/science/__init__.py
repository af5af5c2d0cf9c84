"""Published formulas of wood science, timber engineering and estimating, one function each."""
