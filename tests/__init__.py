"""Tests, one folder a part of the service."""
