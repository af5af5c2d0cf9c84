"""Published checks of the formulas."""
