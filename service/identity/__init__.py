"""People: tokens of an identity provider, checked against its published keys."""
