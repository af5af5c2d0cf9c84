"""Tests of what runs the service."""
