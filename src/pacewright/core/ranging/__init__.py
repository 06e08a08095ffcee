"""Distances that cannot be walked."""
