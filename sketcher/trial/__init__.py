"""What the test piece showed: registration of the readings, and the moves that follow."""
