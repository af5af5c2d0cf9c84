"""PostgreSQL: regions, books in immutable revisions, wood in the yard."""
