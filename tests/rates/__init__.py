"""Operators: who may what, and how a region's rates are read and changed."""
