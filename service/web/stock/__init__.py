"""Wood in a region's yard."""
