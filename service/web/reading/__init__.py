"""Reading rates: line by line, their history, two books side by side, what changed since a quote."""
