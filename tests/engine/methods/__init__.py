"""Tests of the repair methods."""
