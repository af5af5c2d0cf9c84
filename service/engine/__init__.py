"""The engine: pure arithmetic from a surveyed defect to ranked repair plans."""
