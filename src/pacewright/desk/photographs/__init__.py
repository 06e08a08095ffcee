"""Pencilled pages by their photographs: handed in, read by a worker, confirmed by a person, kept."""
