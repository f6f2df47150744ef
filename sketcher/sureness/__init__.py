"""Every spread added up: the chance that tubes land and clearances hold, whose spread it is, and what would help."""
