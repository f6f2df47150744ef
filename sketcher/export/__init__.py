"""Files for people and machines: one module per kind."""
