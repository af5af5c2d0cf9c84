"""Keys of machines: made, listed, rotated, taken back."""
