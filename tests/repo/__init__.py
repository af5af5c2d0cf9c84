"""Tests of the repository's own rules."""
