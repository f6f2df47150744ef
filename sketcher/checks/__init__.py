"""Rules: each a function from shapes to findings, in one registry."""
