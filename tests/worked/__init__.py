"""Acceptance tests: what a restorer would answer to cases that were worked through by hand."""
