"""Published tables as data files, each row with its source, and their typed loaders."""
