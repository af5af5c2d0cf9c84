"""What an answer costs, beside what it could cost at least: `python -m tests.bench`."""
