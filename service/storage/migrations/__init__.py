"""Migrations, numbered in order."""
