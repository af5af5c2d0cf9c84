"""Tests of the use cases, with a store that can be switched off."""
