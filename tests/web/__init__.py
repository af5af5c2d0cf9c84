"""The web layer."""
