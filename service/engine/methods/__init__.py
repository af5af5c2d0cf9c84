"""Repair methods, one module a family. A method is a pair of functions and a row of `reference/methods.toml`."""
