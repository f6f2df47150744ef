"""Plates, their histories and their revisions in SQLite."""
