"""Drafts of a region's next book, changed line by line or as a sheet."""
