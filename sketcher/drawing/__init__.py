"""The top-down SVG, sections and plots."""
