"""The map and the land under it."""
