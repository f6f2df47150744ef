"""Tubes in space: their courses, how they are bent and cut, what they keep clear of."""
