"""The published contract, held against the running service."""
