"""Reference data and rate books."""
