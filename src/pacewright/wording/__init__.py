"""Results in plain sentences."""
