"""What runs the service on a machine with nothing but Python: environment, embedded database, demonstration."""
