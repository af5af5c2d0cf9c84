"""Hours that jobs really took, and what they say of the norms."""
