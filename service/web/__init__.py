"""The door: HTTP in, HTTP out. The only place with status codes, wire shapes and units of the caller."""
