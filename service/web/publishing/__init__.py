"""Trying a draft, publishing it, moving it onto what others published, going back."""
