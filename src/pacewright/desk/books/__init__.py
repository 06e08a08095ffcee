"""What is done with logs that are kept: looked through, imported, printed, exported, put away."""
