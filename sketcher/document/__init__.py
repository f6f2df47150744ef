"""What a plate is: models, validation, JSON Schema, upgrades."""
