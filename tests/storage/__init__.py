"""Tests of the store, against a real PostgreSQL."""
