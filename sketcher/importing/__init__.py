"""Outlines, drawings, photos and readings that come from files."""
