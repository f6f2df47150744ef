"""Survey adjustment and the registration of a tried test piece."""
