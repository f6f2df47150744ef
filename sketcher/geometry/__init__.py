"""The shape of everything, built once per document."""
