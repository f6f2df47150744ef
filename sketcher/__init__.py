"""Sketches, checks and hands off coolant distribution plates."""

__version__ = "0.1.0"
